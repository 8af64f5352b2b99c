"""Single laterals: where the driest emitter lies, and how long a lateral may be."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from xlfuncs.calculations.pressure.emitters import OutletFlow, Outlets
from xlfuncs.calculations.pressure.laterals import (
    Lateral,
    distribution_uniformity,
    lateral_profile,
    max_lateral_length,
    max_lateral_length_by_variation,
)
from xlfuncs.calculations.pressure.properties import pressure_from_head
from xlfuncs.errors import InputError

METRE = pressure_from_head(1.0)
LINE = Lateral(90.0, 0.3, 1 / 3.6e6, 10 * METRE, 0.0136)


def test_downhill_the_driest_emitter_lies_inside():
    flow = lateral_profile(replace(LINE, slope=-0.02), 8 * METRE).flow
    assert 0 < int(flow.argmin()) < flow.size - 1


def test_compensating_emitters_hold_their_flow_down_to_their_least_pressure():
    line = replace(LINE, exponent=0.0, min_pressure=5 * METRE, diameter=0.02)
    assert np.all(lateral_profile(line, 8 * METRE).flow == LINE.rated_flow)
    starved = lateral_profile(line, 4 * METRE)
    expected = LINE.rated_flow * np.sqrt(starved.pressure / (5 * METRE))
    np.testing.assert_allclose(starved.flow, expected, rtol=1e-9)


def test_one_compensating_emitter_among_others_is_below_its_least_pressure_too():
    """By hand: a quarter of the rated 10 m gives half the flow, by the law or as an orifice."""
    head, exponent, least = np.full(2, 10.0), np.array([0.0, 0.5]), np.array([10.0, 0.0])
    outlets = OutletFlow(Outlets.rated(np.ones(2), head, exponent, least))
    flow, slope = outlets.flow_and_slope(np.full(2, 2.5), 1e-4)
    np.testing.assert_allclose(flow, [0.5, 0.5])
    np.testing.assert_allclose(slope, [0.1, 0.1])  # 0.5 q / h


@settings(max_examples=40, deadline=None)
@given(st.floats(0.7, 0.98), st.floats(0.0, 0.08), st.sampled_from([0.0, 0.01]))
def test_the_longest_lateral_keeps_and_the_next_does_not(uniformity, variation, slope):
    line = replace(LINE, slope=slope)
    factor = 1 - 1.27 * variation
    if factor < uniformity:
        with pytest.raises(InputError, match="single emitter"):
            max_lateral_length(line, 10 * METRE, uniformity, variation)
        return
    longest = max_lateral_length(line, 10 * METRE, uniformity, variation, longest=2000)
    kept = lateral_profile(replace(line, length=longest), 10 * METRE)
    longer = lateral_profile(replace(line, length=longest + line.emitter_spacing), 10 * METRE)
    assert kept.least_over_mean * factor >= uniformity
    assert longer.least_over_mean * factor < uniformity


def test_the_longest_lateral_by_variation():
    longest = max_lateral_length_by_variation(LINE, 10 * METRE, 0.1)
    spacing = LINE.emitter_spacing
    variation = [
        lateral_profile(replace(LINE, length=length), 10 * METRE).flow_variation
        for length in (longest, longest + spacing)
    ]
    assert variation[0] <= 0.1 < variation[1]


@pytest.mark.parametrize("count", [5, 6, 7, 8, 9])
def test_equal_readings_are_uniform_whatever_their_number(count):
    assert distribution_uniformity(np.full(count, 3.0)) == pytest.approx(1.0)


def test_a_quarter_counts_a_reading_in_part():
    """Of six readings the lowest and half of the next: (1 + 0.5 * 2) / 1.5 over the mean 3.5."""
    flows = np.array([1.0, 2, 3, 4, 5, 6])
    assert distribution_uniformity(flows) == pytest.approx(2 / 1.5 / 3.5)


def test_no_flow_at_all_has_no_uniformity():
    with pytest.raises(InputError, match="all zero"):
        distribution_uniformity(np.zeros(4))


def test_a_lateral_shorter_than_its_spacing_is_refused():
    with pytest.raises(InputError, match="0 emitters"):
        lateral_profile(replace(LINE, length=0.2), 10 * METRE)
