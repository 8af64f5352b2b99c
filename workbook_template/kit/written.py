"""What has been written into a workbook, as the engine reads it, before there is a file."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from xlfuncs.errors import DeclarationError
from xlfuncs.xlsx.cell_references import Area
from xlfuncs.xlsx.contents import CellValue, Contents, DefinedName, ExcelTable, Sheet
from xlfuncs.xlsx.sheet_cells import Cell, SheetScan

if TYPE_CHECKING:
    from workbook_template.kit.book import Book


class Written(Contents):
    """The cells, names and tables of a book; numbers with the digits that the file will have.

    `values` stand in place of some of its formulas.
    """

    def __init__(
        self, book: "Book", values: Mapping[tuple[str, int, int], Any] | None = None
    ) -> None:
        sheets = book.computed_sheets()
        self.dates_from_1904 = False
        self.sheets = [Sheet(sheet.get_name(), sheet.get_name()) for sheet in sheets]
        self.names = [
            DefinedName(name, formula, None) for name, _, formula, _ in book.workbook.defined_names
        ]
        self.tables = {
            name.lower(): _table(book, name)
            for name in book.headings
            if book.places[name].sheet not in book.aside
        }
        self.shared_strings = list(book.workbook.str_table.string_table)
        self._scans = {sheet.get_name(): _scan(sheet) for sheet in sheets}
        self._cells = {}
        for (sheet, row, column), value in (values or {}).items():
            cells = self._scans[sheet].cells
            at = next(i for i, cell in enumerate(cells) if (cell.row, cell.column) == (row, column))
            cells[at] = _typed(row, column, value)

    def add_scan(self, sheet: Sheet, scan: SheetScan) -> None:
        """Add a sheet with these cells."""
        self.sheets.append(sheet)
        self._scans[sheet.part] = scan

    def typed(self, sheet: str, row: int, column: int) -> CellValue:
        """What was typed into a cell; None where nothing was, or a formula stands there."""
        cell = self.cell_at(sheet, row, column)
        return None if cell is None or cell.formula_start >= 0 else self.value(cell)


def _table(book: "Book", name: str) -> ExcelTable:
    place, headings = book.places[name], book.headings[name]
    left = min(place.columns.values()) + 1
    area = Area(place.sheet, place.first, left, place.last + 1, left + len(headings) - 1)
    return ExcelTable(name, area, tuple(headings.values()), header_rows=1, total_rows=0)


def _scan(sheet: Any) -> SheetScan:
    cells = [
        _cell(row + 1, col + 1, entry)
        for row, entries in sorted(sheet.table.items())
        for col, entry in sorted(entries.items())
    ]
    hidden = {row + 1 for row, look in sheet.row_info.items() if look.hidden}
    return SheetScan(cells, {}, {}, hidden, -1, -1)


def _typed(row: int, column: int, value: Any) -> Cell:
    kind = "b" if isinstance(value, bool) else "str" if isinstance(value, str) else "n"
    text = None if value is None else str(int(value) if kind == "b" else value)
    return Cell(row, column, kind, "", -1, text=text, formula_attributes=_NONE)


_NONE: dict[str, str] = {}  # one for all cells: no formula here has attributes


def _cell(row: int, column: int, entry: Any) -> Cell:
    kind = type(entry).__name__
    if kind == "Formula":
        return Cell(
            row, column, "n", "", -1, formula=entry.formula, formula_attributes=_NONE,
            formula_start=0,
        )  # fmt: skip
    if kind == "Spilled" and entry.formula:
        attributes = {"t": "array", "ref": entry.extent}
        return Cell(
            row, column, "n", "", -1, dynamic=True, formula=entry.formula,
            formula_attributes=attributes, formula_start=0,
        )  # fmt: skip
    if kind == "String":  # its number among the shared strings
        return Cell(row, column, "s", "", -1, text=str(entry.string), formula_attributes=_NONE)
    if kind in ("Number", "Datetime"):
        return Cell(row, column, "n", "", -1, text=f"{entry.number:.16G}", formula_attributes=_NONE)
    if kind == "Boolean":
        text = str(int(entry.boolean))
        return Cell(row, column, "b", "", -1, text=text, formula_attributes=_NONE)
    if kind == "Spilled":  # holds what the formula gives it
        return Cell(row, column, "str", "", -1, text="", formula_attributes=_NONE)
    if kind == "Blank":
        return Cell(row, column, "n", "", -1, formula_attributes=_NONE)
    raise DeclarationError(f"row {row}, column {column}: the template writes no {kind}")
