"""Supplies and head parts: curves, limits, and what is said of parts that cannot work."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from xlfuncs.calculations.pressure.properties import head_from_pressure
from xlfuncs.calculations.supply.head_parts import (
    HeadParts,
    head_pressures,
    part_words,
    working_flows,
)
from xlfuncs.calculations.supply.supplies import (
    pump_pressure,
    service_pressure,
    supply_from_curve,
    tank_pressure,
)
from xlfuncs.errors import InputError

BAR = 1e5
LITRE_A_MINUTE = 1 / 60_000


@given(st.floats(1, 10), st.floats(5, 100), st.floats(0.05, 0.95), st.floats(0.1, 0.9))
def test_a_service_curve_meets_its_three_measurements(static, open_flow, at, left):
    static, open_flow = static * BAR, open_flow * LITRE_A_MINUTE
    gauge = (at * open_flow, left * static)
    assert service_pressure(0.0, static, open_flow, *gauge) == static
    assert service_pressure(gauge[0], static, open_flow, *gauge) == pytest.approx(gauge[1])
    assert service_pressure(open_flow, static, open_flow, *gauge) == pytest.approx(0, abs=1e-6)


def test_a_service_without_a_gauge_follows_hydrant_practice():
    """NFPA 291: Q2/Q1 = (drop2/drop1)^0.54."""
    static, open_flow = 4 * BAR, 30 * LITRE_A_MINUTE
    drop = static - service_pressure(15 * LITRE_A_MINUTE, static, open_flow)
    assert (drop / static) ** 0.54 == pytest.approx(0.5)


@given(st.floats(0, 60))
def test_a_supply_curve_is_its_points_capped(litres):
    flow = np.array([0, 10, 30]) * LITRE_A_MINUTE
    pressure = np.array([3.0, 2.5, 0.5]) * BAR
    supply = supply_from_curve(flow, pressure, most=2.0 * BAR)
    drawn = litres * LITRE_A_MINUTE
    head, slope = supply(drawn)
    if drawn <= flow[-1]:
        expected = min(np.interp(drawn, flow, pressure), 2.0 * BAR)
        assert head == pytest.approx(head_from_pressure(expected))
    else:
        assert head < head_from_pressure(0.5 * BAR)
        assert head <= 0 or drawn <= 1.02 * flow[-1]  # it gives way within 2 % of flow
    assert slope <= 0


@pytest.mark.parametrize(
    ("flow", "pressure", "words"),
    [
        ([0.0, 1.0], [1.0, 2.0], "rises with the flow"),
        ([1.0, 1.0], [2.0, 1.0], "one flow twice"),
        ([1.0], [2.0], "at least two points"),
    ],
)
def test_a_curve_that_is_none_is_refused(flow, pressure, words):
    with pytest.raises(InputError, match=words):
        supply_from_curve(np.array(flow), np.array(pressure))


def test_a_pump_gives_nothing_beyond_its_curve_nor_below_its_lift():
    pressure = pump_pressure(
        np.array([0.0, 5, 10, 11]), np.array([0.0, 10]), np.array([40.0, 20]), 30.0
    )
    assert pressure[0] > 0
    np.testing.assert_allclose(pressure[1:], 0.0)
    with pytest.raises(InputError, match="below the first flow") as refused:
        pump_pressure(np.array([7.0, 2]), np.array([5.0, 10]), np.array([40.0, 20]), 0.0)
    assert refused.value.row == 1


def test_a_tank_that_is_drawn_down_gives_nothing():
    assert tank_pressure(2.0, 2.5, 1.0) == 0.0


def test_gravity_does_not_work_a_regulator_and_the_words_say_so():
    """A tank 3 m up gives 0.29 bar; a regulator of 1 bar asks for 1.3 bar before it."""
    parts = HeadParts(
        loss=np.array([0.1 * BAR, 0.0]),
        loss_flow=np.array([20 * LITRE_A_MINUTE, np.nan]),
        opening_loss=np.zeros(2),
        preset=np.array([np.nan, 1.0 * BAR]),
        least_flow=np.array([np.nan, 5 * LITRE_A_MINUTE]),
        greatest_flow=np.array([15 * LITRE_A_MINUTE, np.nan]),
        least_inlet=np.array([np.nan, 1.3 * BAR]),
    )
    flow = 2 * LITRE_A_MINUTE
    pressures = head_pressures(parts, np.array([flow]), np.array([0.29 * BAR]))
    filter_words, regulator_words = part_words(parts, flow, pressures)
    assert filter_words == ""
    assert "will not work: needs 1.30 bar" in regulator_words
    assert "too little flow: needs 5.0 L/min" in regulator_words
    assert "does not hold its 1.00 bar" in regulator_words
    much = 40 * LITRE_A_MINUTE
    pressures = head_pressures(parts, np.array([much]), np.array([3 * BAR]))
    filter_words, regulator_words = part_words(parts, much, pressures)
    assert "water in 3 sets" in filter_words  # 40 through a part for 15
    assert regulator_words == ""


def test_a_dirty_filter_takes_more_from_the_main():
    flow, supply = np.array([10.0]) * LITRE_A_MINUTE, np.array([3.0 * BAR])
    clean, dirty = (
        head_pressures(
            HeadParts(*(np.array([x]) for x in (loss, flow[0], 0, *[np.nan] * 4))), flow, supply
        ).behind[-1, 0]
        for loss in (0.1 * BAR, 0.5 * BAR)
    )
    assert (clean, dirty) == (pytest.approx(2.9 * BAR), pytest.approx(2.5 * BAR))


@pytest.mark.parametrize(
    ("inlet", "most", "greatest"),
    [(1.0, 40, 25), (2.5, 40, 15), (3.0, 40, 10), (3.1, 40, 0), (1.0, 22, 22), (np.nan, 40, 40)],
)
def test_flows_between_which_all_parts_work(inlet, most, greatest):
    """By hand on a curve of 3, 3, 2 and 0 bar at 0, 10, 20 and 30 L/min, straight between."""
    nothing = np.full(2, np.nan)
    parts = HeadParts(
        np.zeros(2), nothing, np.zeros(2), nothing, np.array([5, 2]) * LITRE_A_MINUTE,
        np.array([np.nan, most]) * LITRE_A_MINUTE, np.array([inlet, np.nan]) * BAR,
    )  # fmt: skip
    flow, pressure = np.array([0, 10, 20, 30]) * LITRE_A_MINUTE, np.array([3, 3, 2, 0]) * BAR
    found = np.array(working_flows(parts, flow, pressure)) / LITRE_A_MINUTE
    np.testing.assert_allclose(found, [5, greatest], atol=1e-9)
