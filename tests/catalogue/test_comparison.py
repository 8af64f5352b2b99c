"""The money functions as a sheet calls them, on the invented farm's three years."""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import xlfuncs
from xlfuncs.errors import InputError

EXAMPLES = Path(__file__).parents[2] / "examples"
SYSTEMS = ("us", "metric")
EFFECTS = ["price_effect", "area_effect", "weather_effect", "use_effect", "fixed_effect",
           "credits_effect", "not_split_effect"]  # fmt: skip


def read(system: str, name: str) -> dict[str, list[Any]]:
    """The columns of an example file, blank cells as None, headings without units."""
    with (EXAMPLES / system / name).open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    return {key.split(" (")[0]: [_value(row[key]) for row in rows] for key in rows[0]}


def _value(text: str) -> Any:
    try:
        return float(text) if text else None
    except ValueError:
        return text


def tariff(system: str, valid_from: str) -> tuple[list[Any], list[Any], float]:
    tiers, tariffs = read(system, "tiers.csv"), read(system, "tariffs.csv")
    here = [i for i, day in enumerate(tiers["Valid from"]) if day == valid_from]
    fixed = tariffs["Fixed charge"][tariffs["Valid from"].index(valid_from)]
    return [tiers["Tier ends at"][i] for i in here], [tiers["Price"][i] for i in here], fixed


def years(system: str, **more: Any) -> Any:
    ledger, around = read(system, "ledger.csv"), read(system, "years.csv")
    return xlfuncs.year_on_year(ledger, around, known_from="2023-01-01", units=system, **more)


@pytest.mark.parametrize("system", SYSTEMS)
def test_the_farms_years_add_up(system: str) -> None:
    table = years(system)
    assert sorted(set(table["kind"])) == ["filters", "fittings", "labor", "tape", "water"]
    # the first bill begins in December 2022, so that year is there too, but is not compared
    assert table.loc[table["year"] < 2024, "change"].isna().all()
    later = table[table["year"] >= 2024]
    assert np.allclose(later[EFFECTS].sum(axis=1), later["change"], atol=1e-9)
    assert np.allclose(later["compared"] - later["before"], later["change"], atol=1e-9)
    ledger = read(system, "ledger.csv")
    net = sum(
        amount - tax * back
        for amount, tax, back, counted in zip(
            ledger["Amount"], ledger["Tax included"], ledger["Recoverable tax"],
            ledger["Counted"], strict=True,
        )
        if counted == "yes"
    )  # fmt: skip
    assert table["amount"].sum() == pytest.approx(net, abs=1e-6)


@pytest.mark.parametrize("system", SYSTEMS)
def test_the_tariff_gives_the_bills_of_the_ledger(system: str) -> None:
    ledger = read(system, "ledger.csv")
    for year, valid in (("2023", "2023-01-01"), ("2025", "2025-01-01")):
        bills = [
            (quantity, amount)
            for date, kind, quantity, amount in zip(
                ledger["Date"], ledger["Kind"], ledger["Quantity"], ledger["Amount"], strict=True
            )
            if date.startswith(year) and kind == "water" and quantity is not None
        ]
        tops, prices, _ = tariff(system, valid)
        charges = xlfuncs.water_charge([q for q, _ in bills], tops, prices, units=system)["charge"]
        assert list(charges) == pytest.approx([amount for _, amount in bills], abs=0.0051)


def test_the_store_gives_the_tape_of_the_ledger() -> None:
    store, ledger = read("us", "store.csv"), read("us", "ledger.csv")
    columns = (store[name] for name in ("Date", "Kind", "Bought", "Amount", "In stock"))
    used = xlfuncs.stock_used(*columns)
    # by hand: 1,500 bought, 620 left; 500 more, 200 left; 1,000 more, 410 left
    assert list(used["used"]) == [880, 920, 790]
    laid = [
        amount
        for kind, counted, amount in zip(
            ledger["Kind"], ledger["Counted"], ledger["Amount"], strict=True
        )
        if kind == "tape" and counted == "yes"
    ]
    assert list(used["used_cost"]) == pytest.approx(laid)


def test_water_by_the_tariff_from_2024_to_2025() -> None:
    old, new = tariff("us", "2023-01-01"), tariff("us", "2025-01-01")
    around = read("us", "years.csv")
    volumes_2024, volumes_2025 = [0.5, 2.8, 8.9, 12.7, 5.1, 0.6], [0.4, 2.2, 7.4, 9.9, 4.3, 0.7]
    (row,) = xlfuncs.water_year_on_year(
        volumes_2024, volumes_2025, old_tops=old[0], old_prices=old[1], new_tops=new[0],
        new_prices=new[1], fixed=[old[2], new[2]], areas=around["Planted area"][1:3],
        needs=around["Need beyond rain"][1:3],
    ).itertuples()  # fmt: skip
    # by hand: 2024 on the old tariff 26.9 x 4.10 + 9.4... each bill by its tiers, as in the ledger
    assert row.old_bill == pytest.approx(
        2.05 + 11.48 + 40.84 + 63.94 + 20.91 + 2.46 + 6 * 18.50, abs=0.01
    )
    assert row.new_bill == pytest.approx(
        1.78 + 9.79 + 35.17 + 50.30 + 19.14 + 3.12 + 6 * 19.75, abs=0.02
    )
    assert row.price_effect > 0  # every price rose
    assert row.area_effect == 0  # the same area
    assert row.weather_effect < 0  # a wetter year
    assert row.fixed_effect == pytest.approx(6 * 1.25)


def test_a_bare_price_needs_no_tiers() -> None:
    charges = xlfuncs.water_charge([3, None, 5], None, 2.5)["charge"]
    assert list(charges.dropna()) == pytest.approx([7.5, 12.5])


def test_what_cannot_be_compared_says_why() -> None:
    with pytest.raises(InputError, match=r"currencies \(row 2\): one ledger has one currency"):
        xlfuncs.year_on_year(
            dates=["2024-01-01", "2024-01-02"],
            kinds=["a", "a"],
            amounts=[1, 2],
            currencies=["EUR", "USD"],
        )
    with pytest.raises(InputError, match="this list has not"):
        xlfuncs.year_on_year(
            dates=["2024-01-01", "2025-01-01"],
            kinds=["a", "a"],
            amounts=[1, 1],
            year=[2024],
            areas=[10],
        )
    needed = xlfuncs.year_on_year(
        dates=["2024-01-01", "2025-01-01", "2026-01-01"], kinds=["water"] * 3, amounts=[10, 10, 10],
        quantities=[10, 10, 10], year=[2025, 2026], needs=[200, 150],
    )  # fmt: skip
    # 2025 has no need before it to compare with; in 2026 a quarter of the need is gone
    assert needed["weather_effect"].to_list()[1:] == pytest.approx([np.nan, -2.5], nan_ok=True)
    assert needed["area_effect"].isna().all()  # not given: it is in use
    assert needed["use_effect"].to_list()[1:] == [0, 2.5]
    assert ["a need beyond rain is missing" in words for words in needed["words"][1:]] == [
        True,
        False,
    ]
    with pytest.raises(InputError, match="both years, or for neither"):
        xlfuncs.water_year_on_year([1], [1], old_prices=[1], new_prices=[1], areas=[10, None])
    with pytest.raises(InputError, match="not both"):
        xlfuncs.quotation(quantities=[1], unit_costs=[1], markup=0.1, margin=0.1)


def test_entries_not_counted_are_left_out_and_rows_keep_their_numbers() -> None:
    table = xlfuncs.year_on_year(
        dates=["2024-01-01", "2024-01-02", None],
        kinds=["a", "a", None],
        amounts=[1, 2, None],
        counted=["yes", "no", None],
    )
    assert list(table["amount"]) == [1]
    with pytest.raises(InputError, match=r"row 3"):
        xlfuncs.year_on_year(
            dates=["2024-01-01", "2024-01-02", "2024-01-03"], kinds=["a", "a", "b"],
            amounts=[1, 2, 3],
            period_starts=[None, None, "2024-02-01"], counted=["no", "yes", "yes"],
        )  # fmt: skip


def test_options_side_by_side() -> None:
    # Line 1 is in every option, 2 in A, 3 in B, 4 an optional item of B.
    lines = {
        "Quantity": [2, 1, 1, 1], "Unit cost": [10, 30, 55, 7],
        "Optional item": [None, None, None, "yes"], "Option": [None, "A", "b", "B"],
    }  # fmt: skip
    sums = {option: xlfuncs.quotation(lines, option=option) for option in ("A", "B", "C", None)}
    assert [of_option["total"][0] for of_option in sums.values()] == [50, 75, 20, 105]
    assert [sums[option]["optional"][0] for option in "AB"] == [0, 7]
    added = xlfuncs.optional_prices(lines, markup=0.1, tax=0.05)["price"]
    assert np.isnan(added[:3]).all()
    assert added[3] == 7.70 + 0.39  # a tenth on it; 38.5 cents of tax, rounded half up
