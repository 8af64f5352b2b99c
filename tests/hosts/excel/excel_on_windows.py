"""Acceptance in a real Excel on Windows: one command, one file to send back.

    python -m tests.hosts.excel.excel_on_windows

in the checkout, with the Python that the functions are installed in and Excel closed. Excel opens,
is filled, computes and closes again, about two minutes; `excel_on_windows.txt` then says for each
check what was seen. Nothing of the machine or of other workbooks is changed. What only eyes can see
is asked for in tests/acceptance_windows.md.
"""

from __future__ import annotations

import math
import platform
import subprocess
import sys
import tempfile
import time
import traceback
from collections.abc import Callable
from importlib import import_module
from importlib.metadata import version
from pathlib import Path
from typing import Any

REPORT = Path("excel_on_windows.txt")
ERRORS = {2000: "#NULL!", 2007: "#DIV/0!", 2015: "#VALUE!", 2023: "#REF!", 2029: "#NAME?",
          2036: "#NUM!", 2042: "#N/A", 2045: "#SPILL!", 2050: "#CALC!"}  # fmt: skip

# Formula in D1 over the cells A1:A5, and what its cells show: numbers, texts, errors.
CELLS: dict[str, list[Any]] = {
    "=BED_AREA(48,30,2)": [240.0],
    '=BED_AREA("22 ft 9 in",30)': [56.875],
    "=BED_AREA(-1,30)": ["#NUM!"],
    "=ERROR.TYPE(BED_AREA(-1,30))": [6.0],
    "=SUM(BED_AREA(-1,30))": ["#NUM!"],
    '=BED_AREA("3 bananas",30)': ["#VALUE!"],
    "=DEPTH_FROM_VOLUME(1,0)": ["#DIV/0!"],
    "=BED_AREA(NA(),30)": ["#N/A"],
    '=BED_AREA(B1,30)=""': [True],
    "=BED_AREA(48,30,)": [120.0],
    "=BED_AREA(48,30,B1)": [120.0],
    "=BED_AREA(A1:A5,30)": [120.0, "", "#N/A", "#VALUE!", 60.0],
    "=LINE_OFFSETS(30,3)": [5.0, 15.0, 25.0],
    "=BED_AREA({48;24},30)": [120.0, 60.0],
    "=BED_AREA(A1:A1*2,30)": [240.0],
    "=BED_AREA(C1,30)": [120.0],  # money
    "=BED_AREA(C2,30)": ["#VALUE!"],  # a date
    '=ISNUMBER(SEARCH("date",INPUT_CHECK("BED_AREA",C2,30)))': [True],
    '=ISNUMBER(SEARCH("at least 0",INPUT_CHECK("BED_AREA",-1,30)))': [True],
    "=BED_AREA(C3,30)": [120.00125],  # money keeps all its digits
}


class Report:
    """Lines of the file, written as they come, so that a crash leaves what was seen."""

    def __init__(self) -> None:
        REPORT.write_text("", "utf-8")
        self.failures = 0

    def line(self, text: str) -> None:
        print(text)
        with REPORT.open("a", encoding="utf-8") as file:
            file.write(f"{text}\n")

    def check(self, what: str, work: Callable[[], Any]) -> None:
        """`work` gives nothing if all is well, else what was seen instead; a text is noted."""
        begin = time.perf_counter()
        try:
            seen, good = work(), True
        except AssertionError as error:
            seen, good = error, False
        except Exception:
            seen, good = traceback.format_exc(limit=3), False
        self.failures += not good
        spent = time.perf_counter() - begin
        told = "" if seen is None else f": {seen}"
        self.line(f"{'ok  ' if good else 'FAIL'} {what} ({spent:.2f} s){told}")


def value_of(cell: Any) -> Any:
    value = cell.Value2
    if isinstance(value, int) and not isinstance(value, bool):
        return ERRORS.get(value & 0xFFFF, f"error {value & 0xFFFF}")
    return value


def same(seen: Any, expected: Any) -> bool:
    if isinstance(expected, float) and isinstance(seen, float):
        return math.isclose(seen, expected, rel_tol=1e-9, abs_tol=1e-9)
    return bool((seen or "") == expected or seen == expected)


def started_excel() -> Any:
    client: Any = import_module("win32com.client")
    excel = client.DispatchEx("Excel.Application")
    excel.AutomationSecurity = 1  # macros of workbooks that are opened here run
    excel.DisplayAlerts = False
    excel.Visible = True
    return excel


def about(report: Report, excel: Any) -> None:
    report.line(f"Windows {platform.version()} {platform.machine()}")
    report.line(f"Excel {excel.Version} build {excel.Build}, {excel.OperatingSystem}")
    report.line(f"language {excel.International(1)}, decimal sign {excel.International(3)!r}")
    packages = ", ".join(f"{name} {version(name)}" for name in ("xlfuncs", "xlwings", "pywin32"))
    report.line(f"Python {sys.version} at {sys.executable}; {packages}")


def empty_workbook(folder: Path, python: str | None = None) -> Path:
    from openpyxl import Workbook

    from xlfuncs.hosts.excel.macro_workbook import add_functions

    path = folder / f"Höfe & Söhne {time.time_ns()}.xlsx"
    Workbook().save(path)
    return add_functions(path, python)


def fill(sheet: Any) -> None:
    for row, value in enumerate((48, None, "=NA()", "words", 24), start=1):
        sheet.Cells(row, 1).Value2 = value
    sheet.Range("C1").NumberFormat = sheet.Range("C3").NumberFormat = "$#,##0.00"
    sheet.Range("C1").Value2, sheet.Range("C3").Value2 = 48, 48.0005
    sheet.Range("C2").Value2 = 46024
    sheet.Range("C2").NumberFormat = "yyyy-mm-dd"


def shows(sheet: Any, formula: str, expected: list[Any]) -> None:
    sheet.Range("D1:D20").Clear()
    sheet.Range("D1").Formula2 = formula
    seen = [value_of(sheet.Cells(row, 4)) for row in range(1, len(expected) + 1)]
    assert all(map(same, seen, expected)), f"{seen} instead of {expected}"


def template_keeps_its_values(excel: Any, folder: Path) -> str:
    """The values that we computed against Excel's, all cells of all sheets."""
    from workbook_template.build import build, demo_inputs

    path = folder / "template.xlsm"
    build(path, "us", demo_inputs("us"), macros=True)
    book = excel.Workbooks.Open(str(path))
    before = {sheet.Name: rows_of(sheet) for sheet in book.Worksheets}
    begin = time.perf_counter()
    excel.CalculateFull()
    spent = time.perf_counter() - begin
    different = []
    for sheet in book.Worksheets:
        for i, (old, new) in enumerate(zip(before[sheet.Name], rows_of(sheet), strict=True), 1):
            pairs = [(a, b) for a, b in zip(old, new, strict=True) if a != b and not same(b, a)]
            different += [f"{sheet.Name} row {i}: {a!r} -> {b!r}" for a, b in pairs]
    book.Close(False)
    assert not different, f"{len(different)} cells differ: {different[:10]}"
    return f"computed anew in {spent:.1f} s"


def rows_of(sheet: Any) -> Any:
    values = sheet.UsedRange.Value2
    return values if isinstance(values, tuple) else ((values,),)


def failing_start(excel: Any, folder: Path) -> str:
    """2,000 cells of a workbook whose Python is not there."""
    book = excel.Workbooks.Open(str(empty_workbook(folder, r"C:\nothing\python.exe")))
    sheet = book.Worksheets(1)
    begin = time.perf_counter()
    sheet.Range("A1:A2000").Formula = "=BED_AREA(ROW(),30)"
    sheet.Range("B1").Formula = '=INPUT_CHECK("BED_AREA",1,1)'
    spent = time.perf_counter() - begin
    seen, words = value_of(sheet.Range("A2000")), sheet.Range("B1").Value2
    book.Close(False)
    assert seen == "#VALUE!", seen
    assert str(words).startswith("Python was not reached"), words
    return f"2,000 cells in {spent:.2f} s; {words}"


def ended_python(excel: Any, sheet: Any) -> str:
    """Python is ended in the middle; the values come back. Only the Python of this Excel."""
    client: Any = import_module("win32com.client")
    (excel_number,) = import_module("win32process").GetWindowThreadProcessId(excel.Hwnd)[1:]
    service = client.GetObject("winmgmts:")
    query = f"SELECT ProcessId FROM Win32_Process WHERE ParentProcessId={excel_number}"
    numbers = [process.ProcessId for process in service.ExecQuery(query)]
    for number in numbers:
        subprocess.run(["taskkill", "/F", "/T", "/PID", str(number)], check=False)
    excel.CalculateFull()
    shows(sheet, "=BED_AREA(48,30)", [120.0])
    return f"{len(numbers)} programs ended"


def speed(sheet: Any, rows: int, formula: str, place: str) -> str:
    sheet.Range(f"F1:F{rows}").Value2 = 48
    begin = time.perf_counter()
    sheet.Range(place).Formula2 = formula
    first = time.perf_counter() - begin
    begin = time.perf_counter()
    sheet.Range(f"F1:F{rows}").Value2 = 24
    again = time.perf_counter() - begin
    sheet.Range(place.split(":")[0]).EntireColumn.Clear()
    return f"entered in {first:.2f} s, after a change of all in {again:.2f} s"


def main() -> int:
    if sys.platform != "win32":
        print("This is for Windows with Excel; see tests/acceptance_windows.md.")
        return 2
    report = Report()
    excel = started_excel()
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as name:
        folder = Path(name)
        try:
            about(report, excel)
            (folder / "numpy.py").write_text("raise SystemExit(3)")  # must not be imported
            book = excel.Workbooks.Open(str(empty_workbook(folder)))
            sheet = book.Worksheets(1)
            start = book.Worksheets("xlfuncs").Range("B5")
            report.check("Python starts with the workbook", lambda: str(start.Value2))
            fill(sheet)
            for formula, expected in CELLS.items():
                report.check(formula, lambda f=formula, e=expected: shows(sheet, f, e))
            report.check("1,000 cells", lambda: speed(sheet, 1000, "=BED_AREA(F1,30)", "G1:G1000"))
            column = "=BED_AREA(F1:F10000,30)"
            report.check("10,000 rows in one call", lambda: speed(sheet, 10000, column, "H1"))
            report.check("Python ended in mid-session", lambda: ended_python(excel, sheet))
            book.Save()
            book.Close(False)
            report.check("it opens again", lambda: opened_again(excel, folder))
            report.check("a start that fails", lambda: failing_start(excel, folder))
            report.check("the template", lambda: template_keeps_its_values(excel, folder))
        finally:
            excel.Quit()
    report.line(f"{report.failures} checks failed. Please send back {REPORT.absolute()}")
    return 1 if report.failures else 0


def opened_again(excel: Any, folder: Path) -> None:
    """As Excel saved it; a repair would make Open fail, because no question may be asked."""
    book = excel.Workbooks.Open(str(next(folder.glob("*.xlsm"))))
    start = book.Worksheets("xlfuncs").Range("B5").Value2
    book.Close(False)
    assert start == "ok", start


if __name__ == "__main__":
    sys.exit(main())
