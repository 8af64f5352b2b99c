"""Plain formulas against the functions that they stand for, computed by the embedded engine."""

from __future__ import annotations

import math
import random
from io import BytesIO
from typing import Any

import pytest
import xlsxwriter

from xlfuncs.catalogue.arguments import limits
from xlfuncs.catalogue.declaration import Arg, WorksheetFunction
from xlfuncs.catalogue.registry import functions
from xlfuncs.errors import CellError, DeclarationError
from xlfuncs.hosts.cells import call_from_cells
from xlfuncs.hosts.plain_formulas import has_plain_formula, plain_formula
from xlfuncs.units import SYSTEMS, from_base
from xlfuncs.workbooks.recalculating.engine import evaluate

PLAIN = [f for f in functions().values() if f.plain]
DRAWS = 25


def _draw(arg: Arg, system: str, chance: random.Random) -> Any:
    if arg.kind == "flag":
        return chance.random() < 0.5
    if arg.choices:
        return chance.choice(arg.choices)
    low, _, high, _ = limits(arg)
    low = from_base(low, arg.dimension, system) if math.isfinite(low) else -5.0
    high = from_base(high, arg.dimension, system) if math.isfinite(high) else low + 50.0
    value = low + (high - low) * chance.random() ** 3
    if not arg.required and chance.random() < 0.3:
        return None
    return float(round(value)) if arg.whole else round(value, 4)


def _workbook(function: WorksheetFunction, system: str) -> tuple[bytes, list[list[Any]]]:
    """A sheet with random inputs and the plain formula in the column behind them."""
    chance = random.Random(function.name + system)
    buffer = BytesIO()
    book = xlsxwriter.Workbook(buffer)
    sheet = book.add_worksheet("Plain")
    rows = [[_draw(arg, system, chance) for arg in function.inputs] for _ in range(DRAWS)]
    for r, row in enumerate(rows):
        sheet.write_row(r, 0, row)
        cells = [f"{chr(65 + c)}{r + 1}" for c in range(len(row))]
        sheet.write_formula(r, len(row), "=" + plain_formula(function.name, cells, system))
    book.close()
    return buffer.getvalue(), rows


@pytest.mark.parametrize("system", SYSTEMS)
@pytest.mark.parametrize("function", PLAIN, ids=lambda f: f.name)
def test_plain_formula_equals_the_function(function: WorksheetFunction, system: str) -> None:
    content, rows = _workbook(function, system)
    values = evaluate(content, {}).values["Plain"]
    compared = 0
    for r, row in enumerate(rows):
        wanted = call_from_cells(function.name, (*row, system))
        got = values.get((r + 1, len(row) + 1))
        if isinstance(wanted, CellError) or got is None:
            continue  # a relation between arguments is broken, or programs differ on INT there
        assert got == pytest.approx(wanted, rel=1e-9, abs=1e-12), (row, plain_formula)
        compared += 1
    assert compared >= 5


def test_outside_the_limits_it_is_not_available() -> None:
    formula = plain_formula("RUN_MINUTES", ["600", "1", "A1"], "us")
    buffer = BytesIO()
    book = xlsxwriter.Workbook(buffer)
    sheet = book.add_worksheet("Plain")
    sheet.write("A1", 0)
    sheet.write_formula("B1", "=" + formula)
    book.close()
    assert evaluate(buffer.getvalue(), {}).values["Plain"][1, 2] is CellError.NOT_AVAILABLE


def test_products_stay_short() -> None:
    formula = plain_formula("VOLUME_FROM_DEPTH", ["A1", "B1"], "us")
    assert formula.endswith("A1*B1*0.623376623376623)")


def test_functions_without_one_say_so() -> None:
    assert not has_plain_formula("INPUT_CHECK")
    with pytest.raises(DeclarationError, match="no plain formula"):
        plain_formula("INPUT_CHECK", [], "us")
