"""From the start of the main to the last emitter: the pressure and flow of every bed, solved.

The main leaves the supply; other branches leave the main at the distance `branch_start`. All
distances are measured from the supply along the pipe. Beds at one distance of one branch share a
branch point. A bed is a number of equal laterals, either all at its branch point, or along a
manifold whose first lateral lies half a lateral spacing from the branch point. Emitters lie one
spacing apart, the first a full spacing from the lateral's inlet.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np

from xlfuncs.calculations.arrays import Flags, Floats, Indices
from xlfuncs.calculations.pressure.bed_lists import Beds, branches_of, mains_of
from xlfuncs.calculations.pressure.emitters import Outlets
from xlfuncs.calculations.pressure.networks import Level, Network, Solution, Supply
from xlfuncs.calculations.pressure.pipe_friction import SMOOTH_PLASTIC, flow_velocity
from xlfuncs.calculations.pressure.properties import WATER_20C, Water, pressure_from_head
from xlfuncs.errors import InputError

_MOST_EMITTERS = 3_000_000


@dataclass(frozen=True)
class Delivery:
    """What the beds get. Pressure in Pa, flow in m3/s, velocity in m/s; 0 flow for closed beds.

    `driest_flow` is that of one emitter of the bed, `uniformity` the driest over the mean;
    `lowest_pressure` and `highest_pressure` are those at its emitters. `main_flow` and
    `main_velocity` belong to the pipe that ends at the bed's branch point; `manifold_velocity` and
    `lateral_velocity` are the greatest in the bed's own, `pipe_velocity` the greatest anywhere in
    the main and its branches. `supply_pressure` and `supply_flow` are at the start.
    """

    inlet_pressure: Floats
    flow: Floats
    share: Floats
    uniformity: Floats
    driest_flow: Floats
    lowest_pressure: Floats
    highest_pressure: Floats
    main_flow: Floats
    main_velocity: Floats
    manifold_velocity: Floats
    lateral_velocity: Floats
    pipe_velocity: float
    supply_pressure: float
    supply_flow: float

    def spread(self, rows: Indices, size: int) -> "Delivery":
        """The same in columns of so many beds, of which these are the `rows`; others get nothing,
        and what is known of pipes and pressures at them is left out."""
        columns: dict[str, Any] = dict(vars(self))
        unknown, dry = np.full(size, np.nan), np.zeros(size)
        for name, column in columns.items():
            if isinstance(column, np.ndarray):
                columns[name] = (dry if name.endswith(("flow", "velocity")) else unknown).copy()
                columns[name][rows] = column
        return Delivery(**columns)


class DripSystem:
    """The network of a list of beds, and which part of it belongs to which bed.

    With `sizes` it is as many systems, of so many beds each, alone on a main of one diameter.
    """

    def __init__(
        self,
        beds: Beds,
        roughness: float = SMOOTH_PLASTIC,
        water: Water = WATER_20C,
        sizes: Indices | None = None,
    ) -> None:
        self.beds = beds
        self._water = water
        self._rows = np.flatnonzero(beds.is_open & (beds.laterals > 0) & (beds.emitters > 0))
        total = int((beds.laterals * beds.emitters)[self._rows].sum())
        if total > _MOST_EMITTERS:
            words = (
                f"gives {total:,} emitters in all; at most {_MOST_EMITTERS:,} are solved at once"
            )
            raise InputError("lateral_length", words)
        with_manifold = ~np.isnan(beds.manifold_diameter[self._rows])
        # Without a manifold all laterals of a bed are alike, and one stands for all of them.
        self._apart = np.where(with_manifold, beds.laterals[self._rows], 1)
        self._bed_of_lateral = np.repeat(self._rows, self._apart)
        self._branches = branches_of(beds) if sizes is None else mains_of(beds, sizes)
        self._sizes = np.array([beds.distance.size]) if sizes is None else sizes
        levels = (self._laterals(), self._manifolds(with_manifold), *self._branches.levels)
        self._network = Network(levels, roughness, water)

    def deliver(self, supply: Supply) -> Delivery:
        """Solve for a supply that gives the head (m) at the start of the main for a flow."""
        (delivery,) = self._deliveries(self._network.solve(supply))
        assert delivery is not None
        return delivery

    def deliver_each(self, supply: Supply) -> list[Delivery | None]:
        """What each system of several gets from such a supply; None for one to be solved alone."""
        return self._deliveries(self._network.solve_easy(supply))

    def _laterals(self) -> Level:
        beds, of_lateral = self.beds, self._bed_of_lateral
        emitters = beds.emitters[of_lateral]
        first = np.cumsum(emitters) - emitters
        bed = np.repeat(of_lateral, emitters)
        number = np.arange(bed.size) - np.repeat(first, emitters) + 1
        position = number * beds.emitter_spacing[bed]
        fitting_loss = np.zeros(bed.size)
        fitting_loss[first] = beds.fitting_loss[of_lateral]
        per_metre = self._water.density * self._water.gravity
        self._elevation = beds.elevation[bed] + beds.slope[bed] * position
        return Level(
            sizes=emitters,
            branches_from=np.arange(of_lateral.size),
            copies=np.repeat(beds.laterals[self._rows] / self._apart, self._apart),
            length=beds.emitter_spacing[bed],
            diameter=beds.lateral_diameter[bed],
            fitting_loss=fitting_loss,
            elevation=self._elevation,
            outlets=Outlets.rated(
                beds.rated_flow[bed],
                beds.rated_pressure[bed] / per_metre,
                beds.exponent[bed],
                beds.min_pressure[bed] / per_metre,
            ),
        )

    def _manifolds(self, real: Flags) -> Level:
        """One node a lateral; where a bed has no manifold, a piece of main without length."""
        beds, bed = self.beds, self._bed_of_lateral
        on_manifold = np.repeat(real, self._apart)
        length = np.where(on_manifold, beds.lateral_spacing[bed], 0.0)
        length[np.cumsum(self._apart) - self._apart] /= 2
        return Level.without_outlets(
            sizes=self._apart,
            branches_from=self._branches.point_of_bed[self._rows],
            length=length,
            diameter=np.where(on_manifold, beds.manifold_diameter[bed], beds.main_diameter[bed]),
        )

    def _deliveries(self, solution: Solution) -> list[Delivery | None]:
        beds, rows = self.beds, self._rows
        laterals_end = self._elevation.size
        pressure = pressure_from_head(solution.head[:laterals_end] - self._elevation, self._water)
        # Emitters lie bed by bed, so each bed starts where its first lateral does.
        emitters = self._apart * beds.emitters[rows]
        start = np.cumsum(emitters) - emitters
        lateral = np.cumsum(self._apart) - self._apart  # the first of each bed
        points = laterals_end + self._bed_of_lateral.size + self._branches.point_of_bed
        flow = self._of_beds(solution.pipe_flow[laterals_end + lateral], 0.0)
        main_flow = solution.pipe_flow[points]
        smallest, largest = np.minimum.reduceat, np.maximum.reduceat
        driest = self._of_beds(smallest(solution.outlet_flow[:laterals_end], start), 0.0)
        of_lateral = np.cumsum(beds.emitters[self._bed_of_lateral])
        into_laterals = solution.pipe_flow[of_lateral - beds.emitters[self._bed_of_lateral]]
        into = self._of_beds(largest(into_laterals, lateral), 0.0)
        trunk = laterals_end + self._bed_of_lateral.size  # where the pipes between beds begin
        between = np.concatenate([level.diameter for level in self._branches.levels])
        sizes = self._branches.levels[-1].sizes
        first = np.cumsum(sizes) - sizes  # the pipe at each supply, among those of mains
        fastest = largest(flow_velocity(solution.pipe_flow[trunk:], between), first)
        supply_flow = solution.pipe_flow[first - sizes.sum()]
        supply_pressure = pressure_from_head(solution.supply_head, self._water)
        with np.errstate(divide="ignore", invalid="ignore"):
            share = flow / beds.nominal_flow
            uniformity = driest / (flow / (beds.laterals * beds.emitters))
        columns = {
            "inlet_pressure": pressure_from_head(
                solution.head[points] - beds.elevation, self._water
            ),
            "flow": flow,
            "share": share,
            "uniformity": uniformity,
            "driest_flow": driest,
            "lowest_pressure": self._of_beds(smallest(pressure, start), np.nan),
            "highest_pressure": self._of_beds(largest(pressure, start), np.nan),
            "main_flow": main_flow,
            "main_velocity": flow_velocity(main_flow, beds.main_diameter),
            "manifold_velocity": np.nan_to_num(flow_velocity(flow, beds.manifold_diameter)),
            "lateral_velocity": flow_velocity(into, beds.lateral_diameter),
        }
        ends = np.cumsum(self._sizes).tolist()
        return [
            Delivery(
                **{name: column[end - size : end] for name, column in columns.items()},
                pipe_velocity=float(fastest[i]),
                supply_pressure=float(supply_pressure[i]),
                supply_flow=float(supply_flow[i]),
            )
            if solution.solved[i]
            else None
            for i, (size, end) in enumerate(zip(self._sizes.tolist(), ends, strict=True))
        ]

    def _of_beds(self, of_open: Floats, otherwise: float) -> Floats:
        column = np.full(self.beds.distance.size, otherwise)
        column[self._rows] = of_open
        return column
