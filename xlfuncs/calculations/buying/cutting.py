"""The cheapest rolls to cut lines from, with the proof that nothing is cheaper.

One-dimensional cutting stock with several stock sizes and prices, the pieces cut whole or run on
from roll to roll through a coupler at a price.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from xlfuncs.calculations.buying.cutting_patterns import NANOMETRES, to_nanometres
from xlfuncs.calculations.buying.cutting_search import CuttingSearch, Market
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
    piece_lengths: Sequence[float],
    pieces: Sequence[int],
    roll_lengths: Sequence[float],
    roll_prices: Sequence[float],
    join_price: float | None = None,
    join_loss: float = 0.0,
    time_limit: float = 10.0,
) -> RollPlan:
    """The cheapest purchase of rolls from which all pieces can be cut.

    Lengths in m, one piece length and count a row, one roll length and price a size. Without
    `join_price` every piece is cut whole; with it a piece may run on into the next roll through a
    coupler at that price, and `join_loss` of line is lost at each roll end so joined (the coupler
    sits between emitters: allow one spacing). `time_limit` in seconds; when it runs out the best
    plan so far comes back with `proven` false. Raises InputError for bad input and for a piece
    longer than every roll when pieces are not joined.
    """
    _check(piece_lengths, pieces, roll_lengths, roll_prices, join_price, join_loss)
    market = Market(
        to_nanometres(roll_lengths),
        tuple(float(price) for price in roll_prices),
        join_price,
        round(join_loss * NANOMETRES),
    )
    wanted: Counter[int] = Counter()
    kind_of = to_nanometres(piece_lengths)
    for kind, count in zip(kind_of, pieces, strict=True):
        wanted[kind] += int(count)
    kinds = sorted((kind for kind, count in wanted.items() if count), reverse=True)
    if not kinds:
        return RollPlan((0,) * len(roll_lengths), 0, 0.0, 0.0, True, ())
    search = CuttingSearch(kinds, [wanted[kind] for kind in kinds], market, time_limit)
    search.run()
    rows_of: dict[int, list[int]] = {kind: [] for kind in kinds}
    for row, (kind, count) in enumerate(zip(kind_of, pieces, strict=True)):
        if count:
            rows_of[kind] += [row] * int(count)
    return _plan(search, [rows_of[kind] for kind in kinds], len(roll_lengths))


def _plan(search: CuttingSearch, rows_of: list[list[int]], sizes: int) -> RollPlan:
    """Share the pieces out, row by row; where patterns cut one too many, leave it uncut."""
    waiting = [rows[::-1] for rows in rows_of]
    stretches = []
    for column in search.best:
        cut = [
            waiting[kind].pop()
            for kind, number in enumerate(column.pieces)
            for _ in range(min(number, len(waiting[kind])))
        ]
        stretches.append(CutStretch(search.grid.stretches[column.stretch].rolls, tuple(cut)))
    bought = Counter(size for stretch in stretches for size in stretch.rolls)
    return RollPlan(
        rolls=tuple(bought[size] for size in range(sizes)),
        joins=sum(len(stretch.rolls) - 1 for stretch in stretches),
        cost=search.best_cost,
        bound=search.best_cost if search.proven else search.bound,
        proven=search.proven,
        stretches=tuple(stretches),
    )


def _check(
    piece_lengths: Sequence[float],
    pieces: Sequence[int],
    roll_lengths: Sequence[float],
    roll_prices: Sequence[float],
    join_price: float | None,
    join_loss: float,
) -> None:
    pairs = (
        ("pieces", pieces, "piece_lengths", piece_lengths),
        ("roll_prices", roll_prices, "roll_lengths", roll_lengths),
    )
    for name, values, other, others in pairs:
        if len(values) != len(others):
            raise InputError(
                name,
                f"must have as many rows as {other} ({len(others)}); it has {len(values)}",
                cell_error=CellError.VALUE,
            )
    for name, values in (
        ("piece_lengths", piece_lengths),
        ("roll_lengths", roll_lengths),
        ("roll_prices", roll_prices),
    ):
        for row, value in enumerate(values):
            if not value > 0 or not np.isfinite(value):
                raise InputError(name, f"must be above 0; it is {value:g}", row=row)
    for row, count in enumerate(pieces):
        if count < 0 or count != int(count):
            raise InputError("pieces", f"must be a whole number; it is {count:g}", row=row)
    if not roll_lengths:
        raise InputError("roll_lengths", "give at least one roll length")
    if join_price is not None and (join_price < 0 or join_loss < 0):
        name, value = ("join_price", join_price) if join_price < 0 else ("join_loss", join_loss)
        raise InputError(name, f"must be at least 0; it is {value:g}")
    if join_price is None:
        longest = max(roll_lengths)
        for row, (length, count) in enumerate(zip(piece_lengths, pieces, strict=True)):
            if count and length > longest + 1e-6:
                raise InputError(
                    "piece_lengths",
                    "is longer than the longest roll: add a longer roll, shorten the line, or"
                    " allow joins by giving join_price",
                    row=row,
                    cell_error=CellError.NOT_AVAILABLE,
                )
