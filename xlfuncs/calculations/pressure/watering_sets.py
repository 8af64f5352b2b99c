"""Beds into sets by nominal flow: the quick way, which knows nothing of pressure."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from xlfuncs.calculations.buying.cutting import cheapest_rolls
from xlfuncs.errors import InputError

Array = npt.NDArray[np.float64]


def beds_by_valve(valves: Sequence[str]) -> list[npt.NDArray[np.intp]]:
    """The rows of the beds that open together, in the order of the first; a blank is its own."""
    rows: dict[str | int, list[int]] = {}
    for row, valve in enumerate(valves):
        rows.setdefault(str(valve).strip() or row, []).append(row)
    return [np.array(beds, dtype=np.intp) for beds in rows.values()]


def watering_sets(
    flows: Array, supply_flow: float, share: float = 0.75, valves: Sequence[str] | None = None
) -> npt.NDArray[np.intp]:
    """The number of the set, from 1, of each bed, in the fewest sets; 0 for a bed without flow.

    The nominal flows (m3/s) of a set add up to at most `share` of the supply's flow. Beds of one
    valve stay together. Raises `InputError` for a valve that alone takes more.
    """
    groups = beds_by_valve([""] * flows.size if valves is None else valves)
    capacity = supply_flow * share
    of_group = np.array([flows[rows].sum() for rows in groups])
    shares = of_group / capacity * (1 - 1e-9)  # a set that fills the capacity exactly is allowed
    if np.any(shares > 1):
        group = int(np.argmax(shares > 1))
        words = (
            f"alone takes {of_group[group] / supply_flow:.0%} of the supply's flow, more than the"
            f" {share:.0%} to be used; water it in parts"
        )
        raise InputError("flows", words, row=int(groups[group][0]))
    sets_of_groups = _first_fit(shares)
    if sets_of_groups.max(initial=0) > math.ceil(shares.sum()):
        sets_of_groups = _fewest(shares)
    sets = np.zeros(flows.size, dtype=np.intp)
    for rows, number in zip(groups, sets_of_groups, strict=True):
        sets[rows] = np.where(flows[rows] > 0, number, 0)
    return _by_first_bed(sets)


def _first_fit(shares: Array) -> npt.NDArray[np.intp]:
    """The largest flow first, each into the first set that has room."""
    sets = np.zeros(shares.size, dtype=np.intp)
    room: list[float] = []
    for row in np.argsort(-shares, kind="stable"):
        if shares[row] <= 0:
            continue
        place = next((i for i, left in enumerate(room) if left >= shares[row]), len(room))
        if place == len(room):
            room.append(1.0)
        room[place] -= shares[row]
        sets[row] = place + 1
    return sets


def _fewest(shares: Array) -> npt.NDArray[np.intp]:
    """The fewest sets: pieces cut from the fewest rolls of length 1."""
    rows = np.flatnonzero(shares > 0)
    plan = cheapest_rolls(shares[rows].tolist(), [1] * rows.size, [1.0], [1.0])
    sets = np.zeros(shares.size, dtype=np.intp)
    for number, stretch in enumerate(plan.stretches, start=1):
        sets[rows[list(stretch.pieces)]] = number
    return sets


def _by_first_bed(sets: npt.NDArray[np.intp]) -> npt.NDArray[np.intp]:
    """Number the sets in the order of their first beds."""
    renumbered = np.zeros_like(sets)
    in_order = [number for number in dict.fromkeys(sets.tolist()) if number]
    for new, old in enumerate(in_order, start=1):
        renumbered[sets == old] = new
    return renumbered
