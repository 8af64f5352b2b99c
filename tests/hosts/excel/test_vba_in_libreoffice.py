"""The VBA module compiled and run by LibreOffice Basic in its VBA mode, Python played by a class.

The class answers as xlwings' XLPython.CallUDF does: a single value, a one-dimensional array for
one row, else a two-dimensional array. What only Excel can show is in tests/acceptance_windows.md.
"""

from __future__ import annotations

import json
import os
import re
import subprocess
from pathlib import Path
from typing import Any

import pytest
import xlsxwriter
from pyopenvba import ExcelFile, VBAModuleKind

from xlfuncs.catalogue.registry import functions
from xlfuncs.hosts.excel.macro_workbook import add_functions
from xlfuncs.hosts.excel.wrapper import MARK, MODULE_NAME, vba_module
from xlfuncs.hosts.libreoffice.installation import OfficeError, find

pytestmark = pytest.mark.libreoffice

DRIVER = Path(__file__).parent / "basic_driver.py"

PLAYED_MODULE = """\
Attribute VB_Name = "Played"
Option Explicit
Public starts As Long
Public Function PLAY(what)
    If what = "starts" Then PLAY = starts
    If what = "kind" Then PLAY = TypeName(BED_FLOW(1, 2, 3, 4))
End Function
Public Function GetSetting(application, section, key, otherwise)
    GetSetting = otherwise
End Function
Public Function KINDS()
    Dim found, i, words
    found = LINE_OFFSETS(1, 2)
    For i = LBound(found) To UBound(found)
        words = words & TypeName(found(i)) & " "
    Next i
    KINDS = words
End Function
"""

# In place of what asks Windows: the start of Python.
PLAYED_START = """
Private Function Started(ByVal path As String, ByVal folder As String) As Object
    starts = starts + 1
    If folder = "C:\\nothing" Then
        library_words = "gone" & vbLf & "more"
        Exit Function
    End If
    Set Started = New PlayedPython
End Function
"""

PLAYED_CLASS = """\
Option Explicit
Public Function CallUDF(module, name, args, Optional book, Optional caller)
    Dim one(0 To 2) As Variant, two(0 To 1, 0 To 2) As Variant
    Select Case name
        Case "BED_AREA": CallUDF = 42.5
        Case "BED_FLOW": CallUDF = "MARK#NUM!"
        Case "SUPPLY_FLOW": CallUDF = "MARKMARK#NUM!"
        Case "VOLUME_FROM_DEPTH": CallUDF = "#NUM!"
        Case "EMITTER_COUNT": Err.Raise 1000, , "Unexpected Python Error: mistake"
        Case "APPLICATION_RATE": CallUDF = ""
        Case "LINE_OFFSETS"
            one(0) = 1.5
            one(1) = "MARK#N/A"
            one(2) = "words"
            CallUDF = one
        Case "DEPTH_APPLIED"
            two(0, 0) = 1.5
            two(0, 1) = "MARK#VALUE!"
            two(0, 2) = "words"
            two(1, 0) = "MARK#DIV/0!"
            two(1, 1) = "MARKMARKx"
            two(1, 2) = 2.5
            CallUDF = two
        Case "INPUT_CHECK"
            If args(0) = "MISTAKE" Then Err.Raise 1000, , "Unexpected Python Error: mistake"
            If args(0) = "END ONCE" And starts < 2 Then Err.Raise 462, , "server gone"
            If args(0) = "END" Then Err.Raise 462, , "server gone"
            If IsArray(args(1)) Then
                CallUDF = TypeName(args(1)(1, 1)) & " " & UBound(args(1), 1) & " " & args(1)(2, 1)
                Exit Function
            End If
            CallUDF = UBound(args) & "|" & args(0) & "|" & args(1)
        Case "RUN_MINUTES": CallUDF = module & "|" & args(0) & "|" & IsEmpty(args(3))
        Case Else: CallUDF = name & " " & UBound(args)
    End Select
End Function
"""
PLAYED = {
    "BED_AREA", "BED_FLOW", "SUPPLY_FLOW", "VOLUME_FROM_DEPTH", "EMITTER_COUNT", "LINE_OFFSETS",
    "APPLICATION_RATE", "DEPTH_APPLIED", "INPUT_CHECK", "RUN_MINUTES",
}  # fmt: skip

# LibreOffice writes an error value of Basic as `Error` and its number. In this order.
ANSWERS: dict[str, list[list[Any]]] = {
    "BED_AREA(48,30)": [[42.5]],
    "BED_FLOW(1,2,3,4)": [["Error 2036"]],
    "SUPPLY_FLOW(1,2)": [[f"{MARK}#NUM!"]],  # text that starts with the mark comes back as it was
    "VOLUME_FROM_DEPTH(1,2)": [["#NUM!"]],  # text that only looks like an error stays text
    "EMITTER_COUNT(1,2)": [["Error 2015"]],
    "APPLICATION_RATE(1,2)": [[""]],
    "LINE_OFFSETS(30,3)": [[1.5, "Error 2042", "words"]],
    "DEPTH_APPLIED(1,2,3)": [[1.5, "Error 2015", "words"], ["Error 2007", f"{MARK}x", 2.5]],
    'INPUT_CHECK("BED_AREA",48)': [["1|BED_AREA|48"]],
    'INPUT_CHECK("BED_AREA",48,30,"x")': [["3|BED_AREA|48"]],
    'INPUT_CHECK("MISTAKE",48)': [["Unexpected Python Error: mistake"]],
    'INPUT_CHECK("BED_AREA",$Beds.A1:A2)': [["Double 2 8"]],  # the values of a range
    'INPUT_CHECK("BED_AREA",$Beds.A2)': [["1|BED_AREA|8"]],
    "RUN_MINUTES(600,1,6)": [["xlfuncs.hosts.excel.functions|600|True"]],
    'PLAY("kind")': [["Error"]],
    "KINDS()": [["Double Error String "]],
    'PLAY("starts")': [[1]],  # one start for all of it
}
# Python ends in the middle, comes back once, and then no more.
ENDS: dict[str, list[list[Any]]] = {
    'INPUT_CHECK("END ONCE",48)': [["1|END ONCE|48"]],
    'PLAY("starts")': [[2]],
    'INPUT_CHECK("END",48)': [
        [
            "Python was not reached: Python ended while it computed INPUT_CHECK (server gone). "
            "After mending it: Alt+F8, xlfuncs_try_again"
        ]
    ],
    "BED_AREA(48,30)": [["Error 2015"]],
}
REFUSED = (
    r"Python was not reached: C:\nothing\python.exe: gone.  xlfuncs doctor  with the name of this"
    " workbook says more. After mending it: Alt+F8, xlfuncs_try_again"
)


def _plain_workbook(path: Path, python: str = r"C:\farm\python.exe") -> Path:
    book = xlsxwriter.Workbook(str(path))
    book.add_worksheet("Beds").write_column("A1", [7, 8])
    book.close()
    return add_functions(path, python)


def _played(folder: Path, python: str = r"C:\farm\python.exe") -> Path:
    """A workbook whose Python is played: what asks Windows is replaced, nothing else."""
    path, text = _plain_workbook(folder / "farm.xlsm", python), vba_module().replace("\r\n", "\n")
    text = re.sub(r"#If Win64.*?(?=Private python As Object)", "", text, flags=re.DOTALL)
    text = re.sub(r"Private Function Started.*?End Function\n", lambda _: PLAYED_START, text,
                  flags=re.DOTALL)  # fmt: skip
    text = text.replace("Called = python(", "Called = python.CallUDF(")
    played = PLAYED_CLASS.replace("MARK", MARK).replace("\n", "\r\n")
    with ExcelFile(path) as book:
        book.set_module(MODULE_NAME, text.replace("\n", "\r\n"))
        project = book.vba_project()
        project.add_module("Played", PLAYED_MODULE.replace("\n", "\r\n"))
        project.add_module("PlayedPython", played, kind=VBAModuleKind.other)
        book.save()
    return path


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
    path = _played(tmp_path_factory.mktemp("played"))
    calls = [_call_of(name) for name in functions() if name not in PLAYED]
    expected = [*ANSWERS.items(), *((call, [[""]]) for call in calls), *ENDS.items()]
    shapes = [(formula, len(rows), len(rows[0])) for formula, rows in expected]
    told = _ask(path, [[f.replace(",", ";"), *shape] for f, *shape in shapes])["answers"]
    seen = list(zip([formula for formula, _ in expected], told, strict=True))
    return {"answers": dict(seen[: -len(ENDS)]), "ends": dict(seen[-len(ENDS) :])}


@pytest.mark.parametrize("formula", ANSWERS)
def test_what_python_gives_arrives_in_the_cell(seen: dict[str, Any], formula: str) -> None:
    assert seen["answers"][formula] == ANSWERS[formula]


def test_python_that_ends_is_started_once_more_and_then_given_up(seen: dict[str, Any]) -> None:
    assert seen["ends"] == ENDS


def test_a_start_that_fails_is_not_tried_again(tmp_path: Path) -> None:
    """However many cells ask: a filled sheet, and one start."""
    cells = 2000
    questions = [*["BED_AREA(48;30)"] * cells, 'INPUT_CHECK("BED_AREA";48)', 'PLAY("starts")']
    path = _played(tmp_path, r"C:\nothing\python.exe")
    told = _ask(path, [[question, 1, 1] for question in questions])["answers"]
    assert told == [*[[["Error 2015"]]] * cells, [[REFUSED]], [[1]]]


def test_without_a_python_named_the_words_say_what_to_do(tmp_path: Path) -> None:
    told = _ask(_played(tmp_path, ""), [['INPUT_CHECK("BED_AREA";48)', 1, 1]])["answers"]
    assert (
        "names no Python of this computer: close it, then give  xlfuncs excel add" in told[0][0][0]
    )


@pytest.mark.parametrize("name", [n for n in functions() if n not in PLAYED])
def test_every_function_hands_over_its_name_and_all_its_arguments(
    seen: dict[str, Any], name: str
) -> None:
    assert seen["answers"][_call_of(name)] == [[f"{name} {len(functions()[name].args) - 1}"]]


def test_libreoffice_opens_the_workbook_and_keeps_the_modules(tmp_path: Path) -> None:
    modules = _ask(_plain_workbook(tmp_path / "farm.xlsm"), [])["modules"]
    assert {MODULE_NAME, "ThisWorkbook", "Sheet1", "Sheet2"} <= set(modules)
    # LibreOffice puts lines of its own on top and keeps attributes elsewhere
    own = ("Rem ", "Option VBA")
    kept = [x for x in modules[MODULE_NAME].strip().splitlines() if not x.startswith(own)]
    made = [line for line in vba_module().splitlines() if not line.startswith("Attribute ")]
    assert kept == made
