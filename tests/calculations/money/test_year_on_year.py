"""A ledger compared year by year, against published variances, by hand, and by its invariants."""

from __future__ import annotations

import random
from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from xlfuncs.calculations.money.bill_periods import day_span, fiscal_years, same_days, year_span
from xlfuncs.calculations.money.ledger_entries import Entries, Total
from xlfuncs.calculations.money.tariffs import Tiers, WaterYear, water_bill_effects
from xlfuncs.calculations.money.year_on_year import (
    Surroundings,
    YearOfKind,
    cents_adding_up,
    change_effects,
    year_on_year,
)
from xlfuncs.errors import InputError

Entry = tuple[str, str, float | None, float, str | None]  # date, kind, quantity, amount, start


def entries(rows: list[Entry]) -> Entries:
    dates, kinds, quantities, amounts, starts = zip(*rows, strict=True)
    return Entries.from_columns(
        np.array(dates, dtype="datetime64[D]"),
        kinds,
        np.array([np.nan if q is None else q for q in quantities]),
        np.array(amounts, dtype=float),
        np.array([s or "NaT" for s in starts], dtype="datetime64[D]"),
    )


def compare(rows: list[Entry], **options: Any) -> dict[tuple[str, int], YearOfKind]:
    return {(r.kind, r.year): r for r in year_on_year(entries(rows), **options)}


def simple(quantity: float, price: float) -> Total:
    exact = Fraction(str(quantity))
    return Total(exact, exact * Fraction(str(price)), Fraction(0))


@pytest.mark.parametrize(
    ("standard", "actual", "price", "quantity"),
    [
        # Standard costing, simplestudies.com p. 4: (95 - 100) x 200 = -1,000, favourable
        ((200, 100), (200, 95), -1000, 0),
        # Warren, Exercise 23-5: actual 450 at 6.50, standard 430 at 6.90: -180, +138, -42 in all
        ((430, 6.90), (450, 6.50), -180, 138),
        # education-academia.github.io: 530 lb against 500 at 3: usage +90
        ((500, 3), (530, 3), 0, 90),
    ],
)
def test_variances_of_standard_costing(
    standard: tuple[float, float], actual: tuple[float, float], price: int, quantity: int
) -> None:
    # Textbooks weigh the price variance by the actual quantity. Ours weighs it by the earlier
    # year's, so the actual year stands here as the earlier one, and the signs turn.
    effects = change_effects(simple(*actual), simple(*standard), Fraction(1), Fraction(1))
    assert (-effects.price, -effects.use) == (price, quantity)
    assert effects.area == effects.weather == effects.fixed == 0


def test_each_link_of_the_chain_by_hand() -> None:
    rows: list[Entry] = [
        ("2024-06-01", "Water", 100.0, 200.0, None),
        ("2024-06-01", "water ", None, 30.0, None),
        ("2025-06-01", "Water", 270.0, 810.0, None),
        ("2025-06-01", "Water", None, 36.0, None),
    ]
    around = Surroundings({2024: 50.0, 2025: 100.0}, {2024: 10.0, 2025: 15.0}, frozenset({"water"}))
    row = compare(rows, around=around)["Water", 2025]
    # price 100 x (3 - 2); area 100 more at 3; weather 200 x 0.5 at 3; use 270 - 300 at 3; fixed
    assert row.effects == (100, 300, 300, -90, 6, 0, 0, 0)
    assert (row.before, row.compared, row.unit_price, row.per_area) == (230, 846, 3.0, 8.46)


def test_a_new_kind_and_one_given_up_are_not_split() -> None:
    rows: list[Entry] = [
        ("2024-03-01", "Tape", 300.0, 30.0, None),
        ("2025-03-01", "Tubing", 100.0, 40.0, None),
    ]
    table = compare(rows, around=Surroundings({2024: 10.0, 2025: 10.0}))
    assert table["Tape", 2025].effects == (0, 0, 0, 0, 0, 0, 0, -30)
    assert table["Tubing", 2025].effects == (0, 0, 0, 0, 0, 0, 0, 40)
    assert table["Tape", 2025].unit_price is None
    assert ("Tubing", 2024) not in table  # nothing happened, and nothing is compared


def test_refunds_and_amounts_without_quantity() -> None:
    rows: list[Entry] = [
        ("2024-03-01", "Labour", None, 500.0, None),
        ("2024-05-01", "Tape", 10.0, 100.0, None),
        ("2024-06-01", "Tape", -2.0, -20.0, None),
        ("2025-03-01", "Labour", None, 450.0, None),
        ("2025-03-01", "Tape", 0.0, -5.0, None),
    ]
    table = compare(rows)
    assert (table["Tape", 2024].amount, float(table["Tape", 2024].total.quantity)) == (80, 8.0)
    assert table["Labour", 2025].effects == (0, 0, 0, 0, 0, 0, 0, -50)
    assert table["Tape", 2025].effects == (0, 0, 0, 0, 0, 0, 0, -85)


def test_money_back_without_a_quantity_is_a_credit_unless_it_cancels_a_charge() -> None:
    rows: list[Entry] = [
        ("2024-12-31", "Water", 10.0, 40.0, "2023-12-31"),
        ("2025-12-31", "Water", 12.0, 48.0, "2024-12-31"),
        ("2025-06-30", "Water", None, 9.0, None),
        ("2025-06-30", "Water", None, -9.0, None),  # the fixed charge, taken back
        ("2025-07-31", "Water", None, 8.0, None),
        ("2025-08-31", "Water", None, -5.0, None),
    ]
    row = compare(rows)["Water", 2025]
    assert (row.before, row.compared) == (40, 51)
    assert row.effects == (0, 0, 0, 8, 8, -5, 0, 0)


def test_a_bill_over_the_years_end_is_spread_over_its_days() -> None:
    # 16 days of December and 44 to 13 February: 60 in all
    rows: list[Entry] = [("2025-02-13", "Water", 60.0, 100.0, "2024-12-15")]
    table = compare(rows)
    assert (table["Water", 2024].amount, table["Water", 2025].amount) == (
        Decimal("26.67"),
        Decimal("73.33"),
    )
    assert float(table["Water", 2024].total.quantity) == pytest.approx(16.0)


def test_a_part_year_is_compared_with_the_same_part() -> None:
    rows: list[Entry] = [
        ("2024-02-29", "Water", 1.0, 10.0, None),
        ("2024-06-30", "Water", 2.0, 20.0, None),
        ("2024-07-01", "Water", 4.0, 40.0, None),
        ("2025-06-30", "Water", 3.0, 36.0, None),
    ]
    row = compare(rows, known_through=date(2025, 6, 30))["Water", 2025]
    assert (row.amount, row.compared, row.before) == (36, 36, 30)
    assert row.effects is not None
    assert (row.effects.price, row.effects.use) == (6, 0)


def test_a_year_of_one_bill_that_says_no_days_is_not_taken_for_whole() -> None:
    rows: list[Entry] = [(f"{year}-{month:02}-04", "Electricity", None, 100.0, None)
                         for year in (2024, 2025) for month in range(1, 13)]  # fmt: skip
    table = compare([*rows, ("2026-01-04", "Electricity", None, 110.0, None)])
    whole, begun = table["Electricity", 2025], table["Electricity", 2026]
    assert (whole.days, whole.before, whole.compared) == (365, 1200, 1200)
    assert (begun.days, begun.before, begun.compared) == (4, 100, 110)
    # bought once a year, in spring: whole years, as far as anybody can see
    spring: list[Entry] = [(f"{y}-03-01", "Tape", 2.0, 50.0, None) for y in (2024, 2025)]
    assert compare(spring)["Tape", 2025].days == 365


def test_water_whose_bills_say_no_period_has_no_days_on_bills() -> None:
    rows: list[Entry] = [(f"{year}-{month:02}-20", "Water", 10.0, 100.0, None)
                         for year in (2024, 2025) for month in (1, 3, 5, 7, 9, 11)]  # fmt: skip
    around = Surroundings(need_kinds=frozenset({"water"}))
    year = compare(rows, around=around)["Water", 2025]
    assert (year.covered, year.compared) == (0, 600)
    assert year.words == "by the day of each bill, for none says its period"


def days(*spans: tuple[str, str]) -> list[tuple[int, int]]:
    return [day_span((date.fromisoformat(a), date.fromisoformat(b))) for a, b in spans]


def test_parts_of_years_with_and_without_29_february() -> None:
    this, before = same_days(2025, 1, days(("2023-01-01", "2025-03-01")))
    assert this == days(("2025-01-01", "2025-03-01"))
    assert before == days(("2024-01-01", "2024-03-01"))
    this, before = same_days(2024, 1, days(("2023-05-01", "2026-01-01")))
    assert this[0][0] == days(("2024-05-01", "2024-05-01"))[0][0]
    assert before[0][0] == days(("2023-05-01", "2023-05-01"))[0][0]


def test_only_days_on_bills_of_both_years_are_compared() -> None:
    # 30 a month of 60 days; the bill of May and June 2024 is missing, and one runs into 2026
    ends = ["12-31", "02-28", "04-30", "06-30", "08-31", "10-31", "12-31"]
    rows: list[Entry] = []
    for year, price in ((2024, 2.0), (2025, 3.0)):
        for i, (start, end) in enumerate(pairwise(ends)):
            first = f"{year - (i == 0)}-{start}"
            if (year, i) != (2024, 2):
                rows.append((f"{year}-{end}", "Water", 10.0, 10 * price, first))
    rows.append(("2026-02-13", "Water", 11.0, 44.0, "2025-12-31"))
    table = compare(rows)
    row = table["Water", 2025]
    # 29 February is on the bill to 30 April; 61 days are on no bill of 2024
    assert (row.covered, table["Water", 2024].covered, row.days) == (365, 305, 304)
    assert row.words == "304 of 365 days are on bills in both"
    assert (row.before, row.compared) == (100, 150)
    assert row.effects == (50, 0, 0, 0, 0, 0, 0, 0)
    part = table["Water", 2026]
    assert (part.days, part.words) == (44, "44 of 365 days are on bills in both")
    assert table["Water", 2024].words == "first year"


def test_what_has_no_days_is_compared_as_far_as_every_bill_goes() -> None:
    """Water is billed for all of 2025, power to the end of October only: 304 days by hand."""
    rows: list[Entry] = [
        ("2024-12-31", "Water", 10.0, 20.0, "2023-12-31"),
        ("2025-12-31", "Water", 10.0, 20.0, "2024-12-31"),
        ("2024-12-31", "Power", 10.0, 20.0, "2023-12-31"),
        ("2025-10-31", "Power", 8.0, 16.0, "2024-12-31"),
        ("2024-03-01", "Tape", 10.0, 100.0, None),
        ("2024-11-15", "Tape", 5.0, 50.0, None),
        ("2025-03-01", "Tape", 10.0, 110.0, None),
    ]
    row = compare(rows)["Tape", 2025]
    assert (row.days, row.before, row.compared) == (304, 100, 110)


def test_what_is_bought_after_the_last_bill_counts() -> None:
    """Bills to 15 December (349 days) and a purchase on the 20th: the ledger is known beyond."""
    rows: list[Entry] = [
        ("2024-12-15", "Water", 100.0, 200.0, "2023-12-16"),
        ("2025-12-15", "Water", 110.0, 220.0, "2024-12-16"),
        ("2024-03-01", "Parts", 1.0, 50.0, None), ("2024-12-20", "Parts", 1.0, 141.62, None),
        ("2025-03-01", "Parts", 1.0, 60.0, None), ("2025-12-20", "Parts", 1.0, 151.28, None),
    ]  # fmt: skip
    row = compare(rows)["Parts", 2025]
    assert row.days == 365
    assert row.before is not None and row.compared is not None
    assert float(row.before) == pytest.approx(50 + 141.62)
    assert float(row.compared) == pytest.approx(60 + 151.28)


def test_fiscal_years_are_named_by_the_year_they_end_in() -> None:
    days = np.array(["2024-09-30", "2024-10-01", "2025-09-30", "1969-12-31"], dtype="datetime64[D]")
    assert list(fiscal_years(days, 10)) == [2024, 2025, 2025, 1970]
    assert list(fiscal_years(days, 1)) == [2024, 2024, 2025, 1969]
    assert year_span(2025, 10) == (date(2024, 10, 1), date(2025, 10, 1))


def test_one_tier_and_the_ledger_give_the_same_effects() -> None:
    # Two ways to the same split: a flat price is a tariff of one tier.
    rows: list[Entry] = [
        ("2024-06-01", "Water", 33.3, 99.9, None),
        ("2025-06-01", "Water", 48.1, 168.35, None),
    ]
    around = Surroundings(
        {2024: 12.0, 2025: 17.0}, {2024: 310.0, 2025: 405.0}, frozenset({"water"})
    )
    flat = [Tiers.from_tops(np.array([]), np.array([p]), "tops") for p in (3.0, 3.5)]
    *_, effects = water_bill_effects(
        WaterYear(np.array([33.3]), flat[0], 0.0, 12.0, 310.0),
        WaterYear(np.array([48.1]), flat[1], 0.0, 17.0, 405.0),
    )
    assert compare(rows, around=around)["Water", 2025].effects == effects


def test_what_does_not_fit_is_refused() -> None:
    with pytest.raises(InputError, match="starts before it ends") as refused:
        entries([("2024-01-01", "Water", 1.0, 1.0, "2024-01-01")])
    assert refused.value.row == 0
    two: list[Entry] = [
        ("2024-01-01", "Water", 1.0, 1.0, None),
        ("2025-01-01", "Water", 1.0, 1.0, None),
    ]
    with pytest.raises(InputError, match="year 2025"):
        compare(two, around=Surroundings({2024: 1.0}))
    with pytest.raises(InputError, match="above 0"):
        compare(two, around=Surroundings({2024: 1.0, 2025: 0.0}))


def test_a_year_outside_what_is_known_is_not_compared() -> None:
    # Two days of the first bill lie in 2022, which the ledger does not cover.
    rows: list[Entry] = [
        ("2023-02-27", "Water", 6.0, 60.0, "2022-12-29"),
        ("2024-02-27", "Water", 6.0, 66.0, "2023-12-29"),
    ]
    around = Surroundings({2023: 10.0, 2024: 10.0})
    table = compare(rows, known_from=date(2023, 1, 1), around=around)
    assert table["Water", 2023].effects is None
    assert table["Water", 2024].effects is not None
    assert table["Water", 2022].per_area is None
    words = [table["Water", year].words for year in (2022, 2023)]
    assert words == ["before the ledger's first day", "first year"]


cent_amounts = st.integers(-(10**7), 10**7).map(lambda c: c / 100)
ledger_rows = st.lists(
    st.tuples(
        st.dates(date(2021, 1, 1), date(2025, 12, 31)).map(str),
        st.sampled_from(["Water", "Tape", "Labour"]),
        st.none() | st.integers(-1000, 10**5).map(lambda q: q / 8),
        cent_amounts,
        st.none(),
    ),
    min_size=1,
    max_size=25,
)


def spread(rows: list[Entry]) -> list[Entry]:
    """Every third entry becomes a bill for the 100 days to its date."""
    return [
        (d, k, q, a, str(np.datetime64(d) - 100)) if i % 3 == 0 else (d, k, q, a, s)
        for i, (d, k, q, a, s) in enumerate(rows)
    ]


@given(rows=ledger_rows, areas=st.lists(st.floats(0.5, 500), min_size=6, max_size=6))
@settings(deadline=None)
def test_effects_add_up_and_nothing_is_lost(rows: list[Entry], areas: list[float]) -> None:
    around = Surroundings(dict(zip(range(2020, 2026), areas, strict=True)))
    table = year_on_year(entries(spread(rows)), around=around)
    for row in table:
        if row.effects:
            assert row.compared is not None
            assert row.before is not None
            assert sum(row.effects, Decimal(0)) == row.compared - row.before
    entered = sum((Decimal(str(a)) for _, _, _, a, _ in rows), Decimal(0))
    assert sum((row.amount for row in table), Decimal(0)) == entered


@given(rows=ledger_rows, seed=st.integers())
@settings(deadline=None)
def test_order_never_matters(rows: list[Entry], seed: int) -> None:
    straight = spread(rows)
    shuffled = straight.copy()
    random.Random(seed).shuffle(shuffled)
    assert year_on_year(entries(straight)) == year_on_year(entries(shuffled))


@given(rows=ledger_rows, pick=st.integers(0, 24), cut=cent_amounts)
@settings(deadline=None)
def test_splitting_an_entry_never_changes_a_total(rows: list[Entry], pick: int, cut: float) -> None:
    whole = spread(rows)
    day, kind, quantity, amount, start = whole[pick % len(whole)]
    rest = float(Decimal(str(amount)) - Decimal(str(cut)))
    halves: list[Entry] = [
        (day, kind, None if quantity is None else quantity / 2, part, start) for part in (cut, rest)
    ]
    split = [entry for i, entry in enumerate(whole) if i != pick % len(whole)] + halves
    before, after = year_on_year(entries(whole)), year_on_year(entries(split))
    assert [(r.kind, r.year, r.amount) for r in before] == [
        (r.kind, r.year, r.amount) for r in after
    ]


# Figures and formula, (new price - old price) x old volume by product, of accountancyindex.com,
# "How to do price volume mix analysis"; there revenue, here cost. By hand: 1 x 1000 + 3 x 500.
DAYS = ["2024-05-01", "2025-05-01"]
BASKET = [("A", 10, 1000, 11, 1000), ("B", 15, 800, 15, 700), ("C", 20, 500, 23, 800)]


def by_items(extra: Sequence[tuple[str, str, float, float]] = ()) -> YearOfKind:
    rows = [("2024-06-01", item, old, old * price) for item, price, old, *_ in BASKET]
    rows += [("2025-06-01", item, new, new * price) for item, *_, price, new in BASKET]
    dates, items, quantities, amounts = zip(*rows, *extra, strict=True)
    made = Entries.from_columns(
        np.array(dates, dtype="datetime64[D]"), ["material"] * len(items),
        np.array(quantities, float), np.array(amounts, float),
        np.full(len(items), "NaT", dtype="datetime64[D]"), None, items,
    )  # fmt: skip
    return year_on_year(made)[-1]


def test_the_price_effect_goes_by_item_and_the_mix_is_use() -> None:
    row = by_items()
    assert row.effects is not None
    assert (row.effects.price, row.before, row.compared) == (2500, 32_000, 39_900)
    assert sum(row.effects) == 7900
    assert row.words == "items of both years: 3"


def test_new_and_gone_items_are_no_dearer_price() -> None:
    row = by_items([("2024-03-01", "gone", 5.0, 400.0), ("2025-03-01", "new", 1.0, 900.0)])
    assert row.effects is not None
    assert (row.effects.price, row.effects.use, row.effects.not_split) == (2500, 5400, 500)


def test_each_item_in_its_unit_is_split_apart_and_what_has_no_words_or_unit_to_match_is_not() -> (
    None
):
    rows = [  # year, item, unit, quantity, amount
        ("2024", "Tape  8 in", "m", 100.0, 20.0), ("2025", "tape 8 IN", "m", 100.0, 30.0),
        ("2024", "Elbow", "pieces", 10.0, 50.0), ("2025", "Elbow", "pieces", 30.0, 120.0),
        ("2024", "Tee", "pieces", 4.0, 8.0), ("2025", "Tee", "bags", 1.0, 20.0),
        ("2024", "", "m", 9.0, 9.0), ("2025", "", "m", 1.0, 7.0),
        ("2025", "Delivery", "", None, 15.0),
    ]  # fmt: skip
    years, items, units, quantities, amounts = zip(*rows, strict=True)
    made = Entries.from_columns(
        np.array([f"{year}-06-01" for year in years], "datetime64[D]"), ["material"] * len(rows),
        np.array(quantities, float), np.array(amounts, float),
        np.full(len(rows), "NaT", dtype="datetime64[D]"), None, items, units,
    )  # fmt: skip
    row = year_on_year(made)[-1]
    # by hand: 100 x 0.10 - 10 x 1; 20 more at 4; the rest 12 - 2 + 15
    assert row.effects == (0, 0, 0, 80, 0, 0, 0, 25)
    assert (row.words, row.quantity, row.unit_price) == ("items of both years: 2", None, None)


def test_nothing_is_compared_with_a_year_before_the_first_paper() -> None:
    table = compare([  # the first bill begins in 2023, whose papers are not in the ledger
        ("2024-02-14", "Water", 60.0, 60.0, "2023-12-15"),
        ("2024-12-31", "Water", 90.0, 90.0, "2024-02-14"),
        ("2025-12-31", "Water", 90.0, 90.0, "2024-12-31"),
        ("2024-05-01", "Tape", 10.0, 20.0, None),
        ("2025-05-01", "Tape", 10.0, 25.0, None),
    ])  # fmt: skip
    assert (table["Tape", 2024].effects, table["Tape", 2024].words) == (
        None, "no day is known in both years")  # fmt: skip
    assert table["Tape", 2025].before == 20


@given(st.lists(st.tuples(st.sampled_from("AB "), st.sampled_from(DAYS),
                          st.integers(1, 50), st.integers(1, 9999)), min_size=1))  # fmt: skip
@settings(deadline=None)
def test_effects_by_item_add_up_to_the_cent(bought: list[tuple[str, str, int, int]]) -> None:
    row = by_items([(day, item, float(n), cents / 100) for item, day, n, cents in bought])
    assert row.effects is not None
    assert sum(row.effects) == row.compared - row.before  # type: ignore[operator]


@pytest.mark.parametrize(
    ("parts", "total", "cents"),
    [  # by hand: a cent goes to what lost most, of equals to the largest; each has as many
        ([0.334, 0.333, 0.333], "1.00", ["0.34", "0.33", "0.33"]),
        ([1.005, 2.004, 3.001], "6.01", ["1.01", "2.00", "3.00"]),
        ([0.25, 1.25], "1.54", ["0.27", "1.27"]),
        ([0.25, 1.25], "1.49", ["0.25", "1.24"]),
        ([1.0, 2.0], "1000000000003.00", ["500000000001.00", "500000000002.00"]),
    ],
)
def test_cents_are_handed_out_at_once(parts, total, cents):
    found = cents_adding_up(parts, Decimal(total))
    assert [str(part) for part in found] == cents
    assert sum(found) == Decimal(total)


def test_parts_beyond_all_numbers_are_refused():
    with pytest.raises(OverflowError):
        cents_adding_up([float("nan"), 1.0], Decimal("1.00"))
