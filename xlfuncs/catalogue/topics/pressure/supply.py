"""Declarations: what supplies give."""

from typing import Any

import numpy as np

from xlfuncs.calculations.supply import supplies
from xlfuncs.catalogue.declaration import Arg, Relation, Result, table, worksheet_function
from xlfuncs.catalogue.sources import COMMON_PRACTICE, DEFINITION, Source
from xlfuncs.errors import CellError, InputError
from xlfuncs.tables.garden import head_assembly as head

NFPA291 = Source("NFPA 291, Recommended practice for fire flow testing and marking of hydrants")

_FLOWS, _CURVE = "flows", "curve"
MOST_FLOW = "2000 m³/h"
MOST_PRESSURE = "20 bar"

DRAWN_FLOW = Arg.of(f"flow: flow, >=0, <={MOST_FLOW}: Flow that is drawn")


_HALF = "a gauge reading needs both its flow and its pressure"
_MISFIT = "does not fit the static pressure and the open flow; measure the three again"


def _half(gauge_flow: Any, gauge_pressure: Any) -> Any:
    return np.isnan(gauge_flow) != np.isnan(gauge_pressure)


def _misfit(static_pressure: Any, open_flow: Any, gauge_flow: Any, gauge_pressure: Any) -> Any:
    """Whether a gauge reading gives no believable curve (exponent of flow 1 to 2.5)."""
    with np.errstate(all="ignore"):
        left = np.log(1 - np.divide(gauge_pressure, static_pressure))
        exponent = left / np.log(np.divide(gauge_flow, open_flow))
    both = ~np.isnan(gauge_flow) & ~np.isnan(gauge_pressure)
    return both & ~((exponent >= 1) & (exponent <= 2.5))


worksheet_function(
    "SUPPLY_PRESSURE",
    help="Pressure of a house or street connection at a flow, from its static pressure and the flow"
    " of the open tap (bucket test); a gauge reading at a working flow sharpens it.",
    args=(
        DRAWN_FLOW,
        f"static_pressure: pressure, >0, <={MOST_PRESSURE}: Pressure with nothing drawn",
        f"open_flow: flow, >0, <={MOST_FLOW}: Flow of the tap fully open into a bucket",
        f"[gauge_flow]: flow, >0, <={MOST_FLOW}: A working flow at which a gauge was read",
        f"[gauge_pressure]: pressure, >0, <={MOST_PRESSURE}: What the gauge then read",
    ),
    results=(Result("pressure", "pressure", "Pressure at the tap; 0 beyond the open tap's flow"),),
    source=NFPA291.at("pressure drop with flow to the power 1/0.54, down to 0 at the open tap"),
    relations=(
        Relation("gauge_pressure", _half, _HALF),
        Relation("gauge_pressure", _misfit, _MISFIT),
    ),
    examples=("SUPPLY_PRESSURE(4, 55, 9)", "SUPPLY_PRESSURE(4, 55, 9, 5, 38)"),
)(supplies.service_pressure)


worksheet_function(
    "WELL_PRESSURE",
    help="Pressure that a well with a pressure switch sustains at a flow. Give the cut-in pressure"
    " for the least that beds get, the cut-out pressure for the most.",
    args=(
        DRAWN_FLOW,
        f"switch_pressure: pressure, >0, <={MOST_PRESSURE}: Cut-in (or cut-out) pressure of the"
        " switch",
        f"sustained_yield: flow, >0, <={MOST_FLOW}: Flow that the well and its pump sustain",
    ),
    results=(Result("pressure", "pressure", "Pressure; 0 beyond the sustained yield"),),
    source=COMMON_PRACTICE.at("a design rests on the cut-in pressure"),
    plain="IF({flow}<={sustained_yield},{switch_pressure},0)",
    examples=("WELL_PRESSURE(6, 30, 8)",),
)(supplies.well_pressure)


worksheet_function(
    "PUMP_PRESSURE",
    help="Pressure behind a pump at flows, from points of its curve, straight between them.",
    args=(
        f"flow: flow, >=0, <={MOST_FLOW}, of {_FLOWS}: Flows that are drawn",
        f"curve_flow: flow, >=0, <={MOST_FLOW}, of {_CURVE}: Flows of the pump's curve",
        f"curve_head: head, >=0, <=500, of {_CURVE}: Head of the pump at these flows",
        "[lift=0]: head, >=-100, <=500: From the water level up to the start of the main, friction"
        " on that way included",
    ),
    results=(Result("pressure", "pressure", "Pressure at the start of the main; 0 beyond the"
                    " curve"),),
    source=DEFINITION.at("head of the pump less the lift"),
    rows=_FLOWS,
    examples=("PUMP_PRESSURE(A2:A9, C2:C6, D2:D6, 10)",),
)(supplies.pump_pressure)  # fmt: skip


worksheet_function(
    "TANK_PRESSURE",
    help="Pressure at the start of the main under a gravity tank, as its level falls.",
    args=(
        "water_level: head, >=0, <=200: Water level of the full tank above the start of the main",
        "[drawn=0]: volume, >=0: Volume drawn since it was full",
        "[tank_area]: area, >0: Area of the water surface (needed with a volume drawn)",
    ),
    results=(Result("pressure", "pressure", "Pressure at the start of the main"),),
    source=DEFINITION.at("weight of the water column, 20 deg C"),
    relations=(
        Relation("tank_area", lambda drawn, tank_area: (drawn > 0) & np.isnan(tank_area),
                 "is needed with a volume drawn"),
    ),
    examples=("TANK_PRESSURE(8)", "TANK_PRESSURE(8, 100, 12)"),
)(supplies.tank_pressure)  # fmt: skip


_KIND = {
    "service": ("static_pressure", "open_flow"),
    "well": ("cut_in_pressure", "sustained_yield"),
    "pump": (),
    "tank": ("water_level",),
}  # what each cannot do without


@worksheet_function(
    "SUPPLY_CURVE",
    help="Pressure of a supply of any kind at flows, as SUPPLY_PRESSURE, WELL_PRESSURE (at cut-in),"
    " PUMP_PRESSURE and TANK_PRESSURE give it.",
    args=(
        f"flow: flow, >=0, <={MOST_FLOW}, of {_FLOWS}: Flows that are drawn",
        table("supply", "What is known of the supply: labels and values, down", head.SUPPLIES,
            "[name=]: text, column supply: Its name among the pumps",
            Arg("kind", "text", "service (default), well, pump or tank", default=head.SERVICE,
                choices=head.SUPPLY_KINDS),
            "static_pressure open_flow gauge_flow gauge_pressure cut_in_pressure sustained_yield"
            " lift water_level tank_area",
            "[drawn=0]: volume, >=0: Tank: volume drawn since it was full",
            settings=True),
        table("pumps", "Points of the curves of pumps", head.PUMP_CURVES,
            "[pump=]: text, column supply: Name of the supply",
            "flow=curve_flow head=curve_head",
            default=None),
    ),
    results=(Result("pressure", "pressure", "Pressure before the head assembly"),),
    source=DEFINITION.at("the function of its kind; a pump's first point holds for lesser flows"),
    rows=_FLOWS,
    examples=("SUPPLY_CURVE(A2:A12, C1:E12, G1:I9)",),
)  # fmt: skip
def supply_curve(flow: Any, kind: str, **of: Any) -> Any:
    for name in _KIND[kind]:
        if of[name] is None:
            raise InputError(name, "is blank", cell_error=CellError.VALUE)
    if kind == head.SERVICE:
        gauge = tuple(np.nan if of[n] is None else of[n] for n in ("gauge_flow", "gauge_pressure"))
        tap = of["static_pressure"], of["open_flow"]
        if _half(*gauge) or _misfit(*tap, *gauge):
            raise InputError("gauge_pressure", _HALF if _half(*gauge) else _MISFIT)
        return supplies.service_pressure(flow, *tap, *gauge)
    if kind == head.WELL:
        return supplies.well_pressure(flow, of["cut_in_pressure"], of["sustained_yield"])
    if kind == head.TANK:
        area = np.nan if of["tank_area"] is None else of["tank_area"]
        if of["drawn"] > 0 and np.isnan(area):
            raise InputError("tank_area", "is needed with a volume drawn")
        return np.full(flow.shape, supplies.tank_pressure(of["water_level"], of["drawn"], area))
    ours = np.array([pump.casefold() == of["name"].casefold() for pump in of["pump"]], bool)
    flows, heads = of["curve_flow"][ours], of["curve_head"][ours]
    if len(flows) < 2:
        raise InputError("curve_flow", "needs two points at least of this pump")
    return supplies.pump_pressure(np.maximum(flow, flows.min()), flows, heads, of["lift"] or 0.0)
