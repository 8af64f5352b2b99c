"""What a person does to one open workbook in Calc; runs in LibreOffice's own Python.

Started as `python typing_in_calc.py DRIVER_FOLDER SOFFICE PROFILE -env:...`; answers one JSON line
`[what, *arguments]` with one JSON line. Rows and columns count from 0.
"""

import json
import sys

sys.path.insert(0, sys.argv[1])
import office_driver
from com.sun.star.table import CellAddress

CONTENTS = 1 | 2 | 4  # numbers, dates, text


class Typing:
    def __init__(self, calc):
        self.calc, self.document = calc, None

    def open(self, path):
        if self.document is not None:
            self.document.close(True)
        hidden = (office_driver.setting("Hidden", True),)
        self.document = self.calc.desktop.loadComponentFromURL(
            office_driver.url(path), "_blank", 0, hidden
        )
        return self.document.Sheets.ElementNames

    def type(self, cells):
        """Type values into cells; gives what stood there, to be typed again."""
        self.document.enableAutomaticCalculation(False)
        before = []
        for sheet, row, column, value in cells:
            cell = self.document.Sheets[sheet].getCellByPosition(column, row)
            kind = cell.Type.value
            old = cell.Value if kind == "VALUE" else None if kind == "EMPTY" else cell.Formula
            before.append([sheet, row, column, old])
            if value is None:
                cell.clearContents(CONTENTS)
            elif isinstance(value, str) and value.startswith("="):
                cell.Formula = value
            elif isinstance(value, str):
                cell.String = value
            else:
                cell.Value = value
        return before[::-1]

    def read(self, areas):
        """Computes what is out of date, then reads areas: sheet, top, left, bottom, right."""
        self.document.calculate()
        sheets = self.document.Sheets
        return [
            sheets[sheet].getCellRangeByPosition(left, top, right, bottom).DataArray
            for sheet, top, left, bottom, right in areas
        ]

    def edit(self, kind, name, at, to):
        """Insert or delete a row or column, move it before another, rename or move a sheet."""
        self.document.enableAutomaticCalculation(False)
        self.document.UndoManager.clear()
        self.document.UndoManager.enterUndoContext(kind)
        sheets = self.document.Sheets
        sheet = sheets[name]
        what, of = kind.split(" ")
        if what == "rename":
            sheet.Name = to
        elif of == "sheet":
            sheets.moveByName(name, to)
        else:
            lines = sheet.Rows if of == "row" else sheet.Columns
            if what == "delete":
                lines.removeByIndex(at, 1)
            elif what == "insert":
                lines.insertByIndex(at, 1)
            else:
                self._move(sheet, lines, of, at, to)
        self.document.UndoManager.leaveUndoContext()
        self.document.calculate()

    def take_back(self):
        """Undo the last edit."""
        self.document.UndoManager.undo()
        self.document.calculate()

    def _move(self, sheet, lines, of, at, to):
        """Cut, and insert before another: as a person moves a row."""
        lines.insertByIndex(to, 1)
        source = at + (at >= to)
        address = lines.getByIndex(source).RangeAddress
        place = CellAddress()
        place.Sheet = address.Sheet
        place.Row, place.Column = (to, 0) if of == "row" else (0, to)
        sheet.moveRange(place, address)
        lines.removeByIndex(source, 1)

    def values(self):
        return {s.Name: office_driver._sheet_values(s) for s in self.document.Sheets}

    def save(self, path):
        form = (office_driver.setting("FilterName", "Calc MS Excel 2007 XML"),)
        self.document.storeToURL(office_driver.url(path), form)


def main():
    calc = office_driver.Calc(*sys.argv[2:4], sys.argv[4:])
    typing = Typing(calc)
    try:
        for line in sys.stdin:
            what, *arguments = json.loads(line)
            print(json.dumps(getattr(typing, what)(*arguments)), flush=True)
    finally:
        calc.end()


main()
