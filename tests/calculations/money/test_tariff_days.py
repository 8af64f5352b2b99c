"""Bills by the tariffs of their own days: by hand, and beside the two other ways to a split."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise

import numpy as np
import pytest

import xlfuncs
from xlfuncs.errors import InputError

TARIFFS = {"valid_from": ["2024-01-01", "2025-07-01"], "fixed": [6.0, 9.0]}
TIERS = {"tier_from": ["2024-01-01", "2024-01-01", "2025-07-01", "2025-07-01"],
         "tops": [10.0, None, 10.0, None], "prices": [1.0, 2.0, 2.0, 4.0]}  # fmt: skip


def test_a_bill_over_a_change_of_tariff_is_parted_by_its_days() -> None:
    # 61 days, 30 of them in June: 10 x 1 + 2 x 2 + 6 = 20, and 10 x 2 + 2 x 4 + 9 = 37
    (bill,) = xlfuncs.water_bill([12.0], ["2025-05-31"], ["2025-07-31"], **TARIFFS, **TIERS,
                                 units="metric")["bill"]  # fmt: skip
    assert bill == pytest.approx((30 * 20 + 31 * 37) / 61)
    with pytest.raises(InputError, match="none holds on 2023-12-01"):
        xlfuncs.water_bill([1.0], ["2023-11-30"], ["2024-01-31"], **TARIFFS, **TIERS)


def ledger(changed: int | None = None) -> dict[str, list[object]]:
    """24 bills of 12 m³ to the ends of the months of 2024 and 2025; one parted by a new meter."""
    ends = [date(2024 + m // 12, m % 12 + 1, 1) - timedelta(days=1) for m in range(25)]
    rows = [(str(end), str(start), 12.0, "A") for start, end in pairwise(ends)]
    if changed is not None:
        end, start, _, _ = rows[changed]
        middle = str(date.fromisoformat(start) + timedelta(days=15))
        later = [(*row[:3], "B") for row in rows[changed + 1 :]]
        rows[changed:] = [(middle, start, 6.0, "A"), (end, middle, 6.0, "B"), *later]
    dates, starts, quantities, meters = zip(*rows, strict=True)
    return {
        "dates": list(dates), "period_starts": list(starts), "quantities": list(quantities),
        "meters": list(meters), "kinds": ["water"] * len(rows), "amounts": [20.0] * len(rows),
    }  # fmt: skip


def test_a_tariff_that_changes_in_mid_year_is_a_price_effect() -> None:
    split = xlfuncs.tariff_year_on_year(
        explained=2025, **ledger(), **TARIFFS, **TIERS, units="metric"
    ).iloc[0]
    # six bills of 2024 at 14 and six of them, a year later, at 28; fixed 6 x 3 more
    assert (split["price_effect"], split["use_effect"], split["fixed_effect"]) == (84, 0, 18)
    assert (split["old_bill"], split["new_bill"]) == (12 * 20, 6 * 20 + 6 * 37)


def test_a_new_meter_leaves_the_split_on() -> None:
    split = xlfuncs.tariff_year_on_year(
        explained=2025, **ledger(changed=15), **TARIFFS, **TIERS, units="metric"
    ).iloc[0]
    # use and fixed charges as if the bill were one; that it is parted stands apart: two first
    # tiers, so 2 less for its dearer water, and a fixed charge of 6 more
    assert (split["price_effect"], split["use_effect"], split["fixed_effect"]) == (84, 0, 18)
    assert (split["exchange_effect"], split["new_bill"]) == (-2 + 6, 6 * 20 + 6 * 37 + 4)


def test_meters_beside_each_other_are_no_exchange() -> None:
    one, other = ledger(), ledger()
    both = {name: [*one[name], *other[name]] for name in one}
    both["meters"] = ["A"] * 24 + ["B"] * 24
    split = xlfuncs.tariff_year_on_year(
        explained=2025, **both, **TARIFFS, **TIERS, units="metric"
    ).iloc[0]
    assert (split["price_effect"], split["exchange_effect"]) == (2 * 84, 0)


def test_areas_and_needs_follow_in_the_chain_and_the_effects_add_up() -> None:
    around = {"year": [2024, 2025], "areas": [100.0, 150.0], "needs": [300.0, 400.0]}
    split = xlfuncs.tariff_year_on_year(
        explained=2025, **ledger(), **TARIFFS, **TIERS, **around, units="metric"
    ).iloc[0]
    effects = [name for name in split.index if name.endswith("_effect")]
    assert split[effects].sum() == pytest.approx(split["change"])
    # half as much area: 18 a bill, 10 at the first price and 8 at the second, in place of 12
    assert split["area_effect"] == pytest.approx(6 * 6 * 2 + 6 * 6 * 4)


def test_one_tariff_all_year_gives_what_the_other_split_gives() -> None:
    # Two ways to one thing: WATER_YEAR_ON_YEAR takes the volumes of two years and two tariffs.
    given = ledger()
    given["quantities"] = list(np.arange(24) + 3.0)
    tariffs = {"valid_from": ["2024-01-01", "2025-01-01"], "fixed": [6.0, 9.0]}
    tiers = {**TIERS, "tier_from": ["2024-01-01"] * 2 + ["2025-01-01"] * 2}
    around = {"areas": [100.0, 150.0], "needs": [300.0, 400.0]}
    ours = xlfuncs.tariff_year_on_year(
        explained=2025, **given, **tariffs, **tiers, year=[2024, 2025], **around, units="metric"
    ).iloc[0]
    volumes = given["quantities"]
    other = xlfuncs.water_year_on_year(
        old_volumes=volumes[:12], new_volumes=volumes[12:], old_tops=[10.0, None],
        old_prices=[1.0, 2.0], new_tops=[10.0, None], new_prices=[2.0, 4.0], fixed=[6.0, 9.0],
        **around, units="metric",
    ).iloc[0]  # fmt: skip
    assert list(ours)[:-1] == pytest.approx(list(other))
    assert ours["exchange_effect"] == 0


def test_the_need_of_a_whole_year_says_nothing_of_a_part_of_it() -> None:
    given = {name: column[:20] for name, column in ledger().items()}  # until the end of August
    split = xlfuncs.tariff_year_on_year(
        explained=2025, **given, **TARIFFS, **TIERS, year=[2024, 2025], needs=[300.0, 400.0],
        units="metric",
    ).iloc[0]  # fmt: skip
    assert np.isnan(split["weather_effect"]) and split["use_effect"] == 0
    assert np.isnan(split["area_effect"])  # none was given
    assert split["price_effect"] == 2 * 14  # July and August at the new tariff
