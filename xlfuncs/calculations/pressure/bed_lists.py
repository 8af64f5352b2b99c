"""The beds of a drip system, and the branches of pipe that they make up."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from functools import cached_property
from typing import Any

import numpy as np

from xlfuncs.calculations.arrays import Flags, Floats, Indices
from xlfuncs.calculations.pressure.laterals import emitters_along
from xlfuncs.calculations.pressure.networks import Level
from xlfuncs.errors import InputError

MAIN = 0
"""The number of the branch that leaves the supply."""


@dataclass(frozen=True)
class Beds:
    """One entry a bed, in base units; see the module for how they hang on the main.

    `main_diameter` is that of the pipe that ends at the bed's branch point. `manifold_diameter` is
    NaN for laterals straight at the branch point; `lateral_spacing` is used only with a manifold.
    `fitting_loss` is the loss coefficient of a lateral's fitting on the velocity head in the
    lateral. A bed that is not `is_open` takes no water.
    """

    distance: Floats
    laterals: Indices
    lateral_length: Floats
    emitter_spacing: Floats
    rated_flow: Floats
    rated_pressure: Floats
    lateral_diameter: Floats
    main_diameter: Floats
    exponent: Floats
    min_pressure: Floats
    is_open: Flags
    branch: Indices
    branch_start: Floats
    elevation: Floats
    slope: Floats
    manifold_diameter: Floats
    lateral_spacing: Floats
    fitting_loss: Floats

    @classmethod
    def of(
        cls, distance: Floats, laterals: Indices, lateral_length: Floats, **columns: Any
    ) -> Beds:
        """Beds from columns or single values; what is left out takes its ordinary value."""
        ordinary: dict[str, Any] = {
            "exponent": 0.5, "min_pressure": 0.0, "is_open": True, "branch": MAIN,
            "branch_start": 0.0, "elevation": 0.0, "slope": 0.0, "manifold_diameter": np.nan,
            "lateral_spacing": 0.0, "fitting_loss": 0.0,
        }  # fmt: skip
        given = {"distance": distance, "laterals": laterals, "lateral_length": lateral_length}
        values = ordinary | given | columns
        kinds = {"laterals": np.intp, "branch": np.intp, "is_open": np.bool_}
        size = np.size(distance)
        names = [field.name for field in fields(cls)]
        return cls(
            **{
                name: np.array(np.broadcast_to(values[name], size), dtype=kinds.get(name, float))
                for name in names
            }
        )

    def opened(self, is_open: Flags) -> Beds:
        """The same beds with others open."""
        return replace(self, is_open=is_open)

    def only(self, rows: Indices) -> Beds:
        """These beds alone, in this order."""
        return Beds(**{f.name: getattr(self, f.name)[rows] for f in fields(self)})

    @cached_property
    def emitters(self) -> Indices:
        """Emitters on one lateral of each bed."""
        return emitters_along(self.lateral_length, self.emitter_spacing)

    @cached_property
    def on_one_main(self) -> bool:
        """Whether all hang on the main, which is of one diameter."""
        return bool(np.all(self.branch == MAIN) and np.ptp(self.main_diameter) == 0)

    @cached_property
    def nominal_flow(self) -> Floats:
        """Flow of each bed (m3/s) were the pressure the rated one everywhere."""
        return self.laterals * self.emitters * self.rated_flow


@dataclass(frozen=True)
class Branches:
    """The other branches and the main, as the last levels of a network.

    `point_of_bed` is the node of each bed's branch point, counted from the first of these levels.
    """

    levels: tuple[Level, Level]
    point_of_bed: Indices


def branches_of(beds: Beds) -> Branches:
    """The pipes between the branch points of the beds.

    Raises `InputError` where beds contradict each other: two diameters of one pipe, two starts of
    one branch, a bed nearer than the start of its branch.
    """
    if beds.on_one_main:
        return mains_of(beds, np.array([beds.distance.size]))
    numbers = np.unique(beds.branch[beds.branch != MAIN])
    starts = np.array([_start_of(beds, number) for number in numbers])
    point_of_bed = np.zeros(beds.distance.size, dtype=np.intp)
    sizes, lengths, diameters = [], [], []
    offset = 0
    for number, start in zip(numbers, starts, strict=True):
        rows = np.flatnonzero(beds.branch == number)
        points, of_row = np.unique(beds.distance[rows], return_inverse=True)
        point_of_bed[rows] = offset + of_row
        sizes.append(points.size)
        lengths.append(np.diff(points, prepend=start))
        diameters.append(_diameters(beds, rows, points))
        offset += points.size
    main, main_length, main_diameter = _main(beds, numbers, starts)
    rows = np.flatnonzero(beds.branch == MAIN)
    point_of_bed[rows] = offset + np.searchsorted(main, beds.distance[rows])
    others = Level.without_outlets(
        np.array(sizes, dtype=np.intp),
        np.searchsorted(main, starts),
        np.concatenate([np.empty(0), *lengths]),
        np.concatenate([np.empty(0), *diameters]),
    )
    trunk = Level.without_outlets(np.array([main.size]), np.array([-1]), main_length, main_diameter)
    return Branches((others, trunk), point_of_bed)


def mains_of(beds: Beds, sizes: Indices) -> Branches:
    """The beds cut into systems of so many, each alone on a main; all mains are of one diameter."""
    systems = np.arange(sizes.size)
    number = np.concatenate([systems, np.repeat(systems, sizes)])  # of the supplies, of the beds
    distance = np.concatenate([np.zeros(sizes.size), beds.distance])
    order = np.lexsort((distance, number))  # each supply before its beds
    along = distance[order]
    along[1:] -= along[:-1].copy()
    along[order < sizes.size] = 0.0
    is_node = (along > 0) | (order < sizes.size)
    node = np.empty(order.size, dtype=np.intp)
    node[order] = is_node.cumsum() - 1
    length, nodes = along[is_node], np.bincount(number[order][is_node])
    diameter = np.full(length.size, beds.main_diameter[0])
    trunks = Level.without_outlets(nodes, nodes, length, diameter)
    none = np.empty(0)
    others = Level.without_outlets(none.astype(np.intp), none.astype(np.intp), none, none)
    return Branches((others, trunks), node[sizes.size :])


def _start_of(beds: Beds, number: int) -> float:
    """Where a branch leaves the main; all its beds must say the same."""
    rows = np.flatnonzero(beds.branch == number)
    starts = beds.branch_start[rows]
    if np.ptp(starts) > 0:
        row = int(rows[np.argmax(starts != starts[0])])
        words = "beds of one branch must give one distance at which it leaves the main"
        raise InputError("branch_start", words, row=row)
    nearer = rows[beds.distance[rows] < starts]
    if nearer.size:
        words = "the bed is nearer than the start of its branch; measure both from the supply"
        raise InputError("distance", words, row=int(nearer[0]))
    return float(starts[0])


def _diameters(beds: Beds, rows: Indices, points: Floats) -> Floats:
    """Diameter of the pipe that ends at each of these branch points of one branch."""
    last = rows[np.argsort(beds.distance[rows], kind="stable")]
    found = beds.main_diameter[last][np.searchsorted(beds.distance[last], points)]
    of_row = found[np.searchsorted(points, beds.distance[rows])]
    other = rows[beds.main_diameter[rows] != of_row]
    if other.size:
        words = "beds at one distance of one branch must give one diameter of the pipe to it"
        raise InputError("main_diameter", words, row=int(other[0]))
    return found


def _main(beds: Beds, numbers: Indices, starts: Floats) -> tuple[Floats, Floats, Floats]:
    """Distance, pipe length and diameter of the nodes of the main: the supply, beds, branches.

    A stretch that no bed of the main names takes the diameter of the next one that a bed does
    name, past the last bed that of the last; without any bed the widest first pipe of a branch.
    """
    rows = np.flatnonzero(beds.branch == MAIN)
    beds_at = np.unique(beds.distance[rows])
    nodes = np.unique(np.concatenate([[0.0], beds_at, starts]))
    if rows.size:
        named = _diameters(beds, rows, beds_at)
        diameter = named[np.minimum(np.searchsorted(beds_at, nodes), beds_at.size - 1)]
    else:
        nearest = [
            beds.main_diameter[r][np.argmin(beds.distance[r])]
            for r in (np.flatnonzero(beds.branch == number) for number in numbers)
        ]
        diameter = np.full(nodes.size, max(nearest))
    return nodes, np.diff(nodes, prepend=0.0), diameter
