"""The result of a function on the whole: what the calculation gave, in columns of full length."""

import math
from difflib import get_close_matches
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from xlfuncs.calculations.quantity_words import in_system
from xlfuncs.catalogue.declaration import Result, WorksheetFunction
from xlfuncs.errors import CellError, InputError
from xlfuncs.units import DIMENSIONS, default_conversion

Array = npt.NDArray[Any]


class ResultTable(NamedTuple):
    """The result of a function on the whole: one 1-D array a result column, of equal length.

    A number that does not apply to a row is NaN (blank in a cell). `single` marks a function
    that gave one value rather than columns, `nothing` rows that are blank as all inputs are.
    """

    columns: tuple[Array, ...]
    single: bool
    nothing: bool = False
    headers: tuple[str, ...] = ()  # where they were asked for
    names: tuple[str, ...] = ()  # of the columns


def as_wanted(
    outcome: ResultTable, function: WorksheetFunction, system: str, columns: str = "",
    headers: bool = False,
) -> ResultTable:  # fmt: skip
    """Only the result columns that were asked for, with their headers where those were."""
    results = {r.name: (r, column)
               for r, column in zip(function.results, outcome.columns, strict=True)}  # fmt: skip
    asked = [name.strip().lower().replace(" ", "_") for name in columns.split(",") if name.strip()]
    for name in asked:
        if name not in results:
            near = get_close_matches(name, results, 1)
            hint = f"; did you mean {near[0]}?" if near else ""
            raise InputError("columns", f"there is no result {name!r}{hint}",
                             cell_error=CellError.VALUE)  # fmt: skip
    wanted = [results[name] for name in asked or results]
    texts = tuple(result.heading(system) for result, _ in wanted) if headers else ()
    names = tuple(result.name for result, _ in wanted)
    chosen = tuple(column for _, column in wanted)
    return outcome._replace(columns=chosen, headers=texts, names=names)


def results_of(
    function: WorksheetFunction,
    result: Any,
    system: str,
    kept: dict[str, Array],
    lengths: dict[str, int],
) -> ResultTable:
    """The result columns in units; rows that were left out are blank."""
    columns = _columns(function, result)
    single = len(columns) == 1 and np.ndim(columns[0]) == 0
    shaped = []
    for declared, values in zip(function.results, columns, strict=True):
        out = _in_units(declared, np.atleast_1d(np.asarray(values)), system)
        _refuse_infinite(declared, out)
        if declared.row_of:
            out = _as_passed(out, kept[declared.row_of])
        if function.rows:
            spread = np.full(lengths[function.rows], EMPTY_CELL[kind_of(declared)], dtype=out.dtype)
            spread[kept[function.rows]] = out
            out = spread
        shaped.append(out)
    return ResultTable(tuple(shaped), single)


def _columns(function: WorksheetFunction, result: Any) -> tuple[Any, ...]:
    """The columns of what a calculation gave, see `declaration`."""
    if len(function.results) > 1 and isinstance(result, list):
        names = [declared.name for declared in function.results]
        rows = (
            row if isinstance(row, tuple) else [getattr(row, n) for n in names] for row in result
        )
        return tuple(zip(*rows, strict=True)) or ((),) * len(names)
    return result if isinstance(result, tuple) else (result,)


def _refuse_infinite(declared: Result, values: Array) -> None:
    if values.dtype.kind == "f" and np.isinf(values).any():
        raise InputError(declared.name, "there is no finite result for these inputs")


def _as_passed(numbers: Array, kept: Array) -> Array:
    """Numbers (from 1) of rows that reached the function, as numbers of the rows passed."""
    named = np.isfinite(numbers)
    passed = numbers.copy()
    passed[named] = kept[numbers[named].astype(int) - 1] + 1
    return passed


EMPTY_CELL: dict[str, Any] = {
    "number": math.nan, "text": "", "flag": None, "date": np.datetime64("NaT", "D"),
}  # fmt: skip


def kind_of(declared: Result) -> str:
    return DIMENSIONS[declared.dimension].kind


def _in_units(declared: Result, values: Array, system: str) -> Array:
    kind = kind_of(declared)
    if kind == "number":
        scale, offset = default_conversion(declared.dimension, system)
        return (values.astype(np.float64) - offset) / scale
    if kind == "date":
        return values.astype("datetime64[D]")
    cells = values.astype(object)
    if kind == "text":
        cells[:] = [in_system(v, system) if isinstance(v, str) else v for v in cells]
    return cells
