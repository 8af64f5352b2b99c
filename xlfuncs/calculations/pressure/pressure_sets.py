"""Beds into sets such that each, solved with its set, keeps within every limit."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from xlfuncs.calculations.arrays import Floats, Indices
from xlfuncs.calculations.pressure.set_checks import Breach, Group, SetChecks
from xlfuncs.calculations.pressure.set_search import MOST_QUESTIONS, Fewest, fewest_sets
from xlfuncs.calculations.pressure.watering_sets import beds_by_valve


@dataclass(frozen=True)
class PressureSets:
    """The set of each bed, from 1 (0: closed, or not even alone), and what it gets in that set.

    `fewest` is true where no fewer sets are possible, false where the search stopped before it
    could tell; `too_little` names the sets that take less than the head assembly needs. `alone`
    holds, for each bed without a set, the first limit that it breaks with its valve alone.
    """

    sets: Indices
    flow: Floats
    share: Floats
    uniformity: Floats
    fewest: bool
    too_little: tuple[int, ...]
    alone: dict[int, Breach]


def pressure_sets(
    checks: SetChecks, valves: Sequence[str] | None = None, most_trials: int = MOST_QUESTIONS
) -> PressureSets:
    """The fewest sets in which every bed keeps within the limits that `checks` hold.

    Beds of one valve stay together. What more beds would only make worse decides while sets are
    made up; the least flow of the head assembly is asked of whole sets.
    """
    beds = checks.beds
    nominal = np.where(beds.is_open, beds.nominal_flow, 0.0)
    by_valve = beds_by_valve([""] * nominal.size if valves is None else valves)
    watered = [tuple(rows[nominal[rows] > 0].tolist()) for rows in by_valve]
    able: list[Group] = []
    alone: dict[int, Breach] = {}
    for valve in filter(None, watered):
        breach = checks.first(valve)
        if breach is None:
            able.append(valve)
        else:
            alone |= dict.fromkeys(valve, breach)
    found = deal(checks, able, most_trials)
    groups = [tuple(sorted(row for i in members for row in able[i])) for members in found.sets]
    return _result(checks, sorted(groups, key=min), found.proven, alone)


def deal(checks: SetChecks, able: Sequence[Group], most_trials: int) -> Fewest:
    """Groups of beds that stay together, each of which runs alone, into the fewest sets."""
    beds, limits = checks.beds, checks.limits
    sizes = [float(beds.nominal_flow[list(group)].sum()) for group in able]
    # a bed that keeps its share takes so much of its nominal flow at least
    usable = np.nan_to_num(limits.supply_share * limits.supply_flow, nan=np.inf)
    capacity = min(usable, limits.greatest_flow / limits.share)

    def rows(members: Group) -> Group:
        return tuple(row for i in members for row in able[i])

    far = [float(beds.distance[list(group)].max()) for group in able]
    return fewest_sets(
        sizes, capacity, lambda members: checks.first(rows(members)) is None,
        lambda members: checks.flows_enough(rows(members)),
        [sorted(range(len(able)), key=lambda i: -far[i])], most_trials,
        prepare=lambda sets, _: checks.prepare(map(rows, sets)),
        least=checks.least_shares(able, min(usable, limits.greatest_flow)),
    )  # fmt: skip


def _result(
    checks: SetChecks, groups: list[Group], fewest: bool, alone: dict[int, Breach]
) -> PressureSets:
    size = checks.beds.distance.size
    sets = np.zeros(size, dtype=np.intp)
    flow, share, uniformity = np.zeros(size), np.zeros(size), np.full(size, np.nan)
    too_little = []
    for number, group in enumerate(groups, start=1):
        delivery, rows = checks.delivery(group), list(group)
        sets[rows] = number
        flow[rows], share[rows] = delivery.flow[rows], delivery.share[rows]
        uniformity[rows] = checks.uniformity(delivery)[rows]
        if not checks.flows_enough(group):
            too_little.append(number)
    return PressureSets(sets, flow, share, uniformity, fewest, tuple(too_little), alone)
