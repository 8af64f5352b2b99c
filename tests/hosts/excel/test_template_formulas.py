"""The template as a macro workbook: every formula names a function that Excel will find there,
with a number of arguments that the VBA declaration takes."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import openpyxl
import pytest
from openpyxl.formula import Tokenizer
from openpyxl.formula.tokenizer import Token
from openpyxl.worksheet.formula import ArrayFormula
from pyopenvba.integrity import check_file

from tests.made_once import made_once
from workbook_template.build import demo_inputs
from xlfuncs.catalogue.registry import functions
from xlfuncs.hosts.excel.macro_workbook import module_of
from xlfuncs.hosts.excel.wrapper import MODULE_NAME

BUILT_IN = (
    Path(__file__).parents[3] / "xlfuncs" / "catalogue" / "builtin_functions.txt"
).read_text("utf-8")


@dataclass
class _Open:
    """A call or a bracket that is not closed yet."""

    name: str
    separators: int = 0
    holds_anything: bool = False


def calls_in(formula: str) -> Iterator[tuple[str, int]]:
    """The functions that a formula calls, each with its number of arguments."""
    stack = [_Open("")]
    for token in Tokenizer(formula).items:
        if token.subtype == Token.OPEN:
            stack.append(_Open(token.value.rstrip("(").rpartition(":")[2]))  # A1:INDEX( too
            continue
        if token.subtype == Token.CLOSE:
            closed = stack.pop()
            if token.type == Token.FUNC:
                yield closed.name, closed.separators + 1 if closed.holds_anything else 0
        elif token.type == Token.SEP and token.subtype == Token.ARG:
            stack[-1].separators += 1
        if token.type != Token.WSPACE:
            stack[-1].holds_anything = True


def test_calls_are_counted_rightly() -> None:
    formula = '=IF(COUNT(A1)=0,"",BED_AREA(A1,,{1,2;3,4},(B1+1)))+PI()'
    assert sorted(calls_in(formula)) == [("BED_AREA", 4), ("COUNT", 1), ("IF", 3), ("PI", 0)]


@pytest.fixture(scope="module", params=["us", "metric"])
def template(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("template") / "farm.xlsm"
    made_once(path, request.param, demo_inputs(request.param), macros=True)
    return path


def _formulas(path: Path) -> Iterator[str]:
    for sheet in openpyxl.load_workbook(path):
        if not hasattr(sheet, "iter_rows"):
            continue  # a chart sheet
        for row in sheet.iter_rows():
            for cell in row:
                if isinstance(cell.value, ArrayFormula):
                    yield str(cell.value.text)
                elif cell.data_type == "f":
                    yield str(cell.value)


def _declared(path: Path) -> dict[str, tuple[int, float]]:
    """The fewest and the most arguments that each VBA function of a workbook takes."""
    found = {}
    text = module_of(path, MODULE_NAME) or ""
    for name, listed in re.findall(r"^Public Function (\w+)\((.*)\) As Variant", text, re.M):
        parameters = listed.split(", ")
        needed = [p for p in parameters if not p.startswith(("Optional", "ParamArray"))]
        many = any(p.startswith("ParamArray") for p in parameters)
        found[name] = (len(needed), float("inf") if many else len(parameters))
    return found


def test_every_formula_calls_what_is_there(template: Path) -> None:
    declared, known, seen = _declared(template), set(BUILT_IN.split()), set()
    for formula in _formulas(template):
        for name, count in calls_in(formula):
            if name in declared:
                fewest, most = declared[name]
                assert fewest <= count <= most, formula
                seen.add(name)
            else:
                assert name.removeprefix("_xlfn.").removeprefix("_xlws.") in known, formula
    assert seen
    assert set(declared) == set(functions())


def test_the_template_is_a_sound_package(template: Path) -> None:
    report = check_file(template)
    assert report.ok, report.issues
