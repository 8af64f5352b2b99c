"""The settings of computed columns out of a plan that `new` made, or of another list."""

from pathlib import Path
from typing import Any

from xlfuncs.errors import WorkbookError
from xlfuncs.tables.garden.head_assembly import SERVICE
from xlfuncs.workbooks.adding_columns import basis
from xlfuncs.workbooks.adding_columns.settings_sheet import is_blank, lay_out
from xlfuncs.workbooks.our_tables.read_inputs import SETTINGS_SHEET, read_inputs
from xlfuncs.xlsx.contents import Contents
from xlfuncs.xlsx.package import Package


def settings_of(path: Path) -> tuple[dict[str, Any], str]:
    """What a plan says, or the sheet of settings of a list that got columns before, and the system
    whose units it has."""
    contents = Contents(Package.open(path))
    if SETTINGS_SHEET not in [sheet.name for sheet in contents.sheets]:
        return settings_of_plan(path)
    settings = lay_out(contents, (), "us", {})
    there = [section for section in basis.SECTIONS if section.name in settings.kept]
    assert settings.there is not None
    heads = {settings.there.value(row, column) for row, column in settings.there.cells}
    metric = any(c.heading("metric") in heads for s in there for c in s.columns if c.unit("metric")
                 and c.unit("metric") != c.unit("us"))  # fmt: skip
    found: dict[str, Any] = {}
    for section in there:
        if section.rows:
            found[section.name] = list(settings.table(section).values())
        else:
            found |= {n: v for n, v in settings.values(section).items() if not is_blank(v)}
    for own in ("distances", "open_together"):  # of that list alone
        found.pop(own, None)
    for row in found.get("months", ()):
        row["month"] = basis.MONTHS.index(row["month"]) + 1
    return found, "metric" if metric else "us"


def settings_of_plan(path: Path) -> tuple[dict[str, Any], str]:
    """Setup, supply, lines, pipes and head assembly, and the plan's system, whose units they
    have."""
    reading = read_inputs(path)
    settings, tables = dict(reading.inputs.settings), reading.inputs.tables
    used = settings.get("supply_used")
    supply = next((row for row in tables.get("Supplies", ()) if row.get("supply") == used), {})
    if supply.get("kind", SERVICE) != SERVICE:
        words = f"its supply in use, {used}, is no tap: computed columns know taps only so far"
        raise WorkbookError(f"{path.name}: {words}")
    given = {name: supply.get(name) for name in ("static_pressure", "gauge_flow", "gauge_pressure")}
    settings |= {name: value for name, value in given.items() if value is not None}
    if supply.get("open_flow") is not None:  # the volume of a minute
        settings |= {"bucket_volume": supply["open_flow"], "bucket_seconds": 60.0}
    dirty = settings.get("dirty_filters") is not False
    parts = [
        {**part, "loss": part.get("dirty_loss") if dirty and part.get("dirty_loss") is not None
         else part.get("loss")}
        for part in tables.get("HeadParts", ())
    ]  # fmt: skip
    lines, pipes = (list(tables.get(name, ())) for name in ("Lines", "Pipes"))
    found = {**settings, "lines": lines, "pipes": pipes, "head_parts": parts}
    return found, reading.marks.system
