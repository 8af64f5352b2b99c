"""Steps away from a purchase, on cases small enough to do by hand and against plain enumeration."""

from __future__ import annotations

import math

import pytest

from tests.calculations.buying.cutting_instances import OR_LIBRARY
from xlfuncs.calculations.buying.cutting import cheapest_rolls
from xlfuncs.calculations.buying.roll_fit import (
    LONGER,
    MORE_LINES,
    PRESENT,
    SHORTER,
    cut_length,
    roll_fit,
)

FOOT = 0.3048


def test_a_foot_less_per_line_saves_a_roll():
    """Three lines of 34 ft need two rolls of 100 ft, three of 33 ft only one."""
    steps = {step.kind: step for step in roll_fit([34.0], [3], [100.0], [14.5], 1.0)}
    assert steps[PRESENT].cost == 29.0
    assert (steps[SHORTER].spacings, steps[SHORTER].saving) == (-1, 14.5)
    assert steps[SHORTER].left_over == pytest.approx(1.0)
    # Two on one roll and one on the other: each may be 12 spacings longer (46 ft), the most asked.
    assert steps[LONGER].spacings == 12
    assert steps[MORE_LINES].more_lines == 1


def test_lines_that_just_fit_leave_nothing_to_change():
    """Three lines of 33 ft on one roll of 100 ft: no foot more and no line more is free."""
    (present,) = roll_fit([33.0], [3], [100.0], [14.5], 1.0)
    assert (present.kind, present.cost, present.left_over) == (PRESENT, 14.5, pytest.approx(1.0))


def test_two_half_feet_less_leave_a_foot_over():
    """Three lines of 34 ft less 2 x 6 in are 99 ft, of a roll of 100 ft."""
    steps = {step.kind: step for step in roll_fit([34.0], [3], [100.0], [14.5], 0.5)}
    assert (steps[SHORTER].spacings, steps[SHORTER].left_over) == (-2, pytest.approx(1.0))


def test_steps_against_buying_at_every_length():
    lengths, counts = [30.0, 24.0, 41.0], [4, 6, 3]
    rolls, prices, spacing = [100.0, 250.0], [14.5, 31.0], 0.5
    steps = roll_fit(lengths, counts, rolls, prices, spacing, most_steps=8)

    def cost(change: int) -> float:
        return cheapest_rolls([x + change * spacing for x in lengths], counts, rolls, prices).cost

    cheaper, expected = cost(0), []
    for number in range(1, 9):
        if cost(-number) < cheaper - 0.005:
            cheaper = cost(-number)
            expected.append((-number, cheaper))
    assert [(s.spacings, s.cost) for s in steps if s.kind == SHORTER] == expected
    free = max(n for n in range(9) if math.isclose(cost(n), cost(0)))
    assert [s.spacings for s in steps if s.kind == LONGER] == ([free] if free else [])


def test_a_search_is_not_complete_where_a_purchase_is_not_proven():
    """The present purchase alone has a third of the time, which is too little to prove it."""
    hard = OR_LIBRARY[0]
    for limit, proven in ((0.02, False), (1.0, True)):
        (present,) = roll_fit(
            list(hard.pieces), list(hard.pieces.values()), [hard.roll], [1.0], 1.0,
            most_steps=0, most_lines=0, time_limit=limit,
        )  # fmt: skip
        assert (present.proven, present.complete) == (proven, proven)


def test_lines_are_cut_between_emitters():
    """22 ft 9 in at 8 in spacing: 34 whole spacings are 22 ft 8 in, and 6 in for the ends."""
    assert cut_length(22.75 * FOOT, 8 * 0.0254, 0.1524) == pytest.approx((22 + 8 / 12 + 0.5) * FOOT)
    assert cut_length(3.0, 0.2, 0.0) == pytest.approx(3.0)  # 15 spacings in floats


def test_what_is_left_over_is_less_by_the_further_lines():
    """2 x 30 m of a roll of 100 m leave 40 m; a third line costs nothing and leaves 10 m."""
    steps = {step.kind: step for step in roll_fit([30.0], [2], [100.0], [14.0], 0.5)}
    assert steps[PRESENT].left_over == pytest.approx(40.0)
    assert steps[MORE_LINES].more_lines == 1
    assert steps[MORE_LINES].left_over == pytest.approx(10.0)
