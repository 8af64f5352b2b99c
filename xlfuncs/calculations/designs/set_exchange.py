"""Sets mended by moving blocks of beds between them."""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np

from xlfuncs.calculations.arrays import Flags, Floats

_EXCHANGES = 600  # between two sets by chance, each the best there is
_HOPELESS = {200: 0.1, 400: 0.03}  # off, after so many of them
_WORSE = 0.01  # by how much, at first, things may become worse: over a crest lies more
_LEAST_WEIGHT = 1e-3  # of a set that is right, when one is drawn


class Mark(NamedTuple):
    """By how much a set fails (0: it passes), how long it runs (s)."""

    off: float
    seconds: float


Marks = Callable[[Sequence[int], Flags, Sequence[int]], tuple[Floats, Floats]]


def exchanged(
    deal: Sequence[Sequence[int]], mark: Callable[[Sequence[int]], Mark], guess: Marks, hours: float
) -> list[list[int]]:
    """Move blocks between sets, or exchange two, until every set passes and all are done in
    `hours` (s); nothing where that is not reached.

    `guess` marks many sets of some blocks (a row each, true where a block is inside) by what
    another like them does: `off` and seconds; `mark` is asked of the best. A little worse is taken
    at first, less and less, and the guesses are blurred as much (noising method, Charon and Hudry,
    Operations Research Letters 14, 1993).
    """
    sets = [list(members) for members in deal]
    marks = [mark(members) for members in sets]
    chance, places = random.Random(len(sets)), range(len(sets))
    off = _off(marks, hours)
    for done in range(_EXCHANGES if len(sets) > 1 else 0):
        if off == 0 or off > _HOPELESS.get(done, off):
            break
        worse = _WORSE * (1 - done / _EXCHANGES) ** 2
        one = chance.choices(places, [m.off + _LEAST_WEIGHT for m in marks])[0]
        other = chance.choice([place for place in places if place != one])
        both, inside = sets[one] + sets[other], _exchanges(len(sets[one]), len(sets[other]))
        first, its_seconds = guess(both, inside, sets[one])
        second, seconds = guess(both, ~inside, sets[other])
        rest = [m for place, m in enumerate(marks) if place not in (one, other)]
        over = (its_seconds + seconds + sum(m.seconds for m in rest)) / hours - 1
        guessed = first + second + sum(m.off for m in rest) + np.maximum(0.0, over)
        blurred = guessed + worse * np.array([chance.random() for _ in guessed])
        best = int(np.argmin(blurred))
        if guessed[best] > off + worse:
            continue
        halves = [[i for i, there in zip(both, inside[best], strict=True) if there == is_first]
                  for is_first in (True, False)]  # fmt: skip
        marked = list(marks)
        marked[one], marked[other] = map(mark, halves)
        if (now := _off(marked, hours)) <= off + worse:
            sets[one], sets[other] = halves
            marks, off = marked, now
    return [] if off else sets


def _off(marks: Sequence[Mark], hours: float) -> float:
    over = sum(m.seconds for m in marks) / hours - 1
    return sum(m.off for m in marks) + max(0.0, over)


def _exchanges(one: int, other: int) -> Flags:
    """All ways to move one of so many blocks and so many others, or to exchange two: which blocks
    are then in the first set."""
    each = np.eye(one + other, dtype=np.bool_)
    two = (each[:one, None] | each[None, one:]).reshape(-1, one + other)
    return np.asarray((np.arange(one + other) < one) ^ np.concatenate([each, two]))
