"""Sets mended by moving blocks of beds between them."""

import random
from collections.abc import Callable, Sequence
from math import inf
from typing import NamedTuple

_EXCHANGES = 1200  # tries by chance
_HOPELESS = {400: 0.05, 1200: 0.015}  # off, after so many of them
_SWEEPS = 6  # through all exchanges there are, where little is off
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

    exchange = _Exchange([list(members) for members in deal], mark, guess, hours)
    sets, marks = exchange.sets, exchange.marks
    chance, places = random.Random(len(sets)), range(len(sets))
    if len(sets) < 2:
        return sets if exchange.off == 0 else []
    for done in range(_EXCHANGES):
        if exchange.off == 0 or exchange.off > _HOPELESS.get(done, inf):
            break
        one = chance.choices(places, [m.off + _LEAST_WEIGHT for m in marks])[0]
        other = chance.choice([place for place in places if place != one])
        worst = marks[one].worst
        leaves = chance.choice(sets[one])
        if worst is not None and chance.random() < _AT_FAULT:
            leaves = worst
        worse = _WORSE * (1 - done / _EXCHANGES) * chance.random()
        exchange.tried(one, leaves, other, chance.choice([None, *sets[other]]), worse)
    for _ in range(_SWEEPS):
        if exchange.off == 0 or exchange.off > _HOPELESS[_EXCHANGES] or not exchange.swept():
            break
    return [] if exchange.off else sets


class _Exchange:
    """Sets as they stand, and by how much they and the hours are off."""

    def __init__(
        self,
        sets: list[list[int]],
        mark: Callable[[Sequence[int]], Mark],
        guess: Callable[[Sequence[int], Sequence[int]], Mark],
        hours: float,
    ) -> None:
        self.sets, self._mark, self._guess, self._hours = sets, mark, guess, hours
        self.marks = [mark(members) for members in sets]
        self.off = self._total(self.marks)

    def _total(self, marks: Sequence[Mark]) -> float:
        over = sum(m.seconds for m in marks) / self._hours - 1
        return sum(m.off for m in marks) + max(0.0, over)

    def tried(
        self, one: int, leaves: int, other: int, comes: int | None, worse: float = 0.0
    ) -> bool:
        """Exchange two blocks, or move one, if that is better, or at most so much worse."""
        sets, most, marks = self.sets, self.off + worse, list(self.marks)
        first = [i for i in sets[one] if i != leaves] + ([] if comes is None else [comes])
        second = [i for i in sets[other] if i != comes] + [leaves]
        if not first:
            return False
        marks[one], marks[other] = (
            self._guess(first, sets[one]), self._guess(second, sets[other]),
        )  # fmt: skip
        if self._total(marks) > most:
            return False
        marks[one], marks[other] = self._mark(first), self._mark(second)
        off = self._total(marks)
        if off > most or (not worse and off == self.off):
            return False
        sets[one], sets[other], self.marks[:], self.off = first, second, marks, off
        return True

    def swept(self) -> bool:
        """Try all exchanges; whether any was better."""
        better = False
        for leaves in sorted(i for members in self.sets for i in members):
            one = next(place for place, members in enumerate(self.sets) if leaves in members)
            for other, members in enumerate(self.sets):
                comes = (None, *(i for i in members if i > leaves)) if other != one else ()
                if self.off and any(self.tried(one, leaves, other, i) for i in comes):
                    better = True
                    break
        return better
