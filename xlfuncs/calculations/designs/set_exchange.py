"""Sets mended by moving blocks of beds between them."""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from math import inf
from typing import NamedTuple

_EXCHANGES = 3000  # tries
_HOPELESS = {400: 0.05, 1200: 0.012}  # off, after so many of them
_WORSE = 0.01  # by how much, at first, things may become worse: over a crest lies more
_AT_FAULT = 0.5  # of the tries move the block that is most at fault
_LEAST_WEIGHT = 1e-3  # of a set that is right, when one is drawn


class Mark(NamedTuple):
    """By how much a set fails (0: it passes), how long it runs (s), which of its blocks is most at
    fault."""

    off: float
    seconds: float
    worst: int | None


def exchanged(
    deal: Sequence[Sequence[int]],
    mark: Callable[[Sequence[int]], Mark],
    guess: Callable[[Sequence[int], Sequence[int]], Mark],
    hours: float,
) -> list[list[int]]:
    """Move blocks between sets, or exchange two, until every set passes and all are done in
    `hours` (s); nothing where that is not reached.

    `guess` is a quick mark of a set by what another like it does; what it finds no better isn't
    asked of `mark`. A little worse is taken at first, less and less (threshold accepting, Dueck and
    Scheuer, Journal of Computational Physics 90, 1990).
    """

    def total(marks: Sequence[Mark]) -> float:
        return sum(m.off for m in marks) + max(0.0, sum(m.seconds for m in marks) / hours - 1)

    sets = [list(members) for members in deal]
    chance, marks = random.Random(len(sets)), [mark(members) for members in sets]
    now, places = total(marks), range(len(sets))
    for done in range(_EXCHANGES if len(sets) > 1 else 0):
        if now == 0 or now > _HOPELESS.get(done, inf):
            break
        one = chance.choices(places, [m.off + _LEAST_WEIGHT for m in marks])[0]
        other = chance.choice([place for place in places if place != one])
        worst = marks[one].worst
        leaves = chance.choice(sets[one])
        if worst is not None and chance.random() < _AT_FAULT:
            leaves = worst
        comes = chance.choice([None, *sets[other]])
        first = [i for i in sets[one] if i != leaves] + ([] if comes is None else [comes])
        second = [i for i in sets[other] if i != comes] + [leaves]
        most = now + _WORSE * max(0.0, 1 - 2 * done / _EXCHANGES) * chance.random()
        changed = list(marks)
        if first:
            changed[one], changed[other] = guess(first, sets[one]), guess(second, sets[other])
        if not first or total(changed) > most:
            continue
        changed[one], changed[other] = mark(first), mark(second)
        if total(changed) <= most:
            sets[one], sets[other], marks, now = first, second, changed, total(changed)
    return [] if now else sets
