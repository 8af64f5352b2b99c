"""Where one answer ends and the next begins: the choice of a line, lines in a bed, beds on a map.

Values by hand; each was once free to change without any test failing.
"""

from __future__ import annotations

import numpy as np
import pytest

from xlfuncs.calculations.layout.beds import bed_positions, line_advice
from xlfuncs.calculations.layout.line_layout import candidate_insets, line_spacing


def test_one_line_that_suits_is_enough_to_recommend_the_fastest_of_them():
    """Emitters 0.3 m apart on a strip of 0.4 m give 10, 25 and 15 mm/h; the soil takes 16."""
    flows = np.array([10, 25, 15]) * 0.3 * 0.4 / 3.6e6
    rate, share, advice, reasons = line_advice(np.full(3, 0.3), flows, 0.4, 16.0)
    assert np.allclose(rate, [10, 25, 15])
    assert np.allclose(share, [0.625, 1.5625, 0.9375])
    assert advice == ["ok", "too fast", "recommended"]
    assert [reason.endswith("the fastest that suits") for reason in reasons] == [0, 0, 1]


def test_insets_that_are_tried_leave_the_two_outer_lines_apart():
    assert candidate_insets(1.0, 2, 0.25).tolist() == [0.25, 0.25, 0.0]
    assert candidate_insets(1.0, 2, 0.125).tolist() == [0.25, 0.25, 0.125, 0.375, 0.0]
    assert candidate_insets(1.0, 1, 0.2).tolist() == [0.5]


def test_a_single_line_has_no_spacing_wherever_it_lies():
    assert line_spacing(1.0, 1, 0.2) == 0.0
    assert line_spacing(1.0, 2, 0.2) == 0.6
    assert line_spacing(1.0, 3, np.nan) == (1.0 - 2 / 6) / 2


def test_the_first_pipe_stands_at_nought_and_the_next_two_gaps_past_the_beds_between():
    distance, length, branch = np.array([5.0, 5.0, 9.0]), np.array([10.0, 8.0, 6.0]), [1, 1, 2]
    near, far, along, pipe = bed_positions(distance, length, np.array(branch), 1.0, np.full(3, 0.5))
    assert pipe.tolist() == [0, 0, 9 + 7 + 2]  # to the right 1 + 8, then 1 + 6 to the left
    assert near.tolist() == [-1, 1, 17]
    assert far.tolist() == [-11, 9, 11]
    assert along.tolist() == [5, 5, 9]


@pytest.mark.parametrize(
    ("second", "side"),
    [(5.9, 1), (5.985, 1), (5.995, -1), (6.0, -1), (6.005, -1), (6.5, -1)],
)
def test_beds_that_overlap_lie_across_and_those_that_meet_edge_to_edge_do_not(second, side):
    """Two beds 1 m wide, 5 m and `second` m along the pipe; 1 cm of overlap is let pass."""
    distance, length, branch = np.array([5.0, second]), np.array([10.0, 8.0]), np.ones(2)
    near, *_ = bed_positions(distance, length, branch, 1.0, np.full(2, 0.5))
    assert near.tolist() == [-1, side]
