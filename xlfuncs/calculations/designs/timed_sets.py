"""Sets of beds as they run: each for one time, in which its beds get what they want, or nearly."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from math import isfinite

import numpy as np

from xlfuncs.calculations.arrays import Flags, Floats
from xlfuncs.calculations.designs.question import Wanted
from xlfuncs.calculations.designs.set_exchange import Mark
from xlfuncs.calculations.pressure.set_checks import SHARE, SOLUTION, Breach, Group, SetChecks
from xlfuncs.calculations.water.irrigation_need import VALVE_TOLERANCE

TOO_LITTLE, DEPTH = "too little flow", "share of depth"
SLACK = 1e-9
_GROWS = 1.8  # power of the flow by which a main loses (smooth plastic, near enough to guess)


@dataclass
class TimedSets:
    """What single sets do; `volume` (m3) is what each bed wants at a watering, `greatest_flow` the
    most (m3/s) that a set which passes draws."""

    checks: SetChecks
    volume: Floats
    wanted: Wanted
    greatest_flow: float
    guesses: int = field(default=0, init=False)
    _time: dict[Group, float] = field(default_factory=dict, init=False)
    _losses: dict[Group, Floats] = field(default_factory=dict, init=False)

    def seconds(self, group: Group) -> float:
        """The one time that a set runs: its beds get between them what they want."""
        if group not in self._time:
            rows = list(group)
            flow = self.checks.delivery(group).flow[rows].sum()
            self._time[group] = float(self.volume[rows].sum() / flow)
        return self._time[group]

    def watering(self, groups: Sequence[Group]) -> float:
        return sum(self.seconds(group) for group in groups)

    def _given(self, group: Group) -> Floats:
        """What each bed gets in that time, over what it wants."""
        rows = list(group)
        flow = self.checks.delivery(group).flow[rows]
        return np.asarray(flow * self.seconds(group) / self.volume[rows])

    def uneven(self, group: Group) -> Breach | None:
        """The bed that in that time gets most beside what it wants, where that is too far."""
        given = self._given(group)
        place = int(np.argmax(np.abs(given - 1)))
        off = float(given[place])
        if abs(off - 1) <= VALVE_TOLERANCE * (1 + SLACK):
            return None
        limit = 1 + (VALVE_TOLERANCE if off > 1 else -VALVE_TOLERANCE)
        return Breach(DEPTH, group[place], off, limit)

    def complete(self, group: Group) -> bool:
        return self.checks.flows_enough(group) and self.uneven(group) is None

    def wrong(self, group: Group) -> Breach | None:
        """The first thing that is wrong with a finished set."""
        breach = self.checks.first(group)
        if breach is None and not self.checks.flows_enough(group):
            flow, least = self.checks.delivery(group).supply_flow, self.checks.limits.least_flow
            breach = Breach(TOO_LITTLE, None, flow, least)
        return breach or self.uneven(group)

    def may(self, group: Group) -> bool:
        """Whether the set passes, and may with more beds: times that are too far apart, whatever
        flows within what each bed may get, stay so."""
        return self.alike(group, self.slowest)

    def alike(self, group: Group, other: Floats) -> bool:
        """The same by other times, such as those of the beds alone: about as far apart in sets."""
        return self.in_time(group, other) and self.checks.first(group) is None

    def in_time(self, group: Group, other: Floats) -> bool:
        """Whether the slowest bed alone is not too far apart from the quickest of the others."""
        rows = list(group)
        apart = self.quickest[rows].max() / other[rows].min()
        return bool(apart <= (1 + VALVE_TOLERANCE) / (1 - VALVE_TOLERANCE) + SLACK)

    @cached_property
    def most(self) -> Floats:
        """What each bed draws alone (m3/s)."""
        alone = np.full(self.volume.size, np.nan)
        for row in np.flatnonzero(self.checks.beds.is_open).tolist():
            alone[row] = self.checks.delivery((row,)).flow[row]
        return alone

    @cached_property
    def quickest(self) -> Floats:
        """Seconds in which each bed has its water alone; none is quicker."""
        return self.volume / self.most

    @cached_property
    def _alone(self) -> Floats:
        """The head of each bed over that of its rated pressure, alone."""
        beds = self.checks.beds
        return np.asarray((self.most / beds.nominal_flow) ** (1 / beds.exponent))

    @cached_property
    def slowest(self) -> Floats:
        return np.asarray(self.volume / (self.wanted.share * self.checks.beds.nominal_flow))

    # --- how far off it is ---

    def mark(self, group: Group) -> Mark:
        """By how much a finished set is off."""
        breach = self.wrong(group)
        if breach is not None and breach.check == SOLUTION:
            return Mark(1.0, self.wanted.hours)
        rows = list(group)
        share = self.checks.delivery(group).share[None, rows]
        off, seconds = self._marked(rows, share, np.ones_like(share, dtype=np.bool_))
        if breach is None:
            return Mark(0.0, float(seconds[0]))
        over = abs(breach.value / breach.limit - 1) if breach.limit else 1.0
        least = SLACK if breach.check in (DEPTH, SHARE) or not isfinite(over) else min(over, 1.0)
        return Mark(max(float(off[0]), least), float(seconds[0]))

    def guess(self, rows: Sequence[int], inside: Flags, like: Group) -> tuple[Floats, Floats]:
        """Marks of sets of these beds (a line each, true where a bed is inside), by what the beds
        of another set lose on their way, which grows with its flow."""
        self.guesses += 1
        beds, rows = self.checks.beds, list(rows)
        if like not in self._losses:
            there = sorted(like, key=lambda row: beds.distance[row])
            share = self.checks.delivery(like).share[there]
            lost = self._alone[there] - share ** (1 / beds.exponent[there])
            lost = np.interp(beds.distance, beds.distance[there], lost)
            self._losses[like] = lost / beds.nominal_flow[there].sum() ** _GROWS
        flow = inside @ beds.nominal_flow[rows]
        head = self._alone[rows] - np.outer(flow**_GROWS, self._losses[like][rows])
        return self._marked(rows, np.maximum(head, 0.01) ** beds.exponent[rows], inside)

    def _marked(self, rows: list[int], share: Floats, inside: Flags) -> tuple[Floats, Floats]:
        """By how much sets whose beds get these shares of their flow, and the main, are off limits,
        and how long they run; one without beds is nothing."""
        volume, flow = self.volume[rows], inside * share * self.checks.beds.nominal_flow[rows]
        total = np.maximum(flow.sum(axis=1), SLACK * self.greatest_flow)
        seconds = inside @ volume / total
        apart = np.abs(flow * seconds[:, None] / volume - 1) - VALVE_TOLERANCE
        off = (inside * np.maximum(apart, 0.0)).sum(axis=1)
        least = np.where(inside, share, np.inf).min(axis=1)
        off += np.maximum(0.0, 1 - least / self.wanted.share)
        off += np.maximum(0.0, total / self.greatest_flow - 1)
        return np.where(inside.any(axis=1), off, np.inf), seconds
