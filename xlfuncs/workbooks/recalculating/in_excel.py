"""Recalculating a workbook that is open in Excel, through xlwings (Windows and Mac).

NOT TESTED WITH A REAL EXCEL: the steps below were run against a stand-in for xlwings only.

Excel computes ordinary formulas itself. On Windows with the functions installed it computes all of
them; elsewhere the workbook is saved, closed, recalculated as a file and opened again.
"""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from xlfuncs.errors import WorkbookError
from xlfuncs.workbooks.recalculating.engine import WorksheetCallable
from xlfuncs.workbooks.recalculating.recalculation import Recalculation, recalculate


def recalculate_open(
    name: str, functions: Mapping[str, WorksheetCallable], *, backup: bool = True
) -> Recalculation:
    """Save, close, recalculate and reopen the workbook `name` (its file name or full path).

    Unsaved changes are saved first. Raises WorkbookError when Excel or the workbook is not there.
    """
    app, book = _find(name)
    path = Path(str(book.fullname))
    if not path.exists():
        raise WorkbookError(f"{name}: save it as a file on this computer first")
    book.save()
    book.close()
    try:
        return recalculate(path, functions, backup=backup)
    finally:
        app.books.open(str(path))


def _find(name: str) -> tuple[Any, Any]:
    try:
        import xlwings
    except ImportError:
        raise WorkbookError("xlwings is needed to reach an open Excel") from None
    wanted = Path(name).name.lower()
    found = [(app, book) for app in xlwings.apps for book in app.books
             if str(book.name).lower() == wanted]  # fmt: skip
    if not found:
        raise WorkbookError(f"{name} is not open in Excel")
    if len(found) > 1:
        raise WorkbookError(f"{name} is open more than once; close the others")
    return found[0]
