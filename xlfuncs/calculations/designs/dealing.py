"""Beds that pass alone, dealt into sets that pass, water evenly and are done in the hours."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from math import inf

import numpy as np

from xlfuncs.calculations.arrays import Flags, Floats, Indices
from xlfuncs.calculations.buying.clock import Clock
from xlfuncs.calculations.buying.integer_programs import minimise_integer
from xlfuncs.calculations.designs.set_bounds import SetBounds, least_head
from xlfuncs.calculations.designs.set_exchange import Mark, exchanged
from xlfuncs.calculations.designs.timed_sets import SLACK, TimedSets
from xlfuncs.calculations.pressure.set_checks import Breach, Group
from xlfuncs.calculations.pressure.set_search import deals, fewest_sets
from xlfuncs.calculations.water.irrigation_need import VALVE_TOLERANCE

HOURS = "hours"
QUICK, THOROUGH, DEEP = range(3)  # effort
_ALL = {THOROUGH: 300, DEEP: 3000}  # sets that are asked for where all are to be known
_FEW = 18  # blocks, up to which all sets may be so few
_MOST_NODES = 1000  # when the best of them are chosen
_ALIKE = (1.1, 1.2)  # times of blocks, the longest over the shortest, that are dealt together
_PARTS, _FINER = 6, 12  # in which the main is cut for the bounds
_STARTS = 2  # from which sets of a number are mended


@dataclass(frozen=True)
class Dealt:
    """The sets, a number that none are fewer than, and what is wrong with the whole (`proven`: no
    other sets would be right). `kept` are beds that cannot be kept together."""

    groups: list[Group]
    fewest: int
    breach: Breach | None = None
    proven: bool = True
    kept: Group = ()


@dataclass
class Dealing(TimedSets):
    """Blocks of beds that stay together; `capacity` is the nominal flow (m3/s) that no set that
    passes exceeds."""

    blocks: Sequence[Group]
    capacity: float

    def dealt(self, effort: int) -> Dealt:
        """The sets that were found: dealt, with more effort also the best of all that there are
        where these are few, and mended by exchange where bounds allow that something is won."""
        for block in self.blocks:
            breach = self.checks.first(block) or self.uneven(block)
            if breach is not None:
                return Dealt([], 1, breach, kept=block)
        groups, fewest = self._fewest(range(len(self.blocks)))
        if self._breach(groups) is not None or len(groups) > fewest:
            tried = [groups, *self._by_time()]
            groups = min(tried, key=lambda groups: (self._breach(groups) is not None, len(groups)))
        breach = self._breach(groups)
        if breach is None and len(groups) <= fewest:
            return Dealt(groups, fewest)
        if effort != QUICK and len(self.blocks) <= _FEW:
            known = self._best_of_all(_ALL[effort])
            if known is not None:
                return known if known.groups else Dealt(groups, fewest, breach)
        parts = _FINER if effort == DEEP else _PARTS
        volume = self.volume[self._watered]
        if breach is not None and (
            self._bounds.least_time(volume, VALVE_TOLERANCE, parts) > self.wanted.hours
        ):
            return Dealt(groups, fewest, breach)
        fewest = max(fewest, self._bounds.least_sets(self.wanted.share, parts))
        if breach is not None and fewest * np.nanmin(self.quickest) > self.wanted.hours:
            return Dealt(groups, fewest, breach)
        if effort == DEEP and (breach is not None or len(groups) > fewest):
            mended = self._mended(groups, fewest, breach is None)
            groups, breach = (mended, None) if mended else (groups, breach)
        return Dealt(groups, min(fewest, len(groups)), breach, breach is None)

    def _breach(self, groups: Sequence[Group]) -> Breach | None:
        """What is wrong with sets that pass as far as more beds would only make it worse."""
        for group in groups:
            breach = self.wrong(group)
            if breach is not None:
                return breach
        spent = self.watering(groups)
        over = spent > self.wanted.hours * (1 + SLACK)
        return Breach(HOURS, None, spent, self.wanted.hours) if over else None

    def _by_time(self) -> Iterator[list[Group]]:
        """Deals among blocks that take about as long, apart from the others."""
        by_time = self._orders[0][::-1]
        for apart in _ALIKE:
            classes: list[list[int]] = []
            for i in by_time:
                time = self._time_of(i)
                if not classes or time > apart * self._time_of(classes[-1][0]):
                    classes.append([])
                classes[-1].append(i)
            groups = [group for members in classes for group in self._fewest(members)[0]]
            if groups:
                yield groups

    def _time_of(self, place: int) -> float:
        return float(self.quickest[list(self.blocks[place])].max())

    def _fewest(self, of: Sequence[int]) -> tuple[list[Group], int]:
        """These blocks in few sets, and a number that none are fewer than."""

        def rows(members: Sequence[int]) -> Group:
            return self._rows([of[i] for i in members])

        found = fewest_sets(
            [self._sizes[i] for i in of], self.capacity, lambda members: self.may(rows(members)),
            lambda members: self.complete(rows(members)),
            [[of.index(i) for i in order if i in of] for order in self._orders], 0,
            lambda members: self.alike(rows(members), self.quickest),
            lambda sets, together: self._prepare(map(rows, sets), together),
        )  # fmt: skip
        return [rows(members) for members in found.sets], found.bound

    def _best_of_all(self, most: int) -> Dealt | None:
        """The fewest sets of all that are done in the hours, chosen among all sets that pass; None
        where these are more than `most`."""
        places, passing, asked = range(len(self.blocks)), [], 0
        level = [[i] for i in places]  # all sets of one block, then of two, and so on
        while level:
            asked += len(level)
            if asked > most:
                return None
            self._prepare(map(self._rows, level))
            level = [members for members in level if self.may(self._rows(members))]
            passing += level
            level = [[*members, i] for members in level for i in places[members[-1] + 1 :]]
        passing.sort(key=lambda members: ([-i for i in members[:-1]], members[-1]))
        whole = [members for members in passing if self.complete(self._rows(members))]
        rows = np.zeros((2 * len(self.blocks) + 1, len(whole)))
        for column, members in enumerate(whole):
            rows[members, column] = 1.0
            rows[-1, column] = -self.seconds(self._rows(members)) / self.wanted.hours
        rows[len(self.blocks) : -1] = -rows[: len(self.blocks)]
        once = np.repeat([1.0, -1.0], len(self.blocks))
        costs, least = np.ones(len(whole)), np.append(once, -1 - SLACK)
        found = minimise_integer(costs, rows, least, Clock(inf), most_nodes=_MOST_NODES)
        if not found.proven:
            return None
        taken = [] if found.values is None else np.flatnonzero(found.values).tolist()
        return Dealt([self._rows(whole[column]) for column in taken], len(taken))

    def _prepare(self, groups: Iterable[Group], together: bool = False) -> bool:
        groups = list(groups)
        in_time = [group for group in groups if self.in_time(group, self.slowest)]
        if together and len(in_time) < len(groups):
            return False
        return self.checks.prepare(in_time)

    def _mended(self, groups: list[Group], fewest: int, whole: bool) -> list[Group]:
        """Sets, fewer than these where these are right, by exchange; none where not found."""
        for number in range(fewest, len(groups) + (0 if whole else 1)):
            starts = [deal for deal in deals(self._sizes, number, self._orders) if all(deal)]
            if number == len(groups):
                starts.append([
                    tuple(i for i, block in enumerate(self.blocks) if block[0] in group)
                    for group in groups
                ])  # fmt: skip
            starts.sort(key=lambda deal: sum(self._mark(members).off for members in deal))
            for start in starts[:_STARTS]:
                swapped = exchanged(start, self._mark, self._guess, self.wanted.hours)
                found = [self._rows(members) for members in swapped]
                if found and self._breach(found) is None:
                    return found
        return []

    def _mark(self, members: Sequence[int]) -> Mark:
        return self.mark(self._rows(members))

    def _guess(
        self, members: Sequence[int], inside: Flags, like: Sequence[int]
    ) -> tuple[Floats, Floats]:
        blocks = [self.blocks[i] for i in members]
        of_row = np.repeat(np.arange(len(blocks)), [len(block) for block in blocks])
        rows = [row for block in blocks for row in block]
        return self.guess(rows, inside[:, of_row], self._rows(like))

    # --- what does not change ---

    def _rows(self, members: Sequence[int]) -> Group:
        return tuple(sorted(row for i in members for row in self.blocks[i]))

    @cached_property
    def _watered(self) -> Indices:
        """All beds of the blocks, the nearest first."""
        rows = np.array(sorted(row for block in self.blocks for row in block), dtype=np.intp)
        return rows[np.argsort(self.checks.beds.distance[rows], kind="stable")]

    @cached_property
    def _sizes(self) -> list[float]:
        nominal = self.checks.beds.nominal_flow  # equal ones are dealt in the order of the list
        return [float(f"{nominal[list(block)].sum():.12g}") for block in self.blocks]

    @cached_property
    def _orders(self) -> list[list[int]]:
        """Blocks whose beds take the longest first, and the farthest first; beds that differ by
        less than rounding may in the order of the list."""
        far, places = self.checks.beds.distance, range(len(self.blocks))
        return [
            sorted(places, key=lambda i: -float(f"{of_bed[list(self.blocks[i])].max():.9g}"))
            for of_bed in (self.quickest, far)
        ]

    @cached_property
    def _bounds(self) -> SetBounds:
        rows = self._watered
        beds = self.checks.beds.only(rows)
        head = least_head(beds, self.wanted.share, self.checks.limits.min_pressure[rows])
        return SetBounds(beds, self.most[rows], head, self.greatest_flow, self.checks.supply)
