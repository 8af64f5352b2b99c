"""Finding the list of beds on a sheet of any layout: its header row, its rows, its end.

Nothing is guessed: where two readings are possible, a question is returned instead.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from xml.etree import ElementTree

from xlfuncs.xlsx.cell_references import Area, column_letters, parse_area
from xlfuncs.xlsx.contents import CellValue, Contents, Sheet
from xlfuncs.xlsx.package import parse_xml
from xlfuncs.xlsx.sheet_cells import element_end

_TOTAL = re.compile(r"\b(sub-?|grand )?totals?\b|^(sum|average|mean)\b", re.IGNORECASE)
_SUMMING = re.compile(r"\b(SUM|SUBTOTAL|AVERAGE)\s*\(", re.IGNORECASE)
_UNIT_IN_BRACKETS = re.compile(r"^(.*?)\s*[(\[]\s*([^()\[\]]+?)\s*[)\]]\s*$", re.DOTALL)
_UNIT_AFTER_COMMA = re.compile(r"^(.*?)\s*,\s*([^,]+?)\s*$", re.DOTALL)


@dataclass(frozen=True)
class Heading:
    """One header cell: the words and the unit that stands in it ('' without one)."""

    column: int
    text: str
    words: str
    unit: str


@dataclass(frozen=True)
class Question:
    """Something that only the owner of the sheet can answer, and the mapping line that does."""

    words: str
    answer: str

    def __str__(self) -> str:
        return f"{self.words}\n    in the mapping file: {self.answer}"


class Grid:
    """The cells of one sheet by place, with their stored values."""

    def __init__(self, contents: Contents, sheet: Sheet) -> None:
        self.contents = contents
        self.sheet = sheet
        scan = contents.scan(sheet)
        self.cells = {(c.row, c.column): c for c in scan.cells}
        self._columns: dict[int, list[int]] = defaultdict(list)  # of the cells of a row
        for row, column in sorted(self.cells):
            self._columns[row].append(column)
        content = contents.package.read(sheet.part)
        end = element_end(content, scan.data_start, scan.data_end)
        root = parse_xml(content[: scan.data_start] + content[end:], sheet.name)
        self.merged = _merged(root, sheet.name)
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

    def headings(self, row: int) -> list[Heading]:
        found = []
        for column in self.in_row(row):
            value = self.value(row, column)
            if isinstance(value, str) and value.strip():
                found.append(heading(column, value))
        return found

    def seen_from(self, column: int) -> int:
        """The column itself, or the first one to its right that is not hidden."""
        while any(column in hidden for hidden in self.hidden_columns):
            column += 1
        return column

    def is_total(self, row: int, columns: Sequence[int]) -> bool:
        """A row that sums up the others: by its words, or by the formulas under the columns."""
        for column in self.in_row(row):
            value = self.value(row, column)
            typed = isinstance(value, str) and self.formula(row, column) is None
            if typed and _TOTAL.search(str(value)):
                return True
        return any(_SUMMING.search(self.formula(row, column) or "") for column in columns)


def heading(column: int, text: str) -> Heading:
    """`Length (ft)` -> words `length`, unit `ft`; also `Length [ft]` and `Length, ft`."""
    for pattern in (_UNIT_IN_BRACKETS, _UNIT_AFTER_COMMA):
        match = pattern.match(text.strip())
        if match is not None:
            return Heading(column, text, plain_words(match[1]), match[2].strip())
    return Heading(column, text, plain_words(text), "")


def plain_words(text: str) -> str:
    """Lower case, with single spaces for all signs: `Bed-length:` -> `bed length`."""
    return " ".join(re.findall(r"[^\W_]+", text.lower()))


def header_row(grid: Grid, wanted: Mapping[str, object]) -> int | Question:
    """The row whose headings name most of the wanted columns (by their plain words)."""
    scores: dict[int, int] = {}
    for row in sorted({row for row, _ in grid.cells}):
        named = {h.words for h in grid.headings(row)} & wanted.keys()
        if named:
            scores[row] = len(named)
    if not scores:
        return Question(
            f"No row of {grid.sheet.name} has headers that were recognised; which one is it?",
            "header_row = 3",
        )
    best = max(scores.values())
    rows = [row for row, score in scores.items() if score == best]
    if len(rows) > 1:
        listed = ", ".join(map(str, rows))
        return Question(f"Rows {listed} could all be the headers; which one?", "header_row = 3")
    return rows[0]


def data_rows(
    grid: Grid, header: int, columns: Sequence[int], last: int | None
) -> tuple[list[int], Question | None]:
    """The rows of the list below its header, from the columns that the functions read.

    The list ends at the first row without anything in these columns, or at a total row. Numbers
    further down raise a question.
    """
    if last is not None:
        return list(range(header + 1, last + 1)), None
    rows = []
    row = header + 1
    while row <= grid.last_row and _has_any(grid, row, columns) and not grid.is_total(row, columns):
        rows.append(row)
        row += 1
    below = [
        r
        for r in range(row, grid.last_row + 1)
        if not grid.is_total(r, columns)
        and any(isinstance(grid.value(r, c), float) for c in columns)
    ]
    if below and rows:
        names = ", ".join(column_letters(c) for c in columns)
        question = Question(
            f"The list seems to end in row {rows[-1]}, but row {below[0]} has numbers in the "
            f"columns {names} too; which row is the last?",
            f"last_row = {rows[-1]}",
        )
        return rows, question
    return rows, None


def _has_any(grid: Grid, row: int, columns: Sequence[int]) -> bool:
    return any(not grid.is_empty(row, column) for column in columns)


def _merged(root: ElementTree.Element, sheet: str) -> list[Area]:
    areas = [parse_area(m.get("ref", ""), sheet) for m in root.iterfind("mergeCells/mergeCell")]
    return [area for area in areas if area is not None]
