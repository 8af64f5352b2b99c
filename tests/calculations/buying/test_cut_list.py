"""Cut lists: a person who follows them cuts every piece, and no roll is too short."""

from __future__ import annotations

from collections import defaultdict

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from xlfuncs.calculations.buying.cut_list import REST, START, WHOLE, cut_list, left_over_by_size
from xlfuncs.calculations.buying.cutting import cheapest_rolls


@settings(max_examples=80, deadline=None)
@given(
    st.lists(st.tuples(st.integers(2, 40), st.integers(0, 4)), min_size=1, max_size=6),
    st.sampled_from([None, 0.5]),
    st.sampled_from([0, 1]),
)
def test_following_the_list_gives_every_piece(pieces, join_price, join_loss):
    lengths, counts = [p[0] for p in pieces], [p[1] for p in pieces]
    rolls, prices = [40, 65, 100], [10.0, 14.0, 20.0]
    loss = join_loss if join_price is not None else 0
    plan = cheapest_rolls(lengths, counts, rolls, prices, join_price, loss)
    cuts = cut_list(plan, lengths, rolls, loss)
    length_cut: dict[int, float] = defaultdict(float)
    finished: dict[int, int] = defaultdict(int)
    left: dict[int, float] = {}
    for cut in cuts:
        left.setdefault(cut.roll, rolls[cut.size])
        left[cut.roll] -= cut.pieces * cut.length
        assert left[cut.roll] == pytest.approx(cut.left, abs=1e-6)
        assert left[cut.roll] >= -1e-6
        length_cut[cut.piece] += cut.pieces * cut.length
        finished[cut.piece] += cut.pieces if cut.part in (WHOLE, REST) else 0
    assert [cut.roll for cut in cuts] == sorted(cut.roll for cut in cuts)
    for row, (length, count) in enumerate(zip(lengths, counts, strict=True)):
        assert finished[row] == count
        assert length_cut[row] == pytest.approx(length * count)
    bought = sum(n * length for n, length in zip(plan.rolls, rolls, strict=True))
    needed = sum(n * length for n, length in zip(counts, lengths, strict=True))
    assert sum(left_over_by_size(plan, cuts, rolls)) == pytest.approx(bought - needed, abs=1e-6)
    assert sum(cut.part not in (WHOLE, REST) for cut in cuts) <= plan.joins


def test_a_piece_longer_than_any_roll_is_joined():
    plan = cheapest_rolls([25.0], [1], [10.0], [5.0], 0.5)
    cuts = cut_list(plan, [25.0], [10.0])
    assert [(cut.roll, cut.length) for cut in cuts] == [(1, 10.0), (2, 10.0), (3, 5.0)]
    assert (cuts[0].part, cuts[-1].part, cuts[-1].left) == (START, REST, 5.0)
    assert plan.cost == 3 * 5.0 + 2 * 0.5
