"""Where one run ends and the next begins: to the second, on whole minutes, up to midnight."""

from __future__ import annotations

import numpy as np
import pytest

from xlfuncs.calculations.timer.long_runs import (
    injection_times,
    lines_flushed_at_once,
    tank_level_after,
)
from xlfuncs.calculations.timer.programs import Timer, WateringSet, timer_program
from xlfuncs.calculations.timer.weekly_schedule import (
    DAY,
    AllowedHours,
    WeeklySchedule,
    clock_overlap,
)

HOUR = 3600
MORNING = AllowedHours(5 * HOUR, 9 * HOUR)


def test_a_run_waits_until_the_one_before_has_ended_and_for_a_whole_minute():
    schedule = WeeklySchedule(MORNING)
    schedule.take((0,), 0, 601)
    assert schedule.first_fit((0,), 0, 60) == 660
    assert schedule.first_fit((0,), 300, 60) == 660
    assert schedule.first_fit((1,), 0, 60) == 0  # another day is free
    assert schedule.first_fit((1,), 61, 60) == 120


def test_a_run_that_would_meet_a_later_one_goes_behind_it():
    schedule = WeeklySchedule(MORNING)
    schedule.take((0,), 600, 300)
    assert schedule.first_fit((0,), 0, 600) == 0  # ends as the other begins
    assert schedule.first_fit((0,), 0, 601) == 900


def test_the_last_minute_of_the_hours_and_of_the_day_may_be_used():
    hours = AllowedHours(22 * HOUR, 2 * HOUR, (True, False, True, True, True, True, True))
    assert WeeklySchedule(hours).first_fit((0,), 0, 2 * HOUR) == 0  # up to midnight
    assert WeeklySchedule(hours).first_fit((0,), 0, 2 * HOUR + 1) is None  # Tuesday is not allowed
    assert WeeklySchedule(hours).first_fit((2,), 0, 4 * HOUR) == 0
    assert WeeklySchedule(hours).first_fit((2,), 60, 4 * HOUR) is None


def test_spans_that_touch_do_not_overlap():
    assert not clock_overlap(0, 600, 600, 60)
    assert not clock_overlap(600, 60, 0, 600)
    assert clock_overlap(0, 601, 600, 60)
    assert clock_overlap(DAY - 60, 120, 59, 60)  # over midnight


@pytest.mark.parametrize(
    ("wanted", "entered"), [(89.9, 60), (90.0, 120), (10.0, 60), (5 * HOUR, 4 * HOUR)]
)
def test_minutes_are_entered_to_the_nearest_step_and_at_most_the_longest_run(wanted, entered):
    timer = Timer(stations=4, programs=2, starts=1)
    (result,) = timer_program([WateringSet(0, wanted, 1)], timer, AllowedHours(0, 0))
    assert result.entered == entered


def test_a_set_without_water_is_never_started():
    timer = Timer(stations=4, programs=2, starts=4)
    none, least = timer_program([WateringSet(0, 0.0, 1), WateringSet(1, 0.005, 1)], timer, MORNING)
    assert (none.starts, least.starts) == ((), (5 * HOUR,))


def test_just_enough_time_to_inject_is_enough():
    assert injection_times(900.0, 300.0)[1] == 300.0
    assert np.isnan(injection_times(899.0, 300.0)[1])


def test_flow_for_three_ends_opens_three():
    """0.9 of 1.0 less six lines of 0.1, by 0.1 an end: 2.9999999999999996 in binary."""
    assert lines_flushed_at_once(0.9, 6, 0.1, 0.1) == 3


def test_a_tank_falls_as_the_law_of_its_emitters_says():
    # Torricelli: with the flow as the root of the head, the root of the head falls evenly in time
    area, level, lift, flow, seconds = 1.0, 1.2, 0.8, 1e-4, 4000.0
    root = np.sqrt(level + lift)
    expected = (root - flow * seconds / (2.0 * area * root)) ** 2 - lift
    found = tank_level_after(area, level, lift, flow, seconds)
    assert found == pytest.approx(expected, rel=1e-9)
