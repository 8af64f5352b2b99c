"""Recalculating a workbook in memory, with the steps that the command takes for a file."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from xlfuncs.errors import WorkbookError
from xlfuncs.workbooks.recalculating.engine import WorksheetCallable, evaluate
from xlfuncs.workbooks.recalculating.recalculation import Recalculation, recalculated
from xlfuncs.xlsx.contents import Contents
from xlfuncs.xlsx.package import Package


def recalculated_bytes(
    content: bytes,
    functions: Mapping[str, WorksheetCallable],
    *,
    name: str = "the workbook",
    now: datetime | None = None,
) -> tuple[bytes, Recalculation]:
    """The new bytes of a workbook, and the report."""
    if not content:
        raise WorkbookError(f"{name}: empty")
    contents = Contents(Package.open(content, name))
    new, result = recalculated(contents, evaluate(contents, functions, now=now))
    return (content if new is None else new), result
