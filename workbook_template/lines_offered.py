"""The drip lines to choose from, as their question tells them: flow, spacing, what suits a soil."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from workbook_template.kit.inputs import Inputs
from xlfuncs.catalogue.arguments import as_argument, read_one
from xlfuncs.catalogue.registry import functions
from xlfuncs.errors import InputError
from xlfuncs.tables.columns import Table
from xlfuncs.tables.garden.crops import SOILS
from xlfuncs.tables.garden.lines import LINES
from xlfuncs.units import display
from xlfuncs.workbooks.lists.questions import Question

FAULTS = {"dry gaps": "dry gaps in {}", "water ponds": "water ponds on {}"}  # as the advice has it


def with_advice(asked: Question, start: Inputs, soil: str, system: str, last: str) -> Question:
    """The question for the line with the flow and spacing of each, and what LINE_ADVICE says of it
    in a soil; Enter takes the `last` one, else the one advised, if it suits or the lines are one's
    own, of another workbook."""
    lines = {str(row["line"]): _line(row, system) for row in start.tables[LINES.name]}
    told = {name: f"{display(flow, 'emitter_flow', system, 2)} every"
                  f" {display(apart, 'width', system, 3)}"
            for name, (apart, flow) in lines.items() if apart and flow}  # fmt: skip
    ground = next((row for row in start.tables[SOILS.name] if row.get("soil") == soil), {})
    wide, intake = (_number(SOILS, ground, name, system) for name in ("wetted_width", "intake_low"))
    default, proposed, words, suits = "", "", asked.words, f"suits {soil}"
    faults, alike = [""] * len(told), ""  # alike: the fault that all have
    if told and wide:
        apart, flow = np.array([lines[name] for name in told]).T
        advised = functions()["LINE_ADVICE"].compute(apart, flow, wide, intake or np.inf)
        faults = [next((words for sign, words in FAULTS.items() if sign in reason), "").format(soil)
                  for reason in advised[3]]  # fmt: skip
        alike = faults[0] if len({*faults}) == 1 else ""
        for name, advice, fault in zip(told, advised[2], faults, strict=True):
            told[name] += "" if alike else f", {fault or suits}"
            if advice == "recommended":
                told[name] += ", the least of these" if fault else ""
                default = name if intake and (last or not fault) else ""
                proposed = (f"{fault}, least with this" if fault else suits) if last else ""
        words += f" With each, {alike}." if alike else ""
    if told.get(last, "").endswith(suits):
        default, proposed = last, f"{suits}, as last time"
    elif proposed and last in told and last != default:
        of_last = "" if alike else faults[[*told].index(last)]
        proposed += f"; last time {last}" + (f", {of_last}" if of_last else "")
    return replace(asked, words=words, samples=tuple(told.get(c, "") for c in asked.choices),
                   default=default, proposed=proposed)  # fmt: skip


def _line(row: Mapping[str, Any], system: str) -> tuple[float, float]:
    """Spacing and flow of the emitters, 0 where they are not known."""
    apart, flow, of_length = (
        _number(LINES, row, name, system)
        for name in ("emitter_spacing", "emitter_flow", "flow_per_length")
    )
    return apart, flow or of_length * apart


def _number(table: Table, row: Mapping[str, Any], name: str, system: str) -> float:
    try:
        return float(read_one(as_argument(table[name]), row.get(name), system) or 0)
    except InputError:
        return 0.0
