"""Declarations: the whole system from the supply to the far bed, its sets and its checks."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from xlfuncs.calculations.pressure import pressure_checks, supplies
from xlfuncs.calculations.pressure import pressure_sets as by_pressure
from xlfuncs.calculations.pressure import watering_sets as by_flow
from xlfuncs.calculations.pressure.bed_lists import Beds
from xlfuncs.calculations.pressure.bed_remarks import pressure_remarks
from xlfuncs.calculations.pressure.drip_systems import DripSystem
from xlfuncs.calculations.pressure.networks import Supply, constant_supply
from xlfuncs.calculations.pressure.properties import head_from_pressure
from xlfuncs.calculations.pressure.set_checks import (
    ABOVE,
    BELOW,
    HEAD,
    SHARE,
    SUPPLY,
    UNIFORMITY,
    VELOCITY,
    Limits,
    SetChecks,
)
from xlfuncs.catalogue.declaration import UNITS, Arg, Result, worksheet_function
from xlfuncs.catalogue.sources import COMMON_PRACTICE, DEFINITION, EPANET
from xlfuncs.catalogue.topics.pressure import ROUGHNESS
from xlfuncs.errors import InputError

_BEDS, _SUPPLY, _PIPES = "beds", "supply", "pipes"

_HEAD = (
    Arg("distance", "length", "Distance of the bed's branch point from the supply along the pipe;"
        " beds at one distance share it", minimum=0, maximum=10_000, group=_BEDS),
    Arg("laterals", "count", "Laterals in the bed", minimum=0, maximum=1000, whole=True,
        group=_BEDS),
    Arg("lateral_length", "length", "Length of a lateral", above=0, maximum=3000, group=_BEDS),
    Arg("emitter_spacing", "width", "Distance between emitters; the first lies one full spacing"
        " from the inlet", above=0, maximum=5, group=_BEDS),
    Arg("rated_flow", "emitter_flow", "Flow of one emitter at its rated pressure", above=0,
        maximum="24 L/h", group=_BEDS),
    Arg("rated_pressure", "pressure", "Pressure at which that flow is given", above=0,
        maximum="10 bar", group=_BEDS),
    Arg("lateral_diameter", "diameter", "Inside diameter of the laterals, never the nominal size",
        above=0, maximum=0.2, group=_BEDS),
    Arg("main_diameter", "diameter", "Inside diameter of the pipe that ends at the bed's branch"
        " point, never the nominal size", above=0, maximum=2, group=_BEDS),
    Arg("inlet_pressure", "pressure", "Pressure at the start of the main; with a supply curve, the"
        " most that a regulator lets through", above=0, maximum="20 bar"),
)  # fmt: skip
_OPEN = (
    Arg("open", "flag", "Which beds run together (default all)", default=True, group=_BEDS),
    Arg("exponent", "number", "Emitter discharge exponent: 0.5 for most, 0 to 0.1 compensating"
        " (default 0.5)", default=0.5, minimum=0, maximum=1, group=_BEDS),
    Arg("min_pressure", "pressure", "Least working pressure of the line; below it flows are"
        " extrapolated as of an orifice (default 0)", default=0, minimum=0, maximum="10 bar",
        group=_BEDS),
    Arg("max_pressure", "pressure", "Greatest working pressure of the line (blank: unknown)",
        default=None, above=0, maximum="20 bar", group=_BEDS),
    Arg("branch", "count", "Branch that the bed is on; 0 (default) is the main itself", default=0,
        minimum=0, maximum=10_000, whole=True, group=_BEDS),
    Arg("branch_start", "length", "Distance from the supply at which that branch leaves the main"
        " (default 0)", default=0, minimum=0, maximum=10_000, group=_BEDS),
    Arg("elevation", "elevation", "Height of the bed above the start of the main (default 0)",
        default=0, minimum=-500, maximum=500, group=_BEDS),
    Arg("slope", "slope", "Slope of the laterals; rising away from the inlet is positive (default"
        " 0)", default=0, minimum=-0.5, maximum=0.5, group=_BEDS),
    Arg("manifold_diameter", "diameter", "Inside diameter of the bed's manifold (blank: laterals"
        " straight at the branch point)", default=None, above=0, maximum=0.5, group=_BEDS),
    Arg("lateral_spacing", "width", "Distance between laterals along the manifold; the first lies"
        " half of it from the branch point", default=0, minimum=0, maximum=30, group=_BEDS),
)  # fmt: skip
_CURVE = (
    Arg("supply_flow", "flow", "Flows of the supply's curve (blank: the inlet pressure holds)",
        default=None, minimum=0, maximum="2000 m³/h", group=_SUPPLY),
    Arg("supply_pressure", "pressure", "Pressure at the start of the main at each of these flows",
        default=None, minimum=0, maximum="20 bar", group=_SUPPLY),
    Arg("fitting_loss", "number", "Loss coefficient of a lateral's fitting on the velocity head in"
        " the lateral (default 0)", default=0, minimum=0, maximum=1000, group=_BEDS),
    ROUGHNESS,
)  # fmt: skip
_SET = Arg(
    "set",
    "text",
    "Set of each bed, such as its valve: beds of one set run together, apart"
    " from the other sets (default: all together)",
    default="",
    group=_BEDS,
)
_COUNTED = Arg(
    "counted",
    "flag",
    "Whether the bed is counted; others are not even read (default yes)",
    default=True,
    group=_BEDS,
    selects=True,
)
_CV = Arg("cv", "number", "Manufacturer's coefficient of variation (default 0)", default=0,
          minimum=0, maximum=0.5, group=_BEDS)  # fmt: skip
_OPEN_FLOW = Arg("open_flow", "flow", "Flow of the supply by the bucket test (blank: unknown)",
                 default=None, above=0, maximum="2000 m³/h")  # fmt: skip
_VELOCITY = Arg("max_velocity", "velocity", "Greatest velocity in mains, manifolds and lines"
                " (default 5 ft/s)", default="5 ft/s", above=0, maximum=10)  # fmt: skip
_LIMITS = (
    Arg("supply_share", "ratio", "Share of that flow to use (default 0.75)", default=0.75, above=0,
        maximum=1),
    Arg("least_flow", "flow", "Flow from which every part of the head assembly works, by"
        " HEAD_FLOWS (default 0)", default=0, minimum=0, maximum="2000 m³/h"),
    Arg("greatest_flow", "flow", "Flow up to which every part works, by HEAD_FLOWS (blank: any)",
        default=None, minimum=0, maximum="2000 m³/h"),
    Arg("most_pressure", "pressure", "Most that can stand at the start of the main, as of a well at"
        " cut-out (blank: by the curve)", default=None, above=0, maximum="20 bar"),
)  # fmt: skip


@dataclass(frozen=True)
class _System:
    """What the arguments that all functions here share amount to."""

    beds: Beds
    supply: Supply
    min_pressure: Any
    max_pressure: Any
    roughness: float


def _system(
    inlet_pressure: Any, supply_flow: Any, supply_pressure: Any, roughness: Any, **columns: Any
) -> _System:
    max_pressure = columns.pop("max_pressure")
    is_open = columns.pop("open")
    manifold = ~np.isnan(columns["manifold_diameter"])
    lacking = np.flatnonzero(manifold & ~(columns["lateral_spacing"] > 0))
    if lacking.size:
        raise InputError("lateral_spacing", "is needed with a manifold", row=int(lacking[0]))
    beds = Beds.of(is_open=is_open, **columns)
    supply = _supply(inlet_pressure, supply_flow, supply_pressure)
    return _System(beds, supply, columns["min_pressure"], max_pressure, roughness)


def _supply(inlet_pressure: float, flow: Any, pressure: Any) -> Supply:
    """A constant pressure, or a curve that the pressure caps."""
    if flow is None or np.size(flow) == 0 or np.all(np.isnan(flow)):
        return constant_supply(head_from_pressure(inlet_pressure))
    lacking = np.flatnonzero(np.isnan(flow) | np.isnan(pressure))
    if lacking.size:
        words = "a point of the supply's curve needs both a flow and a pressure"
        raise InputError("supply_flow", words, row=int(lacking[0]))
    return supplies.supply_from_curve(flow, pressure, inlet_pressure)


@worksheet_function(
    "SYSTEM_DELIVERY",
    topic="pressure",
    help="What every bed gets, from the supply to the last emitter, the open beds of a set (or all)"
    " running together: pressure, flow, share of nominal, minutes that really give a depth.",
    args=(
        *_HEAD,
        *_OPEN,
        Arg("area", "area", "Area that the bed waters (for the minutes)", default=None, above=0,
            group=_BEDS),
        Arg("depth", "depth", "Gross depth of one watering (for the minutes)", default=None,
            minimum=0, maximum=1000, group=_BEDS),
        UNITS,
        *_CURVE,
        _SET,
        _COUNTED,
    ),
    results=(
        Result("inlet_pressure", "pressure", "Pressure at the bed's branch point"),
        Result("flow", "flow", "Flow of the bed; 0 where closed"),
        Result("share", "ratio", "Flow over nominal flow"),
        Result("driest_flow", "emitter_flow", "Flow of the driest emitter"),
        Result("minutes", "time", "Minutes that give the depth with the flow delivered"),
        Result("uniformity", "ratio", "Driest over mean emitter flow"),
        Result("lowest_pressure", "pressure", "Pressure at the driest emitter"),
        Result("highest_pressure", "pressure", "Greatest pressure at an emitter"),
        Result("main_flow", "flow", "Flow in the pipe that ends at the branch point"),
        Result("main_velocity", "velocity", "Velocity in that pipe"),
        Result("remark", "text", "Where the pressure is outside the line's working range"),
    ),
    source=EPANET.at("section 3.2 and appendix D: the equations of a tree of pipes and emitters"),
    elementwise=False,
    rows=_BEDS,
    examples=('SYSTEM_DELIVERY(A2:A9, B2:B9, C2:C9, 12, 0.27, 8, "0.625 in", "0.81 in", 12)',),
)  # fmt: skip
def system_delivery(area: Any, depth: Any, set: Any, counted: Any, **arguments: Any) -> Any:
    system = _system(**arguments)
    columns: list[Any] = [np.full(area.size, np.nan) for _ in range(10)]
    columns.append(np.full(area.size, "", dtype=object))
    for rows in _rows_by_set(set).values():
        for column, of_set in zip(columns, _delivered(system, rows, area, depth), strict=True):
            column[rows] = of_set[rows]
    return tuple(columns)


def _rows_by_set(sets: Any) -> dict[str, Any]:
    """The rows of each set by its name; beds without one are a set too."""
    names = np.array([str(name).strip() for name in sets])
    return {name: np.flatnonzero(names == name) for name in dict.fromkeys(names.tolist())}


def _only(beds: Beds, rows: Any) -> Beds:
    """The same beds, of which only these may be open."""
    chosen = np.zeros(beds.distance.size, dtype=np.bool_)
    chosen[rows] = True
    return beds.opened(beds.is_open & chosen)


def _delivered(system: _System, rows: Any, area: Any, depth: Any) -> tuple[Any, ...]:
    """What SYSTEM_DELIVERY says of all beds where only these rows run."""
    beds = _only(system.beds, rows)
    got = DripSystem(beds, system.roughness).deliver(system.supply)
    with np.errstate(divide="ignore", invalid="ignore"):
        minutes = np.where(got.flow > 0, depth / 1000 * area / got.flow, np.nan)
    remarks = pressure_remarks(
        got.lowest_pressure,
        got.highest_pressure,
        system.min_pressure,
        system.max_pressure,
        got.driest_flow,
    )
    return (
        got.inlet_pressure,
        got.flow,
        np.where(beds.is_open, got.share, np.nan),
        np.where(beds.is_open, got.driest_flow, np.nan),
        minutes,
        got.uniformity,
        got.lowest_pressure,
        got.highest_pressure,
        got.main_flow,
        got.main_velocity,
        remarks,
    )


@worksheet_function(
    "PRESSURE_SETS",
    topic="pressure",
    help="Fewest sets in which every bed, solved with its set, keeps the limits that DESIGN_CHECKS"
    " judges by. WATERING_SETS is the quick way by nominal flow.",
    args=(
        *_HEAD,
        Arg("wanted_share", "ratio", "Share of nominal flow to keep (default 0.9)", default=0.9,
            above=0, maximum=1),
        Arg("wanted_uniformity", "ratio", "Emission uniformity to keep, the CV counted (default"
            " 0.85)", default=0.85, minimum=0, below=1),
        *_OPEN,
        UNITS,
        *_CURVE,
        Arg("valve", "text", "Valve of each bed; beds of one valve stay together (blank: its own)",
            default="", group=_BEDS),
        _COUNTED,
        _CV,
        _OPEN_FLOW,
        _VELOCITY,
        *_LIMITS,
    ),
    results=(
        Result("set", "count", "Number of the set; blank where the bed is closed or gets too little"
               " even with its valve alone"),
        Result("flow", "flow", "Flow of the bed in its set"),
        Result("share", "ratio", "Flow over nominal flow in its set"),
        Result("uniformity", "ratio", "Emission uniformity in its set"),
        Result("remark", "text", "Whether fewer sets are possible, and why a bed has none"),
    ),
    source=DEFINITION.at("groups tried with SYSTEM_DELIVERY, depth first, fewest sets"),
    elementwise=False,
    rows=_BEDS,
    examples=('PRESSURE_SETS(A2:A9, B2:B9, C2:C9, 12, 0.27, 8, "0.625 in", "0.81 in", 12)',),
)  # fmt: skip
def pressure_sets(
    wanted_share: Any, wanted_uniformity: Any, valve: Any, counted: Any, cv: Any, open_flow: Any,
    max_velocity: Any, supply_share: Any, least_flow: Any, greatest_flow: Any, most_pressure: Any,
    **arguments: Any,
) -> Any:  # fmt: skip
    system = _system(**arguments)
    limits = _limits(
        system, wanted_share, wanted_uniformity, max_velocity, cv, open_flow, supply_share,
        least_flow, greatest_flow, most_pressure,
    )  # fmt: skip
    found = by_pressure.pressure_sets(SetChecks(system.beds, system.supply, limits), valve)
    placed = found.sets > 0
    overall = "no fewer sets possible" if found.fewest else "fewer may be possible"
    remarks = np.where(placed, f"solved; {overall}", "").astype(object)
    remarks[np.isin(found.sets, found.too_little)] = (
        "this set takes less than the head assembly needs; " + overall
    )
    for row, breach in found.alone.items():
        remarks[row] = _ALONE.get(breach.check, "no steady flow was found")
    return (
        np.where(placed, found.sets, np.nan),
        np.where(placed, found.flow, np.nan),
        np.where(placed, found.share, np.nan),
        found.uniformity,
        remarks,
    )


_ALONE = {
    SHARE: "gets too little even alone with its valve",
    BELOW: "has too little pressure even alone with its valve",
    ABOVE: "meets more pressure than its line bears",
    UNIFORMITY: "waters too unevenly even alone with its valve",
    VELOCITY: "water is too fast in its pipes even alone with its valve",
    SUPPLY: "takes more than the share of the supply even alone with its valve",
    HEAD: "takes more than the head assembly lets through even alone with its valve",
}


def _limits(
    system: _System, share: Any, uniformity: Any, velocity: Any, cv: Any, open_flow: Any,
    supply_share: Any, least_flow: Any, greatest_flow: Any, most_pressure: Any,
) -> Limits:  # fmt: skip
    return Limits(
        share=share,
        uniformity=uniformity,
        velocity=velocity,
        min_pressure=system.min_pressure,
        max_pressure=system.max_pressure,
        variation=cv,
        supply_flow=np.nan if open_flow is None else open_flow,
        supply_share=supply_share,
        least_flow=least_flow,
        greatest_flow=np.inf if greatest_flow is None else greatest_flow,
        most_pressure=np.nan if most_pressure is None else most_pressure,
        roughness=system.roughness,
    )


@worksheet_function(
    "WATERING_SETS",
    topic="time",
    help="Beds into the fewest sets by nominal flow, a share of the supply's flow at a time. Knows"
    " nothing of pressure: PRESSURE_SETS solves the pipes.",
    args=(
        Arg("flows", "flow", "Nominal flow of each bed; 0 for a bed that is off", minimum=0,
            maximum="2000 m³/h", group=_BEDS),
        Arg("supply_flow", "flow", "Flow that the supply gives", above=0, maximum="2000 m³/h"),
        Arg("share", "ratio", "Share of that flow to use (default 0.75)", default=0.75, above=0,
            maximum=1),
        UNITS,
        Arg("valve", "text", "Valve of each bed; beds of one valve stay together (blank: its own)",
            default="", group=_BEDS),
    ),
    results=(
        Result("set", "count", "Number of the set; blank for a bed that is off"),
        Result("remark", "text", "Whether fewer sets are possible"),
    ),
    source=COMMON_PRACTICE.at("three quarters of the supply's flow; fewest sets by bin packing"),
    elementwise=False,
    rows=_BEDS,
    examples=("WATERING_SETS(A2:A9, 8)",),
)  # fmt: skip
def watering_sets(flows: Any, supply_flow: Any, share: Any, valve: Any) -> Any:
    found = by_flow.watering_sets(flows, supply_flow, share, valve)
    placed = found.sets > 0
    overall = "no fewer sets possible" if found.fewest else "fewer may be possible"
    return np.where(placed, found.sets, np.nan), np.where(placed, overall, "").astype(object)


@worksheet_function(
    "DESIGN_CHECKS",
    topic="checks",
    help="What is wrong with the pressures of the open beds running together (or set by set), and"
    " what change, computed, would mend it.",
    args=(
        *_HEAD,
        *_OPEN,
        _CV,
        Arg("pipe_diameters", "diameter", "Inside diameters of the pipes that can be bought",
            default=None, above=0, maximum=2, group=_PIPES),
        _OPEN_FLOW,
        UNITS,
        *_CURVE,
        Arg("wanted_share", "ratio", "Share of nominal flow to keep (default 0.9)", default=0.9,
            above=0, maximum=1),
        Arg("wanted_uniformity", "ratio", "Emission uniformity to keep (default 0.85)",
            default=0.85, minimum=0, below=1),
        _VELOCITY,
        _SET,
        Arg("name", "text", "Name of each bed, for the words", default="", group=_BEDS),
        _COUNTED,
        *_LIMITS,
    ),
    results=(
        Result("bed", "count", "Row of the bed in the list, from 1; blank for a whole set",
               row_of=_BEDS),
        Result("check", "text", "What was checked"),
        Result("words", "text", "What is wrong, and what to change by how much"),
    ),
    source=COMMON_PRACTICE.at("velocity up to 5 ft/s, three quarters of the supply"),
    elementwise=False,
    examples=('DESIGN_CHECKS(A2:A9, B2:B9, C2:C9, 12, 0.27, 8, "0.625 in", "0.81 in", 12)',),
)  # fmt: skip
def design_checks(
    cv: Any, pipe_diameters: Any, open_flow: Any, wanted_share: Any, wanted_uniformity: Any,
    max_velocity: Any, set: Any, name: Any, counted: Any, supply_share: Any, least_flow: Any,
    greatest_flow: Any, most_pressure: Any, **arguments: Any,
) -> Any:  # fmt: skip
    system = _system(**arguments)
    pipes = np.empty(0) if pipe_diameters is None else np.asarray(pipe_diameters, dtype=float)
    pipes = pipes[~np.isnan(pipes)]
    limits = _limits(
        system, wanted_share, wanted_uniformity, max_velocity, cv, open_flow, supply_share,
        least_flow, greatest_flow, most_pressure,
    )  # fmt: skip
    found = []
    for set_name, rows in _rows_by_set(set).items():
        whole = f"set {set_name}" if set_name else ""
        checks = SetChecks(_only(system.beds, rows), system.supply, limits)
        for finding in pressure_checks.pressure_findings(checks, pipes):
            where = whole if finding.row is None else name[finding.row]
            words = f"{where}: {finding.words}" if where else finding.words
            number = np.nan if finding.row is None else finding.row + 1.0
            found.append((number, finding.check, words))
    columns = zip(*(found or [(np.nan, "pressure", "nothing found")]), strict=True)
    return tuple(list(column) for column in columns)
