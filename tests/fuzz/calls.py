"""A function called as a spreadsheet calls it and as Python does, and what must hold of both."""

from __future__ import annotations

import math
import time
import warnings
from collections.abc import Callable
from typing import Any

import numpy as np
import pandas as pd

from xlfuncs.catalogue.arguments import EPOCH
from xlfuncs.catalogue.declaration import WorksheetFunction
from xlfuncs.errors import CellError, InputError, InputWarning
from xlfuncs.hosts.cells import call_from_cells
from xlfuncs.hosts.pandas_columns import python_function

LONGEST = 5.0  # s
Rows = list[list[Any]]


def from_cells(function: WorksheetFunction, args: list[Any]) -> Any:
    """A cell value or rows of them."""
    return call_from_cells(function.name, tuple(args))


def from_python(function: WorksheetFunction, args: list[Any]) -> Any:
    """The same from Python: columns as lists, tables as data frames."""
    place = len(args) if function.variadic else function.units_place
    units = args[place] if place < len(args) else "us"
    tables = [bool(arg.table) for arg in function.positions]
    if function.variadic:  # ranges, of which one of a single cell is its value
        args = [arg[0][0] if isinstance(arg, list) and len(arg) == 1 == len(arg[0]) else arg
                for arg in args]  # fmt: skip
        tables = [True] * len(args)
    given = [arg if tables[i] else _as_python(arg) for i, arg in enumerate(args) if i != place]
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", InputWarning)
            return _as_cells(python_function(function.name)(*given, units=units))
    except InputError as error:
        return error.cell_error


def _as_python(value: Any) -> Any:
    if not isinstance(value, list):
        return value
    return [row[0] for row in value]


def _as_cells(value: Any) -> Any:
    if isinstance(value, pd.DataFrame):
        columns = [[_as_cell(item) for item in value[name]] for name in value.columns]
        return [list(row) for row in zip(*columns, strict=True)] or ""
    if isinstance(value, (pd.Series, np.ndarray)):
        array = np.asarray(value)
        if array.ndim == 1:
            return [[_as_cell(item)] for item in array]
        return [[_as_cell(item) for item in row] for row in array]
    return _as_cell(value)


def _as_cell(value: Any) -> Any:
    if value is None or value is pd.NaT or value != value:
        return ""
    if isinstance(value, (pd.Timestamp, np.datetime64)):
        return float((np.datetime64(value, "D") - EPOCH).astype(float))
    if isinstance(value, np.generic):
        value = value.item()
    return float(value) if isinstance(value, int) and not isinstance(value, bool) else value


def flat(answer: Any) -> list[Any]:
    return [cell for row in answer for cell in row] if isinstance(answer, list) else [answer]


def is_answer(answer: Any) -> bool:
    """Whether there is a value that is no error; a column of remarks may be blank all through."""
    if isinstance(answer, list):
        return any(not isinstance(cell, CellError) for cell in flat(answer))
    return answer != "" and not isinstance(answer, CellError)


def fault(function: WorksheetFunction, args: list[Any]) -> str:
    """What is wrong with the answers for these arguments; nothing where all is well."""
    start = time.process_time()
    try:
        cells = from_cells(function, args)
        python = from_python(function, args)
    except Exception as error:
        return f"raises {type(error).__name__}: {error}"[:300]
    spent = time.process_time() - start
    if spent > 2 * LONGEST:
        return f"takes {spent:.1f} s"
    for cell in [*flat(cells), *flat(python)]:
        if isinstance(cell, float) and math.isinf(cell):
            return "an infinity"
    if cells is CellError.NAME:  # none of the inputs holds it
        return "#NAME?"
    if _comparable(cells) != _comparable(python):
        return f"cells give {cells!r:.300}, Python {python!r:.300}"
    return ""


def _comparable(answer: Any) -> Any:
    """Python has NaN where a cell of a column has an error or nothing."""
    if not isinstance(answer, list):
        return answer
    if all(cell == "" for cell in flat(answer)):
        return ""
    return [["" if isinstance(cell, CellError) else cell for cell in row] for row in answer]


def smallest(args: list[Any], fails: Callable[[list[Any]], str], places: set[int]) -> list[Any]:
    """A smaller case that fails too: fewer arguments, fewer rows, plainer values.

    `places` are the arguments that have rows; rows are taken away from all of one length together.
    """
    best = args
    for _ in range(400):
        for case in _smaller(best, places):
            try:
                failing = bool(fails(case))
            except Exception:
                failing = False
            if failing:
                best = case
                break
        else:
            return best
    return best


def _smaller(args: list[Any], places: set[int]) -> list[list[Any]]:
    cases = [args[:-1]] if len(args) > 1 else []
    lengths = {len(args[i]) for i in places if i < len(args) and isinstance(args[i], list)}
    for length in lengths:
        for row in range(length):
            cases.append(
                [
                    [r for j, r in enumerate(arg) if j != row]
                    if i in places and isinstance(arg, list) and len(arg) == length
                    else arg
                    for i, arg in enumerate(args)
                ]
            )
    for i, arg in enumerate(args):
        if isinstance(arg, list) and i not in places and len(arg) > 1:  # a table
            smaller = [[*arg[:r], *arg[r + 1 :]] for r in range(1, len(arg))]
            smaller += [[[*row[:c], *row[c + 1 :]] for row in arg] for c in range(len(arg[0]))]
            cases += [[*args[:i], less, *args[i + 1 :]] for less in smaller if less[0]]
        cases += [[*args[:i], plainer, *args[i + 1 :]] for plainer in _plainer(arg)]
    return cases


def _plainer(value: Any) -> list[Any]:
    if isinstance(value, list):
        found = []
        for i, row in enumerate(value):
            for j, cell in enumerate(row):
                for simple in _plainer(cell):
                    new = [*row[:j], simple, *row[j + 1 :]]
                    found.append([*value[:i], new, *value[i + 1 :]])
        return found[:60]
    if type(value) is float and math.isfinite(value) and value not in (0.0, 1.0):
        rounded = float(f"{value:.1g}")
        return [simple for simple in (1.0, rounded) if simple != value]
    return []
