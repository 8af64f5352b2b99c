"""The VBA module of the worksheet functions, and what the function wizard shows, made from the
registry.

Each function hands its arguments to xlwings' `CallUDF` as values (`reach_python.bas` is what they
share). On the way back a marked text becomes a real error, in a cell and in a range that spills. A
failure on the way to Python shows as #VALUE!; a function of the topic "checks", whose result is
words, says what failed.

The text is plain ASCII, because the VBA editor reads a .bas file in the code page of the machine.

A workbook carries settings in a hidden sheet of its own: which Python computes the worksheet
functions. Nothing else is read, so that nobody else's settings can break ours.
"""

import re
import sys
from importlib.metadata import version
from importlib.resources import files
from pathlib import Path, PureWindowsPath
from struct import calcsize
from typing import Final
from xml.sax.saxutils import escape

from xlfuncs import __version__
from xlfuncs.catalogue.declaration import TOPICS, Arg, WorksheetFunction
from xlfuncs.catalogue.registry import functions
from xlfuncs.catalogue.reserved_names import keywords
from xlfuncs.errors import CellError
from xlfuncs.hosts.excel import server
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


MODULE_NAME: Final = "xlfuncs_functions"
PYTHON_MODULE: Final = "xlfuncs.hosts.excel.functions"

# What Excel starts the named Python with: nobody else's settings (-I: no folder of somebody's
# choice on the path, no PYTHON... of the environment), no files written (-B).
START_OPTIONS: Final = f"-I -B -m {server.__name__} $(CLSID)"

# Starts the text of an error. A real text that starts with it gets it twice, so that no text that
# somebody types can be taken for an error.
MARK: Final = "#xlfuncs#"

# The numbers that CVErr takes: XlCVError in the reference of Excel's object model.
ERROR_NUMBERS: Final = {
    CellError.NULL: 2000,
    CellError.DIVISION: 2007,
    CellError.VALUE: 2015,
    CellError.REFERENCE: 2023,
    CellError.NAME: 2029,
    CellError.NUMBER: 2036,
    CellError.NOT_AVAILABLE: 2042,
}

# Excel's own categories take the numbers up to 19, so ours follow (as Excel itself saves them).
BUILT_IN_GROUPS: Final = 19
_FIRST_GROUP: Final = BUILT_IN_GROUPS + 1

HELP_EXTENSION: Final = "{8193D73E-4604-4355-AFF4-8A2333D13BE4}"

# Names that the body of a function uses.
_USED: Final = frozenset({"ANSWER"})
_PLAIN_SPELLINGS: Final = str.maketrans(
    {"²": "2", "³": "3", "·": "*", "×": "x", "–": "-", "—": "-", "−": "-", "°": " deg ",
     "’": "'", "′": "'", "″": '"', "½": "1/2", "≤": "<=", "≥": ">=", "é": "e"}
)  # fmt: skip

_LONGEST_LINE: Final = 1000  # the VBA editor takes 1023 characters

_HEADER: Final = f'Attribute VB_Name = "{MODULE_NAME}"\nOption Explicit\n'

_FUNCTION: Final = """
Public Function {name}({parameters}) As Variant
Attribute {name}.VB_Description = "{help}"
Attribute {name}.VB_ProcData.VB_Invoke_Func = " \\n{group}"
    {name} = Answer({in_words}, "{name}", Array({passed}){rest})
End Function
"""


def vba_module() -> str:
    """The text of the VBA module, lines ended as Windows ends them; the same as a .bas file."""
    parts = [_HEADER, reach_python(), *(_function(function) for function in functions().values())]
    text = "".join(parts)
    for line in text.splitlines():
        if len(line) > _LONGEST_LINE:
            raise ValueError(f"a line of VBA has {len(line)} characters: {line[:60]}...")
    return text.replace("\n", "\r\n")


def reach_python() -> str:
    """What is VBA beside the functions: starting Python, handing over values, errors."""
    text = files(__package__).joinpath("reach_python.bas").read_text("ascii")
    cases = "\n".join(
        f'        Case "{error}": CellFromPython = CVErr({number})'
        for error, number in ERROR_NUMBERS.items()
    )
    known = {
        "version": __version__, "library64": library_file(64), "library32": library_file(32),
        "module": PYTHON_MODULE,
        "options": START_OPTIONS, "sheet": SHEET, "python_key": PYTHON, "library_key": LIBRARY,
        "application": server.APPLICATION, "section": server.SECTION, "key": server.KEY,
        "mark": MARK, "mark_length": str(len(MARK)), "cases": cases,
        "value_error": str(ERROR_NUMBERS[CellError.VALUE]),
    }  # fmt: skip
    return re.sub(r"\{(\w+)\}", lambda match: known[match[1]], text)


def library_file(bits: int = 8 * calcsize("P")) -> str:
    """The name of xlwings' library for programs of so many bits; by default this Python's."""
    return f"xlwings{bits}-{version('xlwings')}.dll"


def vba_names(function: WorksheetFunction) -> list[str]:
    """The names of the arguments as VBA can spell them: `open` is a word of its language."""
    taken = (keywords() - {"WIDTH"}) | _USED | {function.name}  # width only names a property
    return [f"{arg.name}_" if arg.name.upper() in taken else arg.name for arg in function.args]


def function_groups_xml() -> str:
    """The topics as categories of the function wizard ([ISO/IEC 29500-1] section 18.2.15)."""
    groups = "".join(f'<functionGroup name="{escape(t)}"/>' for t in TOPICS.values())
    return f'<functionGroups builtInGroupCount="{BUILT_IN_GROUPS}">{groups}</functionGroups>'


def argument_help_xml(others: str = "") -> str:
    """The help on each argument for the function wizard ([MS-OFFMACRO2] section 2.2.5.3).

    `others` are entries for other macros; they come after ours.
    """
    names = "".join(
        f'<x14:definedName name="{function.name}">'
        f'<x14:argumentDescriptions count="{len(function.args)}">'
        + "".join(
            f'<x14:argumentDescription index="{i}">{escape(arg.help)}</x14:argumentDescription>'
            for i, arg in enumerate(function.args)
        )
        + "</x14:argumentDescriptions></x14:definedName>"
        for function in functions().values()
    )
    return (
        f'<ext uri="{HELP_EXTENSION}"'
        ' xmlns:x14="http://schemas.microsoft.com/office/spreadsheetml/2009/9/main">'
        f"<x14:definedNames>{names}{others}</x14:definedNames></ext>"
    )


def _function(function: WorksheetFunction) -> str:
    names = vba_names(function)
    fixed = names[:-1] if function.repeats else names
    return _FUNCTION.format(
        name=function.name,
        parameters=", ".join(map(_parameter, function.args, names)),
        help=_plain(function.help).replace('"', '""'),
        group=_FIRST_GROUP + list(TOPICS).index(function.topic),
        in_words=function.topic == "checks",
        passed=", ".join(fixed),
        rest=f", {names[-1]}" if function.repeats else "",
    )


def _parameter(arg: Arg, name: str) -> str:
    if arg.variadic:
        return f"ParamArray {name}() As Variant"
    return name if arg.required else f"Optional {name}"


def _plain(text: str) -> str:
    """Text in ASCII, the usual signs spelled out."""
    spelled = text.translate(_PLAIN_SPELLINGS).replace("  ", " ")
    return spelled.encode("ascii", "replace").decode("ascii")
