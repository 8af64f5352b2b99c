"""Our input tables as they stand in a workbook, found by their names and headers."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache

from xlfuncs.catalogue.findings.given import GivenTable, Row, column_of, without_unit
from xlfuncs.tables.all_tables import TABLES
from xlfuncs.tables.columns import Table
from xlfuncs.workbooks.formulas.formula_cells import Position
from xlfuncs.workbooks.our_tables.findings import CellValues
from xlfuncs.xlsx.cell_references import Area, parse_area, split_sheet
from xlfuncs.xlsx.contents import CellValue, Contents, ExcelTable


@lru_cache(maxsize=1)
def declared_tables() -> dict[str, Table]:
    """Every input table of the package by its lower-case name."""
    return {table.name.lower(): table for table in TABLES}


@dataclass(frozen=True)
class TableInWorkbook:
    """A declared table with the sheet column of each of its columns that is there."""

    table: Table
    placed: ExcelTable
    places: Mapping[str, int]
    others: Mapping[str, int]  # headers that are not of the declaration, such as computed columns
    values: CellValues

    @property
    def sheet(self) -> str:
        return self.placed.area.sheet

    @property
    def header_row(self) -> int:
        return self.placed.area.first_row

    def rows(self) -> Iterator[Row]:
        """Rows in which any input cell is filled, not counting a note."""
        cells = self.values.get(self.sheet, {})
        top = self.placed.area.first_row + self.placed.header_rows
        for number in range(top, self.placed.area.last_row - self.placed.total_rows + 1):
            row = {name: cells.get((number, column)) for name, column in self.places.items()}
            if (filled := Row(number, row)).begun:
                yield filled

    def given(self, system: str) -> GivenTable:
        """The same for whoever looks for findings; rows have their numbers on the sheet."""
        return GivenTable(self.table, self.placed.columns, tuple(self.rows()), system)

    def other(self, header: str, row: int) -> CellValue:
        """The cell of a column that is not of the declaration, by its header without unit."""
        for text, column in self.others.items():
            if without_unit(text).casefold() == header.casefold():
                return self.values.get(self.sheet, {}).get((row, column))
        return None


def tables_in(contents: Contents, values: CellValues) -> dict[str, TableInWorkbook]:
    """The declared tables that the workbook holds, by their declared names."""
    found = {}
    for lower, placed in contents.tables.items():
        table = declared_tables().get(lower)
        if table is None:
            continue
        places: dict[str, int] = {}
        others: dict[str, int] = {}
        for i, header in enumerate(placed.columns):
            match = column_of(header, table)
            if match and match[0].name not in places:
                places[match[0].name] = placed.area.first_column + i
            else:
                others[header] = placed.area.first_column + i
        found[table.name] = TableInWorkbook(table, placed, places, others, values)
    return found


def named_areas(contents: Contents) -> dict[str, Area]:
    """The cells that names of the whole workbook stand for, by lower-case name."""
    found = {}
    for name in contents.names:
        sheet, rest = split_sheet(name.text)
        area = parse_area(rest, sheet or "") if name.sheet is None else None
        if area is not None:
            found[name.name.lower()] = area
    return found


def named_cells(contents: Contents) -> dict[str, Position]:
    """Those of them that are one cell."""
    return {name: (area.sheet, area.first_row, area.first_column)
            for name, area in named_areas(contents).items() if area.single}  # fmt: skip


def cell_value(contents: Contents, place: Position) -> CellValue:
    cell = contents.cell_at(*place)
    return None if cell is None else contents.value(cell)
