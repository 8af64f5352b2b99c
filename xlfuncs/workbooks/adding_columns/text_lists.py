"""A list that is a text, such as a CSV, as a workbook in which columns can be added."""

import io
import re
from dataclasses import replace
from pathlib import Path

import xlsxwriter

from xlfuncs.units import DIMENSIONS
from xlfuncs.workbooks.lists.files import read_list_file
from xlfuncs.workbooks.lists.headers import Wanted
from xlfuncs.workbooks.lists.mapping import ListMapping
from xlfuncs.workbooks.lists.numbers import with_points
from xlfuncs.workbooks.lists.reader import read_lines

SHEET = "Beds"
_NUMBER = re.compile(r"-?\d+(?:\.\d+)?")


def as_workbook(path: Path, wanted: Wanted, mapping: ListMapping) -> tuple[bytes, ListMapping]:
    """Its lines as rows of the same numbers, and the answers that still hold for the sheet.

    Raises OpenQuestions where it is not known what a number is.
    """
    (file,) = read_list_file(path, wanted, mapping)
    reading = read_lines(file, wanted, "", mapping)
    if any(question.key in (("decimal",), ("delimiter",), ()) for question in reading.questions):
        reading.raise_questions()
    numbers = {header.place for headers in reading.headers.values() for header in headers
               if DIMENSIONS[header.column.dimension].kind == "number"}  # fmt: skip
    down = 1 - min(1, file.lines[0].number)  # notes get a line of headings before their first
    out = io.BytesIO()
    with xlsxwriter.Workbook(out, {"in_memory": True}) as book:
        sheet = book.add_worksheet(SHEET)
        for place, text in enumerate(reading.head.line.cells if reading.head else ()):
            sheet.set_column(place, place, max(9, len(str(text or "")) + 2))
        for line in file.lines:
            for place, cell in enumerate(line.cells):
                text = with_points(str(cell), reading.reader.mark) if place in numbers else ""
                if _NUMBER.fullmatch(text):
                    sheet.write_number(line.number - 1 + down, place, float(text))
                elif cell is not None:
                    sheet.write_string(line.number - 1 + down, place, str(cell))
    moved = {name: value + down for name in ("header_row", "last_row")
             if (value := getattr(mapping, name))}  # fmt: skip
    answers = replace(
        mapping, leave_out=tuple(n + down for n in mapping.leave_out), delimiter="", encoding="",
        decimal=reading.reader.mark, sheet=SHEET, **moved,
    )  # fmt: skip
    return out.getvalue(), answers
