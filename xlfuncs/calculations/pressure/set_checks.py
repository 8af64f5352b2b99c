"""Beds that open together, held to every limit at once: the one judge of a set.

What says a set is wrong, what deals beds into sets and what compares whole designs all ask here,
so that none proposes what another refuses.
"""

from collections.abc import Iterable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace

import numpy as np

from xlfuncs.calculations.arrays import Floats, Indices
from xlfuncs.calculations.pressure.bed_lists import Beds
from xlfuncs.calculations.pressure.drip_systems import Delivery, DripSystem
from xlfuncs.calculations.pressure.laterals import emission_uniformity
from xlfuncs.calculations.pressure.networks import NotConvergedError, Supply, constant_supply
from xlfuncs.calculations.pressure.pipe_friction import SMOOTH_PLASTIC, friction_head
from xlfuncs.calculations.pressure.properties import head_from_pressure
from xlfuncs.errors import InputError

Group = tuple[int, ...]

SOLUTION, SUPPLY, HEAD = "solution", "supply exceeded", "head assembly"
ABOVE, BELOW = "pressure above range", "pressure below range"
SHARE, UNIFORMITY, VELOCITY = "share of nominal", "uniformity", "velocity"
IN_MAIN, IN_MANIFOLD, IN_LATERALS = "main", "manifold", "laterals"

_SLACK = 1e-9
_ROUNDING = 1e-6  # of a bound, for what solutions are off
_AT_ONCE = 100  # beds in systems that are solved beside one another


@dataclass(frozen=True)
class Limits:
    """What a set is held to. Arrays have one entry a bed, NaN where nothing is known.

    `share` of the nominal flow, emission `uniformity` (the maker's `variation` counted, 0 where
    unknown), `velocity` (m/s) in mains, manifolds and laterals, the working range of the lines
    (Pa), `supply_share` of the supply's flow (m3/s, NaN if unknown) for the nominal flow and for
    what is drawn, the flows (m3/s) between which
    every part of the head assembly works. `most_pressure` (Pa) at the start of the main is what a
    bed may meet beyond the supply's curve, as of a well at cut-out; NaN: the curve says it all.
    """

    share: float
    uniformity: float
    velocity: float
    min_pressure: Floats
    max_pressure: Floats
    variation: Floats
    supply_flow: float = np.nan
    supply_share: float = 0.75
    least_flow: float = 0.0
    greatest_flow: float = np.inf
    most_pressure: float = np.nan
    roughness: float = SMOOTH_PLASTIC


@dataclass(frozen=True)
class Breach:
    """A limit that is broken: which check, at which bed (None: the whole set), by which value.

    `pipe` says in which pipe a velocity is too great.
    """

    check: str
    row: int | None
    value: float
    limit: float
    pipe: str = ""


@dataclass
class SetChecks:
    """Groups of beds solved and judged; each group, and each bed alone, is solved once."""

    beds: Beds
    supply: Supply
    limits: Limits
    solved: dict[Group, Delivery] = field(default_factory=dict)
    ahead: dict[Group, Delivery] = field(default_factory=dict)
    _first: dict[Group, Breach | None] = field(default_factory=dict)
    _highest: dict[int, float] = field(default_factory=dict)

    def delivery(self, group: Group) -> Delivery:
        """What the beds get with only these open; raises `NotConvergedError`."""
        key = tuple(sorted(group))
        if key not in self.solved:
            known = self.ahead.pop(key, None)
            self.solved[key] = self._solve(key, self.supply) if known is None else known
        return self.solved[key]

    def prepare(self, groups: Iterable[Group]) -> bool:
        """Solve groups that will be asked for beside one another, in half the time or less."""
        if not self.beds.on_one_main:
            return True
        new = {tuple(sorted(group)) for group in groups} - self.solved.keys() - self.ahead.keys()
        waiting, size = sorted(new, key=len), self.beds.distance.size
        while len(waiting) > 1:
            some = waiting[: max(1, _AT_ONCE // len(waiting[-1]))]
            del waiting[: len(some)]
            rows, sizes = np.concatenate(some).astype(np.intp), np.array([len(g) for g in some])
            with suppress(InputError, ArithmeticError):  # it is then said when asked for
                system = DripSystem(self.beds.only(rows), self.limits.roughness, sizes=sizes)
                for group, got in zip(some, system.deliver_each(self.supply), strict=True):
                    if got is not None:
                        self.ahead[group] = got.spread(np.array(group, dtype=np.intp), size)
        return True

    def least_shares(self, groups: Sequence[Group], greatest: float) -> list[float]:
        """How much of the flow (m3/s) that a set draws at most where it runs, no more than the
        `greatest`, each group draws at least: what it would behind the whole loss of a main of
        its own with all of that flow."""
        beds, least = self.beds, self.limits.share * self.beds.nominal_flow
        if len(groups) < 2 or not beds.on_one_main:
            return []
        bore = beds.main_diameter[0]
        most = min(greatest, self.limits.velocity * np.pi / 4 * bore**2)
        if not 0 < most < np.inf:
            return []
        lost = friction_head(most, beds.distance, bore, self.limits.roughness)
        near = replace(beds, distance=np.zeros(least.size), elevation=beds.elevation + lost)
        alone = SetChecks(near, constant_supply(self.supply(most)[0]), self.limits)
        alone.prepare((row,) for group in groups for row in group)
        for (row,), got in alone.ahead.items():
            least[row] = max(least[row], got.flow[row] * (1 - _ROUNDING))
        return [float(least[list(group)].sum()) / most for group in groups]

    def _solve(self, group: Group, supply: Supply) -> Delivery:
        beds, size = self.beds, self.beds.distance.size
        if self.beds.on_one_main:  # then pipes past closed beds may be left out
            rows = np.array(group, dtype=np.intp)
            system = DripSystem(beds.only(rows), self.limits.roughness)
            return system.deliver(supply).spread(rows, size)
        is_open = np.zeros(size, dtype=np.bool_)
        is_open[list(group)] = True
        opened = beds.opened(is_open & beds.is_open)
        return DripSystem(opened, self.limits.roughness).deliver(supply)

    def first(self, group: Group) -> Breach | None:
        """The first limit that the group breaks, whatever else opens with it; None where it runs.

        Too little flow for the head assembly is left out (`flows_enough`): a bed more may cure it.
        """
        key = tuple(sorted(group))
        if key not in self._first:
            self._first[key] = next(self._broken(key), None)
        return self._first[key]

    def flows_enough(self, group: Group) -> bool:
        """Whether the group takes the least flow of every part of the head assembly."""
        return bool(self.delivery(group).supply_flow >= self.limits.least_flow * (1 - _SLACK))

    def breaches(self, group: Group) -> list[Breach]:
        """All that is broken with these beds open; nothing where none of them is watered."""
        if not self._watered(group).size:
            return []
        found = list(self._broken(tuple(sorted(group))))
        if all(breach.check != SOLUTION for breach in found) and not self.flows_enough(group):
            flow, least = self.delivery(group).supply_flow, self.limits.least_flow
            found.insert(0, Breach(HEAD, None, flow, least))
        return found

    def _broken(self, group: Group) -> Iterator[Breach]:
        """What more beds would only make worse, the quickest to know first."""
        limits, rows = self.limits, self._watered(group)
        if not rows.size:
            return
        nominal = float(self.beds.nominal_flow[rows].sum())
        usable = limits.supply_share * limits.supply_flow
        if nominal > usable * (1 + _SLACK):
            yield Breach(SUPPLY, None, nominal, usable)
        try:
            got = self.delivery(group)
            yield from self._above(rows)
        except NotConvergedError:
            yield Breach(SOLUTION, None, np.nan, np.nan)
            return
        if nominal <= usable * (1 + _SLACK) < got.supply_flow:
            yield Breach(SUPPLY, None, got.supply_flow, usable)
        if got.supply_flow > limits.greatest_flow * (1 + _SLACK):
            yield Breach(HEAD, None, got.supply_flow, limits.greatest_flow)
        for check, values, least in (
            (SHARE, got.share, np.full(got.share.size, limits.share)),
            (BELOW, got.lowest_pressure, limits.min_pressure),
            (UNIFORMITY, self.uniformity(got), np.full(got.share.size, limits.uniformity)),
        ):
            for row in rows[values[rows] < least[rows] - _SLACK * np.abs(least[rows])].tolist():
                yield Breach(check, row, float(values[row]), float(least[row]))
        yield from self._fast(got, rows)

    def _watered(self, group: Group) -> Indices:
        rows = np.array(group, dtype=np.intp)
        return rows[self.beds.is_open[rows] & (self.beds.nominal_flow[rows] > 0)]

    def uniformity(self, got: Delivery) -> Floats:
        """Emission uniformity of each bed: driest over mean, the maker's variation counted."""
        return np.asarray(emission_uniformity(got.uniformity, 1.0, self.limits.variation))

    def highest(self, row: int) -> float:
        """The greatest pressure (Pa) at an emitter of the bed, which is when it is open alone."""
        if row not in self._highest:
            most = self.limits.most_pressure
            if np.isnan(most):
                got = self.delivery((row,))
            else:
                got = self._solve((row,), constant_supply(head_from_pressure(most)))
            self._highest[row] = float(got.highest_pressure[row])
        return self._highest[row]

    def _above(self, rows: Indices) -> Iterator[Breach]:
        """Neighbours that draw water lower the pressure; a bed must bear what it gets without."""
        beds, most = self.beds, self.limits.max_pressure
        lowest = beds.elevation + np.minimum(beds.slope, 0.0) * beds.lateral_length
        start = head_from_pressure(self.limits.most_pressure)
        if np.isnan(start):
            start = self.supply(0.0)[0]
        for row in rows.tolist():
            can_exceed = start - lowest[row] > head_from_pressure(float(most[row]))
            if can_exceed and (highest := self.highest(row)) > most[row] * (1 + _SLACK):
                yield Breach(ABOVE, row, highest, float(most[row]))

    def _fast(self, got: Delivery, rows: Indices) -> Iterator[Breach]:
        """Where water is too fast: once for each point of the main, and in the beds' own pipes."""
        limit, seen = self.limits.velocity * (1 + _SLACK), set()
        points = np.flatnonzero(got.main_velocity > limit).tolist()
        for row in points:
            point = (int(self.beds.branch[row]), float(self.beds.distance[row]))
            if point not in seen:
                seen.add(point)
                yield Breach(VELOCITY, row, float(got.main_velocity[row]), limit, IN_MAIN)
        if not points and got.pipe_velocity > limit:  # a stretch at which no bed branches off
            yield Breach(VELOCITY, None, got.pipe_velocity, limit, IN_MAIN)
        for pipe, velocity in (
            (IN_MANIFOLD, got.manifold_velocity),
            (IN_LATERALS, got.lateral_velocity),
        ):
            for row in rows[velocity[rows] > limit].tolist():
                yield Breach(VELOCITY, row, float(velocity[row]), limit, pipe)
