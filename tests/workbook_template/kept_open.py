"""A workbook that stays open in the embedded engine, to type into it again and again."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any
from unittest.mock import patch

from xlfuncs.hosts.cells import worksheet_callables
from xlfuncs.workbooks.formulas.typed_cells import TypedCells
from xlfuncs.workbooks.recalculating.callbacks import from_engine, to_engine
from xlfuncs.workbooks.recalculating.engine import _Run
from xlfuncs.xlsx.contents import Contents
from xlfuncs.xlsx.package import Package

Typed = Sequence[tuple[str, int, int, Any]]  # sheet, row and column from 0, value


class KeptOpen(_Run):
    """Its formulas are read once; what is typed is computed from the start, as a file would be."""

    def __init__(self, path: Path) -> None:
        self._over: dict[tuple[str, int, int], Any] = {}
        # Ranges are not handed over as the file has them, for their cells will hold other values.
        with patch.object(TypedCells, "alone", lambda *_: False):
            super().__init__(Contents(Package.open(path)), worksheet_callables(), datetime.now())

    def type(self, cells: Typed) -> None:
        """Compute the workbook as it was, with these values in their cells."""
        self._over = {(sheet, row + 1, column + 1): value for sheet, row, column, value in cells}
        self._opened, _ = self.compute()

    def place(self, workbook: Any) -> None:
        super().place(workbook)
        for (sheet, row, column), value in self._over.items():
            at = self.engine.sheets[sheet], row, column
            if str(value).startswith("="):
                workbook.set_formula(*at, value)
            else:
                workbook.set_value(*at, to_engine(value))

    def shown(self, sheet: str, rows: int, columns: Iterable[int]) -> dict[tuple[int, int], Any]:
        """The first cells of some columns, counted from 1."""
        name, columns = self.engine.sheets[sheet], tuple(columns)
        found = {(row, column): from_engine(self._opened.get_value(name, row, column))
                 for row in range(1, rows + 1) for column in columns}  # fmt: skip
        return {place: value for place, value in found.items() if value is not None}
