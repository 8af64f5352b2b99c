"""The design that is found: none cheaper passes, and what is offered passes every check."""

from __future__ import annotations

import itertools
import random
import time
from dataclasses import replace
from math import inf

import numpy as np
import pytest

from tests.calculations.designs.gardens import garden
from xlfuncs.calculations.designs.costs import Costs
from xlfuncs.calculations.designs.enumerating import in_order
from xlfuncs.calculations.designs.judging import Judge
from xlfuncs.calculations.designs.question import Design
from xlfuncs.calculations.designs.search import Search


def exhaustive(question):
    """The cheapest cost of all designs that pass, each bought and judged by itself."""
    costs, judge = Costs(question), Judge(question)
    best = inf
    for options in itertools.product(
        *(question.options(width) for width in range(len(question.widths)))
    ):
        for frame in question.frames:
            design = Design(options, frame)
            verdict = judge.judge(design)
            if verdict.breach is None:
                best = min(best, costs.true(costs.needs(design, verdict.sets)).total)
    return best


@pytest.mark.parametrize("seed", range(8))
def test_the_cheapest_is_that_of_exhaustive_search(seed):
    question = garden(seed, beds=min(6, 2 + seed), most_lines=3, lines=2)
    found = Search(question, 60.0).solve(front=False)
    best = exhaustive(question)
    cheapest = found.cheapest
    assert (cheapest.cost.total if cheapest else inf) == pytest.approx(best)
    if cheapest:
        assert found.bound <= cheapest.cost.total + 1e-6


def of_many_widths(seed, beds, **more):
    """A garden whose beds differ in width, which share nothing but their pipes."""
    question = garden(seed, beds, **more)
    chance = random.Random(seed)
    wider = [bed.width + 0.05 * chance.randint(0, 2) for bed in question.beds]
    beds = [replace(bed, width=width, strip_width=width * 0.8, area=bed.length * width * 0.8)
            for bed, width in zip(question.beds, wider, strict=True)]  # fmt: skip
    return replace(question, beds=beds, _covered={})


@pytest.mark.parametrize("seed", [0, 6, 7, 10, 12, 13, 15, 18, 20, 21, 25])
def test_where_only_some_can_be_bounded_the_same_is_found(seed, monkeypatch):
    question = of_many_widths(seed, 3 + seed % 4, most_lines=3, lines=2)
    every = Search(replace(question, _covered={}), 60.0).solve(front=False)
    monkeypatch.setattr("xlfuncs.calculations.designs.search._MOST_PRICED", 20)
    found = Search(question, 60.0).solve(front=False)
    assert found.some and not every.some and found.designs == every.designs
    assert found.cheapest.cost.total == pytest.approx(every.cheapest.cost.total)
    assert found.bound <= every.cheapest.cost.total + 1e-6


@pytest.mark.parametrize("seed", [42, 57])
def test_a_dozen_widths_have_a_design(seed):
    """Of which there are too many to bound each: 20,000 were, and none was solved."""
    question = garden(seed, beds=12)
    beds = [replace(bed, width=0.6 + 0.04 * i, strip_width=0.5 + 0.04 * i, distance=2.0 * i)
            for i, bed in enumerate(question.beds)]  # fmt: skip
    question = replace(question, beds=beds, _covered={})
    found = Search(question).solve()
    assert found.some and found.designs > 1e9
    assert found.cheapest and 0 < found.bound <= found.cheapest.cost.total
    for solved in found.passing:
        assert Judge(question).judge(solved.design).breach is None


@pytest.mark.parametrize("seed", range(20, 26))
def test_every_set_of_every_design_offered_keeps_every_limit(seed):
    question = garden(seed)
    search = Search(question, 20.0)
    found = search.solve()
    for solved in found.front:
        judge = Judge(question)
        checks = judge.checks(solved.design)
        sets = np.array(solved.verdict.sets)
        watered = np.array([bed.watered for bed in question.beds])
        assert np.array_equal(sets > 0, watered)
        seconds = 0.0
        for number in range(1, sets.max() + 1):
            group = tuple(np.flatnonzero(sets == number).tolist())
            assert checks.breaches(group) == []
            flow = checks.delivery(group).flow
            wanted = [question.beds[row].area * question.wanted.depth / 1000 for row in group]
            runs = sum(wanted) / flow[list(group)].sum()  # what its beds want between them
            seconds += runs
            for row, volume in zip(group, wanted, strict=True):  # as Valves judges
                assert 0.9 - 1e-6 <= runs * flow[row] / volume <= 1.1 + 1e-6
        assert seconds == pytest.approx(solved.verdict.watering)
        assert seconds <= question.wanted.hours * (1 + 1e-9)
    marks = [solved.marks for solved in found.front]
    for one, other in itertools.permutations(marks, 2):
        assert any(a < b for a, b in zip(one, other, strict=True))


def test_a_machine_that_is_busy_finds_the_same(monkeypatch):
    question = garden(22)
    question = replace(question, buying=replace(question.buying, time_limit=1e9))
    at_ease = Search(question, 0.3).solve()
    for clock in ("monotonic", "process_time", "perf_counter", "time"):
        monkeypatch.setattr(time, clock, itertools.count(step=5.0).__next__)
    busy = Search(question, 0.3).solve()
    assert at_ease.passing
    assert repr(busy) == repr(at_ease)  # a share that is nan equals nothing


def test_bounds_are_never_above_the_true_purchase():
    question = garden(3)
    costs = Costs(question)
    one_set = [int(bed.watered) for bed in question.beds]
    for options in itertools.product(
        *(question.options(width) for width in range(len(question.widths)))
    ):
        for frame in question.frames[::3]:
            design = Design(options, frame)
            needs = costs.needs(design, one_set)
            true, joined = costs.true(needs).total, costs.bound(needs)
            apart = costs.of_frame(design, one_set) + sum(
                costs.of_width(width, option) for width, option in enumerate(options)
            )
            assert apart <= joined + 1e-6
            assert joined <= true + 1e-6


def test_places_come_in_the_order_of_their_sums():
    columns = [[1.0, 4.0, 4.5], [0.0, 2.0], [3.0, 3.25, 9.0]]
    listed = list(in_order(columns))
    every = sorted(sum(values) for values in itertools.product(*columns))
    assert [total for total, _ in listed] == pytest.approx(every)
    assert all(
        total == pytest.approx(sum(c[i] for c, i in zip(columns, places, strict=True)))
        for total, places in listed
    )
