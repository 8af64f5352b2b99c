"""The VBA module of the worksheet functions, and what the function wizard shows, made from the
registry.

Each function hands its arguments to xlwings' `CallUDF` as values (`reach_python.bas` is what they
share). On the way back a marked text becomes a real error, in a cell and in a range that spills. A
failure on the way to Python shows as #VALUE!; a function of the topic "checks", whose result is
words, says what failed.

The text is plain ASCII, because the VBA editor reads a .bas file in the code page of the machine.
"""

import re
from importlib.metadata import version
from importlib.resources import files
from struct import calcsize
from typing import Final
from xml.sax.saxutils import escape

from xlfuncs import __version__
from xlfuncs.catalogue.declaration import Arg, WorksheetFunction
from xlfuncs.catalogue.registry import TOPICS, functions
from xlfuncs.catalogue.reserved_names import keywords
from xlfuncs.errors import CellError
from xlfuncs.hosts.excel import server
from xlfuncs.hosts.excel.settings import LIBRARY, PYTHON, SHEET

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
