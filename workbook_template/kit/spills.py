"""Functions on the whole in a workbook for Excel: each is called once, and its answer spills.

Excel computes such a function anew for each cell that names it, and fetches every range of its
arguments again each time. So a block that shows an answer gets one formula that spills. Where a
sheet has put its own conditions around the cells, or its own formulas over some of them, the
function spills on the sheet Results, and the cells read from there.

Each formula fills a fixed number of cells, blanks below the answer included. So it never runs into
what stands below, formulas that read the block find the same as in a workbook for other programs,
and Excel 2019, which keeps the extent that it finds, shows rows that are added later.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from xlsxwriter.utility import xl_range_abs

from workbook_template.kit.worksheet import TemplateSheet
from xlfuncs.catalogue.declaration import WorksheetFunction
from xlfuncs.catalogue.registry import functions

if TYPE_CHECKING:
    from workbook_template.kit.book import Book
    from workbook_template.kit.page import Page

SHEET = "Results"
COLUMNS = 24  # of the widest answer
_READ = re.compile(r"INDEX\((?=([A-Z][A-Z0-9_]*)\()")
_POSITION = re.compile(r",(?:\(ROW\(\)-(\d+)\)|(\d+))(?:,\d+)?\)")
# Cells without a sheet. Texts, brackets and names of sheets come first, so that nothing in them
# is taken for a cell.
_OWN_CELLS = re.compile(
    r""""(?:[^"]|"")*"|\[[^\[\]]*\]|'(?:[^']|'')*'!\$?[A-Z]+\$?\d+(?::\$?[A-Z]+\$?\d+)?"""
    r"""|(?<![\w.$])(\$?[A-Z]{1,3}\$?\d+(?::\$?[A-Z]{1,3}\$?\d+)?)(?![\w.!(])"""
)


class Whole:
    """A block that shows the answer of one function on the whole."""

    def __init__(
        self, sheet: TemplateSheet, formula: str, count: str, first: tuple[int, int],
        size: tuple[int, int], dash: bool,
    ) -> None:  # fmt: skip
        self.sheet, self.formula, self.count, self.dash = sheet, formula, count, dash
        self.first, self.last = first, (first[0] + size[0] - 1, first[1] + size[1] - 1)
        self._written = list(self._cells())

    def _cells(self) -> Iterator[Any]:
        for row in range(self.first[0], self.last[0] + 1):
            for col in range(self.first[1], self.last[1] + 1):
                yield self.sheet.table[row][col]

    def spill(self) -> None:
        """One formula for the block, unless a sheet has put something else into it since."""
        if all(now is then for now, then in zip(self._cells(), self._written, strict=True)):
            row, col = _counted(self.first, self.last)
            found = f"INDEX({self.formula},{row},{col})"
            shown = f'IF({found}="","–",{found})' if self.dash else found
            formula = f'IF({row}+0*{col}>{self.count},"",{shown})'
            self.sheet.spill(self.first, self.last, formula)


@dataclass
class _Read:
    """A call of a function on the whole that cells of one sheet read with INDEX."""

    function: WorksheetFunction
    rows: int = 0  # the last row of the answer that is read
    cells: list[tuple[int, int]] = field(default_factory=list)


def spill(book: Book) -> None:
    """Let every function on the whole that is read more than once spill."""
    for whole in book.wholes:
        whole.spill()
    page: Page | None = None
    taken: dict[str, int] = defaultdict(int)
    for sheet in list(book.workbook.worksheets()):
        for call, read in _reads(book, sheet).items():
            if len(read.cells) < 2:
                continue
            page = page or book.page(
                SHEET, SHEET,
                "Nothing to fill in: what functions answer that read whole tables, for the other"
                " sheets. A pale error means that inputs are missing; those sheets say which.",
                widths=(11,) * COLUMNS,
            )  # fmt: skip
            taken[read.function.name] += 1
            number = f"_{taken[read.function.name]}" if taken[read.function.name] > 1 else ""
            name = f"{read.function.name.lower()}_result{number}"
            _write(page, sheet.get_name(), call, read, name)
            for row, col in read.cells:
                entry = sheet.table[row][col]
                formula = entry.formula.replace(f"INDEX({call},", f"INDEX({name},")
                sheet.table[row][col] = entry._replace(formula=formula)


def _write(page: Page, sheet: str, call: str, read: _Read, name: str) -> None:
    """A function's answer with its headings, and the name by which cells read it."""
    results = read.function.results
    page.section(f"{read.function.name}, for the sheet {sheet}")
    headers = [(r.name.replace("_", " ").capitalize(), r.dimension) for r in results]
    words = {i: page.styles.aside for i, r in enumerate(results) if r.dimension == "text"}
    first = page.grid(headers, [["0"] * len(results)] * read.rows, styles=words)
    last = (first + read.rows - 1, len(results) - 1)
    row, col = _counted((first, 0), last)
    there = _OWN_CELLS.sub(lambda cell: f"'{sheet}'!{cell[1]}" if cell[1] else cell[0], call)
    found = f'IFERROR(INDEX({there},{row},{col}),"")'
    page.sheet.spill((first, 0), last, f'IF({row}+0*{col}>ROWS({there}),"",{found})')
    page.sheet.conditional_format(first, 0, *last, {"type": "errors", "format": page.styles.pale})
    page.book.workbook.define_name(name, f"='{SHEET}'!{xl_range_abs(first, 0, *last)}")


def _counted(first: tuple[int, int], last: tuple[int, int]) -> tuple[str, str]:
    """Formulas for the numbers of the rows and the columns of a block, counted from 1."""
    row = f"ROW({xl_range_abs(first[0], first[1], last[0], first[1])})-{first[0]}"
    col = f"COLUMN({xl_range_abs(first[0], first[1], first[0], last[1])})"
    return row, f"({col}-{first[1]})" if first[1] else col


def _reads(book: Book, sheet: TemplateSheet) -> dict[str, _Read]:
    """The calls that may spill elsewhere, each the same in all its cells.

    Not those of a table: a row that is typed below it reads further down, where nothing has
    spilled. Nor those that depend on the row of their cell.
    """
    found: dict[str, _Read] = {}
    refused: set[str] = set()
    tables = [place for name in book.headings if (place := book.places[name]).sheet == sheet.name]
    for row, entries in sheet.table.items():
        here = [place.columns.values() for place in tables if place.first <= row <= place.last]
        for col, entry in entries.items():
            formula = getattr(entry, "formula", "")
            if any(col in columns for columns in here):
                continue
            for start, function in _whole_calls(formula):
                call = next((c for c in found if formula.startswith(c + ",", start)), "")
                call = call or formula[start : _end(formula, start)]
                at = _POSITION.match(formula, start + len(call))
                if at is None or "ROW()" in call or "[#This Row]" in call:
                    refused.add(call)
                    continue
                read = found.setdefault(call, _Read(function))
                read.rows = max(read.rows, row + 1 - int(at[1]) if at[1] else int(at[2]))
                read.cells.append((row, col))
    return {call: read for call, read in found.items() if call not in refused}


def _whole_calls(formula: str) -> Iterator[tuple[int, WorksheetFunction]]:
    """Where functions on the whole are read with INDEX in a formula."""
    for match in _READ.finditer(formula):
        function = functions().get(match[1])
        if function is not None and not function.elementwise:
            yield match.end(), function


def _end(formula: str, start: int) -> int:
    """Where a call ends that starts there."""
    depth, quoted = 0, False
    for at in range(start, len(formula)):
        sign = formula[at]
        if sign == '"':
            quoted = not quoted
        elif not quoted and sign in "()":
            depth += 1 if sign == "(" else -1
            if depth == 0:
                return at + 1
    return len(formula)
