"""Calling a worksheet function with arguments from outside, by one of three ways.

`scalar` (single values, elementwise functions), `column` (any argument a range), and `table`
(functions that work on the whole). Arguments are positional as in a cell, `units` apart. Results
are in the default units of the system. InputError says what is wrong in words.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
import numpy.typing as npt

from xlfuncs.catalogue.arguments import (
    BLANK,
    CODE_OF,
    FIRST_ERROR,
    OK,
    Codes,
    default_of,
    empty_of,
    is_blank,
    limits,
    read_column,
    read_one,
    tidy,
)
from xlfuncs.catalogue.declaration import UNITS, Arg, Result, WorksheetFunction
from xlfuncs.errors import CellError, InputError
from xlfuncs.units import DIMENSIONS, default_conversion

Array = npt.NDArray[Any]


@dataclass(frozen=True)
class Outcome:
    """The result of a column call: values, and a code for each element (see arguments)."""

    values: Array
    codes: Codes


@dataclass(frozen=True)
class TableOutcome:
    """The result of a function on the whole: one 1-D array a result column, of equal length.

    A number that does not apply to a row is NaN (blank in a cell). `single` marks a function
    that gave one value rather than columns.
    """

    columns: tuple[Array, ...]
    single: bool


def read_system(units: Any) -> str:
    """The system that the `units` argument names; blank is us."""
    if type(units) is str and units in ("us", "metric"):
        return units
    units = tidy(units)
    if isinstance(units, np.ndarray):
        if units.size != 1:
            raise InputError("units", "needs one cell, got a range", cell_error=CellError.VALUE)
        units = units.item()
    return read_one(UNITS, units, "us") or "us"


def split_units(function: WorksheetFunction, args: Sequence[Any]) -> tuple[list[Any], str]:
    """Positional worksheet arguments as the inputs and the system."""
    if function.variadic:
        return list(args), "us"
    place = next(i for i, arg in enumerate(function.args) if arg.name == "units")
    units = args[place] if place < len(args) else None
    return [*args[:place], *args[place + 1 :]], read_system(units)


# --- single values -------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Plan:
    """What the quick way needs of each argument, worked out once a function and system."""

    rows: tuple[tuple[float, float, float, bool, float, bool, bool], ...]
    defaults: tuple[Any, ...]
    needed: int
    result: tuple[float, float]
    numeric: bool


@lru_cache(maxsize=1024)
def _plan(name: str, system: str) -> _Plan:
    from xlfuncs.catalogue.registry import functions

    function = functions()[name]
    rows, defaults = [], []
    for arg in function.inputs:
        scale, offset = default_conversion(arg.dimension, system)
        low, low_open, high, high_open = limits(arg)
        rows.append((scale, offset, low, low_open, high, high_open, arg.divides))
        default = None if arg.required else default_of(arg)
        defaults.append(empty_of(arg) if default is None else default)
    numeric = all(arg.kind == "number" and not arg.whole for arg in function.inputs)
    return _Plan(
        tuple(rows),
        tuple(defaults),
        sum(arg.required for arg in function.inputs),
        default_conversion(function.results[0].dimension, system),
        numeric and DIMENSIONS[function.results[0].dimension].kind == "number",
    )


def scalar(function: WorksheetFunction, args: Sequence[Any], system: str) -> Any:
    """One result from single values; None where a required argument is blank."""
    plan = _plan(function.name, system)
    values = _quick(plan, args) if plan.numeric else None
    if values is None:
        values = _read_scalars(function, args, system)
        if values is None:
            return None
    if len(values) < len(plan.defaults):
        values = [*values, *plan.defaults[len(values) :]]
    _refuse_broken(function, values)
    try:
        with np.errstate(all="ignore"):
            result = function.compute(*values)
    except ZeroDivisionError:
        raise InputError(
            "result", "a divisor is zero", cell_error=CellError.DIVISION, function=function.name
        ) from None
    except OverflowError:
        result = math.inf
    except InputError as error:
        error.function = function.name
        raise
    return _one_result(function, result, plan.result)


def _quick(plan: _Plan, args: Sequence[Any]) -> list[Any] | None:
    """Plain floats within their limits, in base units; None where anything else turns up."""
    if not plan.needed <= len(args) <= len(plan.rows):
        return None
    values = []
    for x, row in zip(args, plan.rows, strict=False):
        if type(x) is not float and type(x) is not int:
            return None
        scale, offset, low, low_open, high, high_open, divides = row
        base = x * scale + offset
        if not low <= base <= high or (low_open and base == low) or (high_open and base == high):
            return None
        if base - base != 0 or (divides and base == 0):  # infinity, or a zero divisor
            return None
        values.append(base)
    return values


def _read_scalars(
    function: WorksheetFunction, args: Sequence[Any], system: str
) -> list[Any] | None:
    inputs = function.inputs
    if len(args) > len(inputs):
        raise _count_error(function, len(args))
    values: list[Any] = []
    blank = False
    for i, arg in enumerate(inputs):
        try:
            value = read_one(arg, args[i], system) if i < len(args) else None
        except InputError as error:
            error.function = function.name
            raise
        if value is None:
            blank = blank or arg.required
            value = empty_of(arg) if arg.required else default_of(arg)
            value = empty_of(arg) if value is None else value
        values.append(value)
    return None if blank else values


def _count_error(function: WorksheetFunction, count: int) -> InputError:
    return InputError(
        "arguments",
        f"takes at most {len(function.inputs)} besides units, got {count}",
        cell_error=CellError.VALUE,
        function=function.name,
    )


def _refuse_broken(function: WorksheetFunction, values: Sequence[Any]) -> None:
    if not function.relations:
        return
    named = dict(zip((arg.name for arg in function.inputs), values, strict=False))
    for relation in function.relations:
        if all(use in named for use in relation.uses) and relation.broken(
            **{use: named[use] for use in relation.uses}
        ):
            raise InputError(
                relation.argument,
                relation.words,
                cell_error=CellError.NUMBER,
                function=function.name,
            )


def _one_result(function: WorksheetFunction, result: Any, factors: tuple[float, float]) -> Any:
    kind = DIMENSIONS[function.results[0].dimension].kind
    if kind != "number":
        return str(result) if kind == "text" else result
    value = (float(result) - factors[1]) / factors[0]
    if not math.isfinite(value):
        raise InputError(
            function.results[0].name,
            "there is no finite result for these inputs",
            cell_error=CellError.NUMBER,
            function=function.name,
        )
    return value


# --- columns -------------------------------------------------------------------------------------


def column(function: WorksheetFunction, args: Sequence[Any], system: str) -> Outcome:
    """Results element by element; ranges broadcast as in a spreadsheet; a bad row is alone."""
    if len(args) > len(function.inputs):
        raise _count_error(function, len(args))
    arrays = aligned(function, [tidy(a) for a in args])
    shape = np.broadcast_shapes(*(a.shape for a in arrays))
    values: list[Any] = []
    codes = np.zeros(shape, dtype=np.uint8)
    for i, arg in enumerate(function.inputs):
        if i < len(arrays):
            base, own = read_column(arg, arrays[i], system)
            if own.any():
                base = _fill_defaults(arg, base, own)
                # the first error of a row stands; an error outranks a blank
                codes = np.where(codes >= FIRST_ERROR, codes, np.maximum(codes, own))
        else:
            default = None if arg.required else default_of(arg)
            if arg.required:
                codes = np.maximum(codes, BLANK).astype(np.uint8)
            base = empty_of(arg) if default is None else default
        values.append(base)
    return _compute_column(function, values, codes, system)


def aligned(function: WorksheetFunction, args: list[Any]) -> list[Array]:
    """All as arrays whose shapes broadcast: a list beside a 2-D range counts as a column."""
    arrays = [a if isinstance(a, np.ndarray) else _as_array(a) for a in args]
    if any(a.ndim == 2 for a in arrays):
        arrays = [a.reshape(-1, 1) if a.ndim == 1 else a for a in arrays]
    try:
        np.broadcast_shapes(*(a.shape for a in arrays))
    except ValueError:
        sizes = ", ".join(
            f"{arg.name} {'x'.join(map(str, a.shape))}"
            for arg, a in zip(function.inputs, arrays, strict=False)
            if a.size > 1
        )
        raise InputError(
            "arguments",
            f"the ranges differ in size ({sizes})",
            cell_error=CellError.VALUE,
            function=function.name,
        ) from None
    return arrays


def _as_array(value: Any) -> Array:
    if type(value) is float or type(value) is int:
        return np.array([float(value)])
    return _repeated(value, 1)


def _fill_defaults(arg: Arg, base: Array, own: Codes) -> Array:
    """Optional blanks take the default (where there is one) and are no longer blanks."""
    if arg.required:
        return base
    default = default_of(arg)
    blanks = own == BLANK
    own[blanks] = OK
    if default is None or not blanks.any():
        return base
    base = base.copy()
    base[blanks] = default
    return base


def _compute_column(
    function: WorksheetFunction, values: list[Any], codes: Codes, system: str
) -> Outcome:
    with np.errstate(all="ignore"):
        named = dict(zip((arg.name for arg in function.inputs), values, strict=True))
        for relation in function.relations:
            broken = relation.broken(**{use: named[use] for use in relation.uses})
            codes = _mark(codes, broken, CellError.NUMBER)
        result = np.asarray(function.compute(*values))
        result = np.broadcast_to(result, codes.shape)
        if DIMENSIONS[function.results[0].dimension].kind == "number":
            scale, offset = default_conversion(function.results[0].dimension, system)
            result = (result - offset) / scale if offset else result / scale
            if not np.isfinite(result.sum()):
                codes = _mark(codes, ~np.isfinite(result), CellError.NUMBER)
    return Outcome(result, codes)


def _mark(codes: Codes, where: Any, error: CellError) -> Codes:
    marked = np.where((codes == OK) & where, CODE_OF[error], codes)
    return marked.astype(np.uint8)


# --- the whole -----------------------------------------------------------------------------------


def table(function: WorksheetFunction, args: Sequence[Any], system: str) -> TableOutcome | None:
    """Result columns of a function on the whole; None where a required scalar is blank."""
    try:
        return _table(function, args, system)
    except InputError as error:
        error.function = function.name
        raise


def _table(function: WorksheetFunction, args: Sequence[Any], system: str) -> TableOutcome | None:
    if function.variadic:
        return _results(function, function.compute(*args), system, None, 0)
    if len(args) > len(function.inputs):
        raise _count_error(function, len(args))
    raw = {
        arg.name: tidy(args[i]) if i < len(args) else None for i, arg in enumerate(function.inputs)
    }
    values: dict[str, Any] = {}
    kept: dict[str, Array] = {}
    lengths: dict[str, int] = {}
    for arg in function.inputs:
        if not arg.group:
            value = _read_single(arg, raw[arg.name], system)
            if value is None and arg.required:
                return None
            values[arg.name] = value
    for group in dict.fromkeys(arg.group for arg in function.inputs if arg.group):
        members = [arg for arg in function.inputs if arg.group == group]
        lengths[group], kept[group] = _read_group(members, raw, values, system)
    if function.rows and lengths[function.rows] == 0:
        return None
    try:
        result = function.compute(**values)
    except InputError as error:
        group = next((a.group for a in function.inputs if a.name == error.argument), "")
        if error.row is not None and group:
            error.row = int(kept[group][error.row])
        raise
    rows = function.rows
    return _results(
        function, result, system, kept[rows] if rows else None, lengths[rows] if rows else 0
    )


def _read_single(arg: Arg, value: Any, system: str) -> Any:
    if isinstance(value, np.ndarray):
        if value.size != 1:
            raise InputError(
                arg.name, f"needs one cell, got {value.size}", cell_error=CellError.VALUE
            )
        value = value.item()
    read = read_one(arg, value, system)
    return default_of(arg) if read is None and not arg.required else read


def _read_group(
    members: list[Arg], raw: dict[str, Any], values: dict[str, Any], system: str
) -> tuple[int, Array]:
    """Fills `values` with the group's columns; gives its length and the rows that were kept."""
    columns = {arg.name: _as_column(arg, raw[arg.name]) for arg in members}
    lengths = {name: len(c) for name, c in columns.items() if isinstance(c, np.ndarray)}
    length = max(lengths.values(), default=0)
    if not lengths and any(not is_blank(c) for c in columns.values()):
        length = 1
    for name, own in lengths.items():
        if own != length:
            longest = max(lengths, key=lambda key: lengths[key])
            raise InputError(
                name, f"has {own} rows where {longest} has {length}", cell_error=CellError.VALUE
            )
    full = {
        arg.name: column if isinstance(column, np.ndarray) else _repeated(column, length)
        for arg, column in zip(members, columns.values(), strict=True)
    }
    given = [full[name] for name in lengths] or list(full.values())
    keep = ~np.logical_and.reduce([_blanks(c) for c in given]) if length else np.zeros(0, bool)
    rows = np.flatnonzero(keep)
    for arg in sorted(members, key=lambda arg: not arg.selects):
        flags = _read_rows(arg, full[arg.name], rows, system)
        if arg.selects:
            rows = rows[flags]
        values[arg.name] = flags
    for arg in members:
        if arg.selects:
            values[arg.name] = np.ones(len(rows), dtype=bool)
    return length, rows


def _as_column(arg: Arg, value: Any) -> Any:
    if not isinstance(value, np.ndarray) or value.ndim == 1:
        return value
    if min(value.shape) > 1:
        size = "x".join(map(str, value.shape))
        raise InputError(arg.name, f"needs one column, got {size}", cell_error=CellError.VALUE)
    return value.ravel()


def _repeated(value: Any, length: int) -> Array:
    if type(value) is float or value is None:
        return np.full(length, np.nan if value is None else value)
    array = np.empty(length, dtype=object)
    array[:] = [value] * length
    return array


def _blanks(array: Array) -> Array:
    if array.dtype == np.float64:
        return np.isnan(array)
    if array.dtype.kind == "M":
        return np.isnat(array)
    return np.fromiter((is_blank(v) for v in array), dtype=bool, count=len(array))


def _read_rows(arg: Arg, values: Array, rows: Array, system: str) -> Array:
    base, codes = read_column(arg, tidy(values[rows]), system)
    base = _fill_defaults(arg, base, codes)
    bad = np.flatnonzero(codes != OK)
    if bad.size:
        row = int(rows[bad[0]])
        if codes[bad[0]] == BLANK:
            raise InputError(arg.name, "is blank", cell_error=CellError.VALUE, row=row)
        try:
            read_one(arg, values[row], system)
        except InputError as error:
            error.row = row
            raise
    return np.asarray(base)


def _results(
    function: WorksheetFunction, result: Any, system: str, kept: Array | None, length: int
) -> TableOutcome:
    columns = result if isinstance(result, tuple) else (result,)
    single = len(columns) == 1 and np.ndim(columns[0]) == 0
    shaped = []
    for declared, values in zip(function.results, columns, strict=True):
        out = _in_units(declared, np.atleast_1d(np.asarray(values)), system)
        if kept is not None:
            spread = np.full(length, _EMPTY_CELL[_kind(declared)], dtype=out.dtype)
            spread[kept] = out
            out = spread
        shaped.append(out)
    return TableOutcome(tuple(shaped), single)


_EMPTY_CELL: dict[str, Any] = {
    "number": math.nan, "text": "", "flag": None, "date": np.datetime64("NaT"),
}  # fmt: skip


def _kind(declared: Result) -> str:
    return DIMENSIONS[declared.dimension].kind


def _in_units(declared: Result, values: Array, system: str) -> Array:
    kind = _kind(declared)
    if kind == "number":
        scale, offset = default_conversion(declared.dimension, system)
        return (values.astype(np.float64) - offset) / scale
    if kind == "date":
        return values.astype("datetime64[D]")
    return values.astype(object)
