"""The same drip systems written as EPANET networks, one node for every emitter.

EPANET 2.2 works inside with its own viscosity and gravity (`EPANET_WATER`) and gives single
precision back, so elevations are kept near zero.
"""

from __future__ import annotations

import warnings
from pathlib import Path

import numpy as np
import wntr

from xlfuncs.calculations.pressure.bed_lists import MAIN, Beds
from xlfuncs.calculations.pressure.pipe_friction import SMOOTH_PLASTIC
from xlfuncs.calculations.pressure.properties import Water

EPANET_WATER = Water(density=1000.0, viscosity=1.1e-5 * 0.3048**2, gravity=32.2 * 0.3048)
"""EPANET 2.2: 1.1e-5 ft2/s and 32.2 ft/s2 (its sources: types.h VISCOS, hydcoeffs)."""


def empty_network(supply_head: float, exponent: float, water: Water = EPANET_WATER):
    network = wntr.network.WaterNetworkModel()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # that the unit of roughness differs by formula
        network.options.hydraulic.headloss = "D-W"
    network.options.hydraulic.viscosity = water.viscosity / EPANET_WATER.viscosity
    network.options.hydraulic.emitter_exponent = exponent
    network.options.hydraulic.accuracy = 1e-8
    network.options.hydraulic.trials = 500
    network.options.hydraulic.inpfile_units = "LPS"
    network.options.time.duration = 0
    network.add_reservoir("supply", base_head=supply_head)
    return network


def add_pipe(network, start, end, length, diameter, elevation=0.0, emitter=None, fitting=0.0):
    """A pipe and the node at its end."""
    network.add_junction(end, elevation=elevation)
    if emitter is not None:
        network.get_node(end).emitter_coefficient = emitter
    network.add_pipe(
        f"to {end}".replace(" ", "_"),
        start,
        end,
        length=length,
        diameter=diameter,
        roughness=SMOOTH_PLASTIC,
        minor_loss=fitting,
    )


def add_lateral(network, start, name, beds: Beds, i: int, water: Water):
    rated_head = beds.rated_pressure[i] / (water.density * water.gravity)
    coefficient = beds.rated_flow[i] / rated_head ** beds.exponent[i]
    for number in range(1, beds.emitters[i] + 1):
        node = f"{name}e{number}"
        position = number * beds.emitter_spacing[i]
        add_pipe(
            network,
            start,
            node,
            beds.emitter_spacing[i],
            beds.lateral_diameter[i],
            beds.elevation[i] + beds.slope[i] * position,
            coefficient,
            beds.fitting_loss[i] if number == 1 else 0.0,
        )
        start = node


def add_branches(network, beds: Beds) -> dict[tuple[int, float], str]:
    """The node at each distance of each branch where a bed or another branch leaves."""
    wanted = {(int(b), float(d)) for b, d in zip(beds.branch, beds.distance, strict=True)}
    wanted |= {(MAIN, float(d)) for d in beds.branch_start[beds.branch != MAIN]}
    points = {(MAIN, 0.0): "supply"}
    last = (MAIN, 0.0)
    for branch, distance in sorted(wanted - set(points)):
        here = np.flatnonzero((beds.branch == branch) & (beds.distance >= distance))
        next_bed = here[np.argmin(beds.distance[here])]
        if last[0] != branch:
            last = (MAIN, float(beds.branch_start[next_bed]))
        node = f"b{branch}at{distance:.3f}"
        diameter = beds.main_diameter[next_bed]
        add_pipe(network, points[last], node, distance - last[1], diameter)
        points[branch, distance] = node
        last = (branch, distance)
    return points


def drip_system(beds: Beds, supply_head: float, water: Water = EPANET_WATER):
    """The network, and for each bed the pipes into its laterals (times the copies of each)."""
    network = empty_network(supply_head, beds.exponent[0], water)
    into_bed: list[list[str]] = [[] for _ in beds.distance]
    points = add_branches(network, beds)
    for i in range(beds.distance.size):
        previous = points[int(beds.branch[i]), float(beds.distance[i])]
        for lateral in range(beds.laterals[i]):
            if not np.isnan(beds.manifold_diameter[i]):
                node = f"bed{i}m{lateral}"
                length = beds.lateral_spacing[i] * (0.5 if lateral == 0 else 1.0)
                add_pipe(network, previous, node, length, beds.manifold_diameter[i])
                previous = node
            name = f"bed{i}l{lateral}"
            add_lateral(network, previous, name, beds, i, water)
            into_bed[i].append(f"to_{name}e1")
    return network, into_bed


def run(network, folder: Path):
    """Heads by node (m) and flows by pipe (m3/s)."""
    results = wntr.sim.EpanetSimulator(network).run_sim(file_prefix=str(folder / "network"))
    return results.node["head"].iloc[0], results.link["flowrate"].iloc[0]
