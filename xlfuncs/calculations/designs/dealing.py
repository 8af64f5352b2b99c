"""Beds that pass alone, dealt into sets that pass, water evenly and are done in the hours."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from math import inf, isfinite

import numpy as np
import numpy.typing as npt

from xlfuncs.calculations.buying.integer_programs import minimise_integer
from xlfuncs.calculations.designs.question import Wanted
from xlfuncs.calculations.designs.set_bounds import SetBounds
from xlfuncs.calculations.designs.set_exchange import exchanged
from xlfuncs.calculations.pressure.properties import head_from_pressure
from xlfuncs.calculations.pressure.set_checks import Breach, Group, SetChecks
from xlfuncs.calculations.pressure.set_search import deals, fewest_sets, least_number
from xlfuncs.calculations.water.irrigation_need import VALVE_TOLERANCE

Array = npt.NDArray[np.float64]
HOURS, TOO_LITTLE, DEPTH = "hours", "too little flow", "share of depth"
QUICK, THOROUGH, DEEP = range(3)  # effort
_ALL = {THOROUGH: 300, DEEP: 3000}  # sets that are asked for where all are to be known
_FEW = 18  # blocks, up to which all sets may be so few
_MOST_NODES = 1000  # when the best of them are chosen
_ALIKE = (1.1, 1.2)  # times of blocks, the longest over the shortest, that are dealt together
_PARTS, _FINER = 6, 12  # in which the main is cut for the bounds
_SLACK = 1e-9


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
class Dealing:
    """Blocks of beds that stay together; `volume` (m3) is what each bed wants at a watering.

    `capacity` is the nominal flow (m3/s) that no set that passes exceeds, `greatest_flow` the most
    that one draws.
    """

    checks: SetChecks
    blocks: Sequence[Group]
    volume: Array
    wanted: Wanted
    capacity: float
    greatest_flow: float
    _time: dict[Group, float] = field(default_factory=dict)

    # --- one set ---

    def seconds(self, group: Group) -> float:
        """The one time that a set runs: its beds get between them what they want."""
        if group not in self._time:
            rows = list(group)
            flow = self.checks.delivery(group).flow[rows].sum()
            self._time[group] = float(self.volume[rows].sum() / flow)
        return self._time[group]

    def watering(self, groups: Sequence[Group]) -> float:
        return sum(self.seconds(group) for group in groups)

    def uneven(self, group: Group) -> Breach | None:
        """The bed that in that time gets most beside what it wants, where that is too far."""
        rows = list(group)
        given = self.checks.delivery(group).flow[rows] * self.seconds(group) / self.volume[rows]
        place = int(np.argmax(np.abs(given - 1)))
        off = float(given[place])
        if abs(off - 1) <= VALVE_TOLERANCE * (1 + _SLACK):
            return None
        limit = 1 + (VALVE_TOLERANCE if off > 1 else -VALVE_TOLERANCE)
        return Breach(DEPTH, rows[place], off, limit)

    def complete(self, group: Group) -> bool:
        return self.checks.flows_enough(group) and self.uneven(group) is None

    def wrong(self, group: Group) -> Breach | None:
        """The first thing that is wrong with a finished set."""
        breach = self.checks.first(group)
        if breach is None and not self.checks.flows_enough(group):
            flow, least = self.checks.delivery(group).supply_flow, self.checks.limits.least_flow
            breach = Breach(TOO_LITTLE, None, flow, least)
        return breach or self.uneven(group)

    def _may(self, group: Group) -> bool:
        """Whether the set passes, and may with more beds: times that are too far apart, whatever
        flows within what each bed may get, stay so."""
        return self._alike(group, self._slowest)

    def _alike(self, group: Group, other: Array | None = None) -> bool:
        """The same by the times of the beds alone, which are as far apart in most sets."""
        rows, other = list(group), self._quickest if other is None else other
        apart = self._quickest[rows].max() / other[rows].min()
        return bool(
            apart <= (1 + VALVE_TOLERANCE) / (1 - VALVE_TOLERANCE) + _SLACK
            and self.checks.first(group) is None
        )

    @cached_property
    def _most(self) -> Array:
        """What each bed draws alone (m3/s)."""
        alone = np.full(self.volume.size, np.nan)
        for row in self._watered.tolist():
            alone[row] = self.checks.delivery((row,)).flow[row]
        return alone

    @cached_property
    def _quickest(self) -> Array:
        """Seconds in which each bed has its water alone; none is quicker."""
        return self.volume / self._most

    @cached_property
    def _slowest(self) -> Array:
        return np.asarray(self.volume / (self.wanted.share * self.checks.beds.nominal_flow))

    # --- all of them ---

    def dealt(self, effort: int) -> Dealt:
        """The sets that were found: dealt, with more effort also the best of all that there are
        where these are few, and mended by exchange where bounds allow that something is won."""
        for block in self.blocks:
            breach = self.checks.first(block) or self.uneven(block)
            if breach is not None:
                return Dealt([], 1, breach, kept=block)
        found = fewest_sets(
            self._sizes,
            self.capacity,
            lambda members: self._may(self._rows(members)),
            lambda members: self.complete(self._rows(members)),
            self._orders,
            0,
            lambda members: self._alike(self._rows(members)),
        )
        groups, fewest = [self._rows(members) for members in found.sets], found.bound
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
        if breach is not None and self._least_time(parts) > self.wanted.hours:
            return Dealt(groups, fewest, breach)
        fewest = max(fewest, self._bounds.least_sets(self.wanted.share, parts))
        if breach is not None and fewest * np.nanmin(self._quickest) > self.wanted.hours:
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
        over = spent > self.wanted.hours * (1 + _SLACK)
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
            groups = [group for members in classes for group in self._of_class(members)]
            if groups:
                yield groups

    def _time_of(self, place: int) -> float:
        return float(self._quickest[list(self.blocks[place])].max())

    def _of_class(self, members: list[int]) -> list[Group]:
        sizes = [self._sizes[i] for i in members]
        orders = [[members.index(i) for i in order if i in members] for order in self._orders]
        least = least_number(sizes, self.capacity)
        groups: list[Group] = []
        for number in range(least, len(members) + 1):
            for deal in deals(sizes, number, orders):
                groups = [self._rows([members[i] for i in part]) for part in deal if part]
                if all(self.wrong(group) is None for group in groups):
                    return groups
        return groups

    def _best_of_all(self, most: int) -> Dealt | None:
        """The fewest sets of all that are done in the hours, chosen among all sets that pass; None
        where these are more than `most`."""
        passing: list[list[int]] = []
        open_ends: list[list[int]] = [[]]
        asked = 0
        while open_ends:
            members = open_ends.pop()
            for i in range(members[-1] + 1 if members else 0, len(self.blocks)):
                asked += 1
                if asked > most:
                    return None
                if self._may(self._rows([*members, i])):
                    open_ends.append([*members, i])
                    passing.append([*members, i])
        whole = [members for members in passing if self.complete(self._rows(members))]
        rows = np.zeros((2 * len(self.blocks) + 1, len(whole)))
        for column, members in enumerate(whole):
            rows[members, column] = 1.0
            rows[-1, column] = -self.seconds(self._rows(members)) / self.wanted.hours
        rows[len(self.blocks) : -1] = -rows[: len(self.blocks)]
        once = np.repeat([1.0, -1.0], len(self.blocks))
        found = minimise_integer(
            np.ones(len(whole)), rows, np.append(once, -1 - _SLACK), inf, most_nodes=_MOST_NODES
        )
        if not found.proven:
            return None
        taken = [] if found.values is None else np.flatnonzero(found.values).tolist()
        return Dealt([self._rows(whole[column]) for column in taken], len(taken))

    def _least_time(self, parts: int) -> float:
        return self._bounds.least_time(self.volume[self._watered], VALVE_TOLERANCE, parts)

    def _mended(self, groups: list[Group], fewest: int, whole: bool) -> list[Group]:
        """Sets, fewer than these where these are right, by exchange; none where not found."""
        place = {row: i for i, block in enumerate(self.blocks) for row in block}
        for number in range(fewest, len(groups) + (0 if whole else 1)):
            starts = [deal for deal in deals(self._sizes, number, self._orders) if all(deal)]
            if number == len(groups):
                starts.append([tuple({place[row] for row in group}) for group in groups])
            if not starts:
                continue
            best = min(starts, key=lambda deal: sum(self._off(members) for members in deal))
            found = [self._rows(members) for members in exchanged(best, self._off)]
            if found and self._breach(found) is None:
                return found
        return []

    def _off(self, members: Sequence[int]) -> float:
        """By how much a set fails, 0 where it passes."""
        breach = self.wrong(self._rows(members))
        if breach is None:
            return 0.0
        off = abs(breach.value / breach.limit - 1) if breach.limit else 1.0
        return min(off, 1.0) if isfinite(off) else 1.0

    # --- what does not change ---

    def _rows(self, members: Sequence[int]) -> Group:
        return tuple(sorted(row for i in members for row in self.blocks[i]))

    @cached_property
    def _watered(self) -> npt.NDArray[np.intp]:
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
            for of_bed in (self._quickest, far)
        ]

    @cached_property
    def _bounds(self) -> SetBounds:
        rows = self._watered
        beds = self.checks.beds.only(rows)
        lowest = beds.elevation + np.minimum(beds.slope, 0.0) * beds.lateral_length
        with np.errstate(divide="ignore"):  # one emitter has as much, or more
            some = beds.rated_pressure * self.wanted.share ** (1 / beds.exponent)
        needed = np.maximum(some, self.checks.limits.min_pressure[rows])
        head = lowest + head_from_pressure(needed)
        return SetBounds(beds, self._most[rows], head, self.greatest_flow, self.checks.supply)
