"""The invented farm's bed list as its grower keeps it: a sheet of his own, or a table."""

from __future__ import annotations

from pathlib import Path

import openpyxl
from openpyxl.chart import BarChart, Reference
from openpyxl.styles import PatternFill
from openpyxl.worksheet.table import Table

from workbook_template.kit.inputs import Inputs
from xlfuncs.hosts.cells import worksheet_callables
from xlfuncs.tables.garden.beds import BEDS
from xlfuncs.workbooks.adding_columns.adding import AddedColumns, add_columns
from xlfuncs.workbooks.adding_columns.serving import columns_of_lists
from xlfuncs.workbooks.lists.mapping import mapping_from

COLUMNS = [column for column in BEDS.columns if column.name != "notes"]
HEADER = 3


def write_list(path: Path, inputs: Inputs, system: str, *, table: bool = False) -> Path:
    """The beds under a title, with colors, a filter or a table, a chart and a sheet of notes."""
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "My beds"
    sheet["A1"] = "Invented farm, 2026"
    for place, column in enumerate(COLUMNS, 1):
        sheet.cell(HEADER, place, column.heading(system)).fill = PatternFill("solid", "DDEEDD")
    rows = inputs.tables["Beds"]
    for number, row in enumerate(rows, HEADER + 1):
        for place, column in enumerate(COLUMNS, 1):
            value = row.get(column.name)
            sheet.cell(number, place, ("no", "yes")[value] if isinstance(value, bool) else value)
    area = f"A{HEADER}:{sheet.cell(HEADER + len(rows), len(COLUMNS)).coordinate}"
    if table:
        sheet.add_table(Table(displayName="Ours", ref=area))
    else:
        sheet.auto_filter.ref = area
    chart = BarChart()
    chart.add_data(Reference(sheet, min_col=4, min_row=HEADER, max_row=HEADER + len(rows)))
    sheet.add_chart(chart, "B30")
    book.create_sheet("Notes")["A1"] = "=SUM('My beds'!C4:C9)"
    book.save(path)
    return path


def added(path: Path, sheet: str = "", **answers: object) -> AddedColumns:
    mapping = mapping_from(answers, "test", columns_of_lists())
    return add_columns(path, sheet, worksheet_callables(), mapping)


def columns_in(path: Path, header: int = HEADER) -> dict[str, list[object]]:
    """The saved values by heading, of the first sheet."""
    sheet = openpyxl.load_workbook(path, data_only=True).worksheets[0]
    return {
        str(cell.value): [sheet.cell(row, cell.column).value
                          for row in range(header + 1, sheet.max_row + 1)]
        for cell in sheet[header] if cell.value
    }  # fmt: skip
