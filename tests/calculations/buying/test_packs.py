"""Packs against every combination of packs."""

from __future__ import annotations

import random
from itertools import product

import pytest

from xlfuncs.calculations.buying import integer_programs
from xlfuncs.calculations.buying.clock import Clock
from xlfuncs.calculations.buying.packs import cheapest_packs
from xlfuncs.errors import InputError


def by_trying_all(needed, sizes, prices, steps):
    """The least cost over all numbers of packs; a size is paid at the best step it reaches."""
    best = float("inf")
    kinds = sorted(set(sizes))
    for numbers in product(*(range(-(-needed // kind) + max(steps) + 1) for kind in kinds)):
        if sum(n * kind for n, kind in zip(numbers, kinds, strict=True)) < needed:
            continue
        cost = 0.0
        for number, kind in zip(numbers, kinds, strict=True):
            reached = [
                price
                for size, price, step in zip(sizes, prices, steps, strict=True)
                if size == kind and number >= step
            ]
            if number and not reached:
                break
            cost += number * min(reached, default=0.0)
        else:
            best = min(best, cost)
    return best


def test_packs_agree_with_every_combination():
    chance = random.Random(4)
    for _ in range(200):
        offers = chance.randint(1, 4)
        sizes = [chance.choice([1, 5, 10, 25]) for _ in range(offers)]
        steps = [chance.randint(1, 4) for _ in range(offers)]
        prices = [round(size * chance.uniform(0.3, 0.9), 2) for size in sizes]
        needed = chance.randint(1, 60)
        plan = cheapest_packs(needed, sizes, prices, steps)
        assert plan.cost == pytest.approx(by_trying_all(needed, sizes, prices, steps))
        held = sum(n * size for n, size in zip(plan.packs, sizes, strict=True))
        assert held - needed == pytest.approx(plan.spare)
        assert plan.spare >= 0


def test_a_price_break_can_make_more_packs_cheaper():
    """9 needed, singles at 1.00 or from ten at 0.80: ten cost 8, nine would cost 9."""
    plan = cheapest_packs(9, [1, 1], [1.00, 0.80], [1, 10])
    assert (plan.packs, plan.cost, plan.spare) == ((0, 10), pytest.approx(8.0), 1.0)


def test_bad_offers_in_words():
    with pytest.raises(InputError, match=r"pack_prices \(row 2\).*above 0; it is 0"):
        cheapest_packs(5, [1, 10], [1.0, 0.0])
    with pytest.raises(InputError, match="as many rows as pack_sizes"):
        cheapest_packs(5, [1, 10], [1.0])


def test_what_is_asked_again_is_known_and_takes_as_much_of_the_clock(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """So that what was asked before, in this process or another, changes no answer."""
    solved = []
    solve = integer_programs.new_solver
    monkeypatch.setattr(integer_programs, "_known", {})
    monkeypatch.setattr(integer_programs, "new_solver", lambda s: solved.append(s) or solve(s))
    clocks = [Clock(10.0), Clock(10.0)]
    offers = [10, 25, 25], [4.0, 9.0, 8.9], [1, 1, 4]  # steps of a price, which a program settles
    first, second = (cheapest_packs(70, *offers, clock) for clock in clocks)
    assert first == second
    assert first.cost == 26.0  # two of 25 and two of 10, of all mixes
    assert len(solved) == 1
    assert clocks[0]._spent == clocks[1]._spent > [0.0]
    for program, (solution, _, seconds) in integer_programs._known.items():
        integer_programs._known[program] = solution, 10_000_000, seconds
    assert cheapest_packs(70, *offers) == first
    assert len(solved) == 2  # fewer nodes are left than it took, so it is no answer yet
