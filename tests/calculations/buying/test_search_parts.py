"""Parts of the search for a purchase, by hand: what only its speed or its proof would show."""

from __future__ import annotations

import random
from dataclasses import replace
from itertools import product

import numpy as np
import pytest

from xlfuncs.calculations.buying import cutting_search, knapsack, stretches
from xlfuncs.calculations.buying.clock import Clock
from xlfuncs.calculations.buying.column_generation import Column, linear_plan
from xlfuncs.calculations.buying.cutting_patterns import (
    Grid,
    Market,
    Roll,
    Stretch,
    common_unit,
)
from xlfuncs.calculations.buying.cutting_search import CuttingSearch
from xlfuncs.calculations.buying.knapsack import BestPattern
from xlfuncs.calculations.buying.plain_plans import PlainPlan

METRE = 10**9  # nm


def test_thirds_of_a_roll_share_a_unit_though_rounded_to_nanometres():
    assert common_unit([33_333_333_333, 66_666_666_667, 100 * METRE]) == pytest.approx(1e11 / 3)
    assert common_unit([45 * METRE, 30 * METRE]) == 15 * METRE


def test_the_plain_plan_cuts_from_what_costs_least_per_length_cut():
    """60 of a roll of 100 at 10 or of 70 at 8; of 60, 30 and 10 the longer roll is the cheaper."""
    market = Market((Roll(100 * METRE, 10.0), Roll(70 * METRE, 8.0)))
    for lengths, roll in (((60,), 1), ((60, 30, 10), 0)):
        grid = Grid(lengths, (1,) * len(lengths), (Stretch(100, (0,)),), METRE, True)
        assert PlainPlan(grid, market).columns() == [Column((roll,), (1,) * len(lengths))]


@pytest.mark.parametrize("join_price", [None, 2.0])
def test_what_a_roll_holds_in_worth_is_learnt_of_pieces_cut_whole(join_price):
    """Three pieces of 60 m from 100 m at 10: a roll holds a third of their worth."""
    market = Market((Roll(100 * METRE, 10.0),), join_price)
    search = CuttingSearch([60 * METRE], [3], market, Clock(5.0))
    before = len(search._mixes.rows()[0])
    search._learn(linear_plan(search.grid, market, [], Clock(5.0)))
    learnt = search._mixes.rows()[0][before:]
    cost = np.array([10.0, join_price or 0.0]) / 30.0
    assert learnt == pytest.approx(np.array([cost] if join_price else [cost, [1 / 3, 0.0]]))


@pytest.mark.parametrize("cells", [knapsack.MOST_CELLS, 7])
def test_the_pattern_of_the_greatest_worth_is_that_of_every_combination(cells, monkeypatch):
    """By brute force; where a cell of the table is many units its values are bounds."""
    monkeypatch.setattr(knapsack, "MOST_CELLS", cells)
    chance = random.Random(3)
    for _ in range(60):
        lengths = tuple(sorted(chance.sample(range(5, 60), 3), reverse=True))
        counts = tuple(chance.randint(1, 3) for _ in lengths)
        worth = np.array([length * chance.uniform(0.8, 1.2) for length in lengths])
        best = BestPattern(Grid(lengths, counts, (Stretch(100, (0,)),), 1.0, True), Clock(5.0))
        cuts = product(*(range(count + 1) for count in counts))
        most = max(float(worth @ cut) for cut in cuts if np.dot(lengths, cut) <= 100)
        bound = best.values(worth)
        assert bound[0] >= most - 1e-9
        assert best.exact == (cells > 100)
        pieces, value = best.pattern(0)
        assert np.dot(lengths, pieces) <= 100
        assert value == pytest.approx(most) == worth @ pieces


def test_rolls_are_filled_that_each_hold_some_of_the_pieces():
    search = CuttingSearch([60 * METRE, 50 * METRE], [1, 1],
                           Market((Roll(100 * METRE, 10.0),)), Clock(5.0))  # fmt: skip
    one_each = [Column((0,), (1, 0)), Column((0,), (0, 1))]
    assert search._pack([0, 0], 0, [0, 1], with_longest=False) == one_each


def test_a_plan_of_the_patterns_at_the_target_is_found_and_a_cheaper_ruled_out():
    """60 + 40 twice from two rolls of 100 m at 10; for 15 there is nothing."""
    for target, cost in ((20.0, 20.0), (15.0, np.inf)):
        search = CuttingSearch([60 * METRE, 40 * METRE], [2, 2],
                               Market((Roll(100 * METRE, 10.0),)), Clock(5.0))  # fmt: skip
        both = [Column((0,), (1, 1)), Column((0,), (0, 2))]
        assert search._settled(both, target, Clock(5.0))
        assert search.best_cost == cost
        assert search.best == (both[:1] * 2 if cost == target else [])


@pytest.mark.parametrize("complete", [True, False])
def test_a_linear_plan_is_learnt_from_only_where_it_knows_every_stretch(complete, monkeypatch):
    """Else it may cost more than the cheapest plan, and would prove a dear one."""
    market = Market((Roll(100 * METRE, 10.0), Roll(70 * METRE, 8.0)))
    search = CuttingSearch([45 * METRE, 36 * METRE, 31 * METRE], [3, 4, 2], market, Clock(5.0))
    search.grid = replace(search.grid, complete=complete)
    learnt = []
    monkeypatch.setattr(search, "_learn", learnt.append)
    search.run()
    assert bool(learnt) == complete


def test_what_is_proven_is_searched_no_further(monkeypatch):
    generating = cutting_search.generating
    monkeypatch.setattr(generating, "linear_plan", lambda *_: pytest.fail("searched"))
    search = CuttingSearch([60 * METRE], [3], Market((Roll(100 * METRE, 10.0),)), Clock(5.0))
    search.run()
    assert search.proven
    assert search.best_cost == pytest.approx(30.0)


def test_stretches_are_complete_up_to_the_most_that_are_looked_at(monkeypatch):
    """Rolls of 100 and of 30 m, alone and two of them joined: five stretches."""
    market = Market((Roll(100 * METRE, 10.0), Roll(30 * METRE, 4.0)), 1.0)
    for most, complete in ((5, True), (4, False)):
        monkeypatch.setattr(stretches, "MOST_STRETCHES", most)
        grid = stretches.make_grid([90 * METRE, 20 * METRE], [9, 9], market, 1)
        assert (grid.complete, len(grid.stretches)) == (complete, 5 if complete else 2)


def test_a_clock_counts_half_its_seconds_in_work_with_all_its_parts():
    clock = Clock(2.0)
    part = clock.part(0.25)
    part.spend(0.2)
    assert (clock.left(), part.left()) == pytest.approx((0.8, 0.05))
    clock.spend(0.1)
    assert part.late()
    assert not clock.late()
    clock.spend(0.8)
    assert clock.left() == 0.0
