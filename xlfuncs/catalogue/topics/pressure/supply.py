"""Declarations: supplies, and the parts between a supply and the main."""

from __future__ import annotations

from typing import Any

import numpy as np

from xlfuncs.calculations.supply import head_parts, supplies
from xlfuncs.catalogue.declaration import UNITS, Arg, Relation, Result, worksheet_function
from xlfuncs.catalogue.sources import COMMON_PRACTICE, DEFINITION, Source
from xlfuncs.errors import InputError

NFPA291 = Source("NFPA 291, Recommended practice for fire flow testing and marking of hydrants")

_PARTS, _FLOWS, _CURVE = "parts", "flows", "curve"
_MOST_FLOW = "2000 m³/h"
_MOST_PRESSURE = "20 bar"

DRAWN_FLOW = Arg("flow", "flow", "Flow that is drawn", minimum=0, maximum=_MOST_FLOW)


def _misfit(static_pressure: Any, open_flow: Any, gauge_flow: Any, gauge_pressure: Any) -> Any:
    """Whether a gauge reading gives no believable curve (exponent of flow 1 to 2.5)."""
    with np.errstate(all="ignore"):
        left = np.log(1 - np.divide(gauge_pressure, static_pressure))
        exponent = left / np.log(np.divide(gauge_flow, open_flow))
    both = ~np.isnan(gauge_flow) & ~np.isnan(gauge_pressure)
    return both & ~((exponent >= 1) & (exponent <= 2.5))


worksheet_function(
    "SUPPLY_PRESSURE",
    topic="pressure",
    help="Pressure of a house or street connection at a flow, from its static pressure and the flow"
    " of the open tap (bucket test); a gauge reading at a working flow sharpens it.",
    args=(
        DRAWN_FLOW,
        Arg("static_pressure", "pressure", "Pressure with nothing drawn", above=0,
            maximum=_MOST_PRESSURE),
        Arg("open_flow", "flow", "Flow of the tap fully open into a bucket", above=0,
            maximum=_MOST_FLOW),
        Arg("gauge_flow", "flow", "A working flow at which a gauge was read", default=None, above=0,
            maximum=_MOST_FLOW),
        Arg("gauge_pressure", "pressure", "What the gauge then read", default=None, above=0,
            maximum=_MOST_PRESSURE),
    ),
    results=(Result("pressure", "pressure", "Pressure at the tap; 0 beyond the open tap's flow"),),
    source=NFPA291.at("pressure drop with flow to the power 1/0.54, down to 0 at the open tap"),
    relations=(
        Relation("gauge_pressure", lambda gauge_flow, gauge_pressure:
                 np.isnan(gauge_flow) != np.isnan(gauge_pressure),
                 "a gauge reading needs both its flow and its pressure",
                 ("gauge_flow", "gauge_pressure")),
        Relation("gauge_pressure", _misfit,
                 "does not fit the static pressure and the open flow; measure the three again",
                 ("static_pressure", "open_flow", "gauge_flow", "gauge_pressure")),
    ),
    examples=("SUPPLY_PRESSURE(4, 55, 9)", "SUPPLY_PRESSURE(4, 55, 9, 5, 38)"),
)(supplies.service_pressure)  # fmt: skip


worksheet_function(
    "WELL_PRESSURE",
    topic="pressure",
    help="Pressure that a well with a pressure switch sustains at a flow. Give the cut-in pressure"
    " for the least that beds get, the cut-out pressure for the most.",
    args=(
        DRAWN_FLOW,
        Arg("switch_pressure", "pressure", "Cut-in (or cut-out) pressure of the switch", above=0,
            maximum=_MOST_PRESSURE),
        Arg("sustained_yield", "flow", "Flow that the well and its pump sustain", above=0,
            maximum=_MOST_FLOW),
    ),
    results=(Result("pressure", "pressure", "Pressure; 0 beyond the sustained yield"),),
    source=COMMON_PRACTICE.at("a design rests on the cut-in pressure"),
    plain="IF({flow}<={sustained_yield},{switch_pressure},0)",
    examples=("WELL_PRESSURE(6, 30, 8)",),
)(supplies.well_pressure)  # fmt: skip


worksheet_function(
    "PUMP_PRESSURE",
    topic="pressure",
    help="Pressure behind a pump at flows, from points of its curve, straight between them.",
    args=(
        Arg("flow", "flow", "Flows that are drawn", minimum=0, maximum=_MOST_FLOW, group=_FLOWS),
        Arg("curve_flow", "flow", "Flows of the pump's curve", minimum=0, maximum=_MOST_FLOW,
            group=_CURVE),
        Arg("curve_head", "head", "Head of the pump at these flows", minimum=0, maximum=500,
            group=_CURVE),
        Arg("lift", "head", "From the water level up to the start of the main, friction on that way"
            " included (default 0)", default=0, minimum=-100, maximum=500),
    ),
    results=(Result("pressure", "pressure", "Pressure at the start of the main; 0 beyond the"
                    " curve"),),
    source=DEFINITION.at("head of the pump less the lift"),
    elementwise=False,
    rows=_FLOWS,
    examples=("PUMP_PRESSURE(A2:A9, C2:C6, D2:D6, 10)",),
)(supplies.pump_pressure)  # fmt: skip


worksheet_function(
    "TANK_PRESSURE",
    topic="pressure",
    help="Pressure at the start of the main under a gravity tank, as its level falls.",
    args=(
        Arg("water_level", "head", "Water level of the full tank above the start of the main",
            minimum=0, maximum=200),
        Arg("drawn", "volume", "Volume drawn since it was full (default 0)", default=0, minimum=0),
        Arg("tank_area", "area", "Area of the water surface (needed with a volume drawn)",
            default=None, above=0),
    ),
    results=(Result("pressure", "pressure", "Pressure at the start of the main"),),
    source=DEFINITION.at("weight of the water column, 20 deg C"),
    relations=(
        Relation("tank_area", lambda drawn, tank_area: (drawn > 0) & np.isnan(tank_area),
                 "is needed with a volume drawn", ("drawn", "tank_area")),
    ),
    examples=("TANK_PRESSURE(8)", "TANK_PRESSURE(8, 100, 12)"),
)(supplies.tank_pressure)  # fmt: skip


worksheet_function(
    "PART_LOSS",
    topic="pressure",
    help="Pressure lost in a part of the head assembly at a flow, from its loss at one flow (square"
    " law) and what it takes to open.",
    args=(
        DRAWN_FLOW,
        Arg("loss", "pressure", "Loss of the part at the flow loss_flow", minimum=0,
            maximum=_MOST_PRESSURE),
        Arg("loss_flow", "flow", "Flow at which that loss is given", above=0, maximum=_MOST_FLOW),
        Arg("opening_loss", "pressure", "Loss at any flow, as of a check valve's spring (default"
            " 0)", default=0, minimum=0, maximum=_MOST_PRESSURE),
    ),
    results=(Result("loss", "pressure", "Pressure lost"),),
    source=DEFINITION.at("turbulent loss with the square of the flow"),
    plain="IF({flow}>0,{opening_loss}+{loss}*({flow}/{loss_flow})^2,0)",
    examples=("PART_LOSS(4, 3, 8)",),
)(head_parts.part_loss)  # fmt: skip


_LOSSES = (
    Arg("loss", "pressure", "Loss of each part at its loss_flow, in the order of the flow; a dirty"
        " filter's for the worst case", default=0, minimum=0, maximum=_MOST_PRESSURE,
        group=_PARTS),
    Arg("loss_flow", "flow", "Flow at which that loss is given", default=None, above=0,
        maximum=_MOST_FLOW, group=_PARTS),
    Arg("opening_loss", "pressure", "Loss at any flow, as of a check valve's spring (default 0)",
        default=0, minimum=0, maximum=_MOST_PRESSURE, group=_PARTS),
    Arg("preset", "pressure", "Pressure that a regulator holds behind it (blank: no regulator)",
        default=None, above=0, maximum=_MOST_PRESSURE, group=_PARTS),
)  # fmt: skip


def _parts(
    loss: Any, loss_flow: Any, opening_loss: Any, preset: Any, least_flow: Any = np.nan,
    greatest_flow: Any = np.nan, least_inlet: Any = np.nan,
) -> head_parts.HeadParts:  # fmt: skip
    lacking = np.flatnonzero((loss > 0) & np.isnan(loss_flow))
    if lacking.size:
        raise InputError("loss_flow", "is needed with a loss", row=int(lacking[0]))
    limits = (np.broadcast_to(x, loss.shape) for x in (least_flow, greatest_flow, least_inlet))
    return head_parts.HeadParts(loss, loss_flow, opening_loss, preset, *limits)


@worksheet_function(
    "HEAD_PRESSURE",
    topic="pressure",
    help="Pressure at the start of the main at flows, behind all parts of the head assembly: the"
    " supply's curve that SYSTEM_DELIVERY takes.",
    args=(
        Arg("flow", "flow", "Flows", minimum=0, maximum=_MOST_FLOW, group=_FLOWS),
        Arg("supply_pressure", "pressure", "Pressure of the supply at these flows", minimum=0,
            maximum=_MOST_PRESSURE, group=_FLOWS),
        *_LOSSES,
    ),
    results=(Result("pressure", "pressure", "Pressure at the start of the main"),),
    source=DEFINITION.at("the losses of the parts one after the other"),
    elementwise=False,
    rows=_FLOWS,
    examples=("HEAD_PRESSURE(A2:A12, B2:B12, D2:D6, E2:E6)",),
)  # fmt: skip
def head_pressure(flow: Any, supply_pressure: Any, **parts: Any) -> Any:
    if not parts["loss"].size:
        return supply_pressure
    return head_parts.head_pressures(_parts(**parts), flow, supply_pressure).behind[-1]


_WORKS = (
    Arg("least_flow", "flow", "Least flow at which the part works (blank: any)", default=None,
        minimum=0, maximum=_MOST_FLOW, group=_PARTS),
    Arg("greatest_flow", "flow", "Greatest flow of the part (blank: any)", default=None,
        above=0, maximum=_MOST_FLOW, group=_PARTS),
    Arg("least_inlet", "pressure", "Least pressure before the part (blank: any)", default=None,
        minimum=0, maximum=_MOST_PRESSURE, group=_PARTS),
    UNITS,
)  # fmt: skip


@worksheet_function(
    "HEAD_FLOWS",
    topic="pressure",
    help="The flows between which every part of the head assembly works: by the least and greatest"
    " flow of each, and by the pressure that reaches it. What PRESSURE_SETS and DESIGN_CHECKS ask.",
    args=(
        Arg("flow", "flow", "Flows of the supply's curve, rising", minimum=0, maximum=_MOST_FLOW,
            group=_FLOWS),
        Arg("supply_pressure", "pressure", "Pressure of the supply at these flows", minimum=0,
            maximum=_MOST_PRESSURE, group=_FLOWS),
        *_LOSSES,
        *_WORKS,
    ),
    results=(
        Result("least", "flow", "Least flow that all parts work with"),
        Result("greatest", "flow", "Greatest flow that all parts work with"),
    ),
    source=DEFINITION.at("the limits of the parts one after the other"),
    elementwise=False,
    examples=("HEAD_FLOWS(A2:A12, B2:B12, D2:D6, E2:E6)",),
)  # fmt: skip
def head_flows(flow: Any, supply_pressure: Any, **parts: Any) -> Any:
    if np.any(np.diff(flow) <= 0):
        row = int(np.argmax(np.diff(flow) <= 0)) + 1
        raise InputError("flow", "must rise from row to row", row=row)
    least, greatest = head_parts.working_flows(_parts(**parts), flow, supply_pressure)
    return [least], [min(greatest, float(flow[-1]))]


@worksheet_function(
    "HEAD_ASSEMBLY",
    topic="pressure",
    help="Pressure before and behind each part of the head assembly at one flow, and which of its"
    " limits is broken. Ask once with the most and once with the fewest beds open.",
    args=(
        DRAWN_FLOW,
        Arg("supply_pressure", "pressure", "Pressure of the supply at this flow", minimum=0,
            maximum=_MOST_PRESSURE),
        *_LOSSES,
        *_WORKS,
    ),
    results=(
        Result("before", "pressure", "Pressure before the part"),
        Result("behind", "pressure", "Pressure behind the part"),
        Result("words", "text", "Which limit is broken, by how much; empty where none"),
    ),
    source=DEFINITION.at("the losses of the parts one after the other"),
    elementwise=False,
    rows=_PARTS,
    examples=("HEAD_ASSEMBLY(4, 45, D2:D6, E2:E6)",),
)  # fmt: skip
def head_assembly(flow: Any, supply_pressure: Any, **parts: Any) -> Any:
    given = _parts(**parts)
    pressures = head_parts.head_pressures(given, np.array([flow]), np.array([supply_pressure]))
    words = head_parts.part_words(given, flow, pressures)
    return pressures.before[:, 0], pressures.behind[:, 0], words
