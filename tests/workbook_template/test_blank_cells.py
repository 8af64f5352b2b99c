"""What may stay blank in a table is asked before a function is given it.

In Calc a reference to one empty cell reaches a function as 0, not as a blank; where the argument
has a limit above 0 the whole row would be refused. (LibreOffice's interpreter of add-in functions
passes the value of an empty cell, which is 0.)
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from openpyxl import load_workbook
from openpyxl.formula import Tokenizer

from tests.made_once import made_once
from workbook_template.build import demo_inputs, results, write
from xlfuncs.catalogue.registry import functions
from xlfuncs.tables.garden.beds import BEDS


def _plain_arguments(formula: str) -> set[str]:
    """The arguments of our functions that are one reference and nothing else."""
    found: set[str] = set()
    stack: list[tuple[bool, list[str]]] = []
    for token in Tokenizer(formula).items:
        if token.subtype == "OPEN":
            stack.append((token.value[:-1] in {*functions(), "INPUT_CHECK"}, [""]))
        elif token.subtype == "CLOSE":
            ours, arguments = stack.pop()
            found |= set(arguments) if ours else set()
            if stack:
                stack[-1][1][-1] += "()"
        elif token.type == "SEP" and stack:
            stack[-1][1].append("")
        elif stack:
            stack[-1][1][-1] += token.value
    return found


def test_a_width_typed_with_its_unit_counts_as_the_number_does() -> None:
    farm = demo_inputs("us")
    flows, wetted = [], []
    # a manifold as wide as the bed: by its one strip, or by its top
    for width, top in ((30, None), ("2 ft 6 in", None), (20, 30)):
        beds = [dict(row) for row in farm.tables["Beds"]]
        beds[0] |= {"strips": None, "strip_width": width, "bed_top_width": top, "laterals": 1}
        tables = {**farm.tables, "Beds": beds}
        built = results(write("us", replace(farm, tables=tables)), but=["DESIGNS"])
        assert built.named("pressure_state") == "ok"
        flows.append(built.rows("Beds")[0]["delivered_flow"])
        wetted += [row["wetted_fraction"] for row in built.rows("BedPlan")
                   if row["bed"] == beds[0]["bed"]][:1]  # fmt: skip
    assert flows == pytest.approx([flows[2]] * 3)
    assert wetted[0] == pytest.approx(wetted[1])
    # of the width that is planted, on which need is counted (NEH 623 chapter 7: cropped area)
    assert wetted[2] == pytest.approx(wetted[0] * 30 / 20) and wetted[2] < 1


@pytest.mark.parametrize("system", ["us", "metric"])
def test_what_may_stay_blank_is_asked_first(system: str, tmp_path: Path) -> None:
    made_once(tmp_path / "book.xlsx", system, demo_inputs(system))
    sheet = load_workbook(tmp_path / "book.xlsx")["Beds"]
    optional = {column.header for column in BEDS.columns if not column.required}
    formulas = {cell.value for row in sheet for cell in row if cell.data_type == "f"}
    assert formulas
    for formula in formulas:
        for argument in _plain_arguments(formula):
            if argument.startswith("Beds[[#This Row],["):
                header = argument[18:-2].rpartition(" (")[0] or argument[18:-2]
                assert header not in optional, (argument, formula)
