"""The linear bound of a purchase by column generation, and plans rounded from it.

Gilmore and Gomory, A linear programming approach to the cutting-stock problem, Operations
Research 9 (1961). The bound is Farley's (Operations Research 38, 1990); rolls that are limited, or
of which so many must be bought, stand in the program by their numbers, and their worth is the dual
of the balance between rolls bought and rolls cut.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from xlfuncs.calculations.arrays import Floats, Integers
from xlfuncs.calculations.buying.clock import Clock
from xlfuncs.calculations.buying.cutting_patterns import UNLIMITED, Grid, Market
from xlfuncs.calculations.buying.integer_programs import GrowingCover
from xlfuncs.calculations.buying.knapsack import BestPattern

WHOLE = 1e-6
NO_GAIN = 1e-9


class Column(NamedTuple):
    """One way of cutting one stretch: the rolls it is made of, and the pieces by kind."""

    rolls: tuple[int, ...]
    pieces: tuple[int, ...]


@dataclass(frozen=True)
class LinearPlan:
    """The optimum of the linear program: a dual-feasible worth of each kind of piece and cost of
    each stretch, the most that each stretch can hold in worth, the bound that follows, and how
    often each column is cut."""

    worth: Floats
    costs: Floats
    values: Floats
    bound: float
    columns: list[Column]
    times: Floats


def linear_plan(
    grid: Grid, market: Market, start: Iterable[Column], clock: Clock
) -> LinearPlan | None:
    """Add patterns to `start` until none pays; None if time is up before."""
    kinds, program = len(grid.lengths), _program(grid, market, clock)
    columns = sorted({*start, *starting_columns(grid, market)})
    known = set(columns)
    for column in columns:
        _add(program, market, column)
    knapsack = BestPattern(grid, clock)
    smallest = NO_GAIN * max(roll.price for roll in market.rolls)
    while not clock.late():
        duals = program.duals()
        if duals is None:
            return None
        worth, prices = duals[:kinds], duals[kinds:]
        costs = np.array(
            [sum(prices[roll] for roll in s.rolls) + market.join_cost(len(s.rolls) - 1)
             for s in grid.stretches]
        )  # fmt: skip
        values = knapsack.values(worth)
        if values is None:
            return None
        fresh: set[Column] = set()
        for place in np.argsort(costs - values):
            if values[place] - costs[place] <= smallest or len(fresh) == 6:
                break
            pieces, value = knapsack.pattern(int(place))
            column = Column(grid.stretches[place].rolls, pieces)
            if value - costs[place] > smallest and column not in known:
                fresh.add(column)
        if not fresh:
            return _scaled(grid, market, worth, prices, costs, values, columns, program.amounts())
        for column in sorted(fresh):
            _add(program, market, column)
        columns += sorted(fresh)
        known |= fresh
    return None


def _program(grid: Grid, market: Market, clock: Clock) -> GrowingCover:
    """Rows: enough of each kind of piece; as many of each roll bought as cut. Columns so far: the
    rolls bought."""
    balance = np.zeros(len(market.rolls))
    demand = np.concatenate([np.array(grid.counts, dtype=np.float64), balance])
    program = GrowingCover(demand, clock)
    for row, roll in enumerate(market.rolls, start=len(grid.counts)):
        program.add(roll.price, [(row, 1.0)], float(roll.at_least), float(roll.available))
    return program


def _add(program: GrowingCover, market: Market, column: Column) -> None:
    kinds = len(column.pieces)
    cut = [(kind, float(number)) for kind, number in enumerate(column.pieces) if number]
    used = [(kinds + roll, -float(column.rolls.count(roll))) for roll in sorted(set(column.rolls))]
    program.add(market.join_cost(len(column.rolls) - 1), cut + used)


def _scaled(
    grid: Grid, market: Market, worth: Floats, prices: Floats, costs: Floats, values: Floats,
    columns: list[Column], amounts: Floats,
) -> LinearPlan:  # fmt: skip
    """Scaled down until no pattern is worth more than it costs, so that it is a bound."""
    tiny = NO_GAIN * max(roll.price for roll in market.rolls)
    over = values > costs + tiny
    scale = max(1.0, float(np.max(values[over] / np.maximum(costs[over], tiny), initial=1.0)))
    bound = float(worth @ np.array(grid.counts)) / scale
    for roll, price in zip(market.rolls, prices, strict=True):
        # What is bought of a roll beyond its worth, and what a roll in short supply is worth more.
        most = min(roll.available, max(roll.at_least, sum(grid.counts)))
        bound += (roll.price - price) * (roll.at_least if roll.price >= price else most)
    return LinearPlan(
        worth / scale, costs, values / scale, bound, columns, amounts[len(market.rolls) :]
    )


def rounded_plan(grid: Grid, market: Market, linear: LinearPlan, clock: Clock) -> list[Column]:
    """A plan by diving: cut what the linear plan cuts whole times, else its most cut pattern once,
    solve for what is left, and so on. Empty if time is up before."""
    left = np.array(grid.counts)
    bought = np.zeros(len(market.rolls), dtype=int)
    chosen: list[Column] = []
    while True:
        whole = np.floor(linear.times + WHOLE).astype(int)
        if not whole.any():
            whole[int(np.argmax(linear.times))] = 1
        before = len(chosen)
        for column, times in zip(linear.columns, whole, strict=True):
            for _ in range(times):
                pieces = np.minimum(column.pieces, left)
                if pieces.any():
                    chosen.append(Column(column.rolls, tuple(pieces.tolist())))
                    np.add.at(bought, list(column.rolls), 1)
                    left = left - pieces
        if not left.any():
            return chosen
        if len(chosen) == before:
            return []
        rest = replace(grid, counts=tuple(left.tolist()))
        trimmed = (
            Column(rolls, tuple(np.minimum(pieces, left).tolist()))
            for rolls, pieces in linear.columns
        )
        following = linear_plan(
            rest, _after(market, bought), (c for c in trimmed if any(c.pieces)), clock
        )
        if following is None:
            return []
        linear = following


def _after(market: Market, bought: Integers) -> Market:
    """What is left on sale when so many of each roll have been taken."""
    rolls = tuple(
        replace(
            roll,
            at_least=max(0, roll.at_least - int(taken)),
            available=max(0, roll.available - int(taken)),
        )
        for roll, taken in zip(market.rolls, bought, strict=True)
    )
    return replace(market, rolls=rolls)


def starting_columns(grid: Grid, market: Market) -> list[Column]:
    """For every kind and roll, as many of that piece as fit; where no roll holds one, the
    stretches up to the first that can be had any number of times: a plan always exists."""
    columns = []
    for kind, (length, count) in enumerate(zip(grid.lengths, grid.counts, strict=True)):
        held = False
        for stretch in grid.stretches:
            fits = min(count, stretch.capacity // length)
            if fits and (not held or len(stretch.rolls) == 1):
                held |= all(market.rolls[roll].available >= UNLIMITED for roll in stretch.rolls)
                pieces = [0] * len(grid.lengths)
                pieces[kind] = fits
                columns.append(Column(stretch.rolls, tuple(pieces)))
    return columns
