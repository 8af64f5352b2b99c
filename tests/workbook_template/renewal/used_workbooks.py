"""A workbook after a year of use: what people do to one, done by openpyxl."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import openpyxl
from openpyxl.chart import BarChart, Reference
from openpyxl.comments import Comment
from openpyxl.styles import Font, PatternFill
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.table import TableColumn

from tests.workbooks.recalculated import recalculated_bytes
from xlfuncs.hosts.cells import worksheet_callables

NEW_BED = {"Bed": "Behind the shed", "Length (ft)": "18 ft 6 in", "Strip width (in)": 30}


def used_for_a_year(path: Path) -> bytes:
    """Rows added, sheets renamed and moved, an own column, sheet, chart, note and colour."""
    book = openpyxl.load_workbook(path)
    _in_the_bed_table(book)
    _own_sheet(book)
    book["Summary"]["H3"] = "ask about the hose"
    _rename(book, "Season", "Times")
    book.move_sheet("Ledger", -5)
    sheet, cell = _place(book, "efficiency")
    book[sheet][cell] = "=0.8+0.05"
    out = io.BytesIO()
    book.save(out)
    return recalculated_bytes(out.getvalue(), worksheet_callables())[0]


def _place(book: Any, name: str) -> list[str]:
    return book.defined_names[name].attr_text.replace("'", "").replace("$", "").split("!")


def _in_the_bed_table(book: Any) -> None:
    sheet = book["Beds"]
    table = sheet.tables["Beds"]
    cells = sheet[table.ref]
    columns = {c.value: c.column for c in cells[0]}
    top, last = cells[0][0].row, cells[-1][0].row
    filled = [r for r in range(top + 1, last + 1) if sheet.cell(r, columns["Bed"]).value]
    for header, value in NEW_BED.items():
        sheet.cell(filled[-1] + 1, columns[header]).value = value
    sheet.cell(top + 2, columns["Bed"]).fill = PatternFill("solid", fgColor="FFC7CE")
    sheet.cell(top + 1, columns["Length (ft)"]).comment = Comment("measured again in May", "me")
    right = cells[0][-1].column
    length = get_column_letter(columns["Length (ft)"])
    for i, header in enumerate(("Tended by", "Half"), 1):
        sheet.cell(top, right + i).value = header
        column = TableColumn(id=len(table.tableColumns) + 1, name=header)
        table.tableColumns.append(column)
    for row in filled:
        sheet.cell(row, right + 1).value = "Ann" if row % 2 else "Ben"
        sheet.cell(row, right + 2).value = f"=IFERROR({length}{row}/2,0)"
    table.ref = f"A{top}:{get_column_letter(right + 2)}{last}"
    chart = BarChart()
    chart.add_data(Reference(sheet, min_col=2, min_row=top + 1, max_row=top + 3))
    sheet.add_chart(chart, "B60")


def _own_sheet(book: Any) -> None:
    sheet = book.create_sheet("My notes")
    sheet["A1"], sheet["A1"].font = "What I noticed", Font(bold=True, size=14)
    planted, _ = _place(book, "planted_area")[1], None
    cells = {
        "A3": "Water per week", "B3": "=water_a_week", "A4": "First bed",
        "B4": f"={_first_length(book)}*2", "B5": "=SUM(Beds[[#Data],[Length (ft)]])",
        "B6": f"=Summary!{planted}", "B7": "rain in June", "B8": "=B3+1", "B9": True, "B10": 4.5,
    }  # fmt: skip
    for cell, value in cells.items():
        sheet[cell] = value
    sheet["B3"].number_format = "#,##0"
    sheet.column_dimensions["A"].width = 30
    sheet.merge_cells("A12:C12")
    chart = BarChart()
    chart.add_data(Reference(sheet, min_col=2, min_row=3, max_row=5))
    sheet.add_chart(chart, "D2")
    target = openpyxl.workbook.defined_name.DefinedName("my_words", attr_text="'My notes'!$B$7")
    book.defined_names["my_words"] = target


def _first_length(book: Any) -> str:
    cells = book["Beds"][book["Beds"].tables["Beds"].ref]
    column = next(c.column_letter for c in cells[0] if c.value == "Length (ft)")
    return f"Beds!{column}{cells[1][0].row}"


def _rename(book: Any, old: str, new: str) -> None:
    """As a spreadsheet program does it: every reference follows."""
    book[old].title = new
    for name in book.defined_names.values():
        name.attr_text = name.attr_text.replace(f"'{old}'!", f"{new}!")
    for sheet in book:
        for row in sheet.iter_rows():
            for cell in row:
                if isinstance(cell.value, str) and cell.value.startswith("="):
                    cell.value = cell.value.replace(f"'{old}'!", f"{new}!")
