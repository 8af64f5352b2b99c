"""Rolls with price steps, rolls in store and exact fits, against an independent integer program.

The purchases are those of `tests/bench/compare_purchases.py`, which compares more of them, also
with joins, with another solver.
"""

from __future__ import annotations

import random

import numpy as np
import pytest
from scipy.optimize import Bounds, LinearConstraint, milp

from tests.bench.compare_purchases import Purchase, faults_of, ours, random_purchase
from xlfuncs.calculations.buying.cutting import cheapest_rolls
from xlfuncs.errors import InputError

FOOT = 0.3048


def least_cost(case: Purchase) -> float:
    """Whole pieces: whether each roll that might be bought is, and which pieces come from it."""
    pieces = [n for n, count in zip(case.lengths, case.counts, strict=True) for _ in range(count)]
    copies = [
        row
        for row, (step, most) in enumerate(zip(case.steps, case.available, strict=True))
        for _ in range(max(step, len(pieces) if most is None else min(most, len(pieces))))
    ]
    sizes, bins = len(case.rolls), len(copies)
    total = len(pieces) * bins + bins + sizes  # cut from, bought, step taken
    rows, low, high = [], [], []

    def add(entries: dict[int, float], lower: float, upper: float) -> None:
        row = np.zeros(total)
        row[list(entries)] = list(entries.values())
        rows.append(row)
        low.append(lower)
        high.append(upper)

    bought, taken = len(pieces) * bins, len(pieces) * bins + bins
    for i in range(len(pieces)):
        add({i * bins + b: 1.0 for b in range(bins)}, 1, 1)
    for b, row in enumerate(copies):
        held = {i * bins + b: float(length) for i, length in enumerate(pieces)}
        add({**held, bought + b: -float(case.rolls[row])}, -np.inf, 0.0)
        add({bought + b: 1.0, taken + row: -1.0}, -np.inf, 0.0)
    for row in range(sizes):
        mine = {bought + b: 1.0 for b, of in enumerate(copies) if of == row}
        add({**mine, taken + row: -float(case.steps[row])}, 0.0, np.inf)
    cost = np.zeros(total)
    cost[bought:taken] = [case.prices[row] for row in copies]
    found = milp(
        cost,
        constraints=LinearConstraint(np.array(rows), low, high),
        integrality=np.ones(total),
        bounds=Bounds(0, 1),
    )
    assert found.status == 0, found.message
    return float(found.fun) / 100


def small_purchases(number: int) -> list[Purchase]:
    chance, found = random.Random(5), []
    while len(found) < number:
        case = random_purchase(chance)
        if case.join_price is None and sum(case.counts) <= 6:
            found.append(case)
    return found


@pytest.mark.parametrize("case", small_purchases(25), ids=str)
def test_steps_and_stock_agree_with_an_independent_program(case):
    plan = ours(case)
    assert plan.proven
    assert plan.cost == pytest.approx(least_cost(case))
    assert faults_of(case, plan) == []


def test_two_rolls_of_nearly_one_length():
    """98.3 ft from 200 ft at 21, 5 x 55.3 ft from 328 ft at 40: 61; 100 m at 48 is never better."""
    plan = cheapest_rolls(
        [55.3 * FOOT, 98.3 * FOOT], [5, 1], [328 * FOOT, 100.0, 200 * FOOT], [40.0, 48.0, 21.0]
    )
    assert (plan.cost, plan.proven) == (61.0, True)


def test_allowing_joins_is_never_dearer():
    rolls, prices = [100 * FOOT, 50.0, 150 * FOOT], [15.0, 26.0, 22.0]
    plan = cheapest_rolls([100 * FOOT], [2], rolls, prices, 0.8, 0.5 * FOOT)
    assert (plan.cost, plan.joins, plan.proven) == (30.0, 0, True)


def test_pieces_that_fill_rolls_to_a_tenth_of_a_millimetre():
    lengths = [48.3333, 36.6667, 15.0, 38.3333, 36.6666, 15.0]
    assert cheapest_rolls(lengths, [1] * 6, [100.0], [1.0]).rolls == (2,)


def test_fractions_of_a_roll_that_fill_it():
    """Sevenths and sixtieths have no binary nor decimal end: they come rounded to nanometres."""
    assert cheapest_rolls([100 / 7], [7], [100.0], [1.0]).rolls == (1,)
    shares = [29 / 60, 9 / 60, 22 / 60, 23 / 60, 9 / 60, 22 / 60]
    assert cheapest_rolls(shares, [1] * 6, [1.0], [1.0]).rolls == (2,)


def test_lengths_that_share_no_unit_are_cut_exactly():
    """Four random parts of 100 m, twice over, shuffled: two rolls, where any rounding up needs
    three."""
    chance = random.Random(2)
    for _ in range(20):
        pieces = []
        for _ in range(2):
            cuts = sorted(chance.uniform(5, 95) for _ in range(3))
            pieces += np.diff([0.0, *cuts, 100.0]).tolist()
        pieces = [piece for piece in pieces if piece > 0.01]
        chance.shuffle(pieces)
        plan = cheapest_rolls(pieces, [1] * len(pieces), [100.0], [1.0])
        assert (plan.rolls, plan.proven) == ((2,), True)


def test_time_runs_out_on_a_large_purchase_and_the_best_so_far_comes_with_its_bound():
    chance = random.Random(1)
    lengths = [chance.uniform(10, 60) for _ in range(240)]
    rolls, prices = [30.48, 50.0, 100.0, 304.8], [6.0, 9.0, 17.0, 48.0]
    for join_price in (None, 0.45):
        plan = cheapest_rolls(lengths, [5] * 240, rolls, prices, join_price, 0.15, 0.0)
        assert 0.9 * plan.cost < plan.bound <= plan.cost


def test_what_is_too_large_is_refused_in_words():
    with pytest.raises(InputError, match="at most 50000 pieces of 1000 different lengths"):
        cheapest_rolls([20.0], [50_001], [100.0], [1.0])
    many = [100.0] * 200
    assert cheapest_rolls([20.0], [1], many, many).cost == 100
    with pytest.raises(InputError, match="at most 200 rolls can be compared; it has 201"):
        cheapest_rolls([20.0], [1], [*many, 1.0], [*many, 1.0])


@pytest.mark.parametrize("lost", [2.0, 5.0])
def test_a_join_that_loses_a_whole_roll_is_refused_in_words(lost):
    with pytest.raises(InputError, match="a join loses as much as a whole roll"):
        cheapest_rolls([3.0], [1], [2.0], [1.0], 0.5, lost)
