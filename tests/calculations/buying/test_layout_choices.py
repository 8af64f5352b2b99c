"""Layout choices against numbers worked by hand and against the definition of dominance."""

from __future__ import annotations

from dataclasses import replace
from math import isnan

import pytest

from xlfuncs.calculations.buying.layout_choices import Bed, Demands, LineType, layout_choices
from xlfuncs.errors import InputError

TAPE = LineType("tape", 0.2, 1.0 / 3.6e6, (150.0,), (30.0,))
HEAVY = LineType("drip line", 0.3, 2.0 / 3.6e6, (75.0, 150.0), (40.0, 72.0))
BEDS = [Bed(15.0, 1.0, 12.0)] * 4
DEMANDS = Demands(
    depth=10.0, supply_flow=0.2e-3, share=0.75, farthest=0.15, longest_day=4 * 3600, line_parts=0.5
)


def test_one_choice_by_hand():
    """4 beds of 15 m, 4 tapes each: 16 x 15 = 240 m, two rolls of 150 m, and 16 x 0.50 of parts.

    75 emitters a line at 1 L/h, 300 L/h a bed; 12 m2 at 10 mm are 120 L: 0.4 h. 540 L/h may be
    used, one bed at a time, so 1.6 h for all. 60 m of 300 m are left over: 12 of 60.
    """
    (choice,) = layout_choices(BEDS, [TAPE], [4], DEMANDS)
    assert (choice.rolls, choice.cost) == (((150.0, 2),), pytest.approx(68.0))
    assert choice.cost_per_area == pytest.approx(68.0 / 48)
    assert choice.farthest == pytest.approx(0.125)
    assert choice.flow == pytest.approx(300 / 3.6e6)
    assert (choice.minutes, choice.day) == (pytest.approx(0.4 * 3600), pytest.approx(1.6 * 3600))
    assert (choice.left_over, choice.left_over_value) == (pytest.approx(60), pytest.approx(12))
    assert (choice.fails, choice.cheapest, choice.dominated) == ((), True, False)


def test_the_cheapest_that_passes_is_named_and_failures_have_names():
    choices = layout_choices(BEDS, [TAPE, HEAVY], [1, 2, 3, 4, 6], DEMANDS)
    passing = [choice for choice in choices if not choice.fails]
    assert [choice.cheapest for choice in choices].count(True) == 1
    assert next(c for c in choices if c.cheapest).cost == min(c.cost for c in passing)
    for choice in choices:
        assert ("coverage" in choice.fails) == (0.5 / choice.laterals > 0.15 + 1e-9)
        assert ("flow" in choice.fails) == (choice.flow > 0.15e-3)
        assert ("time" in choice.fails) == (choice.day > 4 * 3600)


def test_dominated_is_no_better_in_anything_and_worse_in_something():
    choices = layout_choices(BEDS, [TAPE, HEAVY], [1, 2, 3, 4, 6], DEMANDS)
    assert any(choice.dominated for choice in choices)

    def marks(c):
        return (len(c.fails), c.cost, c.farthest, c.flow, c.day)

    for choice in choices:
        beaten = any(
            marks(other) != marks(choice)
            and all(a <= b for a, b in zip(marks(other), marks(choice), strict=True))
            for other in choices
        )
        assert choice.dominated == beaten


def test_what_cannot_be_laid_says_why():
    """A line longer than every roll, a bed shorter than the gap between emitters: no cost or no
    run, and the name of the check, where an infinite run or nothing at all stood before."""
    short = LineType("short", 0.3, 1e-7, (50.0,), (9.0,))
    (choice,) = layout_choices([Bed(80.0, 1.0, 60.0)], [short], [2], DEMANDS)
    assert isnan(choice.cost) and "roll length" in choice.fails
    foot = 0.3048
    beds = [Bed(48 * foot, 1.0, 12.0), Bed(0.9 * foot, 1.0, 0.2)]
    wide = LineType("wide", foot, 1e-7, (50.0,), (9.0,))
    (choice,) = layout_choices(beds, [wide], [2], replace(DEMANDS, end_allowance=foot / 2))
    assert isnan(choice.day) and isnan(choice.minutes) and "emitters" in choice.fails
    with pytest.raises(InputError, match="no bed"):
        layout_choices([], [TAPE], [2], DEMANDS)
