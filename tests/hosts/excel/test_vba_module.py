"""The VBA module: its text by the rules of the language, and by what xlwings itself would write."""

from __future__ import annotations

import re
from typing import Any

import pytest

from xlfuncs.catalogue.registry import TOPICS, functions
from xlfuncs.errors import CellError
from xlfuncs.hosts.excel import wrapper

TEXT = wrapper.vba_module()
DECLARED = re.compile(r"^Public Function (\w+)\((.*)\) As Variant$", re.MULTILINE)


def _parameters(name: str) -> list[str]:
    found = dict(DECLARED.findall(TEXT.replace("\r\n", "\n")))
    return str(found[name]).split(", ")


def test_it_declares_exactly_the_registered_functions() -> None:
    names = [name for name, _ in DECLARED.findall(TEXT.replace("\r\n", "\n"))]
    assert names == list(functions())
    others = re.findall(r"^(?!Private|Public)\w* ?(?:Sub|Function) \w+\(", TEXT, re.MULTILINE)
    assert others == []


def test_it_is_what_the_vba_editor_takes() -> None:
    """A .bas file is read in the machine's code page; a line has at most 1023 characters."""
    assert TEXT.isascii()
    assert TEXT.startswith(f'Attribute VB_Name = "{wrapper.MODULE_NAME}"\r\n')
    assert len(wrapper.MODULE_NAME) <= 31
    lines = TEXT.split("\r\n")
    assert all("\n" not in line and len(line) < 1023 for line in lines)


@pytest.mark.parametrize("name", functions())
def test_its_help_lost_nothing(name: str) -> None:
    (words,) = re.findall(rf'^Attribute {name}\.VB_Description = "(.*)"\r$', TEXT, re.MULTILINE)
    help_text = functions()[name].help
    assert words.count("?") == help_text.count("?")
    assert 0 < len(words) <= 255


# [MS-VBAL] section 3.3.5.2, reserved identifiers (statement and marker keywords, operators,
# reserved names, special forms, types, literals).
RESERVED = """
Call Case Close Const Declare Dim Do Else ElseIf End EndIf Enum Erase Event Exit For Friend
Function Get Global GoSub GoTo If Implements Input Let Lock Loop LSet Next On Open Option Print
Private Public Put RaiseEvent ReDim Resume Return RSet Seek Select Set Static Stop Sub Type
Unlock Wend While With Write Rem Any As ByRef ByVal Each In New Shared Until WithEvents Optional
ParamArray Preserve Spc Tab Then To AddressOf And Eqv Imp Is Like Mod Not Or TypeOf Xor Abs
CBool CByte CCur CDate CDbl CDec CInt CLng CLngLng CLngPtr CSng CStr CVar CVErr Date Debug
DoEvents Fix Int Len LenB Me PSet Scale Sgn String Array Circle InputB LBound UBound Boolean
Byte Currency Double Integer Long LongLong LongPtr Single Variant True False Nothing Empty Null
Attribute LineInput Decimal
"""


@pytest.mark.parametrize("name", functions())
def test_its_parameters_can_be_spelled_in_vba(name: str) -> None:
    words = [p.removeprefix("Optional ").removeprefix("ParamArray ") for p in _parameters(name)]
    names = [w.removesuffix(" As Variant").removesuffix("()") for w in words]
    assert len({n.lower() for n in names}) == len(names)
    for word in names:
        assert re.fullmatch(r"[a-z][a-z0-9_]{0,254}", word)
        assert word not in RESERVED.lower().split()
        assert word.upper() != name


@pytest.mark.parametrize("name", functions())
def test_it_calls_python_as_the_wrapper_of_xlwings_would(name: str) -> None:
    """Parameters, their order and what is optional, against xlwings' own generator."""
    from tests.hosts.excel.excel_on_windows import xlwings_wrapper

    def parts(text: str) -> tuple[list[str], str]:
        declared = re.search(rf"Function {name}\((.*)\)", text)
        called = re.search(r'XLPy\.CallUDF\("([\w.]+)", "(\w+)", (.*), (\w+), Application', text)
        assert declared
        assert called
        parameters = [p.removesuffix(" As Variant") for p in declared[1].split(", ")]
        assert called[2] == name
        return parameters, f"{called[1]} {called[3]} {called[4]}"

    ours = re.search(rf"Public Function {name}\(.*?End Function", TEXT, re.DOTALL)
    assert ours
    mine, theirs = parts(ours[0]), parts(xlwings_wrapper(name))
    spelled = dict(zip(wrapper.vba_names(functions()[name]), functions()[name].args, strict=True))

    def plain(text: str) -> str:
        for vba, arg in spelled.items():
            text = re.sub(rf"\b{vba}\b", arg.name, text)
        return text.replace("As Variant", "").replace("() ", "()")

    assert [plain(p) for p in mine[0]] == theirs[0]
    assert plain(mine[1]).replace("passed", "argsArray") == theirs[1]


# XlCVError in the reference of Excel's object model: the number that CVErr takes for each error.
XL_CV_ERROR = {
    "#NULL!": 2000, "#DIV/0!": 2007, "#VALUE!": 2015, "#REF!": 2023, "#NAME?": 2029,
    "#NUM!": 2036, "#N/A": 2042,
}  # fmt: skip


@pytest.mark.parametrize("error", list(CellError))
def test_it_makes_real_errors(error: CellError) -> None:
    line = f'Case "{error}": CellFromPython = CVErr({XL_CV_ERROR[str(error)]})\r\n'
    assert TEXT.count(line) == 1


def test_a_failure_on_the_way_to_python_is_an_error_or_words_but_never_a_number() -> None:
    bodies = re.findall(r"Public Function (\w+).*?failed:\r\n(.*?)End Function", TEXT, re.DOTALL)
    for name, body in bodies:
        words = functions()[name].topic == "checks"
        assert body.strip() == (
            f'{name} = "Python was not reached: " & Err.Description'
            if words
            else f"{name} = CVErr(2015)"
        )


def test_categories_and_argument_help_keep_their_limits() -> None:
    """[MS-XLS] 2.4.121: a category has at most 32 characters; [MS-OFFMACRO2] 2.2.5.4: a function
    1 to 60 argument descriptions; MacroOptions: 255 characters each."""
    assert all(len(title) <= 32 for title in TOPICS.values())
    for function in functions().values():
        assert 1 <= len(function.args) <= 60
        assert all(len(arg.help) <= 255 for arg in function.args)
    groups: list[Any] = re.findall(r'VB_Invoke_Func = " \\n(\d+)"', TEXT)
    assert {int(g) for g in groups} <= set(range(20, 20 + len(TOPICS)))
