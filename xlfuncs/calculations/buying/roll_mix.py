"""The cheapest numbers of rolls that no simple argument rules out: a lower bound on any plan."""

from collections.abc import Sequence
from copy import copy
from dataclasses import dataclass

import numpy as np

from xlfuncs.calculations.arrays import Floats
from xlfuncs.calculations.buying.clock import Clock
from xlfuncs.calculations.buying.cutting_patterns import TOLERANCE, Market
from xlfuncs.calculations.buying.integer_programs import minimise_integer


@dataclass(frozen=True)
class RollMix:
    """How many of each roll size, how many joins, and the cost that no plan can go below; whether
    there is such a mix at all."""

    rolls: tuple[int, ...]
    joins: int
    bound: float
    found: bool = True


class MixBound:
    """Counting arguments about a purchase, as rows of a small integer program.

    Variables: the number of rolls of each size, then the number of joins. Arguments: the rolls
    are long enough together; for every length u, the rolls hold as many pieces of at least u as
    are wanted (only where pieces are not joined); a piece longer than any roll needs joins.
    Lengths in nanometres, pieces longest first. Arguments learnt later are added to the rows.
    """

    def __init__(self, pieces: Sequence[int], counts: Sequence[int], market: Market) -> None:
        rolls = [roll.length for roll in market.rolls]
        self.costs = np.array([*(roll.price for roll in market.rolls), market.join_cost(1)])
        self.lower = np.array([*(float(roll.at_least) for roll in market.rolls), 0.0])
        lengths = np.array(rolls, dtype=np.float64) + TOLERANCE
        total = sum(piece * count for piece, count in zip(pieces, counts, strict=True))
        # One for each piece, and where they are joined enough for the whole length: more are of no
        # use, and a solver that is given prices far apart would take them for nothing.
        net = [max(1, roll - market.join_loss) for roll in rolls]
        most = [sum(counts) + (total // one + 1) * (market.join_price is not None) for one in net]
        self.upper = np.array(
            [*(float(min(roll.available, max(roll.at_least, enough)))
               for roll, enough in zip(market.rolls, most, strict=True)), np.inf]
        )  # fmt: skip
        # Scaled by the total, so that the solver's tolerances are relative.
        self._rows = [np.append(lengths, -float(market.join_loss)) / total]
        self._at_least = [1.0 - 1e-9]
        if market.join_price is None:
            self.upper[-1] = 0.0
            self._count_long_pieces(pieces, counts, rolls, total)
        else:
            self._count_needed_joins(pieces, counts, max(rolls), market.join_loss)

    def _count_long_pieces(
        self, pieces: Sequence[int], counts: Sequence[int], rolls: Sequence[int], total: int
    ) -> None:
        wanted = 0
        for piece, count in zip(pieces, counts, strict=True):
            wanted += count
            holds = [(roll + TOLERANCE) // piece for roll in rolls]
            by_length = [wanted * (roll + TOLERANCE) / total for roll in rolls]
            if any(hold < enough for hold, enough in zip(holds, by_length, strict=True)):
                self.add(np.array([*holds, 0], dtype=np.float64) / wanted, 1.0 - 1e-9)

    def _count_needed_joins(
        self, pieces: Sequence[int], counts: Sequence[int], longest: int, join_loss: int
    ) -> None:
        joins = sum(
            count * max(0, -(-(piece - join_loss - TOLERANCE) // (longest - join_loss)) - 1)
            for piece, count in zip(pieces, counts, strict=True)
            if piece > longest
        )
        if joins:
            self.add([*[0] * (len(self.costs) - 1), 1], joins)

    def add(self, row: Sequence[float] | Floats, at_least: float) -> None:
        self._rows.append(np.asarray(row, dtype=np.float64))
        self._at_least.append(at_least)

    def dearer_than(self, cost: float, same: float) -> "MixBound":
        """The same arguments for purchases that cost more than `cost`; `same` is no difference."""
        other = copy(self)
        other._rows = [*self._rows, self.costs]
        other._at_least = [*self._at_least, cost + same]
        return other

    def rows(self) -> tuple[Floats, Floats]:
        """The arguments so far: rows @ (rolls, joins) >= at_least."""
        return np.array(self._rows), np.array(self._at_least)

    def cheapest(self, clock: Clock) -> RollMix:
        """The cheapest mix that the arguments allow, and among those of that cost the longest."""
        rows, at_least = self.rows()
        first = minimise_integer(self.costs, rows, at_least, clock, self.lower, self.upper)
        if first.values is None or not first.proven:
            nothing = (0,) * (len(self.costs) - 1)
            return RollMix(nothing, 0, max(0.0, first.bound), found=False)
        roomiest = minimise_integer(
            -rows[0], np.vstack([rows, -self.costs]),
            np.append(at_least, -first.cost - 1e-9 * abs(first.cost) - 1e-9), clock, self.lower,
            self.upper,
        )  # fmt: skip
        values = roomiest.values or first.values
        return RollMix(values[:-1], values[-1], first.cost)
