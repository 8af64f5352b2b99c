"""Whole designs of a workbook: what it gives to them, and the workbook with one of them in it."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from workbook_template.build import Built
from workbook_template.kit.inputs import Inputs
from workbook_template.sheets.garden.supply_pressure import CURVE
from xlfuncs.catalogue.design_rows import DesignRow
from xlfuncs.catalogue.design_sources import Given
from xlfuncs.errors import InputError
from xlfuncs.tables.garden.beds import BEDS
from xlfuncs.tables.garden.head_assembly import HEAD_PARTS, REGULATOR, REGULATORS, WELL
from xlfuncs.tables.garden.lines import PIPES
from xlfuncs.tables.money.parts import COUNTING_RULES, MAIN_LENGTH, MANIFOLD_LENGTH
from xlfuncs.units import to_base


def given_of(built: Built, system: str) -> Given:
    """Tables and settings as they are, the supply's curve as the sheet Supply computes it."""
    state = built.named("supply_state")
    if state != "ok":
        raise InputError("supply", f"is not known yet: {state}")
    place = built.places[CURVE]
    cells = built.values[place.sheet]

    def column(name: str) -> list[float]:
        rows = range(place.first, place.last + 1)
        return [float(cells[row + 1, place.columns[name] + 1]) for row in rows]

    is_well = built.named("supply_kind") == WELL
    most = built.named("supply_most_pressure") if is_well else None
    inputs = built.inputs
    settings = dict(inputs.settings) | {"efficiency": built.named("efficiency_used")}
    return Given(
        system, inputs.tables, settings, column("flow"), column("pressure"),
        None if most in (None, "") else float(most),
    )  # fmt: skip


def with_design(inputs: Inputs, design: DesignRow, system: str) -> Inputs:
    """The inputs with the design's lines, pipes, regulator and sets in their tables.

    Sets become valves by their numbers. Counting rules that name a pipe or a regulator of the
    lists name the design's from then on.
    """
    tables = {name: [dict(row) for row in rows] for name, rows in inputs.tables.items()}
    number = {bed: i for i, names in enumerate(design.sets, start=1) for bed in names}
    for bed in tables[BEDS.name]:
        _lay(bed, design, number.get(str(bed.get("bed"))), system)
    _fit_regulator(tables, design)
    pipes = {row.get("pipe") for row in tables[PIPES.name]}
    regulators = {row.get("regulator") for row in tables.get(REGULATORS.name, ())}
    for rule in tables[COUNTING_RULES.name]:
        if rule.get("part") in pipes and rule.get("counted_by") == MAIN_LENGTH:
            rule["part"] = design.main
        elif rule.get("part") in pipes and rule.get("counted_by") == MANIFOLD_LENGTH:
            rule["part"] = design.manifold or rule["part"]
        elif rule.get("part") in regulators and design.regulator:
            rule["part"] = design.regulator
    return replace(inputs, tables=tables)


def _lay(bed: dict[str, Any], design: DesignRow, valve: int | None, system: str) -> None:
    top = _top(bed, system)
    known = [width for width in design.lines if top is not None and abs(width - top) < 1e-4]
    if not known:
        return  # a bed that cannot be read stays as it is
    bed["line"], bed["laterals"], inset = design.lines[known[0]]
    even = known[0] / (2 * bed["laterals"])
    bed.pop("inset", None)
    if abs(inset - even) > 1e-6:
        bed["inset"] = inset
    bed["main_pipe"], bed["manifold_pipe"] = design.main, design.manifold
    bed["valve"] = "" if valve is None else str(valve)  # one that is off is in no set


def _top(bed: Mapping[str, Any], system: str) -> float | None:
    """Width of the bed top as a plain number in the units of the system."""
    strips, width = bed.get("strips") or 1, bed.get("strip_width")
    given = bed.get("bed_top_width") or width
    if given is None:
        return None
    base = to_base(given, "width", system) * (1 if bed.get("bed_top_width") else float(strips))
    return base / to_base(1.0, "width", system)


def _fit_regulator(tables: dict[str, list[dict[str, Any]]], design: DesignRow) -> None:
    chosen = next(
        (r for r in tables.get(REGULATORS.name, ()) if r.get("regulator") == design.regulator), None
    )
    for part in tables[HEAD_PARTS.name]:
        if chosen is not None and part.get("kind") == REGULATOR:
            for name in REGULATORS.names[1:-1]:
                part.pop(name, None)
                if chosen.get(name) is not None:
                    part[name] = chosen[name]
            return
