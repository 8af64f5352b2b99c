"""Sets mended by moving blocks of beds between them."""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence

_EXCHANGES = 200  # tries


def exchanged(
    deal: Sequence[Sequence[int]], off_of: Callable[[Sequence[int]], float]
) -> list[list[int]]:
    """Move blocks between sets, or exchange two, as long as what is wrong becomes less.

    `off_of` says by how much a set fails, 0 where it passes. Nothing where some still fail.
    """
    sets = [list(members) for members in deal]
    chance, off = random.Random(len(sets)), [off_of(members) for members in sets]
    for _ in range(_EXCHANGES):
        if not any(off):
            return sets
        if len(sets) < 2:
            break
        one = max(range(len(sets)), key=off.__getitem__)
        other = chance.choice([place for place in range(len(sets)) if place != one])
        leaves = chance.choice(sets[one])
        comes = chance.choice([None, *sets[other]])
        first = [i for i in sets[one] if i != leaves] + ([] if comes is None else [comes])
        second = [i for i in sets[other] if i != comes] + [leaves]
        if not first:
            continue
        now = off_of(first), off_of(second)
        if sum(now) < off[one] + off[other]:
            sets[one], sets[other], off[one], off[other] = first, second, *now
    return []
