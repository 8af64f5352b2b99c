"""How few sets, and how short a watering, no grouping of the beds can be below: by friction.

A set is taken as a share of time in which its beds draw some flows, whole or not, that the main can
carry to the farthest of them; a linear program gives the least sum of such shares. The loss of the
main lies above its tangents and the head of the supply below its own, so that no real sets do
better. It is the bound of column generation (Farley, Operations Research 38, 1990) with the
patterns described by their limits instead of listed.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from math import ceil, inf

import numpy as np

from xlfuncs.calculations.arrays import Floats, Indices
from xlfuncs.calculations.buying.integer_programs import least_cost
from xlfuncs.calculations.pressure.bed_lists import MAIN, Beds
from xlfuncs.calculations.pressure.networks import Supply
from xlfuncs.calculations.pressure.pipe_friction import friction_head
from xlfuncs.calculations.pressure.properties import head_from_pressure

_SAMPLES, _TANGENTS, _OF_SUPPLY = 1200, 10, 5
_MOST_STEPS = 100_000  # of the simplex method; 60 beds take some 3,000
_ROUNDING = 1e-6  # of a bound, for the tolerance of the program


def least_head(beds: Beds, share: float, min_pressure: float | Floats = 0.0) -> Floats:
    """The head (m) that each bed needs where it leaves the main, were all of it at its lowest."""
    lowest = beds.elevation + np.minimum(beds.slope, 0.0) * beds.lateral_length
    with np.errstate(divide="ignore", over="ignore"):  # one emitter has as much, or more
        some = beds.rated_pressure * share ** (1 / beds.exponent)
    return np.asarray(lowest + head_from_pressure(np.maximum(some, min_pressure)))


@dataclass
class _Rows:
    """Rows of a linear program by their entries, each at least so much."""

    entries: list[tuple[Indices, Indices, Floats]]
    at_least: list[Floats]
    height: int = 0

    def add(self, columns: Indices, values: Floats, at_least: float | Floats = 0.0) -> None:
        """Rows of as many entries each: one line of `columns` and `values` a row."""
        count, width = columns.shape
        filled = np.broadcast_to(values, columns.shape).astype(float)
        least = np.broadcast_to(np.asarray(at_least, dtype=float), count)
        self.put(np.repeat(np.arange(count), width), columns.ravel(), filled.ravel(), least)

    def put(self, row_of: Indices, columns: Indices, values: Floats, at_least: Floats) -> None:
        """Rows by their entries, counted from the first of them."""
        self.entries.append((row_of + self.height, columns, values))
        self.at_least.append(at_least)
        self.height += at_least.size


@dataclass(frozen=True)
class SetBounds:
    """Bounds on sets of some beds, which hang on pipes of one diameter.

    `most` is the flow (m3/s) that each draws alone, `head` (m) what it needs where it leaves the
    main, `greatest_flow` what a set draws at most.
    """

    beds: Beds
    most: Floats
    head: Floats
    greatest_flow: float
    supply: Supply

    def least_time(self, volume: Floats, within: float, parts: int) -> float:
        """Seconds that no sets take less than which give all beds together their volumes (m3), and
        each its own within this share of it."""
        low, high = volume * (1 - within), volume * (1 + within)
        return self._least(low, high, float(volume.sum()), parts)

    def least_sets(self, share: float, parts: int) -> int:
        """A number that no sets are fewer than in which every bed gets this share of nominal."""
        found = self._least(share * self.beds.nominal_flow, None, 0.0, parts)
        return self.most.size if found == inf else max(1, ceil(found - 1e-6))

    def _least(self, low: Floats, high: Floats | None, total: float, parts: int) -> float:
        """The least sum of shares in which the beds draw from `low` to `high`, and `total`."""
        unit, count = self.greatest_flow, self.most.size
        if not unit > 0:
            return inf
        rows, costs, upper, drawn = _Rows([], []), [], [], []
        start = 0
        for farthest in self._farthest(parts):
            exits, leaves = np.unique(self._exits(int(farthest[0])), return_inverse=True)
            flows = start + 1 + np.arange(count)
            self._add_set(rows, start, flows, leaves, exits, float(self.head[farthest].min()))
            costs.append(np.eye(1, 1 + count + 2 * exits.size).ravel())
            upper.append(np.full(costs[-1].size, inf))
            upper[-1][2 + int(farthest[-1]) : 1 + count] = 0.0  # beds beyond the farthest
            drawn.append(flows)
            start += costs[-1].size
        columns = np.array(drawn).T
        rows.add(columns, np.ones(1), low / unit)
        if high is not None:
            rows.add(columns, -np.ones(1), -high / unit)
            rows.add(columns.reshape(1, -1), np.ones(1), total / unit)
        row_of, column_of, values = map(np.concatenate, zip(*rows.entries, strict=True))
        found = least_cost(
            np.concatenate(costs), np.concatenate(rows.at_least), (row_of, column_of, values),
            np.concatenate(upper), _MOST_STEPS,
        )  # fmt: skip
        return found * (1 - _ROUNDING)

    def _farthest(self, parts: int) -> list[Indices]:
        """Beds, near one another on one branch, one of which is the farthest of a set."""
        found: list[Indices] = []
        for branch in np.unique(self.beds.branch):
            own = np.flatnonzero(self.beds.branch == branch)
            found += np.array_split(own, min(parts, own.size))
        return found

    def _exits(self, bed: int) -> Floats:
        """How far along the way to a bed the water of each other bed goes with it (m)."""
        beds = self.beds
        same = beds.branch == beds.branch[bed]
        until = np.where(same | (beds.branch == MAIN), beds.distance, beds.branch_start)
        own = np.where(same, beds.distance[bed], beds.branch_start[bed])
        on_main = beds.branch[bed] == MAIN
        return np.asarray(np.minimum(until, beds.distance[bed] if on_main else own))

    def _add_set(
        self, rows: _Rows, start: int, flows: Indices, leaves: Indices, exits: Floats, head: float
    ) -> None:
        """A share of time (variable `start`) in which beds draw `flows`, the pieces of the way to
        the farthest carry the flows that follow them, and lose the heads that follow those."""
        unit, count = self.greatest_flow, exits.size
        carried = flows[-1] + 1 + np.arange(count)
        lost = carried + count
        time = np.full(count, start)
        rows.add(
            np.stack([np.full(flows.size, start), flows], axis=1),
            np.stack([self.most / unit, -np.ones(flows.size)], axis=1),
        )  # fmt: skip
        pieces = np.arange(count)
        rows.put(
            np.concatenate([pieces, leaves, pieces[:-1]]),
            np.concatenate([carried, flows, carried[1:]]),
            np.repeat([1.0, -1.0], [count, flows.size + count - 1]),
            np.zeros(count),
        )
        rows.add(np.array([[start, carried[0]]]), np.array([1.0, -1.0]))
        length = np.diff(exits, prepend=0.0)
        for slope, at_zero in self._friction:
            rows.add(
                np.stack([lost, carried, time], axis=1),
                np.stack([np.ones(count), -length * slope * unit, -length * at_zero], axis=1),
            )  # fmt: skip
        for slope, at_zero in self._supply_lines:
            columns = np.array([[start, carried[0], *lost]])
            rows.add(columns, np.array([at_zero - head, slope * unit, *-np.ones(count)]))

    @cached_property
    def _flow(self) -> Floats:
        return np.linspace(0.0, self.greatest_flow, _SAMPLES)

    @cached_property
    def _friction(self) -> list[tuple[float, float]]:
        """Lines below the loss of head a metre of main, which rises with flow."""
        loss = np.asarray(friction_head(self._flow, 1.0, self.beds.main_diameter[0]))
        return _lines(loss, self._flow, _TANGENTS, np.min)

    @cached_property
    def _supply_lines(self) -> list[tuple[float, float]]:
        """Lines above the head of the supply, which falls with flow."""
        head = np.array([self.supply(flow)[0] for flow in self._flow.tolist()])
        return _lines(head, self._flow, _OF_SUPPLY, np.max)


def _lines(
    values: Floats, at: Floats, count: int, outer: Callable[[Floats], float]
) -> list[tuple[float, float]]:
    """Lines with the slopes of a curve at some places along it, beside all its samples: each with
    its value at zero."""
    places = np.linspace(at.size / count, at.size - 1, count).astype(int)
    slopes = sorted(set(np.gradient(values, at)[places].tolist()))
    return [(slope, float(outer(values[:-1] - slope * at[1:]))) for slope in slopes]
