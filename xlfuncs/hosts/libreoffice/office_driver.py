"""Drives one Calc without a screen; runs in LibreOffice's own Python, which has `uno`.

Started as `python office_driver.py SOFFICE PROFILE [-env:...]`. It starts the office, says
`{"version": ...}`, then answers one JSON line with one JSON line: `{"do": name, ...}` gives
`{"result": ...}` or `{"failed": words}`. When its input ends, the office is ended too.
"""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
import time
from contextlib import suppress
from itertools import groupby
from typing import Any

import uno
from com.sun.star.beans import PropertyValue
from com.sun.star.sheet.FormulaResult import ERROR as ERROR_RESULT

START_LIMIT = 120  # s
BEHIND = "Workings"  # a sheet that is there for its numbers alone, on no paper
PDF = "calc_pdf_Export"
ONE_LINE, ROOMIER = 560, 1.1  # 1/100 mm; on paper words break sooner than on the screen
FORMULA = 16  # com.sun.star.sheet.CellFlags.FORMULA
UNREAD_NAME = re.compile(r"\b[a-z][a-z0-9_]*\(")
ERRORS = {
    502: "#VALUE!", 503: "#NUM!", 519: "#VALUE!", 521: "#NULL!", 524: "#REF!", 525: "#NAME?",
    532: "#DIV/0!", 32767: "#N/A",
}  # fmt: skip


def setting(name: str, value: Any) -> Any:
    item = PropertyValue()
    item.Name, item.Value = name, value
    return item


class Calc:
    """A running office, and what can be asked of it."""

    def __init__(self, soffice: str, profile: str, options: list[str]) -> None:
        pipe = f"xlfuncs{os.getpid()}"
        # `import uno` names its own office in the environment, which may not be the one started.
        environment = {k: v for k, v in os.environ.items() if not k.startswith(("URE_", "UNO_"))}
        self.process = subprocess.Popen(
            [
                soffice, "--headless", "--invisible", "--norestore", "--nologo", "--nodefault",
                "--nofirststartwizard", f"-env:UserInstallation={url(profile)}", *options,
                f"--accept=pipe,name={pipe};urp;",
            ],
            stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
            env=environment,
        )  # fmt: skip
        self.context = self._connect(f"uno:pipe,name={pipe};urp;StarOffice.ComponentContext")
        self.desktop = self._service("com.sun.star.frame.Desktop")
        # 7.4 does not know add-in functions by their names in .xlsx files, 25.2 does.
        self.reads_no_names = int(self.version().split(".")[0]) < 25

    def _connect(self, address: str) -> Any:
        here = uno.getComponentContext()
        resolver = here.ServiceManager.createInstanceWithContext(
            "com.sun.star.bridge.UnoUrlResolver", here
        )
        end = time.monotonic() + START_LIMIT
        while True:
            try:
                return resolver.resolve(address)
            except Exception:
                if self.process.poll() is not None:
                    raise RuntimeError(f"soffice ended with {self.process.returncode}") from None
                if time.monotonic() > end:
                    raise
                time.sleep(0.05)

    def _service(self, name: str) -> Any:
        return self.context.ServiceManager.createInstanceWithContext(name, self.context)

    def version(self) -> str:
        provider = self._service("com.sun.star.configuration.ConfigurationProvider")
        product = provider.createInstanceWithArguments(
            "com.sun.star.configuration.ConfigurationAccess",
            (setting("nodepath", "/org.openoffice.Setup/Product"),),
        )
        return str(product.ooSetupVersionAboutBox)

    def open(self, path: str, change: bool = False) -> Any:
        # Read-only needs no lock, so a workbook that is open elsewhere can be read too; but arrays
        # cannot be entered again in it, nor sheets hidden.
        read_only = not (self.reads_no_names or change)
        document = self.desktop.loadComponentFromURL(
            url(path), "_blank", 0, (setting("Hidden", True), setting("ReadOnly", read_only))
        )
        if document is None or not document.supportsService(
            "com.sun.star.sheet.SpreadsheetDocument"
        ):
            raise ValueError(f"{path} is not a spreadsheet that LibreOffice can read")
        if self.reads_no_names:
            for name in document.Sheets.ElementNames:
                _enter_unread_formulas_again(document.Sheets[name])
        return document

    def values(self, path: str, recalculate: bool) -> dict[str, Any]:
        """Rows of every sheet from A1 on; an empty cell is "", an error {"error": "#N/A"}."""
        document = self.open(path)
        try:
            if recalculate:
                document.calculateAll()
            return {name: _sheet_values(document.Sheets[name]) for name in
                    document.Sheets.ElementNames}  # fmt: skip
        finally:
            document.close(True)

    def save(
        self, path: str, target: str, filter: str, recalculate: bool, sheets: list[str]
    ) -> None:
        """Write a document, or only some of its sheets, in the format of an export filter."""
        document = self.open(path, change=filter == PDF)
        try:
            if recalculate:
                document.calculateAll()
            names = document.Sheets.ElementNames
            if missing := [name for name in sheets if name not in names]:
                raise ValueError(f"no sheet {', '.join(missing)}; there are: {', '.join(names)}")
            if filter == PDF:
                seen = [n for n in names if n != BEHIND and document.Sheets[n].IsVisible]
                sheets = sheets or seen or list(names)
                for name in (*sheets, *names):  # one sheet stays visible throughout
                    document.Sheets[name].IsVisible = name in sheets
                    if name not in sheets:  # a hidden sheet prints if it has a print area
                        document.Sheets[name].PrintAreas = ()
                for name in sheets:
                    _fit_for_paper(document.Sheets[name])
            document.storeToURL(url(target), (setting("FilterName", filter),))
        finally:
            document.close(True)

    def end(self) -> None:
        with suppress(Exception):
            self.desktop.terminate()
        try:
            self.process.wait(20)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()


def url(path: str) -> str:
    return str(uno.systemPathToFileUrl(os.path.abspath(path)))


def _sheet_values(sheet: Any) -> list[list[Any]]:
    cursor = sheet.createCursor()
    cursor.gotoEndOfUsedArea(False)
    used = cursor.RangeAddress
    cells = sheet.getCellRangeByPosition(0, 0, used.EndColumn, used.EndRow)
    rows = [list(row) for row in cells.DataArray]
    for area in cells.queryFormulaCells(ERROR_RESULT).RangeAddresses:
        for r in range(area.StartRow, area.EndRow + 1):
            for c in range(area.StartColumn, area.EndColumn + 1):
                number = sheet.getCellByPosition(c, r).getError()
                rows[r][c] = {"error": ERRORS.get(number, f"Err:{number}")}
    return rows


def _fit_for_paper(sheet: Any) -> None:
    """Print filled rows alone: of blank rows that follow each other one stays, of forms too.

    Rows behind a drawing stay.
    """
    cursor = sheet.createCursor()
    cursor.gotoEndOfUsedArea(False)
    used = cursor.RangeAddress
    columns, all_rows = sheet.Columns, sheet.Rows  # each question to the office takes its time
    seen = [c for c in range(used.EndColumn + 1) if columns[c].IsVisible]
    drawn = [(top, top + d.Size.Height) for d in sheet.DrawPage for top in (_top_of(d),)]
    cells = sheet.getCellRangeByPosition(0, 0, used.EndColumn, used.EndRow).DataArray
    blank = [all(row[c] == "" for c in seen) for row in cells]
    hidden, higher = [], []
    first = 1
    for alike, of_run in groupby(blank[1:]):
        rows = range(first, first := first + len(list(of_run)))
        if not alike:
            lines = (all_rows[r] for r in rows)
            higher += [row for row in lines if row.OptimalHeight and row.Height > ONE_LINE]
        else:
            hidden += _free(sheet, rows if blank[rows[0] - 1] else rows[1:], drawn)
    for run in hidden:
        run.Rows.IsVisible = False
    for row in higher:
        row.Height = int(row.Height * ROOMIER)


def _top_of(drawing: Any) -> int:
    """Of the cell that it hangs on; its own position is that before rows got their heights."""
    cell = drawing.Anchor
    return int((cell if hasattr(cell, "CellAddress") else drawing).Position.Y)


def _free(sheet: Any, rows: range, drawn: list[tuple[int, int]]) -> list[Any]:
    """Rows that no drawing touches: as one range if it can be."""
    if not rows:
        return []
    run = sheet.getCellRangeByPosition(0, rows[0], 0, rows[-1])
    top = run.Position.Y
    if not any(start <= top + run.Size.Height and top <= end for start, end in drawn):
        return [run]
    if len(rows) == 1:
        return []
    middle = len(rows) // 2
    return [*_free(sheet, rows[:middle], drawn), *_free(sheet, rows[middle:], drawn)]


def _enter_unread_formulas_again(sheet: Any) -> None:
    """What a person would do: entered anew, a formula finds the functions of add-ins.

    A name that was not found stands in lower case.
    """
    for area in sheet.queryContentCells(FORMULA).RangeAddresses:
        cells = sheet.getCellRangeByPosition(
            area.StartColumn, area.StartRow, area.EndColumn, area.EndRow
        )
        for r, row in enumerate(cells.FormulaArray):
            for c, formula in enumerate(row):
                if UNREAD_NAME.search(formula):
                    _enter_again(sheet, cells.getCellByPosition(c, r))


def _enter_again(sheet: Any, cell: Any) -> None:
    formula = cell.Formula
    if not formula.startswith("{"):
        cell.Formula = formula
    elif UNREAD_NAME.search(formula):
        array = sheet.createCursorByRange(cell)
        array.collapseToCurrentArray()
        array.ArrayFormula = formula[1:-1]


def main() -> None:
    answers, sys.stdout = sys.stdout, sys.stderr
    calc = Calc(sys.argv[1], sys.argv[2], sys.argv[3:])
    try:
        answers.write(json.dumps({"version": calc.version()}) + "\n")
        answers.flush()
        for line in sys.stdin:
            question = json.loads(line)
            try:
                answer = {"result": getattr(calc, question.pop("do"))(**question)}
            except Exception as error:
                answer = {"failed": f"{type(error).__name__}: {error}"}
            answers.write(json.dumps(answer) + "\n")
            answers.flush()
    finally:
        calc.end()


if __name__ == "__main__":
    main()
