"""The VBA module of the worksheet functions, and what the function wizard shows, made from the
registry.

Each function hands its arguments to `XLPy.CallUDF` as the wrapper that xlwings itself writes does.
On the way back a marked text becomes a real error, in a cell and in a range that spills. A failure
on the way to Python shows as #VALUE!; a function of the topic "checks", whose result is words, says
what failed.

The text is plain ASCII, because the VBA editor reads a .bas file in the code page of the machine.
"""

from __future__ import annotations

from typing import Final
from xml.sax.saxutils import escape

from xlfuncs import __version__
from xlfuncs.catalogue.declaration import Arg, WorksheetFunction
from xlfuncs.catalogue.registry import TOPICS, functions
from xlfuncs.catalogue.reserved_names import KEYWORDS
from xlfuncs.errors import CellError

MODULE_NAME: Final = "xlfuncs_functions"
PYTHON_MODULE: Final = "xlfuncs.hosts.excel.functions"

# Starts the text of an error. A real text that starts with it gets it twice, so that no text that
# somebody types can be taken for an error.
MARK: Final = chr(27)

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
_USED: Final = frozenset(
    {"APPLICATION", "CVERR", "ERR", "FAILED", "FROMPYTHON", "K", "PASSED", "THISWORKBOOK", "XLPY"}
)
_PLAIN_SPELLINGS: Final = str.maketrans(
    {"²": "2", "³": "3", "·": "*", "×": "x", "–": "-", "—": "-", "−": "-", "°": " deg ",
     "’": "'", "′": "'", "″": '"', "½": "1/2", "≤": "<=", "≥": ">=", "é": "e"}
)  # fmt: skip

_LONGEST_LINE: Final = 1000  # the VBA editor takes 1023 characters

_HEADER: Final = f"""\
Attribute VB_Name = "{MODULE_NAME}"
Option Explicit
' The worksheet functions of xlfuncs {__version__}, written by its command line; a change made here
' is lost when it is written again. XLPy belongs to xlwings and reaches Python.
"""

_FUNCTION: Final = """
Public Function {name}({parameters}) As Variant
Attribute {name}.VB_Description = "{help}"
Attribute {name}.VB_ProcData.VB_Invoke_Func = " \\n{group}"
    On Error GoTo failed
{preparation}\
    {name} = FromPython(XLPy.CallUDF("{module}", "{name}", {passed}, ThisWorkbook, \
Application.Caller))
    Exit Function
failed:
    {name} = {failure}
End Function
"""

_PREPARATION: Final = """\
    Dim passed() As Variant, k As Long
    ReDim passed(0 To {fixed_count} + UBound({rest}) - LBound({rest}))
{fixed}\
    For k = LBound({rest}) To UBound({rest})
        passed({fixed_count} + k - LBound({rest})) = {rest}(k)
    Next k
"""

_HELPERS: Final = """
Private Function FromPython(ByVal answer As Variant) As Variant
    Dim row As Long, column As Long
    If Not IsArray(answer) Then
        FromPython = CellFromPython(answer)
        Exit Function
    End If
    If Dimensions(answer) = 1 Then
        For column = LBound(answer) To UBound(answer)
            answer(column) = CellFromPython(answer(column))
        Next column
    Else
        For row = LBound(answer, 1) To UBound(answer, 1)
            For column = LBound(answer, 2) To UBound(answer, 2)
                answer(row, column) = CellFromPython(answer(row, column))
            Next column
        Next row
    End If
    FromPython = answer
End Function

Private Function Dimensions(ByRef answer As Variant) As Long
    Dim last As Long
    Dimensions = 1
    On Error GoTo one
    last = UBound(answer, 2)
    Dimensions = 2
one:
End Function

Private Function CellFromPython(ByVal value As Variant) As Variant
    CellFromPython = value
    If VarType(value) <> vbString Then Exit Function
    If Left$(value, 1) <> Chr$({mark}) Then Exit Function
    Select Case Mid$(value, 2)
{cases}
        Case Else: CellFromPython = Mid$(value, 2)
    End Select
End Function
"""


def vba_module() -> str:
    """The text of the VBA module, lines ended as Windows ends them; the same as a .bas file."""
    parts = [_HEADER, *(_function(function) for function in functions().values()), _helpers()]
    text = "".join(parts)
    for line in text.splitlines():
        if len(line) > _LONGEST_LINE:
            raise ValueError(f"a line of VBA has {len(line)} characters: {line[:60]}...")
    return text.replace("\n", "\r\n")


def vba_names(function: WorksheetFunction) -> list[str]:
    """The names of the arguments as VBA can spell them: `open` is a word of its language."""
    taken = (KEYWORDS - {"WIDTH"}) | _USED | {function.name}  # width is only the name of a property
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
    preparation, passed = "", f"Array({', '.join(names)})"
    if function.variadic:
        preparation, passed = _preparation(names), "passed"
    value_error = ERROR_NUMBERS[CellError.VALUE]
    return _FUNCTION.format(
        name=function.name,
        parameters=", ".join(map(_parameter, function.args, names)),
        help=_plain(function.help).replace('"', '""'),
        group=_FIRST_GROUP + list(TOPICS).index(function.topic),
        preparation=preparation,
        module=PYTHON_MODULE,
        passed=passed,
        failure='"Python was not reached: " & Err.Description'
        if function.topic == "checks"
        else f"CVErr({value_error})",
    )


def _parameter(arg: Arg, name: str) -> str:
    if arg.variadic:
        return f"ParamArray {name}() As Variant"
    return name if arg.required else f"Optional {name}"


def _preparation(names: list[str]) -> str:
    """The arguments in one array where the last one may come any number of times."""
    *fixed, rest = names
    lines = "".join(f"    passed({i}) = {name}\n" for i, name in enumerate(fixed))
    # one more than the last index of `rest` is its length, which is 0 for an empty ParamArray
    return _PREPARATION.format(fixed_count=len(fixed), rest=rest, fixed=lines)


def _helpers() -> str:
    cases = "\n".join(
        f'        Case "{error}": CellFromPython = CVErr({number})'
        for error, number in ERROR_NUMBERS.items()
    )
    return _HELPERS.format(cases=cases, mark=ord(MARK))


def _plain(text: str) -> str:
    """Text in ASCII, the usual signs spelled out."""
    spelled = text.translate(_PLAIN_SPELLINGS).replace("  ", " ")
    return spelled.encode("ascii", "replace").decode("ascii")
