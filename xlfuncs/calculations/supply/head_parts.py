"""The parts between the supply and the main: what each takes, and whether it can work."""

from dataclasses import dataclass

import numpy as np

from xlfuncs.calculations.arrays import Floats
from xlfuncs.calculations.pressure.properties import Number
from xlfuncs.calculations.quantity_words import flow_words, pressure_words


@dataclass(frozen=True)
class HeadParts:
    """The parts in the order of the flow; NaN where a part has no such limit, 0 for no loss.

    A part loses `opening_loss` at any flow (the spring of a check valve) and `loss` (Pa) more at
    `loss_flow` (m3/s), growing with the square of the flow. A regulator holds `preset` behind it
    while its inlet allows. `least_flow`, `greatest_flow` and `least_inlet` are the maker's limits.
    """

    loss: Floats
    loss_flow: Floats
    opening_loss: Floats
    preset: Floats
    least_flow: Floats
    greatest_flow: Floats
    least_inlet: Floats


@dataclass(frozen=True)
class HeadPressures:
    """Pressure (Pa) before and behind each part: parts along the first axis, flows the second."""

    before: Floats
    behind: Floats


def part_loss(flow: Number, loss: Number, loss_flow: Number, opening_loss: Number = 0.0) -> Number:
    """Pressure (Pa) lost in a part whose loss at one flow is known: square law, plus opening."""
    quadratic = np.where(np.asarray(loss) > 0, loss * (flow / loss_flow) ** 2, 0.0)
    lost = np.where(flow > 0, opening_loss + quadratic, 0.0)
    return float(lost) if lost.ndim == 0 else lost


def head_pressures(parts: HeadParts, flow: Floats, supply_pressure: Floats) -> HeadPressures:
    """The pressure through the assembly for each pair of flow and supply pressure."""
    before = np.empty((parts.loss.size, flow.size))
    behind = np.empty_like(before)
    pressure = supply_pressure
    for i in range(parts.loss.size):
        before[i] = pressure
        lost = part_loss(flow, parts.loss[i], parts.loss_flow[i], parts.opening_loss[i])
        pressure = np.fmin(np.maximum(pressure - lost, 0.0), parts.preset[i])
        behind[i] = pressure
    return HeadPressures(before, behind)


def working_flows(parts: HeadParts, flow: Floats, supply_pressure: Floats) -> tuple[float, float]:
    """Least and greatest flow (m3/s) between which every part is within its limits.

    `supply_pressure` (Pa) is that of the supply at each `flow`, which rises; between them it is
    taken as straight. The pressure before a part falls with the flow, so its least inlet pressure
    is a greatest flow: 0 where even no flow leaves it enough.
    """
    least = float(np.nanmax(parts.least_flow, initial=0.0))
    greatest = float(np.nanmin(parts.greatest_flow, initial=np.inf))
    before = head_pressures(parts, flow, supply_pressure).before
    for pressure, needed in zip(before, parts.least_inlet, strict=True):
        short = np.flatnonzero(pressure < needed)
        if short.size:
            first = int(short[0])
            beside = [first, first - 1]
            at = 0.0 if first == 0 else np.interp(needed, pressure[beside], flow[beside])
            greatest = min(greatest, float(at))
    return least, greatest


def part_words(parts: HeadParts, flow: float, pressures: HeadPressures) -> list[str]:
    """For one flow: which limit each part breaks, and by how much; empty where none."""
    words = []
    for i, (before, behind) in enumerate(zip(pressures.before, pressures.behind, strict=True)):
        least_inlet, preset = parts.least_inlet[i], parts.preset[i]
        least, greatest = parts.least_flow[i], parts.greatest_flow[i]
        faults = []
        if before[0] < least_inlet:
            needs = pressure_words(least_inlet)
            faults.append(
                f"will not work: needs {needs} before it, gets {pressure_words(before[0])}"
            )
        if flow < least:
            faults.append(
                f"too little flow: needs {flow_words(least)}, gets {flow_words(flow)}; open more"
                " beds at a time or fit a smaller part"
            )
        if flow > greatest:
            faults.append(
                f"too much flow: takes {flow_words(greatest)}, gets {flow_words(flow)}; water in"
                f" {int(np.ceil(flow / greatest))} sets, or so many parts side by side"
            )
        if behind[0] < preset * (1 - 1e-9):
            faults.append(
                f"does not hold its {pressure_words(preset)}: {pressure_words(behind[0])} behind it"
            )
        words.append("; ".join(faults))
    return words
