"""The cheapest rolls to cut lines from, with the proof that nothing is cheaper.

One-dimensional cutting stock with several stock sizes and prices, the pieces cut whole or run on
from roll to roll through a coupler at a price.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from xlfuncs.calculations.buying.clock import Clock
from xlfuncs.calculations.buying.cutting_patterns import NANOMETRES, UNLIMITED, Roll, to_nanometres
from xlfuncs.calculations.buying.price_steps import Found, search_steps
from xlfuncs.calculations.buying.purchase_checks import check_purchase
from xlfuncs.errors import CellError, InputError


@dataclass(frozen=True)
class CutStretch:
    """Rolls bought (their sizes as indices), joined where there is more than one, and the rows of
    the pieces cut from them in that order."""

    rolls: tuple[int, ...]
    pieces: tuple[int, ...]


@dataclass(frozen=True)
class RollPlan:
    """A purchase of rolls: what to buy, what to cut from each, its cost, and what is proven.

    `bound` is a cost that no plan goes below; `proven` says that this plan meets it.
    """

    rolls: tuple[int, ...]
    joins: int
    cost: float
    bound: float
    proven: bool
    stretches: tuple[CutStretch, ...]


def cheapest_rolls(
    piece_lengths: Sequence[float], pieces: Sequence[int], roll_lengths: Sequence[float],
    roll_prices: Sequence[float], join_price: float | None = None, join_loss: float = 0.0,
    time_limit: float | Clock = 10.0, from_rolls: Sequence[int] | None = None,
    available: Sequence[int | None] | None = None,
) -> RollPlan:  # fmt: skip
    """The cheapest purchase of rolls from which all pieces can be cut.

    Lengths in m, one piece length and count a row, one roll length and price a row. Without
    `join_price` every piece is cut whole; with it a piece may run on into the next roll through a
    coupler at that price, and `join_loss` of line is lost at each roll end so joined (the coupler
    sits between emitters: allow one spacing).

    A price holds where at least `from_rolls` (default 1) are bought; rows of one length are steps
    of its price, and all rolls of that length are bought at one step. Where `available` gives a
    number, there are only so many: what is in store already is a row with its number and price 0.

    `time_limit` in seconds, or a clock that runs, holds for the whole search; when it is up the
    best plan so far comes back with `proven` false. Raises InputError for bad input, for a piece
    longer than every roll when pieces are not joined, and where too few rolls are available.
    """
    steps = list(from_rolls) if from_rolls is not None else [1] * len(roll_lengths)
    there = list(available) if available is not None else [None] * len(roll_lengths)
    check_purchase(
        piece_lengths, pieces, roll_lengths, roll_prices, join_price, join_loss, steps, there
    )
    lengths = to_nanometres(roll_lengths)
    rolls = [
        Roll(length, float(price), step if step > 1 else 0, UNLIMITED if most is None else most)
        for length, price, step, most in zip(lengths, roll_prices, steps, there, strict=True)
    ]
    wanted: Counter[int] = Counter()
    kind_of = to_nanometres(piece_lengths)
    for kind, count in zip(kind_of, pieces, strict=True):
        wanted[kind] += int(count)
    kinds = sorted((kind for kind, count in wanted.items() if count), reverse=True)
    if not kinds:  # nothing to cut
        return RollPlan((0,) * len(rolls), 0, 0.0, 0.0, True, ())
    counts = [wanted[kind] for kind in kinds]
    found = search_steps(
        kinds, counts, rolls, join_price, round(join_loss * NANOMETRES), Clock.of(time_limit)
    )
    if not found.columns:
        words = "too few rolls are available for all pieces"
        raise InputError("available", words, cell_error=CellError.NOT_AVAILABLE)
    rows_of: dict[int, list[int]] = {kind: [] for kind in kinds}
    for row, (kind, count) in enumerate(zip(kind_of, pieces, strict=True)):
        if count:
            rows_of[kind] += [row] * int(count)
    return _plan(found, [rows_of[kind] for kind in kinds], rolls, join_price or 0.0)


def _plan(found: Found, rows_of: list[list[int]], rolls: list[Roll], join_price: float) -> RollPlan:
    """Share the pieces out, row by row; where patterns cut one too many, leave it uncut."""
    waiting = [rows[::-1] for rows in rows_of]
    stretches = []
    for column in found.columns:
        cut = [
            waiting[kind].pop()
            for kind in np.flatnonzero(column.pieces)
            for _ in range(min(column.pieces[kind], len(waiting[kind])))
        ]
        if cut:
            stretches.append(CutStretch(column.rolls, tuple(cut)))
    bought = Counter(roll for stretch in stretches for roll in stretch.rolls)
    for roll in found.steps:  # rolls that are bought only to reach a lower price
        more = rolls[roll].at_least - bought[roll]
        stretches += [CutStretch((roll,), ())] * more
        bought[roll] += max(0, more)
    joins = sum(len(stretch.rolls) - 1 for stretch in stretches)
    cost = sum(rolls[roll].price * number for roll, number in bought.items()) + joins * join_price
    return RollPlan(
        rolls=tuple(bought[roll] for roll in range(len(rolls))), joins=joins, cost=cost,
        bound=cost if found.proven else min(found.bound, cost), proven=found.proven,
        stretches=tuple(stretches),
    )  # fmt: skip
