"""Cycle and soak: checked by conservation of water, counted in litres rather than in rates."""

from __future__ import annotations

import numpy as np
import pytest

from xlfuncs.calculations.water import soil_water as cycle

TAPE = 5.0 / 3.6e6  # 5 L/h per m, in m2/s


def test_rate_over_the_strip_not_over_the_bed():
    """5 L in an hour on a strip of 1 m by 0.3 m: 16.7 mm, whatever the bed's width."""
    assert cycle.strip_application_rate(TAPE, 0.3) == pytest.approx(5.0 / 0.3)


def test_longest_run_just_fills_the_wetted_root_zone():
    """20 mm on 1 m of a 0.3 m strip are 6 L, which the tape brings in 6/5 h."""
    assert cycle.max_cycle_seconds(TAPE, 0.3, 20.0) == pytest.approx(6 / 5 * 3600)


def test_slow_soil_ponds_first():
    """Of 16.7 mm/h, 10 soak in; 6.7 mm/h fill 5 mm of hollows in 45 min."""
    assert cycle.max_cycle_seconds(TAPE, 0.3, 20.0, 10.0, 5.0) == pytest.approx(45 * 60)
    assert cycle.soak_seconds(5.0, 10.0) == pytest.approx(30 * 60)


def test_fast_soil_is_limited_by_storage_only():
    fast = cycle.max_cycle_seconds(TAPE, 0.3, 20.0, 60.0)
    assert fast == cycle.max_cycle_seconds(TAPE, 0.3, 20.0)


def test_columns_mix_known_and_unknown_intake():
    result = cycle.max_cycle_seconds(TAPE, 0.3, 20.0, np.array([10.0, np.inf, 60.0]), 5.0)
    np.testing.assert_allclose(result, [2700, 4320, 4320])


@pytest.mark.parametrize(
    ("minutes", "longest", "count"),
    [(60, 20, 3), (61, 20, 4), (15, 20, 1), (0, 20, 1), (0.3, 0.1, 3)],
)
def test_cycles(minutes, longest, count):
    assert cycle.cycles_needed(minutes, longest) == count
