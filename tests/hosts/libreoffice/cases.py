"""Calls of every worksheet function as a sheet makes them, with what each gives in Python.

The inputs come from the published checks (tests/published_values). Each is called with its
arguments written out, by reference, with its tables in other orders, units and languages, and then
once an argument with a range, a blank, text that carries its unit, text that is no quantity, a
number beyond all limits, and an error.
"""

from __future__ import annotations

import datetime as dt
import tomllib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

import openpyxl
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.formula import ArrayFormula

from tests.worksheet_arguments import worksheet_arguments
from tests.written_tables import ways
from xlfuncs.catalogue.declaration import WorksheetFunction
from xlfuncs.catalogue.registry import functions
from xlfuncs.errors import CellError
from xlfuncs.hosts.cells import call_from_cells
from xlfuncs.units import DIMENSIONS

PUBLISHED = Path(__file__).parents[2] / "published_values"

# Functions whose results are words have no published value; these inputs only exercise the host.
WITHOUT_PUBLISHED_VALUE: dict[str, list[Any]] = {
    "INPUT_CHECK": ["RUN_MINUTES", 600, 1, 6],
    "ROW_CHECK": ["WATERING_SETS", [4, -3], 8],
    "FINDINGS": ["us", [["Bed", "Length (ft)"], ["A", -3.0]]],
    "LEDGER_CHECK": [
        [["Date", "Kind", "Amount"], ["2026-01-05", "tape", 120], ["2026-02-30", "tape", 80]]
    ],
}


@dataclass(frozen=True)
class Case:
    """A call: what stands in the sheet for each argument, and the argument in Python.

    A column is a list. `by_reference` puts single values in cells of their own; a formula of the
    sheet, such as NA(), is given as ("NA()", value).
    """

    function: str
    words: str
    args: tuple[Any, ...]
    by_reference: bool = False

    @property
    def error_in(self) -> CellError | None:
        """The error among the arguments: Calc passes it on before any function sees it."""
        errors = (arg[1] for arg in self.args if isinstance(arg, tuple))
        return next((error for error in errors if isinstance(error, CellError)), None)

    @cached_property
    def in_python(self) -> Any:
        if self.error_in:
            return self.error_in
        args = [a[1] if isinstance(a, tuple) else a for a in self.args]
        return call_from_cells(
            self.function, [_rows(a) if isinstance(a, list) else a for a in args]
        )


def _rows(column: list[Any]) -> list[list[Any]]:
    """A column or a table as rows of cells."""
    return [row if isinstance(row, list) else [row] for row in column]


def published_checks() -> Iterator[dict[str, Any]]:
    for path in sorted(PUBLISHED.glob("*.toml")):
        for check in tomllib.loads(path.read_text("utf-8"))["check"]:
            if "function" in check:
                yield check


def arguments_of(check: dict[str, Any]) -> list[Any]:
    """The arguments of a published check in the order of the worksheet."""
    args = worksheet_arguments(check)
    while args and args[-1] is None:
        args.pop()
    return args


def base_arguments() -> dict[str, list[Any]]:
    """Arguments that work, for every function."""
    found = dict(WITHOUT_PUBLISHED_VALUE)
    for check in published_checks():
        found.setdefault(check["function"], arguments_of(check))
    return found


def cases() -> list[Case]:
    base = base_arguments()
    return [
        case
        for name, function in functions().items()
        if name in base
        for case in _cases_of(function, base[name])
    ]


def _cases_of(function: WorksheetFunction, args: list[Any]) -> Iterator[Case]:
    name = function.name
    yield Case(name, "written out", tuple(args))
    yield Case(name, "by reference", tuple(args), by_reference=True)
    yield Case(name, "arguments left out", tuple(a for a in args[:1] if not isinstance(a, list)))
    for words, written in ways(function, args):
        yield Case(name, f"tables with {words}", tuple(written))
    if function.elementwise is False and any(isinstance(a, list) for a in args):
        longer = [_longer(a) if isinstance(a, list) else a for a in args]
        yield Case(name, "ranges that end in blank rows", tuple(longer))
    for i, arg in enumerate(args):
        if function.variadic and i == 0:
            continue
        declared = function.positions[min(i, len(function.positions) - 1)]
        changes: dict[str, Any] = {
            "the error #N/A": ("NA()", CellError.NOT_AVAILABLE),
            "the error #DIV/0!": ("1/0", CellError.DIVISION),
        }
        if isinstance(arg, list):
            changes["a range of one blank"] = [None]
            last = ["3 bananas"] * len(arg[-1]) if isinstance(arg[-1], list) else "3 bananas"
            changes["a row of no quantity"] = [*arg[:-1], last]
        else:
            changes |= {"a blank": ('""', ""), "no quantity": "3 bananas", "beyond limits": -1e30}
        if declared.kind == "number" and isinstance(arg, int | float):
            unit = DIMENSIONS[declared.dimension].unit("us")
            text = f"{arg} {unit}".strip()
            changes["a quantity with its unit"] = text
            changes["the wrong dimension"] = f"{arg} {'psi' if unit != 'psi' else 'gpm'}"
            if function.elementwise:
                changes["a range"] = [arg, None, text, "3 bananas", -1e30, arg]
        for words, value in changes.items():
            changed = (*args[:i], value, *args[i + 1 :])
            yield Case(name, f"{declared.name}: {words}", changed)


def _longer(column: list[Any]) -> list[Any]:
    blank = [None] * len(column[0]) if isinstance(column[0], list) else None
    return [*column, blank, blank]


def write(path: Path, calls: Sequence[Case]) -> list[str]:
    """A workbook that makes the calls; gives the top left cell of each result on `Results`."""
    book = openpyxl.Workbook()
    results = book.active
    assert results is not None
    results.title = "Results"
    inputs = book.create_sheet("Inputs")
    places, row, column = [], 1, 1
    for case in calls:
        words = []
        for arg in case.args:
            single = case.by_reference and arg is not None and not isinstance(arg, tuple)
            if isinstance(arg, list) or single:
                words.append(_into_cells(inputs, column, arg))
                column += len(arg[0]) if isinstance(arg, list) and isinstance(arg[0], list) else 1
            else:
                words.append(_written_out(arg))
        rows, columns = _shape(case.in_python)
        end = f"{get_column_letter(columns)}{row + rows - 1}"
        formula = f"={case.function}({','.join(words)})"
        if rows == columns == 1:
            results.cell(row, 1).value = formula
        else:
            results.cell(row, 1).value = ArrayFormula(f"A{row}:{end}", formula)
        places.append(f"A{row}")
        row += rows
    book.save(path)
    return places


def _shape(value: Any) -> tuple[int, int]:
    return (len(value), len(value[0])) if isinstance(value, list) else (1, 1)


def _into_cells(sheet: Any, column: int, arg: Any) -> str:
    rows = _rows(arg if isinstance(arg, list) else [arg])
    for r, row in enumerate(rows, 1):
        for c, value in enumerate(row, column):
            sheet.cell(r, c).value = value
    single = f"Inputs!{get_column_letter(column)}1"
    last = get_column_letter(column + len(rows[0]) - 1)
    return f"{single}:{last}{len(rows)}" if isinstance(arg, list) else single


def _written_out(arg: Any) -> str:
    if isinstance(arg, tuple):
        return str(arg[0])
    if arg is None:
        return ""
    if isinstance(arg, bool):
        return str(arg).upper()
    if isinstance(arg, dt.date):
        return f"DATE({arg.year},{arg.month},{arg.day})"
    if isinstance(arg, str):
        return '"' + arg.replace('"', '""') + '"'
    return repr(arg)
