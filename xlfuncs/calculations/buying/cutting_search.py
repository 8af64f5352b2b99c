"""The search behind the cheapest purchase of rolls: bound, plan, proof.

1. Counting arguments give the cheapest mix of rolls that is not ruled out (roll_mix): a bound.
   Rolls of that mix are packed one by one, many times in different orders; a plan at the bound
   is proven the cheapest, and most purchases end here.
2. Column generation gives the linear bound and a further argument about mixes; dearer mixes are
   packed until a plan is found, and the linear plan is rounded.
3. What lies between is tested cost by cost: a plan of that cost uses only patterns whose reduced
   cost fits between the linear bound and that cost, and the integer program over all of them
   either finds it or proves that there is none.
"""

from __future__ import annotations

import random
import time
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from xlfuncs.calculations.buying.column_generation import (
    Column,
    LinearPlan,
    linear_plan,
    rounded_plan,
)
from xlfuncs.calculations.buying.cutting_patterns import (
    Grid,
    fullest_pattern,
    joined_roll_grid,
    patterns_within,
    single_roll_grid,
)
from xlfuncs.calculations.buying.integer_programs import minimise_integer
from xlfuncs.calculations.buying.roll_mix import MixBound, RollMix

FloatArray = npt.NDArray[np.float64]
FEW_FILLS, MANY_FILLS = 400, 2_000  # rolls filled in trying a mix before, after the linear bound
FEW_PATTERNS, MOST_PATTERNS = 500, 8_000
SMALLEST_STEP = 1e-3  # from one tested cost to the next, as a share of it
NEXT_COST_SECONDS = 0.1


@dataclass(frozen=True)
class Market:
    """What is on sale: roll lengths and the loss at a join in nanometres, prices; no join price
    where pieces are cut whole."""

    rolls: tuple[int, ...]
    prices: tuple[float, ...]
    join_price: float | None
    join_loss: int


class CuttingSearch:
    """One run of the search, for pieces given by kind, longest first, in nanometres."""

    def __init__(
        self, kinds: Sequence[int], counts: Sequence[int], market: Market, time_limit: float
    ) -> None:
        self._deadline = time.monotonic() + time_limit
        self._market = market
        rolls, prices = market.rolls, market.prices
        if market.join_price is None:
            self.grid = single_roll_grid(kinds, counts, rolls, prices)
        else:
            self.grid = joined_roll_grid(
                kinds, counts, rolls, prices, market.join_price, market.join_loss
            )
        self._mixes = MixBound(kinds, counts, rolls, prices, market.join_price, market.join_loss)
        self._costs = np.array([stretch.cost for stretch in self.grid.stretches])
        self._demand = np.array(self.grid.counts, dtype=np.float64)
        self._same = 1e-4 * min(prices)  # costs closer than this are the same
        self._random = random.Random(1)  # a fixed seed: the same question, the same answer
        self.best: list[Column] = []
        self.best_cost = np.inf
        self.bound = 0.0

    def run(self) -> None:
        """Search until a plan is proven the cheapest, or time is up."""
        mix = self._raise_bound()
        # More joins only ever need longer rolls, so no plan spends less than this on rolls alone.
        self._least_for_rolls = mix.bound - mix.joins * (self._market.join_price or 0.0)
        self._pack_mix(mix, FEW_FILLS)
        if self.proven:
            return
        self._offer(_plain_plan(self.grid))
        linear = linear_plan(self.grid, self.best, self._deadline) if self.grid.exact else None
        if linear is None:
            self._pack_dearer_mixes()
            return
        self._learn(linear)
        self._raise_bound()
        self._offer(rounded_plan(self.grid, linear, self._deadline))
        self._test_costs(linear.worth, FEW_PATTERNS)
        if not self.proven:
            self._settled(linear.columns, self.best_cost - self._same, self._left() / 6)
            self._pack_dearer_mixes()
            self._test_costs(linear.worth, MOST_PATTERNS)

    @property
    def proven(self) -> bool:
        return self.best_cost <= self.bound + self._same

    def _left(self) -> float:
        return max(0.01, self._deadline - time.monotonic())

    def _raise_bound(self, time_limit: float = 10.0) -> RollMix:
        mix = self._mixes.cheapest(min(time_limit, self._left()))
        self.bound = max(self.bound, min(mix.bound, self.best_cost))
        return mix

    def _offer(self, columns: list[Column]) -> None:
        cost = float(sum(self._costs[column.stretch] for column in columns))
        if columns and cost < self.best_cost - self._same:
            self.best, self.best_cost = columns, cost

    # Packing

    def _pack_mix(self, mix: RollMix, fills: int) -> bool:
        """Cut all pieces from that mix of rolls, in some order of rolls and pieces; True if so."""
        kinds = range(len(self.grid.lengths))
        order, spread = list(kinds), 0.0
        for number in range(max(2, min(40, fills // max(1, sum(mix.rolls))))):
            sizes = [size for size, count in enumerate(mix.rolls) for _ in range(count)]
            if number > 1:  # first as the trade would: long pieces first
                self._random.shuffle(sizes)
                spread = 0.5
            keys = [
                length * self._random.uniform(1 - spread, 1 + spread)
                for length in self.grid.lengths
            ]
            order.sort(key=keys.__getitem__, reverse=True)
            columns = self._pack(sizes, mix.joins, order, with_longest=number % 2 == 0)
            if columns:
                self._offer(columns)
                return True
            if time.monotonic() > self._deadline:
                break
        return False

    def _pack(
        self, sizes: list[int], joins: int, order: list[int], with_longest: bool
    ) -> list[Column]:
        """Fill the rolls one after another; join the next one where too much would be left over."""
        grid, market = self.grid, self._market
        left, waiting = list(grid.counts), sizes[::-1]
        columns: list[Column] = []
        while any(left) and waiting:
            length = market.rolls[waiting.pop()]
            while True:
                stretch = grid.shortest_holding(length)
                if stretch is None:
                    return []
                capacity = grid.stretches[stretch].capacity
                pieces = fullest_pattern(grid.lengths, left, capacity, order, with_longest)
                rest = [have - cut for have, cut in zip(left, pieces, strict=True)]
                if not joins or not waiting or self._fits(rest, waiting, joins):
                    break
                length += market.rolls[waiting.pop()] - market.join_loss
                joins -= 1
            if not any(pieces):
                return []
            columns.append(Column(stretch, tuple(pieces)))
            left = rest
        return [] if any(left) else columns

    def _fits(self, left: list[int], sizes: list[int], joins: int) -> bool:
        """Whether those rolls are at all long enough for the pieces that are left."""
        needed = sum(n * length for n, length in zip(left, self.grid.lengths, strict=True))
        there = sum(self._market.rolls[size] for size in sizes) - joins * self._market.join_loss
        return needed * self.grid.cell <= there

    def _pack_dearer_mixes(self) -> None:
        """Climb through the costs that a mix can have until one can be packed."""
        mixes, mix = self._mixes, self._raise_bound()
        patience = time.monotonic() + self._left() / 6
        while mix.bound < self.best_cost - self._same and time.monotonic() < patience:
            if self._pack_mix(mix, MANY_FILLS):
                return
            mixes = mixes.dearer_than(mix.bound, self._same)
            mix = mixes.cheapest(self._left())

    # Bound and proof

    def _learn(self, linear: LinearPlan) -> None:
        """Tell the bound on mixes what the worth of pieces says: a roll holds only so much."""
        floor = float(linear.worth @ self._demand)
        self._mixes.add(self._mixes.costs / floor, 1.0 - 1e-9)
        if self._market.join_price is None:
            # A dominated size is not in the grid: it holds no more than the next longer one.
            holds = [
                min(
                    value
                    for stretch, value in zip(self.grid.stretches, linear.values, strict=True)
                    if self._market.rolls[stretch.rolls[0]] >= roll
                )
                for roll in self._market.rolls
            ]
            self._mixes.add(np.array([*holds, 0.0]) / floor, 1.0 - 1e-9)

    def _test_costs(self, worth: FloatArray, most_patterns: int) -> None:
        """Test the costs from the bound up to the best plan, in growing steps."""
        floor, step = float(worth @ self._demand), 0.0
        while not self.proven and time.monotonic() < self._deadline:
            target = min(self.bound + step, self.best_cost - self._same)
            joins = self._most_joins(target)
            slack = target - floor + self._same
            rich = patterns_within(self.grid, worth, slack, joins + 1, most_patterns)
            if rich is None:
                return
            columns = [Column(*pattern) for pattern in rich]
            if not self._settled(columns, target, self._left()):
                return
            if not self.proven:
                # Nothing costs at most the target, or what does was found and is the cheapest.
                self.bound = min(target + self._same, self.best_cost)
                self._mixes = self._mixes.dearer_than(target, self._same)
                self._raise_bound(NEXT_COST_SECONDS)
            step = max(2 * step, SMALLEST_STEP * self.bound)

    def _most_joins(self, cost: float) -> int:
        """How many couplers a plan of that cost can have at most."""
        price = self._market.join_price
        if price is None:
            return 0
        spare = cost + self._same - self._least_for_rolls
        return int(spare / price) if price > 0 else len(self._demand) * MOST_PATTERNS

    def _settled(self, columns: list[Column], target: float, time_limit: float) -> bool:
        """Whether a plan of these patterns costs at most `target` is settled: found or ruled out.

        Beside the number of times each pattern is cut stand the numbers of rolls and of joins,
        tied to them, so that the arguments about mixes cut the search short.
        """
        if not columns:
            return True
        sizes = len(self._market.rolls)
        made_of = np.zeros((sizes + 1, len(columns)))
        for place, column in enumerate(columns):
            rolls = self.grid.stretches[column.stretch].rolls
            np.add.at(made_of[:, place], list(rolls), 1.0)
            made_of[sizes, place] = len(rolls) - 1
        cut = np.array([column.pieces for column in columns], dtype=np.float64).T
        mixes, at_least = self._mixes.rows()
        same, nothing = np.eye(sizes + 1), np.zeros((len(cut), sizes + 1))
        before = np.zeros((len(mixes) + 1, len(columns)))
        ceiling = -self._mixes.costs / target
        rows = np.vstack(
            [
                np.hstack([cut, nothing]),
                np.hstack([made_of, -same]),
                np.hstack([-made_of, same]),
                np.hstack([before, np.vstack([mixes, ceiling])]),
            ]
        )
        limits = np.concatenate(
            [self._demand, np.zeros(2 * (sizes + 1)), at_least, [-1.0 - self._same / target]]
        )
        costs = np.append(self._costs[[c.stretch for c in columns]], np.zeros(sizes + 1))
        found = minimise_integer(costs, rows, limits, time_limit)
        if found.values is not None:
            chosen = zip(columns, found.values, strict=False)
            self._offer([column for column, number in chosen for _ in range(number)])
        return found.proven


def _plain_plan(grid: Grid) -> list[Column]:
    """A plan without search: fill the stretch that costs least per length cut, and so on."""
    left, columns = list(grid.counts), []
    kinds = range(len(grid.lengths))
    shortest_first = sorted(range(len(grid.stretches)), key=lambda s: len(grid.stretches[s].rolls))
    while any(left):
        longest = next(length for length, n in zip(grid.lengths, left, strict=True) if n)
        offers = []
        for index in shortest_first[:20]:
            stretch = grid.stretches[index]
            if stretch.capacity >= longest:
                pieces = fullest_pattern(grid.lengths, left, stretch.capacity, kinds, True)
                length = sum(n * size for n, size in zip(pieces, grid.lengths, strict=True))
                offers.append((stretch.cost / length, index, pieces))
        if not offers:  # only many joined rolls hold the longest piece
            index = next(i for i, s in enumerate(grid.stretches) if s.capacity >= longest)
            capacity = grid.stretches[index].capacity
            offers = [(0.0, index, fullest_pattern(grid.lengths, left, capacity, kinds, True))]
        _, index, pieces = min(offers)
        columns.append(Column(index, tuple(pieces)))
        left = [have - cut for have, cut in zip(left, pieces, strict=True)]
    return columns
