"""Beds into sets such that each, solved with its set, keeps its share and its uniformity."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from xlfuncs.calculations.pressure.bed_lists import Beds
from xlfuncs.calculations.pressure.drip_systems import Delivery, DripSystem
from xlfuncs.calculations.pressure.networks import Supply
from xlfuncs.calculations.pressure.pipe_friction import SMOOTH_PLASTIC
from xlfuncs.calculations.pressure.watering_sets import beds_by_valve

Array = npt.NDArray[np.float64]
Group = tuple[int, ...]

MOST_TRIALS = 800
"""Groups solved before the search for fewer sets gives up; some seconds for 40 beds."""


@dataclass(frozen=True)
class PressureSets:
    """The set of each bed, from 1 (0: closed, or not even alone), and what it gets in that set.

    `fewest` is true where no fewer sets are possible, false where the search stopped before it
    could tell.
    """

    sets: npt.NDArray[np.intp]
    flow: Array
    share: Array
    uniformity: Array
    fewest: bool


@dataclass
class _Trials:
    """Which groups of beds can run together; each group is solved once."""

    beds: Beds
    supply: Supply
    share: float
    uniformity: float
    roughness: float
    most: int
    known: dict[Group, bool] = field(default_factory=dict)

    def delivery(self, group: Group) -> Delivery:
        is_open = np.zeros(self.beds.distance.size, dtype=np.bool_)
        is_open[list(group)] = True
        return DripSystem(self.beds.opened(is_open), self.roughness).deliver(self.supply)

    def runs(self, group: Group) -> bool:
        key = tuple(sorted(group))
        if key not in self.known:
            delivery = self.delivery(key)
            rows = list(key)
            self.known[key] = bool(
                np.all(delivery.share[rows] >= self.share)
                and np.all(delivery.uniformity[rows] >= self.uniformity)
            )
        return self.known[key]


def pressure_sets(
    beds: Beds,
    supply: Supply,
    share: float = 0.9,
    uniformity: float = 0.9,
    roughness: float = SMOOTH_PLASTIC,
    valves: Sequence[str] | None = None,
    most_trials: int = MOST_TRIALS,
) -> PressureSets:
    """The fewest sets in which every bed gets `share` of its nominal flow and keeps `uniformity`.

    Uniformity is the least over the mean emitter flow of a bed. Beds of one valve stay together;
    valves that take the greatest flow are placed first, each into the first set that still runs;
    then it is tried with one set fewer until that is impossible, or `most_trials` groups have been
    solved.
    """
    trials = _Trials(beds, supply, share, uniformity, roughness, most_trials)
    nominal = np.where(beds.is_open, beds.nominal_flow, 0.0)
    by_valve = beds_by_valve([""] * nominal.size if valves is None else valves)
    watered = [tuple(rows[nominal[rows] > 0].tolist()) for rows in by_valve]
    in_order = sorted(filter(None, watered), key=lambda valve: -nominal[list(valve)].sum())
    able = [valve for valve in in_order if trials.runs(valve)]
    groups = _first_fit(trials, able)
    fewest = len(groups) <= 1
    while not fewest:
        fewer = _search(trials, able, len(groups) - 1)
        if fewer is None:
            fewest = len(trials.known) < trials.most
            break
        groups, fewest = fewer, len(fewer) <= 1
    return _result(trials, sorted(groups, key=min), fewest)


def _first_fit(trials: _Trials, able: list[Group]) -> list[Group]:
    groups: list[Group] = []
    for valve in able:
        for i, group in enumerate(groups):
            if trials.runs((*group, *valve)):
                groups[i] = (*group, *valve)
                break
        else:
            groups.append(valve)
    return groups


def _search(trials: _Trials, able: list[Group], most: int) -> list[Group] | None:
    """A way to place all valves in `most` sets, depth first; None if there is or was found none.

    A group that cannot run cannot run with one more bed either: more flow is less pressure.
    """

    def place(index: int, groups: list[Group]) -> list[Group] | None:
        if index == len(able):
            return groups
        valve = able[index]
        choices = [*range(len(groups)), *([len(groups)] if len(groups) < most else [])]
        for i in choices:
            if len(trials.known) >= trials.most:
                return None
            group = (*groups[i], *valve) if i < len(groups) else valve
            if trials.runs(group):
                found = place(index + 1, [*groups[:i], group, *groups[i + 1 :]])
                if found is not None:
                    return found
        return None

    return place(0, [])


def _result(trials: _Trials, groups: list[Group], fewest: bool) -> PressureSets:
    size = trials.beds.distance.size
    sets = np.zeros(size, dtype=np.intp)
    flow, share, uniformity = np.zeros(size), np.zeros(size), np.full(size, np.nan)
    for number, group in enumerate(groups, start=1):
        delivery, rows = trials.delivery(tuple(sorted(group))), list(group)
        sets[rows] = number
        flow[rows], share[rows] = delivery.flow[rows], delivery.share[rows]
        uniformity[rows] = delivery.uniformity[rows]
    return PressureSets(sets, flow, share, uniformity, fewest)
