"""Declarations: single laterals, of a line by its name."""

from dataclasses import replace
from typing import Any

import numpy as np

from xlfuncs.calculations.layout.beds import emitter_flow_from_tape
from xlfuncs.calculations.pressure import laterals
from xlfuncs.calculations.pressure.bed_remarks import pressure_remarks
from xlfuncs.catalogue.declaration import UNITS, Arg, Result, table, worksheet_function
from xlfuncs.catalogue.sources import COMMON_PRACTICE, EPANET
from xlfuncs.catalogue.topics.pressure import pressure
from xlfuncs.errors import CellError, InputError
from xlfuncs.tables.garden.lines import LINES

GREATEST_PRESSURE = Arg.of(f"[max_pressure]: pressure, >0, <={pressure.MOST_PRESSURE}: Maximum"
                           " working pressure (blank: unknown)")  # fmt: skip
SLOPE = Arg.of("[slope=0]: slope, >=-0.5, <=0.5: Slope of the lateral; rising away from the inlet"
               " is positive (default level)")  # fmt: skip
INLET_PRESSURE = Arg.of(f"inlet_pressure: pressure, >=0, <={pressure.MOST_PRESSURE}: Pressure at"
                        " the inlet")  # fmt: skip
FITTING = Arg.of("[fitting_loss=0]: number, >=0, <=1000: Loss coefficient of the inlet fitting on"
                 " the velocity head in the line")  # fmt: skip
_LINES = table(
    "lines", "The lines, a row each", LINES,
    pressure.SPACING,
    replace(pressure.RATED_FLOW, default=None, column="emitter_flow"),
    "flow_per_length",
    pressure.RATED_PRESSURE,
    "inside_diameter: diameter, >0, <=0.2: Inside diameter of the line, never the nominal size",
    pressure.EXPONENT, pressure.LEAST_PRESSURE,
    picked_by="line",
)  # fmt: skip
_LINE = Arg.of("[line=]: text: Name of the line, where there are several")
LATERAL_LENGTH = Arg.of("length: length, >0, <=3000: Length of the lateral")


@worksheet_function(
    "LATERAL_PROFILE",
    help="Pressure and flow of every emitter along one lateral, solved from the pressure at its"
    " inlet.",
    args=(
        replace(_LINES, columns=(*_LINES.columns, GREATEST_PRESSURE)), LATERAL_LENGTH,
        INLET_PRESSURE, _LINE, UNITS, SLOPE, FITTING, pressure.ROUGHNESS,
    ),
    source=EPANET.at("the equations of a chain of pipes with emitters"),
    examples=('LATERAL_PROFILE(A1:H4, 100, 10, "tape")',),
)  # fmt: skip
def lateral_profile(inlet_pressure: Any, max_pressure: Any, **of_line: Any) -> Any:
    lateral = _lateral(**of_line)
    profile = laterals.lateral_profile(lateral, inlet_pressure)
    greatest = np.inf if max_pressure is None else max_pressure
    remarks = pressure_remarks(
        profile.pressure, profile.pressure, lateral.min_pressure, greatest, profile.flow
    )
    return profile.position, profile.pressure, profile.flow, remarks


def _lateral(
    line: str, inside_diameter: Any, rated_flow: Any, flow_per_length: Any, length: Any = 0.0,
    **of_line: Any,
) -> laterals.Lateral:  # fmt: skip
    if rated_flow is None and flow_per_length is None:
        raise InputError("rated_flow", "is blank, and so is the flow per length",
                         cell_error=CellError.VALUE)  # fmt: skip
    if rated_flow is None:
        rated_flow = emitter_flow_from_tape(flow_per_length, of_line["emitter_spacing"])
    return laterals.Lateral(
        diameter=inside_diameter, length=length, rated_flow=rated_flow, **of_line
    )


_LONGEST = Arg.of("[longest=1000]: length, >0, <=3000: Look no further than this (default 1000 m)")
_HOW_FAR = (_LINE, UNITS, SLOPE, _LONGEST, FITTING, pressure.ROUGHNESS)
_LONGEST_LENGTH = (Result("length", "length", "Longest length, whole spacings"),)


@worksheet_function(
    "MAX_LATERAL_LENGTH",
    help="Longest lateral that keeps an emission uniformity, solved emitter by emitter.",
    args=(
        replace(_LINES, columns=(*_LINES.columns, pressure.CV)), INLET_PRESSURE,
        "uniformity: ratio, >0, <1: Emission uniformity to keep",
        *_HOW_FAR,
    ),
    results=_LONGEST_LENGTH,
    source=pressure.KELLER.at("EU of the solved lateral"),
    examples=('MAX_LATERAL_LENGTH(A1:H4, 10, 0.9, "tape")',),
)  # fmt: skip
def max_lateral_length(
    inlet_pressure: Any, uniformity: Any, cv: Any, longest: Any, **of_line: Any
) -> Any:
    return laterals.max_lateral_length(_lateral(**of_line), inlet_pressure, uniformity, cv, longest)


@worksheet_function(
    "MAX_LATERAL_LENGTH_BY_VARIATION",
    help="Longest lateral whose emitter flows vary by no more than this: (most - least)/most.",
    args=(
        _LINES, INLET_PRESSURE,
        "flow_variation: ratio, >0, <1: Flow variation allowed, such as 10 %",
        *_HOW_FAR,
    ),
    results=_LONGEST_LENGTH,
    source=COMMON_PRACTICE.at("10 % is good, 20 % acceptable"),
    examples=('MAX_LATERAL_LENGTH_BY_VARIATION(A1:H4, 10, 0.1, "tape")',),
)  # fmt: skip
def max_lateral_length_by_variation(
    inlet_pressure: Any, flow_variation: Any, longest: Any, **of_line: Any
) -> Any:
    return laterals.max_lateral_length_by_variation(
        _lateral(**of_line), inlet_pressure, flow_variation, longest
    )
