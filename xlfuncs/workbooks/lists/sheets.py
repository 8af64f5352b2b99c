"""The sheets of a workbook as lines: computed values, units that formats show, merged cells."""

import datetime as dt
import re
from collections import defaultdict
from typing import Any

from xlfuncs.errors import WorkbookError
from xlfuncs.workbooks.lists.lines import FileLine, ListFile, Measured, tidy
from xlfuncs.workbooks.lists.questions import Question
from xlfuncs.xlsx.cell_references import Area, parse_area
from xlfuncs.xlsx.cell_styles import CellStyles
from xlfuncs.xlsx.contents import CellValue, Contents, Sheet
from xlfuncs.xlsx.package import Package, parse_xml
from xlfuncs.xlsx.sheet_cells import Cell, element_end

_UNIT_IN_FORMAT = re.compile(r'(?:[0#?]|General)\\?\s*"([^"]*\S[^"]*)"\s*$')  # as in 0.0" ft"
_QUOTED = re.compile(r'"[^"]*"|\\.|\[[^\]]*\]')
_DATES = {*range(14, 23), *range(27, 37), *range(45, 48), *range(50, 59)}  # built-in formats
_PER_CENT = {9, 10}
HIDDEN = ("read", "leave out")


class Grid:
    """One sheet: its cells by place, which are merged, and which columns are hidden."""

    def __init__(self, contents: Contents, sheet: Sheet) -> None:
        self.contents = contents
        self.sheet = sheet
        self.scan = scan = contents.scan(sheet)
        self.cells = {(c.row, c.column): c for c in scan.cells}
        self._columns: dict[int, list[int]] = defaultdict(list)  # of the cells of a row
        for row, column in sorted(self.cells):
            self._columns[row].append(column)
        content = contents.package.read(sheet.part)
        end = element_end(content, scan.data_start, scan.data_end)
        root = parse_xml(content[: scan.data_start] + content[end:], sheet.name)
        found = (
            parse_area(m.get("ref", ""), sheet.name) for m in root.iterfind("mergeCells/mergeCell")
        )
        self.merged: list[Area] = [area for area in found if area is not None]
        self.hidden_columns = [
            range(int(c.get("min", "1")), int(c.get("max", "1")) + 1)
            for c in root.iterfind("cols/col")
            if c.get("hidden") in ("1", "true")
        ]
        self.last_row = max((row for row, _ in self.cells), default=0)

    def value(self, row: int, column: int) -> CellValue:
        cell = self.cells.get((row, column))
        return None if cell is None else self.contents.value(cell)

    def formula(self, row: int, column: int) -> str | None:
        cell = self.cells.get((row, column))
        if cell is None or cell.formula_start < 0:
            return None
        return cell.formula or ""

    def is_empty(self, row: int, column: int) -> bool:
        blank = self.value(row, column) in (None, "")
        return blank and self.formula(row, column) is None

    def in_row(self, row: int) -> list[int]:
        """Columns of the row that hold something, from the left."""
        return [c for c in self._columns.get(row, ()) if not self.is_empty(row, c)]

    def seen_from(self, column: int) -> int:
        """The column itself, or the first one to its right that is not hidden."""
        while any(column in hidden for hidden in self.hidden_columns):
            column += 1
        return column


def read_sheets(name: str, data: bytes, wanted: str = "") -> list[ListFile]:
    """Every sheet that holds something, or the one that is wanted."""
    contents = Contents(Package.open(data, name))
    sheets = [contents.sheet(wanted)] if wanted else contents.sheets
    shown = [s for s in sheets if wanted or s.name not in contents.hidden_sheets]
    found = [as_lines(Grid(contents, sheet)) for sheet in shown]
    filled = [file for file in found if not all(line.blank for line in file.lines)]
    if not filled:
        raise WorkbookError(f"{name}: no sheet holds a list")
    return filled


def as_lines(grid: Grid) -> ListFile:
    """A sheet's rows as lines, from the first to the last."""
    shown = _Shown(grid.contents)
    lines = []
    hidden = sorted(grid.scan.hidden_rows)
    for row in range(1, grid.last_row + 1):
        columns = grid.in_row(row)
        cells: list[Any] = [None] * max(columns, default=0)
        formulas = {}
        for column in columns:
            cells[column - 1] = shown.value(grid.cells[row, column])
            if (formula := grid.formula(row, column)) is not None:
                formulas[column - 1] = formula
        lines.append(FileLine(row, tuple(cells), formulas, row in grid.scan.hidden_rows))
    questions: tuple[Question, ...] = ()
    kept = [line.number for line in lines if line.hidden and not line.blank]
    if hidden and kept:
        words = f"Rows {', '.join(map(str, kept))} are hidden. Do they belong to the list?"
        questions = (Question(("hidden_rows",), words, HIDDEN),)
    across = frozenset(
        (area.first_row, column - 1)
        for area in grid.merged
        for column in range(area.first_column, area.last_column + 1)
        if area.last_column > area.first_column
    )
    down = {
        (row, area.first_column - 1): shown.value(cell)
        for area in grid.merged
        if (cell := grid.cells.get((area.first_row, area.first_column)))
        for row in range(area.first_row + 1, area.last_row + 1)
    }
    return ListFile(tuple(lines), (), questions, grid.sheet.name, across, down)


class _Shown:
    """Cells as their formats show them: days as dates, numbers with the unit behind them."""

    def __init__(self, contents: Contents) -> None:
        self.contents = contents
        self.styles = CellStyles(contents)
        self.zero = dt.date(1904, 1, 1) if contents.dates_from_1904 else dt.date(1899, 12, 30)

    def value(self, cell: Cell) -> Any:
        value = tidy(self.contents.value(cell))
        if not isinstance(value, float) or not cell.style:
            return value
        number = self.styles.format_of(cell.style)
        code = self.styles.codes.get(number, "").split(";")[0]
        if number in _PER_CENT or code.rstrip().endswith("%"):
            return Measured(float(f"{value * 100:.12g}"), "%")
        if number in _DATES or (code and re.search("[dmyhs]", _QUOTED.sub("", code).lower())):
            return self.zero + dt.timedelta(days=int(value)) if 0 < value < 2958466 else value
        match = _UNIT_IN_FORMAT.search(code)
        return Measured(value, match[1].strip()) if match else value
