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

import random
from collections import Counter
from collections.abc import Sequence

import numpy as np

from xlfuncs.calculations.buying import column_generation as generating
from xlfuncs.calculations.buying.clock import Clock
from xlfuncs.calculations.buying.cutting_patterns import (
    Market,
    fullest_pattern,
    patterns_within,
    whole_units,
)
from xlfuncs.calculations.buying.integer_programs import minimise_integer
from xlfuncs.calculations.buying.plain_plans import PlainPlan
from xlfuncs.calculations.buying.roll_mix import MixBound, RollMix
from xlfuncs.calculations.buying.stretches import MOST_JOINS, make_grid

FEW_FILLS, MANY_FILLS = 400, 2_000  # rolls filled in trying a mix before, after the linear bound
FEW_PATTERNS, MOST_PATTERNS = 500, 8_000
SMALLEST_STEP = 1e-3  # from one tested cost to the next, as a share of it
# What it takes in s to join a stretch of the grid, to begin a program by its columns.
_STRETCH, _COLUMN = 2e-5, 3e-4


class CuttingSearch:
    """One run of the search, for pieces given by kind, longest first, in nanometres.

    `offered` are columns of a plan that is known already, `ceiling` a cost from which on plans are
    of no interest.
    """

    def __init__(
        self, kinds: Sequence[int], counts: Sequence[int], market: Market, clock: Clock,
        offered: list[generating.Column] | None = None, ceiling: float = np.inf,
    ) -> None:  # fmt: skip
        self._clock = clock
        self._kinds, self._counts, self._market = kinds, counts, market
        self._mixes = MixBound(kinds, counts, market)
        self._demand = np.array(counts, dtype=np.float64)
        # Costs closer than this are the same.
        self._same = 1e-4 * min((roll.price for roll in market.rolls if roll.price), default=1e-6)
        self._random = random.Random(1)  # a fixed seed: the same question, the same answer
        self.best: list[generating.Column] = []
        self.best_cost = ceiling
        self.bound = 0.0
        self.grid = make_grid(kinds, counts, market)
        if offered:
            self._offer(offered)

    def run(self) -> None:
        """Search until a plan is proven the cheapest, or time is up."""
        self._offer(PlainPlan(self.grid, self._market).columns())
        mix = self._raise_bound()
        # More joins only ever need longer rolls, so no plan spends less than this on rolls alone.
        self._least_for_rolls = mix.bound - self._market.join_cost(mix.joins)
        if mix.found:
            self._pack_mix(mix, FEW_FILLS)
        if self.proven or self._clock.late():
            return
        if self._market.join_price is not None:
            joins = self._most_joins(self.best_cost)
            self.grid = make_grid(self._kinds, self._counts, self._market, joins)
            self._clock.spend(_STRETCH * joins * len(self.grid.stretches))
        linear = generating.linear_plan(self.grid, self._market, self.best, self._clock)
        if linear is None:
            self._pack_dearer_mixes()
            return
        if self.grid.complete:  # else the linear plan is no bound
            self._learn(linear)
            self._raise_bound()
        self._offer(generating.rounded_plan(self.grid, self._market, linear, self._clock))
        self._test_costs(linear, FEW_PATTERNS)
        if not self.proven and not self._clock.late():
            self._settled(linear.columns, self.best_cost - self._same, self._clock.part(1 / 6))
            self._pack_dearer_mixes()
            self._test_costs(linear, MOST_PATTERNS)

    @property
    def proven(self) -> bool:
        return self.best_cost <= self.bound + self._same

    def _raise_bound(self) -> RollMix:
        mix = self._mixes.cheapest(self._clock)
        self.bound = max(self.bound, min(mix.bound, self.best_cost))
        return mix

    def _cost(self, columns: Sequence[generating.Column]) -> float:
        used = Counter(roll for column in columns for roll in column.rolls)
        joins = sum(len(column.rolls) - 1 for column in columns)
        return self._market.cost([used[roll] for roll in range(len(self._market.rolls))], joins)

    def _offer(self, columns: list[generating.Column]) -> None:
        if not columns or (cost := self._cost(columns)) >= self.best_cost - self._same:
            return
        cut = sum(n * np.array(column.pieces) for column, n in Counter(columns).items())
        if np.all(cut >= self._demand):
            self.best, self.best_cost = columns, cost

    def _holds(self, rolls: Sequence[int]) -> int:
        return whole_units(self._market.net(rolls), self.grid.unit)

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
            if self._clock.late():
                break
        return False

    def _pack(
        self, sizes: list[int], joins: int, order: list[int], with_longest: bool
    ) -> list[generating.Column]:
        """Fill the rolls one after another; join the next one where too much would be left over."""
        grid = self.grid
        left, waiting = list(grid.counts), sizes[::-1]
        columns: list[generating.Column] = []
        while any(left) and waiting:
            if self._clock.late():
                return []
            rolls = [waiting.pop()]
            while True:
                room = self._holds(rolls)
                pieces = fullest_pattern(grid.lengths, left, room, order, with_longest, self._clock)
                rest = [have - cut for have, cut in zip(left, pieces, strict=True)]
                if not joins or not waiting or self._fits(rest, waiting, joins):
                    break
                rolls.append(waiting.pop())
                joins -= 1
            if not any(pieces):
                return []
            columns.append(generating.Column(tuple(sorted(rolls)), tuple(pieces)))
            left = rest
        return [] if any(left) else columns

    def _fits(self, left: list[int], sizes: list[int], joins: int) -> bool:
        """Whether those rolls are at all long enough for the pieces that are left."""
        needed = sum(n * length for n, length in zip(left, self.grid.lengths, strict=True))
        there = sum(self._market.rolls[size].length for size in sizes)
        return needed * self.grid.unit <= there - joins * self._market.join_loss + len(sizes)

    def _pack_dearer_mixes(self) -> None:
        """Climb through the costs that a mix can have until one can be packed."""
        mixes, mix = self._mixes, self._raise_bound()
        patience = self._clock.part(1 / 6)
        while mix.found and mix.bound < self.best_cost - self._same:
            if patience.late() or self._pack_mix(mix, MANY_FILLS):
                return
            mixes = mixes.dearer_than(mix.bound, self._same)
            mix = mixes.cheapest(self._clock)

    # Bound and proof

    def _learn(self, linear: generating.LinearPlan) -> None:
        """Tell the bound on mixes what the worth of pieces says: a roll holds only so much."""
        self.bound = max(self.bound, min(linear.bound, self.best_cost))
        if linear.bound > 0:
            self._mixes.add(self._mixes.costs / linear.bound, 1.0 - 1e-9)
        needed = float(linear.worth @ self._demand)
        if self._market.join_price is None and needed > 0:
            # A dominated roll is not in the grid: it holds no more than the next one that is.
            holds = [
                min(
                    (
                        value
                        for stretch, value in zip(self.grid.stretches, linear.values, strict=True)
                        if stretch.capacity >= min(self._holds([roll]), self._most)
                    )
                )
                for roll in range(len(self._market.rolls))
            ]
            self._mixes.add(np.array([*holds, 0.0]) / needed, 1.0 - 1e-9)

    @property
    def _most(self) -> int:
        return self.grid.stretches[-1].capacity

    def _test_costs(self, linear: generating.LinearPlan, most_patterns: int) -> None:
        """Test the costs from the bound up to the best plan, in growing steps."""
        step = 0.0
        while self.grid.complete and not self.proven and not self._clock.late():
            target = min(self.bound + step, self.best_cost - self._same)
            joins = self._most_joins(target)
            slack = target - linear.bound + self._same
            worth, costs, clock = linear.worth, linear.costs, self._clock
            rich = patterns_within(self.grid, worth, costs, slack, joins + 1, most_patterns, clock)
            if rich is None:
                return
            columns = [generating.Column(*pattern) for pattern in rich]
            if not self._settled(columns, target, self._clock):
                return
            if not self.proven:
                # Nothing costs at most the target, or what does was found and is the cheapest.
                self.bound = min(target + self._same, self.best_cost)
                self._mixes = self._mixes.dearer_than(target, self._same)
                self._raise_bound()
            step = max(2 * step, SMALLEST_STEP * self.bound)

    def _most_joins(self, cost: float) -> int:
        """How many couplers a plan of that cost can have at most."""
        price = self._market.join_price
        if price is None:
            return 0
        spare = cost + self._same - self._least_for_rolls
        return int(min(2 * MOST_JOINS, max(0.0, spare) / price)) if price > 0 else 2 * MOST_JOINS

    def _settled(self, columns: list[generating.Column], target: float, clock: Clock) -> bool:
        """Whether a plan of these patterns costs at most `target` is settled: found or ruled out.

        Beside the number of times each pattern is cut stand the numbers of rolls and of joins,
        tied to them, so that the arguments about mixes cut the search short.
        """
        if not columns:
            return True
        if _COLUMN * len(columns) > clock.left():
            return False
        sizes = len(self._market.rolls)
        made_of = np.zeros((sizes + 1, len(columns)))
        for place, column in enumerate(columns):
            np.add.at(made_of[:, place], list(column.rolls), 1.0)
            made_of[sizes, place] = len(column.rolls) - 1
        cut = np.array([column.pieces for column in columns], dtype=np.float64).T
        mixes, at_least = self._mixes.rows()
        same, nothing = np.eye(sizes + 1), np.zeros((len(cut), sizes + 1))
        before = np.zeros((len(mixes) + 1, len(columns)))
        scale = max(target, self._same)
        rows = np.vstack(
            [
                np.hstack([cut, nothing]),
                np.hstack([-made_of, same]),
                np.hstack([before, np.vstack([mixes, -self._mixes.costs / scale])]),
            ]
        )
        limits = np.concatenate(
            [self._demand, np.zeros(sizes + 1), at_least, [-(target + self._same) / scale]]
        )
        none = np.zeros(len(columns))
        found = minimise_integer(
            np.concatenate([none, self._mixes.costs]), rows, limits, clock,
            np.concatenate([none, self._mixes.lower]),
            np.concatenate([none + np.inf, self._mixes.upper]),
        )  # fmt: skip
        if found.values is not None:
            chosen = zip(columns, found.values, strict=False)
            self._offer([column for column, number in chosen for _ in range(number)])
        return found.proven
