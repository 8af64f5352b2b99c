"""xlwings' settings, carried by a workbook in a hidden sheet: above all which Python to start."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Final
from xml.sax.saxutils import escape

from xlfuncs.xlsx.cell_references import MAX_ROW
from xlfuncs.xlsx.contents import Contents
from xlfuncs.xlsx.package import Package

_MAIN: Final = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
SHEET: Final = "xlwings.conf"
INTERPRETER: Final = "INTERPRETER_WIN"
# Modules that lie beside the workbook are not imported: a file called numpy.py there would be.
_ALWAYS: Final = {"ADD_WORKBOOK_TO_PYTHONPATH": "false"}
_NOTE: Final = (
    "Settings of xlwings: which Python computes the worksheet functions. On another computer write"
    " the path of its python.exe in B1, or run: xlfuncs excel add WORKBOOK"
)


def this_interpreter() -> str:
    """The running Python as Excel can start it; empty off Windows.

    xlwings passes the path on in the code page of the machine, so a path with letters beyond it
    is given by its short name (8.3) where Windows keeps one.
    """
    if sys.platform != "win32":
        return ""
    if fits_code_page(sys.executable):
        return sys.executable
    import ctypes

    buffer = ctypes.create_unicode_buffer(1024)
    length = ctypes.windll.kernel32.GetShortPathNameW(sys.executable, buffer, len(buffer))
    return buffer.value if length else sys.executable


def fits_code_page(path: str) -> bool:
    """Whether the code page of this machine has all letters of a path; true off Windows."""
    if sys.platform != "win32":
        return True
    try:
        path.encode("mbcs", "strict")
    except UnicodeEncodeError:
        return False
    return True


def read_settings(path: Path | str) -> dict[str, str]:
    """The settings in a workbook, by their names in capitals; empty without the sheet."""
    return settings_of(Contents(Package.open(path)))


def settings_of(contents: Contents) -> dict[str, str]:
    """The same from a workbook that is open already."""
    found: dict[str, str] = {}
    if SHEET not in [sheet.name for sheet in contents.sheets]:
        return found
    for row in range(1, MAX_ROW):
        name, value = (_text(contents, row, column) for column in (1, 2))
        if not name:
            break
        found[name.upper()] = value
    return found


def _text(contents: Contents, row: int, column: int) -> str:
    cell = contents.cell_at(SHEET, row, column)
    value = None if cell is None else contents.value(cell)
    return "" if value is None else str(value)


def with_interpreter(settings: dict[str, str], interpreter: str) -> dict[str, str]:
    """The settings with another interpreter, if one is given; the rest is kept."""
    named = {INTERPRETER: interpreter} if interpreter else {}
    return {INTERPRETER: "", **_ALWAYS, **settings, **named}


def sheet_xml(settings: dict[str, str]) -> str:
    """The part of a new sheet with the settings."""
    return (
        '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
        f'<worksheet xmlns="{_MAIN}"><cols><col min="1" max="2" width="40" customWidth="1"/></cols>'
        f"{sheet_data_xml(settings)}</worksheet>"
    )


def sheet_data_xml(settings: dict[str, str]) -> str:
    """The cells of the settings sheet: names in A, values in B, from A1 on without a gap."""
    place = len(settings) + 2
    rows = "".join(
        f'<row r="{i}">{_cell(f"A{i}", name)}{_cell(f"B{i}", value)}</row>'
        for i, (name, value) in enumerate(settings.items(), start=1)
    )
    return f'<sheetData>{rows}<row r="{place}">{_cell(f"A{place}", _NOTE)}</row></sheetData>'


def _cell(place: str, text: str) -> str:
    if not text:
        return ""
    return f'<c r="{place}" t="inlineStr"><is><t xml:space="preserve">{escape(text)}</t></is></c>'
