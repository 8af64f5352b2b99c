"""Purchases of rolls against published optima, brute force and an independent integer program."""

from __future__ import annotations

import random
from collections import Counter
from functools import cache
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import Bounds, LinearConstraint, milp

from tests.calculations.buying.cutting_instances import (
    CHVATAL,
    OR_LIBRARY,
    PAPER_MACHINE,
    THREE_STOCKS,
    THREE_STOCKS_COST,
    THREE_WIDTHS,
    first_fit_decreasing,
)
from xlfuncs.calculations.buying import cutting_patterns
from xlfuncs.calculations.buying.clock import Clock
from xlfuncs.calculations.buying.column_generation import linear_plan
from xlfuncs.calculations.buying.cutting import RollPlan, cheapest_rolls
from xlfuncs.calculations.buying.cutting_patterns import (
    Grid,
    Market,
    Roll,
    Stretch,
    fullest_pattern,
)
from xlfuncs.calculations.buying.knapsack import BestPattern
from xlfuncs.calculations.buying.roll_mix import MixBound
from xlfuncs.errors import InputError

PUBLISHED = [PAPER_MACHINE, CHVATAL, THREE_WIDTHS, *OR_LIBRARY]


@pytest.mark.parametrize("instance", PUBLISHED, ids=lambda instance: instance.name)
def test_published_instances_to_the_proven_optimum(instance):
    plan = cheapest_rolls(
        list(instance.pieces), list(instance.pieces.values()), [instance.roll], [1.0]
    )
    assert (plan.proven, sum(plan.rolls), plan.bound) == (True, instance.rolls, instance.rolls)
    assert_cuttable(plan, list(instance.pieces), list(instance.pieces.values()), [instance.roll])


@pytest.mark.parametrize("instance", [PAPER_MACHINE, THREE_WIDTHS], ids=lambda i: i.name)
def test_first_fit_would_fail_there(instance):
    rolls = first_fit_decreasing(instance.pieces, instance.roll)
    assert rolls == instance.first_fit_decreasing > instance.rolls


def test_waste_of_the_paper_machine_as_published():
    """0.401 % of the rolls used (Wikipedia, 'Cutting stock problem')."""
    plan = cheapest_rolls(
        list(PAPER_MACHINE.pieces), list(PAPER_MACHINE.pieces.values()), [5600], [1.0]
    )
    needed = sum(length * count for length, count in PAPER_MACHINE.pieces.items())
    assert f"{1 - needed / (sum(plan.rolls) * 5600):.3%}" == "0.401%"


def test_several_stocks_at_several_prices_as_published():
    plan = cheapest_rolls(**THREE_STOCKS)
    assert plan.proven
    assert plan.cost == pytest.approx(THREE_STOCKS_COST)


def assert_cuttable(
    plan: RollPlan,
    lengths: list[float],
    counts: list[int],
    rolls: list[float],
    join_loss: float = 0.0,
) -> None:
    """Every piece is cut once, no roll is over-used, and what is bought is what is cut."""
    cut = Counter(row for stretch in plan.stretches for row in stretch.pieces)
    assert [cut[row] for row in range(len(lengths))] == counts
    for stretch in plan.stretches:
        there = sum(rolls[size] for size in stretch.rolls) - join_loss * (len(stretch.rolls) - 1)
        assert sum(lengths[row] for row in stretch.pieces) <= there + 1e-6
    bought = Counter(size for stretch in plan.stretches for size in stretch.rolls)
    assert [bought[size] for size in range(len(rolls))] == list(plan.rolls)


def brute_force(lengths: list[int], rolls: list[int], prices: list[int]) -> int:
    """The least cost by trying every set of pieces for the roll that holds the longest one left."""

    @cache
    def least(left: tuple[int, ...]) -> int:
        if not left:
            return 0
        first, rest = left[0], left[1:]
        costs = []
        for taken in product((False, True), repeat=len(rest)):
            length = first + sum(p for p, t in zip(rest, taken, strict=True) if t)
            fitting = [price for roll, price in zip(rolls, prices, strict=True) if roll >= length]
            if fitting:
                remaining = tuple(p for p, t in zip(rest, taken, strict=True) if not t)
                costs.append(min(fitting) + least(remaining))
        return min(costs)

    return least(tuple(sorted(lengths, reverse=True)))


def test_whole_pieces_agree_with_brute_force():
    chance = random.Random(7)
    for _ in range(300):
        rolls = chance.sample(range(10, 41), chance.randint(1, 4))
        prices = [chance.randint(5, 40) for _ in rolls]
        lengths = [chance.randint(1, max(rolls)) for _ in range(chance.randint(1, 7))]
        plan = cheapest_rolls(lengths, [1] * len(lengths), rolls, prices)
        assert plan.proven
        assert plan.cost == pytest.approx(brute_force(lengths, rolls, prices))
        assert_cuttable(plan, lengths, [1] * len(lengths), rolls)


def least_cost_with_joins(
    lengths: list[int], rolls: list[int], prices: list[int], join_price: float, loss: float
) -> float:
    """The least cost when any piece may be put together from parts of any rolls.

    Nothing of the search is used: for every piece and roll a part of free length; a piece of k
    parts needs k - 1 couplers; the part that a coupler ends loses `loss` of its roll.
    """
    copies = [
        (roll, price)
        for roll, price in zip(rolls, prices, strict=True)
        for _ in range(-(-sum(lengths) // roll) + 1)
    ]
    pieces, bins = len(lengths), len(copies)
    size = pieces * bins
    part, used, ended, bought = 0, size, 2 * size, 3 * size
    total = 3 * size + bins
    rows, low, high = [], [], []

    def add(entries: dict[int, float], lower: float, upper: float) -> None:
        row = np.zeros(total)
        for index, value in entries.items():
            row[index] = value
        rows.append(row)
        low.append(lower)
        high.append(upper)

    for i in range(pieces):
        mine = [i * bins + b for b in range(bins)]
        add({part + m: 1 for m in mine}, lengths[i], lengths[i])
        add({**{used + m: 1 for m in mine}, **{ended + m: -1 for m in mine}}, 1, 1)
        for b, m in enumerate(mine):
            add({part + m: 1, used + m: -min(lengths[i], copies[b][0])}, -np.inf, 0)
            add({ended + m: 1, used + m: -1}, -np.inf, 0)
    for b, (roll, _) in enumerate(copies):
        inside = {part + i * bins + b: 1.0 for i in range(pieces)}
        losses = {ended + i * bins + b: loss for i in range(pieces)}
        add({**inside, **losses, bought + b: -roll}, -np.inf, 0)
    cost = np.concatenate(
        [np.zeros(2 * size), np.full(size, join_price), [price for _, price in copies]]
    )
    found = milp(
        cost,
        constraints=LinearConstraint(np.array(rows), low, high),
        integrality=np.r_[np.zeros(size), np.ones(2 * size + bins)],
        bounds=Bounds(0, np.r_[np.full(size, np.inf), np.ones(2 * size + bins)]),
        options={"time_limit": 20},
    )
    assert found.status == 0, found.message
    return float(found.fun)


@pytest.mark.parametrize("loss", [0, 1])
def test_joined_pieces_agree_with_an_independent_program(loss):
    chance = random.Random(11 + loss)
    for _ in range(50):
        rolls = chance.sample(range(8, 25), chance.randint(1, 3))
        prices = [roll + chance.randint(0, 8) for roll in rolls]
        lengths = [chance.randint(2, 20) for _ in range(chance.randint(1, 3))]
        join_price = chance.choice([0.0, 0.5, 1.0, 3.0])
        plan = cheapest_rolls(lengths, [1] * len(lengths), rolls, prices, join_price, loss)
        assert plan.proven
        expected = least_cost_with_joins(lengths, rolls, prices, join_price, loss)
        assert plan.cost == pytest.approx(expected, abs=1e-4)
        assert_cuttable(plan, lengths, [1] * len(lengths), rolls, loss)


def test_feet_and_inches_that_fill_a_roll_exactly_do_fit():
    """33 ft 1 in twice and 33 ft 10 in make 100 ft, whatever the binary fractions say."""
    foot = 0.3048
    lengths = [33 * foot + 0.0254, 33 * foot + 10 * 0.0254]
    assert cheapest_rolls(lengths, [2, 1], [100 * foot], [14.0]).rolls == (1,)
    assert cheapest_rolls([100 * foot / 3], [3], [100 * foot], [14.0]).rolls == (1,)
    assert cheapest_rolls([100 * foot / 3 + 1e-5], [3], [100 * foot], [14.0]).rolls == (2,)


def test_a_time_limit_gives_the_best_found_and_says_unproven():
    chance = random.Random(3)
    lengths = [chance.randint(1800, 6200) / 100 for _ in range(40)]
    arguments = (lengths, [5] * 40, [65.0, 100.0, 130.0, 200.0], [9.28, 15.62, 20.41, 31.86])
    plan = cheapest_rolls(*arguments, time_limit=0.0)
    assert not plan.proven
    assert plan.bound < plan.cost
    assert_cuttable(plan, lengths, [5] * 40, list(arguments[2]))


def test_a_search_ends_by_work_done_so_that_a_busy_machine_finds_the_same():
    chance = random.Random(3)
    lengths = [chance.uniform(5, 28) for _ in range(30)]
    for join_price in (None, 0.45):
        arguments = lengths, [13] * 30, [30.48, 100.0, 60.96], [10.54, 36.0, 20.0], join_price, 0.15
        plan = cheapest_rolls(*arguments, time_limit=0.2)
        assert not plan.proven
        assert cheapest_rolls(*arguments, time_limit=0.2) == plan


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.integers(1, 30), min_size=1, max_size=9),
    st.lists(st.tuples(st.integers(30, 80), st.integers(1, 90)), min_size=1, max_size=4),
)
def test_joins_never_cost_more_and_a_dearer_roll_never_helps(lengths, sizes):
    rolls, prices = [size[0] for size in sizes], [size[1] for size in sizes]
    whole = cheapest_rolls(lengths, [1] * len(lengths), rolls, prices)
    joined = cheapest_rolls(lengths, [1] * len(lengths), rolls, prices, 0.25)
    dearer = cheapest_rolls(lengths, [1] * len(lengths), rolls, [price + 1 for price in prices])
    assert joined.cost <= whole.cost + 1e-9 <= dearer.cost + 1e-9
    assert whole.cost >= sum(lengths) * min(p / r for r, p in sizes) - 1e-9


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"piece_lengths": [120.0, 20.0]}, r"piece_lengths \(row 1\).*longer than the longest"),
        ({"pieces": [1.5, 1]}, r"pieces \(row 1\).*whole number; it is 1.5"),
        ({"roll_prices": [0.0]}, r"roll_prices \(row 1\).*above 0"),
        ({"roll_prices": [1.0, 2.0]}, "as many rows as roll_lengths"),
        ({"join_price": -1.0}, "join_price.*at least 0"),
        ({"join_price": 0.5, "join_loss": -1.0}, "join_loss.*at least 0; it is -1"),
    ],
)
def test_bad_input_in_words(changes, words):
    arguments = {
        "piece_lengths": [30.0, 20.0],
        "pieces": [2, 1],
        "roll_lengths": [100.0],
        "roll_prices": [14.0],
    }
    with pytest.raises(InputError, match=words):
        cheapest_rolls(**{**arguments, **changes})


def test_nothing_to_cut_buys_nothing():
    assert cheapest_rolls([20.0], [0], [100.0], [14.0]) == RollPlan((0,), 0, 0.0, 0.0, True, ())


@pytest.mark.parametrize("most_bits", [None, 5])
def test_the_fullest_roll_is_that_of_every_combination(most_bits, monkeypatch):
    """By brute force; of sums too many to keep one by one, what is taken fits all the same."""
    if most_bits:
        monkeypatch.setattr(cutting_patterns, "MOST_BITS", most_bits)
    chance = random.Random(5)
    for _ in range(60):
        lengths = sorted(chance.sample(range(1, 40), 3), reverse=True)
        left, capacity = [chance.randint(0, 3) for _ in lengths], chance.randint(30, 90)
        got = fullest_pattern(lengths, left, capacity, [2, 0, 1], False, Clock(5.0))
        cuts = product(*(range(number + 1) for number in left))
        held = {cut: np.dot(cut, lengths) for cut in cuts}
        fullest = max(length for length in held.values() if length <= capacity)
        assert held[tuple(got)] <= capacity if most_bits else held[tuple(got)] == fullest


METRE = 10**9  # nm


def test_three_pieces_of_more_than_half_a_roll_need_three_rolls():
    """By length two rolls of 100 m hold three pieces of 60 m; cut whole, each holds but one."""
    mix = MixBound([60 * METRE], [3], Market((Roll(100 * METRE, 10.0),))).cheapest(Clock(5.0))
    assert (mix.rolls, mix.bound) == ((3,), 30.0)


@pytest.mark.parametrize("lengths", [(100, 120), (120, 100)])
def test_of_mixes_that_cost_the_same_the_longest_is_taken(lengths):
    market = Market(tuple(Roll(length * METRE, 10.0) for length in lengths))
    assert MixBound([50 * METRE], [1], market).cheapest(Clock(5.0)).rolls[lengths.index(120)] == 1


def test_a_stretch_of_two_rolls_costs_one_coupler_in_the_linear_bound():
    """A piece of 150 from rolls of 100 at 10, joined for 2: 10 + 10 + 2."""
    stretches = (Stretch(100, (0,)), Stretch(200, (0, 0)))
    plan = linear_plan(Grid((150,), (1,), stretches, 1.0, True),
                       Market((Roll(100, 10.0),), 2.0), [], Clock(5.0))  # fmt: skip
    assert plan.bound == pytest.approx(22.0)


def test_the_linear_bound_is_that_of_all_patterns():
    """60 + 40 once and 2 x 40 once are two rolls of 100: none cut alike holds as much for less."""
    plan = linear_plan(Grid((60, 40), (1, 3), (Stretch(100, (0,)),), 1.0, True),
                       Market((Roll(100, 10.0),)), [], Clock(5.0))  # fmt: skip
    assert plan.bound == pytest.approx(20.0)


def test_the_pattern_of_the_greatest_worth():
    """By hand, of 100: 3 x 30 are worth 3.6, 60 + 30 are worth 3.2; with 60 at 2.5 it is 3.7."""
    best = BestPattern(Grid((60, 30), (2, 3), (Stretch(100, (0,)),), 1.0, True), Clock(5.0))
    for worth, pieces, value in (((2.0, 1.2), (0, 3), 3.6), ((2.5, 1.2), (1, 1), 3.7)):
        assert best.values(np.array(worth)) == pytest.approx([value])
        assert best.pattern(0) == (pieces, pytest.approx(value))
