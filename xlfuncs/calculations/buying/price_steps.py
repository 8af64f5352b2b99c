"""Rolls whose price falls with their number: each way of choosing the steps is searched.

All rolls of a length are bought at one step of its price: with a larger number at a lower price at
hand nobody pays the higher one for a part. So a purchase is a choice of one step (or none) for each
length, with so many rolls paid in any case; within a choice prices are fixed, and the search for
one price a roll does the rest. Choices are taken by their bound and dropped once a plan is below.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import chain, islice, product

import numpy as np

from xlfuncs.calculations.buying.clock import Clock
from xlfuncs.calculations.buying.column_generation import Column
from xlfuncs.calculations.buying.cutting_patterns import UNLIMITED, Market, Roll
from xlfuncs.calculations.buying.cutting_search import CuttingSearch
from xlfuncs.calculations.buying.roll_mix import MixBound

MOST_CHOICES = 400
WHOLE_SHARE = 0.4  # of the time, for the plan without joins that stands beside one with joins


@dataclass(frozen=True)
class Found:
    """The best plan in the rows of the price list, the rows whose step was chosen, its cost, and
    the bound on any plan; no columns where there is no plan."""

    columns: list[Column]
    steps: tuple[int, ...]
    cost: float
    bound: float
    proven: bool


def search_steps(
    kinds: Sequence[int], counts: Sequence[int], rolls: Sequence[Roll], join_price: float | None,
    join_loss: int, clock: Clock,
) -> Found:  # fmt: skip
    """The cheapest plan over all choices of steps, within the time of `clock`."""
    choices = list(islice(_choices(rolls), MOST_CHOICES + 1))
    market = Market(tuple(rolls), join_price, join_loss)
    floors = _floors(kinds, counts, market, choices, clock)
    best = Found([], (), np.inf, 0.0, False)
    bounds = list(floors)
    same = 1e-4 * min((roll.price for roll in rolls if roll.price), default=1e-6)
    for place in sorted(range(len(choices)), key=floors.__getitem__):
        late = clock.late()
        if floors[place] >= best.cost - same or (best.columns and late):
            continue
        rows = choices[place]
        chosen = replace(market, rolls=tuple(rolls[row] for row in rows))
        search = _searched(kinds, counts, chosen, clock, best.cost)
        bounds[place] = max(floors[place], search.bound)
        if search.best:
            columns = [
                Column(tuple(rows[roll] for roll in column.rolls), column.pieces)
                for column in search.best
            ]
            best = Found(columns, rows, search.best_cost, 0.0, False)
    bound = min(*bounds, best.cost) if len(choices) <= MOST_CHOICES else min(floors)
    return replace(best, bound=bound, proven=best.cost <= bound + same)


def _searched(
    kinds: Sequence[int], counts: Sequence[int], market: Market, clock: Clock, ceiling: float
) -> CuttingSearch:
    """The search within one choice. A plan without joins is always among those with joins."""
    offered: list[Column] = []
    if market.join_price is not None and kinds[0] <= max(roll.length for roll in market.rolls):
        unjoined = replace(market, join_price=None)
        whole = CuttingSearch(kinds, counts, unjoined, clock.part(WHOLE_SHARE))
        whole.run()
        offered = whole.best
    search = CuttingSearch(kinds, counts, market, clock, offered, ceiling)
    search.run()
    return search


def _choices(rolls: Sequence[Roll]) -> Iterator[tuple[int, ...]]:
    """The rows of the price list that can be taken together: a step of each length at most, and
    all that is there in a number."""
    limited = [row for row, roll in enumerate(rolls) if roll.available < UNLIMITED]
    steps: dict[int, list[tuple[int, ...]]] = {}
    order = sorted(
        (row for row in range(len(rolls)) if row not in limited),
        key=lambda row: (rolls[row].at_least, rolls[row].price),
    )
    lowest: dict[int, float] = {}
    for row in order:
        roll = rolls[row]
        options = steps.setdefault(roll.length, [()] if roll.at_least else [])
        if roll.price < lowest.get(roll.length, np.inf):  # else a step that nobody takes
            options.append((row,))
            lowest[roll.length] = roll.price
    groups = [[tuple(limited)], *steps.values()]
    return (tuple(chain(*choice)) for choice in product(*groups))


def _floors(
    kinds: Sequence[int],
    counts: Sequence[int],
    market: Market,
    choices: Sequence[tuple[int, ...]],
    clock: Clock,
) -> list[float]:
    """A cost below which no plan of each choice goes."""
    if len(choices) == 1:
        return [0.0]
    free = replace(market, rolls=tuple(replace(roll, at_least=0) for roll in market.rolls))
    floor = MixBound(kinds, counts, free).cheapest(clock).bound
    floors = []
    for rows in choices:
        if not rows:
            floors.append(np.inf)
            continue
        if clock.late():
            floors.append(floor)
            continue
        chosen = replace(market, rolls=tuple(market.rolls[row] for row in rows))
        mixes = MixBound(kinds, counts, chosen)
        floors.append(max(floor, mixes.cheapest(clock).bound))
    return floors
