"""How far off sets are, by themselves and as guessed; bounds on sets, beside sets that pass."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.calculations.designs.gardens import garden
from xlfuncs.calculations.designs.costs import Costs
from xlfuncs.calculations.designs.dealing import Dealing
from xlfuncs.calculations.designs.judging import Judge
from xlfuncs.calculations.designs.search import Search


@pytest.fixture(scope="module")
def passing():
    """A garden, its cheapest design in several sets, and the sets."""
    question = garden(22)
    solved = next(s for s in Search(question, 1.0).solve().front if max(s.verdict.sets) > 1)
    sets = np.array(solved.verdict.sets)
    return question, solved, [tuple(np.flatnonzero(sets == n)) for n in range(1, sets.max() + 1)]


@pytest.fixture(scope="module")
def dealing(passing):
    question, solved, _ = passing
    judge, design = Judge(question), solved.design
    beds = judge.beds(design)
    return Dealing(
        judge.checks(design), judge._volume, question.wanted, judge._deliverable(design, beds),
        judge._blocks(), judge.capacity(design, beds),
    )  # fmt: skip


def test_a_set_that_passes_is_not_off_and_is_guessed_by_itself(passing, dealing):
    for group in passing[2]:
        rows = list(group)
        flow = dealing.checks.delivery(group).flow[rows]
        seconds = dealing.volume[rows].sum() / flow.sum()
        assert dealing.mark(group) == (0.0, pytest.approx(seconds))
        off, guessed = dealing.guess(rows, np.ones((1, len(rows)), dtype=bool), group)
        assert (off[0], guessed[0]) == (pytest.approx(0.0, abs=1e-6), pytest.approx(seconds))


def test_no_bound_on_sets_is_above_sets_that_pass(passing, dealing):
    groups, volume = passing[2], dealing.volume[dealing._watered]
    assert 1 <= dealing._bounds.least_sets(dealing.wanted.share, 6) <= len(groups)
    least = dealing._bounds.least_time(volume, 0.1, 6)
    assert volume.sum() / dealing.greatest_flow * (1 - 1e-5) <= least <= dealing.watering(groups)


def test_the_bound_of_a_width_is_of_its_own_beds():
    question, option = garden(3), (0, 2)
    longer = [replace(b, length=b.length + 3 * w) for b, w in
              zip(question.beds, question.width_of, strict=True)]  # fmt: skip
    before, after = Costs(question), Costs(replace(question, beds=longer, _covered={}))
    assert after.of_width(0, option) == before.of_width(0, option)
    assert after.of_width(1, option) > before.of_width(1, option)
