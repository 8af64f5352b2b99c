"""Declarations: the parts between a supply and the main."""

from typing import Any

import numpy as np

from xlfuncs.calculations.supply import head_parts
from xlfuncs.catalogue.declaration import UNITS, Arg, Result, table, worksheet_function
from xlfuncs.catalogue.sources import DEFINITION
from xlfuncs.catalogue.topics.pressure.supply import DRAWN_FLOW, MOST_FLOW, MOST_PRESSURE
from xlfuncs.errors import InputError
from xlfuncs.tables.garden.head_assembly import HEAD_PARTS

_PARTS, _FLOWS = "parts", "flows"
_OPENING = Arg.of(f"[opening_loss=0]: pressure, >=0, <={MOST_PRESSURE}: Loss at any flow, as of a"
                  " check valve's spring")  # fmt: skip
_CURVE_PRESSURE = Arg.of(f"supply_pressure: pressure, >=0, <={MOST_PRESSURE}, of {_FLOWS}:"
                         " Pressure of the supply at these flows")  # fmt: skip


worksheet_function(
    "PART_LOSS",
    help="Pressure lost in a part of the head assembly at a flow, from its loss at one flow (square"
    " law) and what it takes to open.",
    args=(
        DRAWN_FLOW,
        f"loss: pressure, >=0, <={MOST_PRESSURE}: Loss of the part at the flow loss_flow",
        f"loss_flow: flow, >0, <={MOST_FLOW}: Flow at which that loss is given",
        _OPENING,
    ),
    results=(Result("loss", "pressure", "Pressure lost"),),
    source=DEFINITION.at("turbulent loss with the square of the flow"),
    plain="IF({flow}>0,{opening_loss}+{loss}*({flow}/{loss_flow})^2,0)",
    examples=("PART_LOSS(4, 3, 8)",),
)(head_parts.part_loss)


_LOSSES = "loss dirty_loss loss_flow opening_loss preset"
_WORKS = " least_flow greatest_flow least_inlet"
DIRTY = Arg.of("[dirty=yes]: flag: yes: by the loss of dirty filters, where it is known")


def _part_table(columns: str) -> Arg:
    words = "The parts of the head assembly in the order of the flow, a row each"
    return table(_PARTS, words, HEAD_PARTS, columns, default=None)


def _parts(
    loss: Any, dirty_loss: Any, loss_flow: Any, opening_loss: Any, preset: Any, dirty: bool,
    least_flow: Any = np.nan, greatest_flow: Any = np.nan, least_inlet: Any = np.nan,
) -> head_parts.HeadParts:  # fmt: skip
    loss = np.where(np.isnan(dirty_loss) | (not dirty), loss, dirty_loss)
    lacking = np.flatnonzero((loss > 0) & np.isnan(loss_flow))
    if lacking.size:
        raise InputError("loss_flow", "is needed with a loss", row=int(lacking[0]))
    limits = (np.broadcast_to(x, loss.shape) for x in (least_flow, greatest_flow, least_inlet))
    return head_parts.HeadParts(loss, loss_flow, opening_loss, preset, *limits)


@worksheet_function(
    "HEAD_PRESSURE",
    help="Pressure at the start of the main at flows, behind all parts of the head assembly: the"
    " supply's curve that SYSTEM_DELIVERY takes.",
    args=(
        f"flow: flow, >=0, <={MOST_FLOW}, of {_FLOWS}: Flows",
        _CURVE_PRESSURE,
        _part_table(_LOSSES),
        DIRTY,
    ),
    results=(Result("pressure", "pressure", "Pressure at the start of the main"),),
    source=DEFINITION.at("the losses of the parts one after the other"),
    rows=_FLOWS,
    examples=("HEAD_PRESSURE(A2:A12, B2:B12, D1:K6)",),
)
def head_pressure(flow: Any, supply_pressure: Any, **parts: Any) -> Any:
    if not parts["loss"].size:
        return supply_pressure
    return head_parts.head_pressures(_parts(**parts), flow, supply_pressure).behind[-1]


@worksheet_function(
    "HEAD_FLOWS",
    help="The flows between which every part of the head assembly works: by the least and greatest"
    " flow of each, and by the pressure that reaches it. What PRESSURE_SETS and DESIGN_CHECKS ask.",
    args=(
        f"flow: flow, >=0, <={MOST_FLOW}, of {_FLOWS}: Flows of the supply's curve, rising",
        _CURVE_PRESSURE,
        _part_table(_LOSSES + _WORKS),
        DIRTY,
        UNITS,
    ),
    results=(
        Result("least", "flow", "Minimum flow that all parts work with"),
        Result("greatest", "flow", "Maximum flow that all parts work with"),
    ),
    source=DEFINITION.at("the limits of the parts one after the other"),
    examples=("HEAD_FLOWS(A2:A12, B2:B12, D1:K6)",),
)
def head_flows(flow: Any, supply_pressure: Any, **parts: Any) -> Any:
    if np.any(np.diff(flow) <= 0):
        row = int(np.argmax(np.diff(flow) <= 0)) + 1
        raise InputError("flow", "must rise from row to row", row=row)
    least, greatest = head_parts.working_flows(_parts(**parts), flow, supply_pressure)
    return [least], [min(greatest, float(flow[-1]))]


@worksheet_function(
    "HEAD_ASSEMBLY",
    help="Pressure before and behind each part of the head assembly at one flow, and which of its"
    " limits is broken. Ask once with the most and once with the fewest beds open.",
    args=(
        DRAWN_FLOW,
        f"supply_pressure: pressure, >=0, <={MOST_PRESSURE}: Pressure of the supply at this flow",
        _part_table(_LOSSES + _WORKS),
        DIRTY,
        UNITS,
    ),
    source=DEFINITION.at("the losses of the parts one after the other"),
    rows=_PARTS,
    examples=("HEAD_ASSEMBLY(4, 45, D1:K6)",),
)
def head_assembly(flow: Any, supply_pressure: Any, **parts: Any) -> Any:
    given = _parts(**parts)
    pressures = head_parts.head_pressures(given, np.array([flow]), np.array([supply_pressure]))
    words = head_parts.part_words(given, flow, pressures)
    return pressures.before[:, 0], pressures.behind[:, 0], words
