"""The settings of computed columns out of a plan that `new` made."""

from pathlib import Path
from typing import Any

from xlfuncs.errors import WorkbookError
from xlfuncs.tables.garden.head_assembly import SERVICE
from xlfuncs.workbooks.our_tables.read_inputs import read_inputs


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
