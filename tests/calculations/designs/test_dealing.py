"""How far off sets are, by themselves and as guessed; bounds on sets, beside sets that pass."""

from __future__ import annotations

from dataclasses import replace
from math import inf

import numpy as np
import pytest

from tests.calculations.designs.gardens import garden
from tests.calculations.pressure.test_watering_sets import partitions
from xlfuncs.calculations.buying.part_purchase import Need
from xlfuncs.calculations.designs.costs import Cost, Costs
from xlfuncs.calculations.designs.dealing import HOURS, QUICK, THOROUGH, Dealing, Dealt
from xlfuncs.calculations.designs.judging import Judge, _most_flow
from xlfuncs.calculations.designs.search import Search
from xlfuncs.calculations.pressure.set_checks import Breach


@pytest.fixture(scope="module")
def passing():
    """A garden, its cheapest design in several sets, and the sets."""
    question = garden(22)
    solved = next(s for s in Search(question, 1.0).solve().front if max(s.verdict.sets) > 1)
    sets = np.array(solved.verdict.sets)
    return question, solved, [tuple(np.flatnonzero(sets == n)) for n in range(1, sets.max() + 1)]


def dealing_of(question, design):
    judge = Judge(question)
    return Dealing(
        judge.checks(design), judge._volume, question.wanted, judge._greatest_set_flow(design),
        judge.blocks, judge.capacity(design),
    )  # fmt: skip


@pytest.fixture(scope="module")
def dealing(passing):
    return dealing_of(passing[0], passing[1].design)


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


def test_what_is_wrong_with_sets_that_pass_is_the_hours_alone(passing, dealing):
    groups, spent = passing[2], dealing.watering(passing[2])
    assert dealing._breach(groups) is None
    assert replace(dealing, wanted=replace(dealing.wanted, hours=spent))._breach(groups) is None
    hasty = replace(dealing, wanted=replace(dealing.wanted, hours=0.9 * spent))
    assert hasty._breach(groups) == Breach(HOURS, None, pytest.approx(spent), 0.9 * spent)
    together = tuple(sorted(row for group in groups for row in group))
    assert dealing._breach([together]) == dealing.wrong(together) is not None
    off, seconds = dealing.mark(together)
    assert off > 0
    assert seconds == pytest.approx(dealing.seconds(together))


def test_a_design_in_more_sets_than_it_may_need_costs_no_less_than_with_the_fewest(passing):
    question, solved, _ = passing
    search, seen = Search(question, 1.0), []
    search._push = lambda cost, rank, design: seen.append(design)
    search.judge.judge = lambda design, effort: replace(solved.verdict, fewest=1)
    search._judged(solved, QUICK)
    fewest = search.costs.true(search.costs.needs(solved.design, search.spread(1)))
    assert seen[0].cost.bound == pytest.approx(fewest.bound)
    assert fewest.bound < seen[0].cost.total - 1  # a valve less


def test_more_even_is_better_all_else_alike(passing):
    solved = passing[1]
    more = replace(solved, verdict=replace(solved.verdict, uniformity=solved.verdict.uniformity
                                           + 0.05))  # fmt: skip
    assert more.marks < solved.marks


def test_a_manifold_has_the_diameter_of_its_pipe(passing):
    question, design = passing[0], passing[1].design
    for manifold in (None, 0):
        beds = Judge(question).beds(replace(design, frame=replace(design.frame, manifold=manifold)))
        wanted = np.nan if manifold is None else question.manifolds[0].diameter
        np.testing.assert_array_equal(beds.manifold_diameter, wanted)


def test_beds_that_must_stay_together_and_cannot_are_named(passing):
    question = replace(passing[0], beds=[replace(bed, block="1") for bed in passing[0].beds],
                       _covered={})  # fmt: skip
    dealing = dealing_of(question, passing[1].design)
    dealt = dealing.dealt(QUICK)
    assert dealt.kept == dealing.blocks[0]
    assert dealt.breach == dealing.wrong(dealt.kept) is not None


@pytest.mark.parametrize(
    ("head", "most", "flow"), [(4.0, np.inf, 6.0), (4.0, 2.0, 2.0), (4.0, 9.0, 6.0), (11.0, 9.0, 0)]
)
def test_the_most_flow_at_a_head(head, most, flow):
    """A supply of 10 m that loses 1 m with each L/s."""
    found = _most_flow(lambda drawn: (10 - 1000 * drawn, -1000.0), head, most / 1000)
    assert found * 1000 == pytest.approx(flow)


def test_the_bound_of_a_width_is_of_its_own_beds():
    question, option = garden(3), (0, 2)
    longer = [replace(b, length=b.length + 3 * w) for b, w in
              zip(question.beds, question.width_of, strict=True)]  # fmt: skip
    before, after = Costs(question), Costs(replace(question, beds=longer, _covered={}))
    assert after.of_width(0, option) == before.of_width(0, option)
    assert after.of_width(1, option) > before.of_width(1, option)


def test_the_best_of_all_sets_are_the_fewest_of_all_that_are_right(passing, dealing):
    """Beside every way to put the beds into sets."""
    found = dealing._best_of_all(2 ** len(dealing.blocks))
    every = ([dealing._rows(members) for members in deal]
             for deal in partitions(list(range(len(dealing.blocks)))))  # fmt: skip
    right = [len(groups) for groups in every if dealing._breach(groups) is None]
    assert sorted(row for group in found.groups for row in group) == sorted(dealing._watered)
    assert dealing._breach(found.groups) is None
    assert len(found.groups) == found.fewest == min(right) <= len(passing[2])


def test_where_none_are_fewer_no_others_are_looked_for(passing, dealing, monkeypatch):
    hardly = replace(dealing, wanted=replace(dealing.wanted, hours=inf))
    monkeypatch.setattr(hardly, "_fewest", lambda of: (passing[2], len(passing[2])))
    monkeypatch.setattr(hardly, "_best_of_all", lambda most: pytest.fail("looked for"))
    assert hardly.dealt(THOROUGH) == Dealt(passing[2], len(passing[2]))


def test_the_uniformity_of_a_design_is_that_of_its_worst_bed(passing):
    question, solved, groups = passing
    checks = Judge(question).checks(solved.design)
    worst = min(checks.uniformity(checks.delivery(group))[list(group)].min() for group in groups)
    assert Judge(question).judge(solved.design, QUICK).uniformity == pytest.approx(worst)


def test_how_far_plants_are_from_lines_is_of_the_worst_bed_and_planting():
    """One line in the middle: a strip 0.6 m wide ends 0.3 m away, whatever else is planted."""
    question = garden(3, beds=4)
    assert question.coverage(0, (0, 1)).farthest == pytest.approx(0.3)
    for narrow in (0, 2):
        beds = [replace(bed, strip_width=0.3 if i == narrow else 0.6)
                for i, bed in enumerate(question.beds)]  # fmt: skip
        two_kinds = replace(question, beds=beds, _covered={})
        assert two_kinds.coverage(0, (0, 1)).farthest == pytest.approx(0.3)


def test_no_design_is_judged_again_that_cannot_be_cheaper_than_one_just_settled(passing):
    search, judged = Search(passing[0], 1.0), []

    def of(total, bound):
        return replace(passing[1], cost=Cost(total, bound))

    def judge(solved, effort):
        judged.append(solved.cost.bound)
        search._push(60.0, 2, of(60.0, 60.0))

    search._judged = judge
    search._found.passing = [of(100.0, 100.0)]
    search._doubtful = [of(90.0, 80.0), of(70.0, 50.0)]
    search._settle(inf)
    assert judged == [50.0]
    assert search._found.cheapest.cost.total == 60.0


def test_nothing_buys_the_same_for_less_than_a_proven_purchase():
    """Five pieces of 40 m: two from a roll of 100 m, where all joined would need two rolls."""
    question, needs = garden(3), [Need("drip line", 5, 40.0)]
    bought = Costs(question).true(needs)
    assert bought.bound == bought.total == pytest.approx(1.1 * (2 * 70 + 40))
    assert Costs(question).bound(needs) == pytest.approx(1.1 * 2 * 70, abs=0.02)
