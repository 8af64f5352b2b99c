"""What can be cut from a roll: whole-number lengths, the best pattern, the fullest pattern.

A *stretch* is what one pattern is cut from: a single roll, or several rolls joined end to end.
Joining needs no model of its own. Pieces laid end to end along m joined rolls cross m - 1 roll
ends, so a stretch of m rolls costs its rolls and m - 1 couplers; and any plan with joins falls
into such stretches (rolls that share a piece, directly or through others, belong together).
"""

from __future__ import annotations

import heapq
from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import count
from math import gcd

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]

NANOMETRES = 1e9
# Two lengths closer than this are the same length to anyone with scissors; it absorbs the binary
# fractions of converted units, so that three pieces of 33 ft 4 in come out of a 100 ft roll.
TOLERANCE = 1_000
# Beyond so many cells the lengths are rounded to a coarser grid (pieces up, rolls down).
MOST_CELLS = 200_000


@dataclass(frozen=True)
class Stretch:
    """Rolls joined end to end: net length in cells, cost with its couplers, the rolls' sizes."""

    capacity: int
    cost: float
    rolls: tuple[int, ...]


@dataclass(frozen=True)
class Grid:
    """Lengths in whole cells: pieces longest first, their counts, the stretches to cut from."""

    lengths: tuple[int, ...]
    counts: tuple[int, ...]
    stretches: tuple[Stretch, ...]
    cell: int  # nanometres
    exact: bool

    def shortest_holding(self, nanometres: int) -> int | None:
        """The shortest stretch at least that long; it costs no more than any other such."""
        wanted = (nanometres + TOLERANCE) // self.cell
        place = bisect_left(self.stretches, wanted, key=lambda stretch: stretch.capacity)
        return place if place < len(self.stretches) else None


def to_nanometres(lengths: Sequence[float]) -> tuple[int, ...]:
    return tuple(round(length * NANOMETRES) for length in lengths)


def single_roll_grid(
    pieces: Sequence[int], counts: Sequence[int], rolls: Sequence[int], prices: Sequence[float]
) -> Grid:
    """The grid when every piece is cut whole from one roll. Lengths in nanometres."""
    cell = gcd(*pieces)
    coarsest = -(-max(rolls) // MOST_CELLS)
    exact = cell >= coarsest
    cell = cell if exact else coarsest
    stretches = tuple(
        Stretch((roll + TOLERANCE) // cell, price, (size,))
        for size, (roll, price) in enumerate(zip(rolls, prices, strict=True))
    )
    return _grid(pieces, counts, stretches, cell, exact)


def joined_roll_grid(
    pieces: Sequence[int],
    counts: Sequence[int],
    rolls: Sequence[int],
    prices: Sequence[float],
    join_price: float,
    join_loss: int,
) -> Grid:
    """The grid when a piece may run on from one roll into the next through a coupler."""
    total = sum(piece * count for piece, count in zip(pieces, counts, strict=True))
    cell = gcd(*pieces, *rolls, join_loss)
    coarsest = -(-(total + max(rolls)) // MOST_CELLS)
    exact = cell >= coarsest
    cell = cell if exact else coarsest
    stretches = tuple(
        Stretch((net + TOLERANCE) // cell, cost, made_of)
        for net, cost, made_of in _cheapest_joins(rolls, prices, join_price, join_loss, total)
    )
    return _grid(pieces, counts, stretches, cell, exact)


def _grid(
    pieces: Sequence[int],
    counts: Sequence[int],
    stretches: Sequence[Stretch],
    cell: int,
    exact: bool,
) -> Grid:
    lengths = tuple(-(-piece // cell) for piece in pieces)
    return Grid(lengths, tuple(counts), _undominated(stretches), cell, exact)


def _cheapest_joins(
    rolls: Sequence[int], prices: Sequence[float], join_price: float, join_loss: int, total: int
) -> Iterator[tuple[int, float, tuple[int, ...]]]:
    """For every net length that joined rolls can make, up to `total`, the cheapest way."""
    seen: set[int] = set()
    waiting: list[tuple[int, float, tuple[int, ...]]] = [(join_loss, -join_price, ())]
    while waiting:
        net, cost, made_of = heapq.heappop(waiting)
        if net in seen:
            continue  # the shorter nets came first, so the first way to this one was the cheapest
        seen.add(net)
        if made_of:
            yield net, cost, tuple(sorted(made_of))
        if net < total or not made_of:
            for size, (roll, price) in enumerate(zip(rolls, prices, strict=True)):
                if roll > join_loss:
                    longer = (net + roll - join_loss, cost + price + join_price, (*made_of, size))
                    heapq.heappush(waiting, longer)


def _undominated(stretches: Sequence[Stretch]) -> tuple[Stretch, ...]:
    """Drop every stretch for which one at least as long costs no more. Shortest first."""
    kept: list[Stretch] = []
    for stretch in sorted(stretches, key=lambda s: (-s.capacity, s.cost)):
        if not kept or stretch.cost < kept[-1].cost:
            kept.append(stretch)
    return tuple(reversed(kept))


def bundles(
    counts: Sequence[int], lengths: Sequence[int], capacity: int, order: Sequence[int]
) -> list[tuple[int, int]]:
    """Piece kinds in lots of 1, 2, 4 ...: every number up to the count is a choice of lots."""
    lots = []
    for kind in order:
        left, lot = min(counts[kind], capacity // lengths[kind]), 1
        while left > 0:
            lots.append((kind, min(lot, left)))
            left -= lot
            lot *= 2
    return lots


class BestPattern:
    """The bounded knapsack for all capacities at once, by dynamic programming over the cells."""

    def __init__(self, grid: Grid) -> None:
        self._grid = grid
        self._most = grid.stretches[-1].capacity
        self._lots = bundles(grid.counts, grid.lengths, self._most, range(len(grid.lengths)))
        self._taken = np.zeros((len(self._lots), self._most + 1), dtype=np.bool_)
        self._capacities = np.array([s.capacity for s in grid.stretches])

    def values(self, worth: FloatArray) -> FloatArray:
        """The greatest worth of pieces that each stretch holds."""
        value = np.zeros(self._most + 1)
        self._taken[:] = False
        for row, (kind, lot) in enumerate(self._lots):
            size = lot * self._grid.lengths[kind]
            with_lot = value[: self._most + 1 - size] + lot * worth[kind]
            better = with_lot > value[size:] + 1e-12
            self._taken[row, size:] = better
            np.copyto(value[size:], with_lot, where=better)
        return np.asarray(value[self._capacities])

    def pattern(self, stretch: int) -> tuple[int, ...]:
        """The pieces of that greatest worth, after `values`."""
        chosen = [0] * len(self._grid.lengths)
        cell = self._grid.stretches[stretch].capacity
        for row in range(len(self._lots) - 1, -1, -1):
            if self._taken[row, cell]:
                kind, lot = self._lots[row]
                chosen[kind] += lot
                cell -= lot * self._grid.lengths[kind]
        return tuple(chosen)


def fullest_pattern(
    lengths: Sequence[int],
    left: Sequence[int],
    capacity: int,
    order: Sequence[int],
    with_longest: bool,
) -> list[int]:
    """The pieces, of those left, that fill `capacity` best; kinds early in `order` go in first.

    `with_longest` forces the longest piece that fits. Reachable sums are the bits of one integer,
    so a roll is filled in microseconds.
    """
    chosen, left = [0] * len(lengths), list(left)
    if with_longest:
        longest = next((k for k, n in enumerate(left) if n and lengths[k] <= capacity), None)
        if longest is not None:
            chosen[longest], left[longest] = 1, left[longest] - 1
            capacity -= lengths[longest]
    lots = bundles(left, lengths, capacity, order)[::-1]  # the first in order are taken back first
    mask = (1 << (capacity + 1)) - 1
    reached = [1]
    for kind, lot in lots:
        reached.append((reached[-1] | reached[-1] << lot * lengths[kind]) & mask)
    cell = reached[-1].bit_length() - 1
    for (kind, lot), before in zip(reversed(lots), reversed(reached[:-1]), strict=True):
        size = lot * lengths[kind]
        if size <= cell and before >> (cell - size) & 1:
            chosen[kind] += lot
            cell -= size
    return chosen


def patterns_within(
    grid: Grid, worth: FloatArray, slack: float, most_rolls: int, most: int
) -> list[tuple[int, tuple[int, ...]]] | None:
    """Every maximal pattern whose cost exceeds the worth of its pieces by at most `slack`.

    With dual-feasible `worth`, a plan that costs at most the bound plus `slack` needs no other.
    Only stretches of at most `most_rolls` rolls. None if there are more than `most` patterns, or
    finding them takes too many steps.
    """
    order = sorted(range(len(worth)), key=lambda kind: -worth[kind] / grid.lengths[kind])
    found: list[tuple[int, tuple[int, ...]]] = []
    steps = count()
    for index, stretch in enumerate(grid.stretches):
        if len(stretch.rolls) <= most_rolls:
            for pattern in _rich_patterns(grid, worth, order, stretch, slack):
                if pattern is not None:
                    found.append((index, pattern))
                if len(found) > most or next(steps) > 20 * most:
                    return None
    return found


def _rich_patterns(
    grid: Grid,
    worth: FloatArray,
    order: Sequence[int],
    stretch: Stretch,
    slack: float,
) -> Iterator[tuple[int, ...] | None]:
    """Depth first through the kinds by worth per length, cut off by the fractional bound.

    Yields None at dead ends, so that the caller can count the steps and give up.
    """
    needed = stretch.cost - slack
    chosen = [0] * len(grid.lengths)
    shortest = min(grid.lengths)

    def descend(depth: int, room: int, value: float) -> Iterator[tuple[int, ...] | None]:
        if depth == len(order) or room < shortest:
            rich = value > needed and _is_maximal(grid, chosen, room)
            yield tuple(chosen) if rich else None
            return
        kind = order[depth]
        length, gain = grid.lengths[kind], float(worth[kind])
        if value + room * gain / length <= needed:
            yield None
            return
        for number in range(min(grid.counts[kind], room // length), -1, -1):
            chosen[kind] = number
            yield from descend(depth + 1, room - number * length, value + number * gain)
        chosen[kind] = 0

    yield from descend(0, stretch.capacity, 0.0)


def _is_maximal(grid: Grid, chosen: Sequence[int], room: int) -> bool:
    return not any(
        length <= room and number < count
        for length, number, count in zip(grid.lengths, chosen, grid.counts, strict=True)
    )
