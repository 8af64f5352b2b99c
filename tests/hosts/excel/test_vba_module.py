"""The VBA module: its text by the rules of the language, and by what xlwings itself would write."""

from __future__ import annotations

import re
from typing import Any

import pytest

from xlfuncs.catalogue.declaration import TOPICS
from xlfuncs.catalogue.registry import functions
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
    # a Sub without parameters is no worksheet function but a macro that a person can choose
    others = re.findall(r"^(?!Private|\s).*?(Sub \w+)\(", TEXT, re.MULTILINE)
    assert others == ["Sub xlfuncs_try_again"]


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
def test_it_passes_what_the_wrapper_of_xlwings_would(name: str) -> None:
    """Parameters, their order and what is optional, against xlwings' own generator."""
    from tests.hosts.excel.played_windows import xlwings_wrapper

    theirs = re.search(rf"Function {name}\((.*)\)", xlwings_wrapper(name))
    ours = re.search(
        rf"Public Function {name}\(([^\r]*)\) As Variant\r.*?End Function", TEXT, re.DOTALL
    )
    assert theirs and ours
    called = re.search(r'Answer\(\w+, "(\w+)", Array\((.*?)\)(?:, (\w+))?\)\r', ours[0])
    assert called
    args, names = functions()[name].args, wrapper.vba_names(functions()[name])
    spelled = dict(zip(names, [arg.name for arg in args], strict=True))

    def plain(parameter: str) -> str:
        words = parameter.replace(" As Variant", "").replace("()", "").split()
        return " ".join([*words[:-1], spelled.get(words[-1], words[-1])])

    assert [plain(p) for p in ours[1].split(", ")] == [plain(p) for p in theirs[1].split(", ")]
    assert called[1] == name
    assert [*filter(None, called[2].split(", ")), *filter(None, [called[3]])] == names


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
    assert "If inWords Then Answer = Err.Description Else Answer = CVErr(2015)\r\n" in TEXT
    for words, name in re.findall(r'Answer\((True|False), "(\w+)"', TEXT):
        assert (words == "True") == (functions()[name].topic == "checks")


def test_categories_and_argument_help_keep_their_limits() -> None:
    """[MS-XLS] 2.4.121: a category has at most 32 characters; [MS-OFFMACRO2] 2.2.5.4: a function
    1 to 60 argument descriptions; MacroOptions: 255 characters each."""
    assert all(len(title) <= 32 for title in TOPICS.values())
    for function in functions().values():
        assert 1 <= len(function.args) <= 60
        assert all(len(arg.help) <= 255 for arg in function.args)
    groups: list[Any] = re.findall(r'VB_Invoke_Func = " \\n(\d+)"', TEXT)
    assert {int(g) for g in groups} <= set(range(20, 20 + len(TOPICS)))
