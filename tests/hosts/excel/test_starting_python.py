"""The command by which xlwings' own VBA starts Python for one of our workbooks.

Its module is run by pyOpenVBA's interpreter on the workbook itself, so that it reads our settings
sheet as it would in Excel. Only what asks the machine is played: files, environment, the shell.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest
import xlsxwriter
from pyopenvba.apps.excel import ExcelApplication

from xlfuncs.hosts.excel.macro_workbook import add_functions, xlwings_module

PLAYED = {
    "ExpandEnvironmentStrings(ByVal s As String)": "ExpandEnvironmentStrings = s",
    "FileExists(ByVal FileSpec As String) As Boolean": "FileExists = False",
}
# The interpreter does not read the text False as a Boolean, as VBA does.
SWITCHED_OFF = ("DEBUG UDFS", "SHOW CONSOLE")


def _module() -> str:
    """xlwings' module without what the interpreter cannot do off Windows."""
    text = re.sub(r"(?m)^(\s*#[^'\r\n]*)'.*$", r"\1", xlwings_module())
    for head, body in PLAYED.items():
        assert f"Function {head}\r\n" in text
        text = text.replace(
            f"Function {head}\r\n", f"Function {head}\r\n{body}\r\nExit Function\r\n"
        )
    for name in SWITCHED_OFF:
        assert f'GetConfig("{name}", False)' in text
        text = text.replace(f'GetConfig("{name}", False)', "False")
    played = 'Function PlayedEnviron(name)\r\nPlayedEnviron = "C:\\Users\\a"\r\nEnd Function\r\n'
    return text.replace("Environ(", "PlayedEnviron(") + played


@pytest.mark.parametrize(
    "python",
    [
        r"C:\farm\Scripts\python.exe",
        r"C:\Users\Jörg & Söhne\my farm's\Scripts\python.exe",
        r"\\server\shared folder\python.exe",
    ],
)
def test_python_is_started_whatever_letters_its_path_has(tmp_path: Path, python: str) -> None:
    path = tmp_path / "Höfe & Söhne's plan.xlsm"
    book = xlsxwriter.Workbook(str(path))
    book.add_worksheet()
    book.close()
    application = ExcelApplication.open(add_functions(path, python), with_vba=False)
    application.add_module(_module(), name="xlwings")
    command = str(application.run("XLPyCommand"))
    started = re.fullmatch(r'cmd\.exe +/K ""(.+)" -B -c "(.+)""', command)
    assert started
    assert started[1] == python
    # cmd takes what stands between the outer quotation marks; \" is how Python gets a " in -c
    assert started[2].startswith("import sys, os;import xlwings.utils;")
    assert started[2].endswith("import xlwings; xlwings.serve('$(CLSID)')")
    (passed,) = re.findall(r'prepare_sys_path\(\\"(.*?)\\"\)', started[2])
    assert passed.startswith("false;")


def test_without_a_path_xlwings_takes_the_python_of_the_machine(tmp_path: Path) -> None:
    book = xlsxwriter.Workbook(str(tmp_path / "plan.xlsm"))
    book.add_worksheet()
    book.close()
    path = add_functions(tmp_path / "plan.xlsm", "")
    application = ExcelApplication.open(path, with_vba=False)
    application.add_module(_module(), name="xlwings")
    assert ' /K ""pythonw" -B -c "' in str(application.run("XLPyCommand"))
