"""The settings that a workbook carries in a hidden sheet of its own: which Python computes the
worksheet functions. Nothing else is read, so that nobody else's settings can break ours."""

import sys
from pathlib import Path, PureWindowsPath
from typing import Final
from xml.sax.saxutils import escape

from xlfuncs.xlsx.cell_references import MAX_ROW
from xlfuncs.xlsx.contents import Contents
from xlfuncs.xlsx.package import Package

SHEET: Final = "xlfuncs"
PYTHON, LIBRARY = "PYTHON", "LIBRARY"  # python.exe; the folder of xlwings' libraries
# Before there was a sheet of our own, the interpreter stood among xlwings' settings.
_FORMER_SHEET, _FORMER_PYTHON = "xlwings.conf", "INTERPRETER_WIN"
_MAIN: Final = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
_NOTE: Final = (
    "Which Python computes the worksheet functions, and the folder of xlwings' libraries. On"
    " another computer run: xlfuncs excel add WORKBOOK"
)
# A volatile formula, because those are computed whenever the workbook is opened: so Python starts
# then, and not when somebody waits for a cell.
_START_NOTE: Final = "Starts Python when the workbook is opened; ok, or why not"
_START: Final = 'IF(NOW()>0,INPUT_CHECK("BED_AREA",1,1),"")'


def this_interpreter() -> str:
    """The running Python as Excel can start it; empty off Windows."""
    return sys.executable if sys.platform == "win32" else ""


def library_folder(interpreter: str) -> str:
    """Where pip puts xlwings' libraries: at the root of an installation or environment."""
    folder = PureWindowsPath(interpreter).parent
    return str(folder.parent if folder.name.lower() == "scripts" else folder)


def renewed(settings: dict[str, str], interpreter: str) -> dict[str, str]:
    """All settings, with another interpreter if one is given."""
    python = interpreter or settings.get(PYTHON, "")
    return {PYTHON: python, LIBRARY: library_folder(python) if python else ""}


def read_settings(path: Path | str) -> dict[str, str]:
    """The settings in a workbook, by their names in capitals; empty without the sheet."""
    return settings_of(Contents(Package.open(path)))


def settings_of(contents: Contents) -> dict[str, str]:
    """The same from a workbook that is open already."""
    found = _listed(contents, SHEET)
    former = _listed(contents, _FORMER_SHEET).get(_FORMER_PYTHON, "")
    return {PYTHON: former, **found} if found or former else {}


def _listed(contents: Contents, sheet: str) -> dict[str, str]:
    found: dict[str, str] = {}
    if sheet in [known.name for known in contents.sheets]:
        for row in range(1, MAX_ROW):
            name, value = (_text(contents, sheet, row, column) for column in (1, 2))
            if not name:
                break
            found[name.upper()] = value
    return found


def _text(contents: Contents, sheet: str, row: int, column: int) -> str:
    cell = contents.cell_at(sheet, row, column)
    value = None if cell is None else contents.value(cell)
    return "" if value is None else str(value)


def sheet_xml(settings: dict[str, str]) -> str:
    """The part of a new sheet with the settings."""
    return (
        '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
        f'<worksheet xmlns="{_MAIN}"><cols><col min="1" max="2" width="40" customWidth="1"/></cols>'
        f"{sheet_data_xml(settings)}</worksheet>"
    )


def sheet_data_xml(settings: dict[str, str]) -> str:
    """The cells of the settings sheet: names in A, values in B, from A1 on without a gap; below
    them what they mean, and the cell that starts Python."""
    rows = [(i, _cell(f"A{i}", name) + _cell(f"B{i}", value))
            for i, (name, value) in enumerate(settings.items(), start=1)]  # fmt: skip
    place = len(settings) + 2
    rows.append((place, _cell(f"A{place}", _NOTE)))
    start = f'<c r="B{place + 1}" t="str"><f>{escape(_START)}</f><v>ok</v></c>'
    rows.append((place + 1, _cell(f"A{place + 1}", _START_NOTE) + start))
    inside = "".join(f'<row r="{row}">{cells}</row>' for row, cells in rows)
    return f"<sheetData>{inside}</sheetData>"


def _cell(place: str, text: str) -> str:
    if not text:
        return ""
    return f'<c r="{place}" t="inlineStr"><is><t xml:space="preserve">{escape(text)}</t></is></c>'
