"""What can be cut from a roll: whole-number lengths, stretches, the fullest pattern, all patterns.

A *stretch* is what one pattern is cut from: a single roll, or several rolls joined end to end.
Joining needs no model of its own. Pieces laid end to end along m joined rolls cross m - 1 roll
ends, so a stretch of m rolls costs its rolls and m - 1 couplers; and any plan with joins falls
into such stretches (rolls that share a piece, directly or through others, belong together).

Every length is exact: a whole number of a unit that all pieces share. Where a table over lengths
would be too large its steps are coarser than the unit, but what it gives is tried on the lengths.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import count
from math import gcd

import numpy as np

from xlfuncs.calculations.arrays import Floats
from xlfuncs.calculations.buying.clock import Clock

NANOMETRES = 1e9
# Two lengths closer than this are the same length to anyone with scissors; it absorbs the binary
# fractions of converted units, so that three pieces of 33 ft 4 in come out of a 100 ft roll.
TOLERANCE = 1_000
ROUNDED = 1  # nm; how far a length in nanometres may stand from a whole number of the unit
SMALLEST_UNIT = 100_000  # nm; a unit that lengths share only nearly is not sought below
MOST_BITS = 1 << 24  # of all sums that are kept in filling one roll
UNLIMITED = 1_000_000
# What it takes in s to fill a roll, at all and by the bits of each lot, and to go on in a pattern.
_FILL, _BIT, _GO_ON = 5e-5, 3e-11, 4e-6


@dataclass(frozen=True)
class Roll:
    """A roll on sale: length (nm) and price; so many must be bought, so many can be."""

    length: int
    price: float
    at_least: int = 0
    available: int = UNLIMITED


@dataclass(frozen=True)
class Market:
    """What is on sale; no join price where pieces are cut whole. Loss at a join in nanometres."""

    rolls: tuple[Roll, ...]
    join_price: float | None = None
    join_loss: int = 0

    def net(self, rolls: Sequence[int]) -> int:
        """The length (nm) of those rolls joined end to end."""
        joins = len(rolls) - 1
        return sum(self.rolls[roll].length for roll in rolls) - joins * self.join_loss

    def list_price(self, rolls: Sequence[int]) -> float:
        return sum(self.rolls[roll].price for roll in rolls) + self.join_cost(len(rolls) - 1)

    def join_cost(self, joins: int) -> float:
        return joins * (self.join_price or 0.0)

    def has(self, rolls: Sequence[int]) -> bool:
        return all(rolls.count(roll) <= self.rolls[roll].available for roll in set(rolls))

    def cost(self, bought: Sequence[int], joins: int) -> float:
        """What so many of each roll and the couplers cost; infinite where there are not so many."""
        cost = self.join_cost(joins)
        for roll, number in zip(self.rolls, bought, strict=True):
            if number > roll.available:
                return np.inf
            cost += roll.price * max(number, roll.at_least)
        return cost


@dataclass(frozen=True)
class Stretch:
    """Rolls joined end to end: what it holds in units, and the rolls."""

    capacity: int
    rolls: tuple[int, ...]


@dataclass(frozen=True)
class Grid:
    """Pieces longest first and their counts, and the stretches to cut from, in whole units;
    whether all stretches that were asked for are there."""

    lengths: tuple[int, ...]
    counts: tuple[int, ...]
    stretches: tuple[Stretch, ...]
    unit: float  # nanometres
    complete: bool


def to_nanometres(lengths: Sequence[float]) -> tuple[int, ...]:
    return tuple(round(length * NANOMETRES) for length in lengths)


def whole_units(nanometres: int, unit: float) -> int:
    """How many units a stretch of that length holds."""
    return int((nanometres + TOLERANCE) / unit)


def common_unit(lengths: Sequence[int]) -> float:
    """The longest unit (nm) of which all lengths are whole multiples.

    Thirds and other fractions come rounded to nanometres, so a unit that all lengths keep to
    within the rounding counts as shared.
    """
    unit = float(lengths[0])
    for length in lengths[1:]:
        other = float(length)
        while other > SMALLEST_UNIT / 50:
            unit, other = other, abs(unit - other * round(unit / other))
    if unit >= SMALLEST_UNIT:
        times = np.rint(np.array(lengths) / unit)
        unit = float(np.dot(times, lengths) / np.dot(times, times))
        if np.abs(times * unit - lengths).max() <= ROUNDED:
            return unit
    return float(gcd(*lengths))


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


def fullest_pattern(
    lengths: Sequence[int], left: Sequence[int], capacity: int, order: Sequence[int],
    with_longest: bool, clock: Clock,
) -> list[int]:  # fmt: skip
    """The pieces, of those left, that fill `capacity` best; kinds early in `order` go in first.

    `with_longest` forces the longest piece that fits. Reachable sums are the bits of one integer,
    so a roll is filled in microseconds. Where there are too many bits, each stands for several
    sums, pieces rounded down; the fullest that truly fits is taken.
    """
    if sum(n * length for n, length in zip(left, lengths, strict=True)) <= capacity:
        return list(left)
    chosen, left = [0] * len(lengths), list(left)
    if with_longest:
        longest = next((k for k, n in enumerate(left) if n and lengths[k] <= capacity), None)
        if longest is not None:
            chosen[longest], left[longest] = 1, left[longest] - 1
            capacity -= lengths[longest]
    lots = bundles(left, lengths, capacity, order)[::-1]  # the first in order are taken back first
    cell = capacity * (len(lots) + 1) // MOST_BITS + 1
    clock.spend(_FILL + _BIT * len(lots) * (capacity // cell))
    mask = (1 << (capacity // cell + 1)) - 1
    reached = [1]
    for kind, lot in lots:
        reached.append((reached[-1] | reached[-1] << lot * lengths[kind] // cell) & mask)
    sums = reached[-1]
    while True:
        at = sums.bit_length() - 1
        taken = _trace(lots, lengths, reached, at, cell)
        over = sum(lot * lengths[kind] for kind, lot in taken) - capacity
        if over <= 0:
            break
        sums &= (1 << max(0, at - over // cell)) - 1
    for kind, lot in taken:
        chosen[kind] += lot
    return chosen


def _trace(
    lots: Sequence[tuple[int, int]],
    lengths: Sequence[int],
    reached: Sequence[int],
    at: int,
    cell: int,
) -> list[tuple[int, int]]:
    """The lots that add up to that bit."""
    taken = []
    for (kind, lot), before in zip(reversed(lots), reversed(reached[:-1]), strict=True):
        size = lot * lengths[kind] // cell
        if size <= at and before >> (at - size) & 1:
            taken.append((kind, lot))
            at -= size
    return taken


def patterns_within(
    grid: Grid, worth: Floats, costs: Floats, slack: float, most_rolls: int, most: int, clock: Clock
) -> list[tuple[tuple[int, ...], tuple[int, ...]]] | None:
    """Every maximal pattern whose cost exceeds the worth of its pieces by at most `slack`.

    With dual-feasible `worth` and `costs` of the stretches, a plan that costs at most the bound
    plus `slack` needs no other. Only stretches of at most `most_rolls` rolls. None if there are
    more than `most` patterns, or finding them takes too many steps.
    """
    order = sorted(range(len(worth)), key=lambda kind: -worth[kind] / grid.lengths[kind])
    found: list[tuple[tuple[int, ...], tuple[int, ...]]] = []
    steps = count()
    for stretch, cost in zip(grid.stretches, costs, strict=True):
        if len(stretch.rolls) <= most_rolls:
            for pattern in _rich_patterns(grid, worth, order, stretch.capacity, cost - slack):
                if pattern is not None:
                    found.append((stretch.rolls, pattern))
                if len(found) > most or next(steps) > 20 * most or clock.late():
                    return None
                clock.spend(_GO_ON)
    return found


def _rich_patterns(
    grid: Grid, worth: Floats, order: Sequence[int], capacity: int, needed: float
) -> Iterator[tuple[int, ...] | None]:
    """Depth first through the kinds by worth per length, cut off by the fractional bound.

    Yields None at dead ends, so that the caller can count the steps and give up.
    """
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

    yield from descend(0, capacity, 0.0)


def _is_maximal(grid: Grid, chosen: Sequence[int], room: int) -> bool:
    return not any(
        length <= room and number < count
        for length, number, count in zip(grid.lengths, chosen, grid.counts, strict=True)
    )
