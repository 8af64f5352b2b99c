"""The cells of a workbook in which something is typed, by column.

A range of them alone need not travel through the engine to a function of ours, which takes longer
than what most functions compute: it is handed over from here.
"""

import math
from collections import defaultdict
from collections.abc import Iterable

from xlfuncs.errors import CellError
from xlfuncs.xlsx.cell_references import Area
from xlfuncs.xlsx.contents import CellValue, Contents
from xlfuncs.xlsx.sheet_cells import Cell

_Columns = dict[tuple[str, int], dict[int, Cell]]


class TypedCells:
    def __init__(
        self,
        contents: Contents,
        inputs: Iterable[tuple[str, Cell]],
        formulas: Iterable[tuple[str, Cell]],
    ) -> None:
        self.contents = contents
        self.columns: _Columns = defaultdict(dict)
        for sheet, cell in inputs:
            self.columns[sheet, cell.column][cell.row] = cell
        self._computed: dict[tuple[str, int], list[int]] = defaultdict(list)  # rows
        self._filled = set()  # sheets where an array formula may reach further than it states
        for sheet, cell in formulas:
            self._computed[sheet, cell.column].append(cell.row)
            if cell.formula_attributes.get("t") in ("array", "dataTable"):
                self._filled.add(sheet)
        # By kind and text, for most of them repeat.
        self.values: dict[tuple[str, str | None], CellValue] = {}
        self._values_in: dict[tuple[str, int], dict[int, CellValue]] = {}
        self._rows: dict[Area, list[list[CellValue]]] = {}

    def values_in(self, sheet: str, column: int) -> dict[int, CellValue]:
        """The values of a column by row, read once."""
        if (sheet, column) not in self._values_in:
            cells = self.columns.get((sheet, column), {})
            keys = [(cell.kind, cell.text) for cell in cells.values()]
            for key, cell in zip(keys, cells.values(), strict=True):
                if key not in self.values:
                    value = self.contents.value(cell)
                    finite = not isinstance(value, float) or math.isfinite(value)
                    self.values[key] = value if finite else CellError.NUMBER
            values = map(self.values.__getitem__, keys)
            self._values_in[sheet, column] = dict(zip(cells, values, strict=True))
        return self._values_in[sheet, column]

    def alone(self, area: Area) -> bool:
        """Whether nothing is computed in the area, and something is typed in its last row."""
        columns = range(area.first_column, area.last_column + 1)
        places = [(area.sheet, column) for column in columns]
        if area.sheet in self._filled or not any(
            area.last_row in self.columns.get(place, ()) for place in places
        ):
            return False
        computed = (row for place in places for row in self._computed.get(place, ()))
        return not any(area.first_row <= row <= area.last_row for row in computed)

    def rows(self, area: Area) -> list[list[CellValue]]:
        """The values of an area, always the same lists."""
        if area not in self._rows:
            rows = range(area.first_row, area.last_row + 1)
            columns = (self.values_in(area.sheet, column)
                       for column in range(area.first_column, area.last_column + 1))  # fmt: skip
            values = (map(column.get, rows) for column in columns)
            self._rows[area] = [*map(list, zip(*values, strict=True))]
        return self._rows[area]
