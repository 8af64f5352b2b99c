"""What a purchase of rolls is refused for, in words."""

from collections.abc import Sequence

import numpy as np

from xlfuncs.errors import CellError, InputError

MOST_PIECES = 50_000  # of all kinds together
MOST_KINDS = 1_000
MOST_ROWS = 200  # of rolls on sale
SAME_LENGTH = 1e-6  # m


def check_purchase(
    piece_lengths: Sequence[float], pieces: Sequence[int], roll_lengths: Sequence[float],
    roll_prices: Sequence[float], join_price: float | None, join_loss: float,
    from_rolls: Sequence[int], available: Sequence[int | None],
) -> None:  # fmt: skip
    """Raise InputError for numbers that are out of their limits and for what no roll can hold."""
    rolls = "roll_lengths"
    as_many("pieces", pieces, "piece_lengths", piece_lengths)
    for name, values in (
        ("roll_prices", roll_prices),
        ("from_rolls", from_rolls),
        ("available", available),
    ):
        as_many(name, values, rolls, roll_lengths)
    positive("piece_lengths", piece_lengths)
    positive(rolls, roll_lengths)
    for row, (price, most) in enumerate(zip(roll_prices, available, strict=True)):
        if not np.isfinite(price) or price < 0 or (price == 0 and most is None):
            raise InputError("roll_prices", f"must be above 0; it is {price:g}", row=row)
    _whole("pieces", pieces, 0)
    _whole("from_rolls", from_rolls, 1)
    _whole("available", [0 if most is None else most for most in available], 0)
    if not roll_lengths:
        raise InputError(rolls, "give at least one roll length")
    if join_price is not None and (join_price < 0 or join_loss < 0):
        name, value = ("join_price", join_price) if join_price < 0 else ("join_loss", join_loss)
        raise InputError(name, f"must be at least 0; it is {value:g}")
    _sizes(piece_lengths, pieces, roll_lengths)
    _long_pieces(piece_lengths, pieces, roll_lengths, join_price, join_loss)


def as_many(name: str, values: Sequence[object], other: str, others: Sequence[object]) -> None:
    if len(values) != len(others):
        words = f"must have as many rows as {other} ({len(others)}); it has {len(values)}"
        raise InputError(name, words, cell_error=CellError.VALUE)


def positive(name: str, values: Sequence[float]) -> None:
    for row, value in enumerate(values):
        if not value > 0 or not np.isfinite(value):
            raise InputError(name, f"must be above 0; it is {value:g}", row=row)


def _whole(name: str, values: Sequence[float], least: int) -> None:
    for row, value in enumerate(values):
        if value < least or value != int(value):
            words = "a whole number" + (f" from {least}" if least else "")
            raise InputError(name, f"must be {words}; it is {value:g}", row=row)


def _sizes(
    piece_lengths: Sequence[float], pieces: Sequence[int], roll_lengths: Sequence[float]
) -> None:
    number, kinds = sum(pieces), len(set(piece_lengths))
    if number > MOST_PIECES or kinds > MOST_KINDS:
        words = f"at most {MOST_PIECES} pieces of {MOST_KINDS} different lengths can be bought for"
        words += f" together; they are {number} of {kinds}: buy for a part of the garden at a time"
        raise InputError("pieces", words)
    if len(roll_lengths) > MOST_ROWS:
        raise InputError(
            "roll_lengths", f"at most {MOST_ROWS} rolls can be compared; it has {len(roll_lengths)}"
        )


def _long_pieces(
    piece_lengths: Sequence[float],
    pieces: Sequence[int],
    roll_lengths: Sequence[float],
    join_price: float | None,
    join_loss: float,
) -> None:
    longest = max(roll_lengths)
    for row, (length, count) in enumerate(zip(piece_lengths, pieces, strict=True)):
        if not count or length <= longest + SAME_LENGTH:
            continue
        words = ""
        if join_price is None:
            words = (
                "is longer than the longest roll: add a longer roll, shorten the line, or"
                " allow joins by giving join_price"
            )
        elif join_loss >= longest:
            words = (
                "is longer than the longest roll, and a join loses as much as a whole roll: add a"
                " longer roll, shorten the line, or give a smaller join_loss"
            )
        if words:
            raise InputError("piece_lengths", words, row=row, cell_error=CellError.NOT_AVAILABLE)
