"""What is wrong or doubtful in the input tables of a workbook, cell by cell."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from xlfuncs.catalogue.arguments import is_blank, read_one
from xlfuncs.catalogue.doubts import doubt_of_argument
from xlfuncs.catalogue.table_rows import as_argument
from xlfuncs.errors import InputError
from xlfuncs.tables.columns import Column
from xlfuncs.units import DIMENSIONS
from xlfuncs.workbooks.our_tables.findings import DOUBTFUL, NOTE, WRONG, Finding
from xlfuncs.workbooks.our_tables.table_cells import Row, TableInWorkbook, column_of
from xlfuncs.xlsx.contents import CellValue

# The least flow (m³/s) that an emitter of drip lines is sold with is far above this (0.2 L/h).
_TINY_EMITTER_FLOW = 0.2e-3 / 3600


def read_cell(column: Column, value: CellValue, system: str) -> Any:
    """The value in base units, None for a blank; InputError where it cannot be used."""
    return read_one(as_argument(column), value, system)


def base_or_none(table: TableInWorkbook, row: Row, name: str, system: str) -> Any:
    """The same for a row's column, None also where it is missing or cannot be used."""
    if name not in table.places:
        return None
    column = table.table[name]
    try:
        base = read_cell(column, row.cells.get(name), system)
    except InputError:
        return None
    return column.default if base is None else base


def check_headers(table: TableInWorkbook, system: str) -> Iterator[Finding]:
    """Headers whose unit is not the workbook's, and required columns that are missing."""
    for i, header in enumerate(table.placed.columns):
        match = column_of(header, table.table)
        place = table.placed.area.first_column + i
        if match is None or table.places.get(match[0].name) != place:
            continue
        column, stated = match
        unit = column.unit(system)
        if stated != unit and (stated or unit):
            words = f"is headed {header!r}, but plain numbers here are read as {unit or 'numbers'}"
            if not stated:
                words = f"is headed {header!r} without its unit; plain numbers are read as {unit}"
            kind = WRONG if stated else DOUBTFUL
            yield Finding(kind, table.sheet, table.header_row, place, words)
    for column in table.table.columns:
        if column.required and column.name not in table.places:
            words = f"the table {table.table.name} has no column {column.heading(system)!r}"
            yield Finding(
                WRONG, table.sheet, table.header_row, table.placed.area.first_column, words
            )


def check_cells(table: TableInWorkbook, system: str) -> Iterator[Finding]:
    """Every input cell against its column: units, limits, blanks, and what looks like a slip."""
    for row in table.rows():
        for name, place in table.places.items():
            column = table.table[name]
            for kind, words in words_on_cell(column, row.cells.get(name), system):
                yield Finding(kind, table.sheet, row.number, place, words)


def words_on_cell(column: Column, value: CellValue, system: str) -> Iterator[tuple[str, str]]:
    """Each thing to say of one input cell, with its kind."""
    if is_blank(value):
        if column.required:
            yield WRONG, f"{column.header} is blank"
        return
    try:
        base = read_cell(column, value, system)
    except InputError as error:
        yield WRONG, str(error)
        return
    inside = not column.name.startswith("outside")  # a nominal size often is the outside
    if inside and (words := doubt_of_argument(as_argument(column), base)):
        yield DOUBTFUL, f"{column.header}: {words}"
    if column.dimension == "emitter_flow" and 0 < base < _TINY_EMITTER_FLOW:
        yield (
            DOUBTFUL,
            (
                f"{column.header}: very little for an emitter; is it in"
                f" {'gpm' if system == 'us' else 'L/min'} where"
                f" {DIMENSIONS['emitter_flow'].unit(system)} is wanted?"
            ),
        )


def check_not_counted(table: TableInWorkbook) -> Iterator[Finding]:
    """Rows that the workbook itself leaves out of its totals, with its own reason."""
    first = table.table.columns[0].name
    for row in table.rows():
        counted = str(table.other("Counted", row.number) or "").casefold()
        if counted not in ("no", "off"):
            continue
        reason = "it is off" if counted == "off" else str(table.other("Check", row.number) or "")
        name = row.text(first) or f"row {row.number}"
        words = f"{name} is not counted in any total: {reason}"
        yield Finding(NOTE, table.sheet, row.number, table.places.get(first, 1), words)
