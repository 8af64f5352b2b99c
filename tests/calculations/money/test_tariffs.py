"""Water bills against published rate charts, and the split of a tiered bill's change."""

from __future__ import annotations

from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from xlfuncs.calculations.money.tariffs import (
    Tiers,
    WaterYear,
    pumping_energy,
    water_bill_effects,
    water_charge,
)
from xlfuncs.errors import InputError


def bills(
    volumes: list[float], tops: list[float], prices: list[float], **other: float
) -> list[float]:
    terms = {"fixed": 0.0, "sewer_price": 0.0, "sewer_share": 1.0, "billed_unit": 0.0} | other
    return list(water_charge(np.array(volumes), np.array(tops), np.array(prices), **terms))


def test_a_district_rate_chart_from_1_to_15_thousand_gallons() -> None:
    # Bourbon County (Kansas) Rural Water District No. 4, rate chart (bourboncorwd4.com): service
    # fee 19.50 "plus" this chart. Its steps are 7.05, 6.55 and 5.80 a thousand; 5.35 over 15,000.
    chart = [
        7.05, 14.10, 21.15, 27.70, 34.25, 40.80, 47.35, 53.15, 58.95, 64.75, 70.55, 76.35, 82.15,
        87.95, 93.75,
    ]  # fmt: skip
    volumes = [float(v) for v in range(1, 16)]
    computed = bills(volumes, [3, 7, 15], [7.05, 6.55, 5.80, 5.35], fixed=19.50)
    assert computed == pytest.approx([19.50 + c for c in chart], abs=1e-9)
    above = bills([18.0], [3, 7, 15], [7.05, 6.55, 5.80, 5.35], fixed=19.50)
    assert above == pytest.approx([19.50 + 93.75 + 3 * 5.35])


def test_a_falling_tariff_with_a_first_block_in_the_fixed_part() -> None:
    # City of Oakley, sewer rates (discoveroakley.com/171/Sewer): 16,000 gal cost 27 for the first
    # 5,000, 2 a thousand for the next 10,000 and 1.10 a thousand beyond.
    assert bills([16.0], [5, 15], [0.0, 2.0, 1.10], fixed=27.0) == pytest.approx([48.10])


def test_an_example_whose_words_and_sum_disagree() -> None:
    # Hi-Desert Water District, water rates (hdwd.com/314): "uses 6 units", then counts 4 units at
    # 3.65 and 4 at 6.17 with a fixed charge of 20.75, 60.03 in all. That is the bill of 8 units;
    # 6 units cost 47.69 by the same tariff.
    assert bills([8.0, 6.0], [4], [3.65, 6.17], fixed=20.75) == pytest.approx([60.03, 47.69])


def test_sewer_is_charged_on_its_share_and_whole_units_are_billed() -> None:
    plain = bills([10.9], [], [2.0])
    assert plain == pytest.approx([21.8])
    assert bills([10.9], [], [2.0], billed_unit=1.0) == pytest.approx([20.0])
    assert bills([10.9], [], [2.0], sewer_price=1.5, sewer_share=0.5) == pytest.approx(
        [21.8 + 8.175]
    )
    assert bills([0.3], [], [1.0], billed_unit=0.1) == pytest.approx([0.3])  # 0.3/0.1 < 3 as floats


@pytest.mark.parametrize(
    ("tops", "prices", "words"),
    [
        ([5.0], [1.0, 2.0, 3.0], "3 prices need 2 tops"),
        ([5.0, 5.0], [1.0, 2.0, 3.0], "rise"),
        ([0.0], [1.0, 2.0], "rise"),
        ([5.0, 9.0], [1.0, 2.0], "above the last tier's top"),
        ([], [], "0 prices"),
    ],
)
def test_faulty_tariffs_are_refused(tops: list[float], prices: list[float], words: str) -> None:
    with pytest.raises(InputError, match=words):
        bills([10.0], tops, prices)


def test_energy_to_lift_an_acre_foot() -> None:
    # Peacock, "Energy and Cost Required to Lift or Pressurize Water", University of California
    # Cooperative Extension Tulare County, Pub. IG6-96: 271,922,600 ft-lb lift an acre-foot by
    # 100 ft, with 8.345 lb to the gallon, 0.2 % above the water of 20 deg C that we take.
    foot_pound = 0.3048 * 0.45359237 * 9.80665 / 3.6e6  # kWh, exact
    acre_foot = 325_851 * 231 * 0.0254**3
    ours = pumping_energy(acre_foot, 0.0, 1.0, 30.48)
    assert ours == pytest.approx(271_922_600 * foot_pound, rel=0.003)
    assert pumping_energy(acre_foot, 0.0, 0.5, 30.48) == pytest.approx(2 * float(ours))


def year(volumes: list[float], tops: list[float], prices: list[float], **other: float) -> WaterYear:
    tiers = Tiers.from_tops(np.array(tops), np.array(prices), "tier_tops")
    return WaterYear(np.array(volumes), tiers, **({"fixed": 0.0} | other))


def test_a_dearer_tier_reached_by_using_more_is_no_price_rise() -> None:
    before, after, effects = water_bill_effects(
        year([8.0, 12.0], [10.0], [1.0, 3.0]), year([8.0, 20.0], [10.0], [1.0, 3.0])
    )
    assert (before, after) == (Decimal("24.00"), Decimal("48.00"))
    assert effects.price == 0
    assert effects.use == Decimal("24.00")  # 8 units, all in the dear tier


def test_each_link_of_the_chain_by_hand() -> None:
    # Old: 10 at 1 = 10, fixed 5. New tariff: 10 x 1.5 = 15 (price +5); twice the area: 20 units,
    # 10 of them at 2.5 = 40 (area +25); need up by half: 30 units = 65 (weather +25); used 22
    # = 45 (use -20); fixed 6 (+1).
    before, after, effects = water_bill_effects(
        year([10.0], [], [1.0], fixed=5.0, area=100.0, need=400.0),
        year([22.0], [10.0], [1.5, 2.5], fixed=6.0, area=200.0, need=600.0),
    )
    assert (before, after) == (15, 51)
    assert effects == (5, 25, 25, -20, 1, 0, 0, 0)


def test_unequal_numbers_of_bills_are_refused() -> None:
    with pytest.raises(InputError, match="as many billing periods"):
        water_bill_effects(year([1.0], [], [1.0]), year([1.0, 2.0], [], [1.0]))


volume_lists = st.lists(st.floats(0, 1e4), min_size=3, max_size=3)
price_lists = st.lists(st.floats(0, 50).map(lambda p: round(p, 4)), min_size=3, max_size=3)


@given(
    old=volume_lists, new=volume_lists, old_prices=price_lists, new_prices=price_lists,
    area=st.floats(0.1, 10), need=st.floats(0.1, 10),
)  # fmt: skip
def test_the_effects_of_a_bill_add_up_to_the_cent(
    old: list[float], new: list[float], old_prices: list[float], new_prices: list[float],
    area: float, need: float,
) -> None:  # fmt: skip
    before, after, effects = water_bill_effects(
        year(old, [10.0, 100.0], old_prices, fixed=7.125),
        year(new, [20.0, 50.0], new_prices, fixed=9.875, area=area, need=need),
    )
    assert sum(effects, Decimal(0)) == after - before
    assert all(effect == round(effect, 2) for effect in effects)
