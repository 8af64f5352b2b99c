"""Beds into sets by nominal flow: the quick way, which knows nothing of pressure."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from xlfuncs.calculations.arrays import Floats, Indices
from xlfuncs.calculations.pressure.set_search import SLACK, fewest_sets
from xlfuncs.errors import InputError


def beds_by_valve(valves: Sequence[str]) -> list[Indices]:
    """The rows of the beds that open together, in the order of the first; a blank is its own."""
    rows: dict[str | int, list[int]] = {}
    for row, valve in enumerate(valves):
        rows.setdefault(str(valve).strip() or row, []).append(row)
    return [np.array(beds, dtype=np.intp) for beds in rows.values()]


@dataclass(frozen=True)
class WateringSets:
    """The set of each bed, from 1 (0: no flow), and whether fewer sets are proven impossible."""

    sets: Indices
    fewest: bool


def watering_sets(
    flows: Floats, supply_flow: float, share: float = 0.75, valves: Sequence[str] | None = None
) -> WateringSets:
    """The beds in the fewest sets.

    The nominal flows (m3/s) of a set add up to at most `share` of the supply's flow. Beds of one
    valve stay together. Raises `InputError` for a valve that alone takes more.
    """
    groups = beds_by_valve([""] * flows.size if valves is None else valves)
    capacity = supply_flow * share
    of_group = np.array([flows[rows].sum() for rows in groups])
    over = of_group > capacity * (1 + SLACK)
    if np.any(over):
        group = int(np.argmax(over))
        words = (
            f"alone takes {of_group[group] / supply_flow:.0%} of the supply's flow, more than the"
            f" {share:.0%} to be used; water it in parts"
        )
        raise InputError("flows", words, row=int(groups[group][0]))
    watered = [rows for rows in (rows[flows[rows] > 0] for rows in groups) if rows.size]
    watered.sort(key=min)  # so that sets are numbered in the order of their first beds
    found = fewest_sets([float(flows[rows].sum()) for rows in watered], capacity)
    sets = np.zeros(flows.size, dtype=np.intp)
    for number, members in enumerate(found.sets, start=1):
        for place in members:
            sets[watered[place]] = number
    return WateringSets(sets, found.proven)
