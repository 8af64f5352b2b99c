"""The VBA module compiled and run by LibreOffice Basic in its VBA mode, Python played by a class.

The class answers as xlwings' XLPython.CallUDF does: a single value, a one-dimensional array for
one row, else a two-dimensional array. What only Excel can show is in tests/acceptance_windows.md.
"""

from __future__ import annotations

import json
import os
import subprocess
from pathlib import Path
from typing import Any

import pytest
import xlsxwriter
from pyopenvba import ExcelFile, VBAModuleKind

from xlfuncs.catalogue.registry import functions
from xlfuncs.hosts.excel.macro_workbook import add_functions
from xlfuncs.hosts.excel.wrapper import MODULE_NAME, vba_module
from xlfuncs.hosts.libreoffice.installation import OfficeError, find

pytestmark = pytest.mark.libreoffice

DRIVER = Path(__file__).parent / "basic_driver.py"

PLAYED_MODULE = """\
Attribute VB_Name = "xlwings"
Option Explicit
Public Function XLPy() As Object
    Set XLPy = New PlayedPython
End Function
Public Function KINDS(which)
    Dim found, i, words
    If which = 1 Then
        KINDS = TypeName(BED_FLOW(1, 2, 3, 4)) & " " & IsError(BED_FLOW(1, 2, 3, 4))
    Else
        found = LINE_OFFSETS(1, 2)
        For i = LBound(found) To UBound(found)
            words = words & TypeName(found(i)) & " "
        Next i
        KINDS = words
    End If
End Function
"""

PLAYED_CLASS = """\
Option Explicit
Public Function CallUDF(module, name, args, Optional book, Optional caller)
    Dim one(0 To 2) As Variant, two(0 To 1, 0 To 2) As Variant
    Select Case name
        Case "BED_AREA": CallUDF = 42.5
        Case "BED_FLOW": CallUDF = Chr$(27) & "#NUM!"
        Case "SUPPLY_FLOW": CallUDF = Chr$(27) & Chr$(27) & "#NUM!"
        Case "VOLUME_FROM_DEPTH": CallUDF = "#NUM!"
        Case "EMITTER_COUNT": Err.Raise 1000, , "no DLL"
        Case "APPLICATION_RATE": CallUDF = ""
        Case "LINE_OFFSETS"
            one(0) = 1.5
            one(1) = Chr$(27) & "#N/A"
            one(2) = "words"
            CallUDF = one
        Case "DEPTH_APPLIED"
            two(0, 0) = 1.5
            two(0, 1) = Chr$(27) & "#VALUE!"
            two(0, 2) = "words"
            two(1, 0) = Chr$(27) & "#DIV/0!"
            two(1, 1) = Chr$(27) & Chr$(27) & "x"
            two(1, 2) = 2.5
            CallUDF = two
        Case "INPUT_CHECK"
            If args(0) = "FAIL" Then Err.Raise 1000, , "no DLL"
            CallUDF = UBound(args) & "|" & args(0) & "|" & args(1)
        Case "RUN_MINUTES": CallUDF = module & "|" & args(0) & "|" & IsMissing(args(3))
        Case Else: CallUDF = name & " " & UBound(args)
    End Select
End Function
"""
PLAYED = {
    "BED_AREA", "BED_FLOW", "SUPPLY_FLOW", "VOLUME_FROM_DEPTH", "EMITTER_COUNT", "LINE_OFFSETS",
    "APPLICATION_RATE", "DEPTH_APPLIED", "INPUT_CHECK", "RUN_MINUTES",
}  # fmt: skip

# LibreOffice writes an error value of Basic as `Error` and its number.
ANSWERS: dict[str, list[list[Any]]] = {
    "BED_AREA(48,30)": [[42.5]],
    "BED_FLOW(1,2,3,4)": [["Error 2036"]],
    "SUPPLY_FLOW(1,2)": [["\x1b#NUM!"]],  # text that starts with the mark comes back as it was
    "VOLUME_FROM_DEPTH(1,2)": [["#NUM!"]],  # text that only looks like an error stays text
    "EMITTER_COUNT(1,2)": [["Error 2015"]],
    "APPLICATION_RATE(1,2)": [[""]],
    "LINE_OFFSETS(30,3)": [[1.5, "Error 2042", "words"]],
    "DEPTH_APPLIED(1,2,3)": [[1.5, "Error 2015", "words"], ["Error 2007", "\x1bx", 2.5]],
    'INPUT_CHECK("BED_AREA",48)': [["1|BED_AREA|48"]],
    'INPUT_CHECK("BED_AREA",48,30,"x")': [["3|BED_AREA|48"]],
    'INPUT_CHECK("FAIL",48)': [["Python was not reached: no DLL"]],
    "RUN_MINUTES(600,1,6)": [["xlfuncs.hosts.excel.functions|600|True"]],
    "KINDS(1)": [["Error True"]],
    "KINDS(2)": [["Double Error String "]],
}


def _plain_workbook(path: Path) -> Path:
    book = xlsxwriter.Workbook(str(path))
    book.add_worksheet("Beds").write("A1", 7)
    book.close()
    return add_functions(path, r"C:\farm\python.exe")


def _ask(workbook: Path, questions: list[list[Any]]) -> dict[str, Any]:
    try:
        office = find()
    except OfficeError as error:
        if os.environ.get("CI"):
            pytest.fail(f"CI must have LibreOffice: {error}")
        pytest.skip(f"needs LibreOffice: {error}")
    told = subprocess.run(
        [office.python, DRIVER, office.soffice, workbook.parent / "profile", workbook],
        input=json.dumps(questions),
        capture_output=True,
        text=True,
        timeout=300,
        env=office.environment(),
    )
    assert told.returncode == 0, told.stderr
    answer: dict[str, Any] = json.loads(told.stdout)
    return answer


def _call_of(name: str) -> str:
    """The function with nothing but its required arguments."""
    count = sum(arg.required for arg in functions()[name].args)
    return f"{name}({','.join('1' * count)})"


@pytest.fixture(scope="module")
def seen(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """What the cells of a workbook show whose Python is played."""
    path = _plain_workbook(tmp_path_factory.mktemp("played") / "farm.xlsm")
    with ExcelFile(path) as book:
        book.set_module("xlwings", PLAYED_MODULE.replace("\n", "\r\n"))
        project = book.vba_project()
        project.delete_module("Dictionary")  # LibreOffice cannot compile it; only a Mac needs it
        text = PLAYED_CLASS.replace("\n", "\r\n")
        project.add_module("PlayedPython", text, kind=VBAModuleKind.other)
        book.save()
    calls = [_call_of(name) for name in functions() if name not in PLAYED]
    shapes = {f: [len(rows), len(rows[0])] for f, rows in ANSWERS.items()}
    shapes |= {call: [1, 1] for call in calls}
    questions = [[formula.replace(",", ";"), *shape] for formula, shape in shapes.items()]
    return dict(zip(shapes, _ask(path, questions)["answers"], strict=True))


@pytest.mark.parametrize("formula", ANSWERS)
def test_what_python_gives_arrives_in_the_cell(seen: dict[str, Any], formula: str) -> None:
    assert seen[formula] == ANSWERS[formula]


@pytest.mark.parametrize("name", [n for n in functions() if n not in PLAYED])
def test_every_function_hands_over_its_name_and_all_its_arguments(
    seen: dict[str, Any], name: str
) -> None:
    assert seen[_call_of(name)] == [[f"{name} {len(functions()[name].args) - 1}"]]


def test_libreoffice_opens_the_workbook_and_keeps_the_modules(tmp_path: Path) -> None:
    modules = _ask(_plain_workbook(tmp_path / "farm.xlsm"), [])["modules"]
    assert {"xlwings", MODULE_NAME, "ThisWorkbook", "Sheet1", "Sheet2"} <= set(modules)
    # LibreOffice puts lines of its own on top and keeps attributes elsewhere
    own = ("Rem ", "Option VBA")
    kept = [x for x in modules[MODULE_NAME].strip().splitlines() if not x.startswith(own)]
    made = [line for line in vba_module().splitlines() if not line.startswith("Attribute ")]
    assert kept == made
