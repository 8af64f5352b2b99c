"""xlwings' settings, carried by a workbook in a hidden sheet: above all which Python to start."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Final
from xml.sax.saxutils import escape

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
    from openpyxl import load_workbook

    book = load_workbook(path, read_only=True)
    try:
        if SHEET not in book.sheetnames:
            return {}
        found = {}
        for name, value in book[SHEET].iter_rows(max_col=2, values_only=True):
            if name is None:
                break
            found[str(name).upper()] = "" if value is None else str(value)
        return found
    finally:
        book.close()


def with_interpreter(settings: dict[str, str], interpreter: str) -> dict[str, str]:
    """The settings with another interpreter, if one is given; the rest is kept."""
    named = {INTERPRETER: interpreter} if interpreter else {}
    return {INTERPRETER: "", **_ALWAYS, **settings, **named}


def sheet_data_xml(settings: dict[str, str]) -> str:
    """The cells of the settings sheet: names in A, values in B, from A1 on without a gap."""
    xml = "".join(
        f'<row r="{i}">{_cell(f"A{i}", name)}{_cell(f"B{i}", value)}</row>'
        for i, (name, value) in enumerate(settings.items(), start=1)
    )
    place = len(settings) + 2
    return f'<sheetData>{xml}<row r="{place}">{_cell(f"A{place}", _NOTE)}</row></sheetData>'


def _cell(place: str, text: str) -> str:
    if not text:
        return ""
    return f'<c r="{place}" t="inlineStr"><is><t xml:space="preserve">{escape(text)}</t></is></c>'
