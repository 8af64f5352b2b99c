"""Rows typed below those of an input table; where it is full the table grows.

Typed cells keep the look of their row. A row that is added has the look and the formulas of the
table's last; what is said of cells down to that row (validation, conditional formats) goes on.
What else may change in the file is written down in ROWS_MAY_CHANGE, and the tests compare.
"""

import datetime as dt
import re
from collections.abc import Callable, Mapping, Sequence
from functools import cache
from typing import Any

from xlfuncs.errors import WorkbookError
from xlfuncs.workbooks.adding_columns.new_cells import NewCells
from xlfuncs.workbooks.formulas.formula_cells import Position
from xlfuncs.workbooks.formulas.origins import with_offsets
from xlfuncs.workbooks.our_tables.read_inputs import Reading
from xlfuncs.workbooks.our_tables.table_cells import TableInWorkbook
from xlfuncs.workbooks.recalculating.collecting import collection_put_off
from xlfuncs.xlsx.cell_references import cell_name, parse_area
from xlfuncs.xlsx.draft import Draft

ROWS_MAY_CHANGE = {
    "the worksheet part of the table's sheet": (
        "the cells that are typed; of rows that the table grows by, all their cells; the extents"
        " of validations and conditional formats that ended with it, and of the sheet"
    ),
    "the table's part": "its extent, and its filter's",
    "worksheet part of the settings": "a setting that was blank and is typed",
    "worksheet parts": "computed values, as in RECALCULATION_MAY_CHANGE",
}
_SQREF = re.compile(rb'(\ssqref=")([^"]*)')


@collection_put_off()
def with_rows(
    reading: Reading, content: bytes, name: str, rows: Sequence[Mapping[str, Any]],
    changed: Mapping[int, Mapping[str, Any]], beside: Mapping[Position, Any] | None = None,
) -> bytes:  # fmt: skip
    """The workbook with rows below the last filled one, and cells of rows (by number) replaced;
    `beside` are single cells that are typed, such as a setting.

    Values wait to be computed. Raises WorkbookError where a table that must grow has no room.
    """
    table = reading.tables[name]
    area, cells = table.placed.area, NewCells(reading.contents, content)
    first = table.header_row + table.placed.header_rows + len(reading.inputs.tables[name])
    last = area.last_row - table.placed.total_rows
    need = first + len(rows) - 1

    columns = range(area.first_column, area.last_column + 1)
    above = {c: reading.contents.cell_at(table.sheet, last, c) for c in columns}
    styles = {column: cell.style if cell else "" for column, cell in above.items()}

    serials = cache(lambda day: reading.contents.serial(dt.datetime.combine(day, dt.time())))
    inside = max(last + 1 - first, 0)
    for number, typed in {**changed, **dict(enumerate(rows[:inside], first))}.items():
        for key, value in typed.items():
            if key in table.places and value not in (None, ""):
                column = table.places[key]
                there = reading.contents.cell_at(table.sheet, number, column)
                cells.put(table.sheet, number, column, _typed(value, serials),
                          style=there.style if there else styles[column])  # fmt: skip
    for place, value in (beside or {}).items():
        there = reading.contents.cell_at(*place)
        cells.put(*place, value, style=there.style if there else "")
    if need <= last:
        return cells.written({})
    _refuse_without_room(reading, table, last, need)
    formulas = _formulas(reading, table, last)
    names = {column: name for name, column in table.places.items()}
    for column in columns:
        values = [_typed(row.get(names.get(column, "")), serials) for row in rows[inside:]]
        cells.put_down(table.sheet, last + 1, column, values, formula=formulas.get(column),
                       style=styles[column])  # fmt: skip
    return _grown(Draft(content, reading.contents.package.name), cells.parts({}),
                  reading, table, need)  # fmt: skip


def _typed(value: Any, serial: Callable[[dt.date], float]) -> Any:
    """As the file keeps it: a date as its number, yes and no in words."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return serial(value) if isinstance(value, dt.date) else None if value == "" else value


def _refuse_without_room(reading: Reading, table: TableInWorkbook, last: int, need: int) -> None:
    area = table.placed.area
    below = area._replace(first_row=last + 1, last_row=need)
    scan = reading.contents.scan(reading.contents.sheet(table.sheet))
    filled = (c for c in scan.cells if c.row > last and (c.text or c.formula is not None))
    if table.placed.total_rows or any(below.holds(below.sheet, c.row, c.column) for c in filled):
        raise WorkbookError(
            f"{table.sheet}: the table {table.table.name} needs {need - last} rows more, and"
            " something stands below it; move that, or insert rows above the table's last"
        )


def _formulas(reading: Reading, table: TableInWorkbook, last: int) -> dict[int, str]:
    """The formula of each column that has one, its rows counted from its own: the table's, else
    that of its last row."""
    found = {}
    for column in range(table.placed.area.first_column, table.placed.area.last_column + 1):
        cell = reading.contents.cell_at(table.sheet, last, column)
        if cell is not None and cell.formula:
            found[column] = cell.formula
    root = reading.contents.package.tree(table.placed.part)
    listed = root.iterfind("tableColumns/tableColumn")
    for column, element in enumerate(listed, table.placed.area.first_column):
        own = element.find("calculatedColumnFormula")
        if own is not None and own.text:
            found[column] = own.text
    return {column: with_offsets(formula, last) for column, formula in found.items()}


def _grown(
    draft: Draft, parts: Mapping[str, bytes], reading: Reading, table: TableInWorkbook, need: int
) -> bytes:
    """The table, its filter, and what is said of its columns down to its last row, made longer."""
    area = table.placed.area
    for part, content in parts.items():
        draft.write(part, content)

    def longer(reference: str) -> str:
        found = parse_area(reference, "")
        if (found is None or found.last_row != area.last_row
                or not area.first_column <= found.first_column <= area.last_column):  # fmt: skip
            return reference
        start = cell_name(found.first_row, found.first_column)
        return f"{start}:{cell_name(need, found.last_column)}"

    part = table.placed.part
    text = re.sub(r'(<(?:table|autoFilter)\s[^>]*?\bref=")([^"]+)',
                  lambda m: m[1] + longer(m[2]), draft.read(part).decode())  # fmt: skip
    draft.write(part, text.encode())
    part = reading.contents.sheet(table.sheet).part
    head, tail = draft.read(part).split(b"</sheetData>", 1)
    tail = _SQREF.sub(
        lambda m: m[1] + " ".join(map(longer, m[2].decode().split(" "))).encode(), tail
    )
    draft.write(part, head + b"</sheetData>" + tail)
    return draft.result()
