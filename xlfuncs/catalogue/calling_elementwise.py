"""Calling an elementwise worksheet function: `scalar` for single values, `column` for ranges."""

import math
from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from xlfuncs.catalogue import argument_columns
from xlfuncs.catalogue.arguments import default_of, read_one
from xlfuncs.catalogue.declaration import Arg, WorksheetFunction
from xlfuncs.errors import CellError, InputError
from xlfuncs.units import DIMENSIONS, default_conversion

Array = npt.NDArray[Any]


class Column(NamedTuple):
    """The results element by element, and a code for each (see arguments)."""

    values: Array
    codes: argument_columns.Codes


# --- single values -------------------------------------------------------------------------------


def scalar(function: WorksheetFunction, args: Sequence[Any], system: str) -> Any:
    """One result from single values; None where a required argument is blank."""
    values = _read_scalars(function, args, system)
    if values is None:
        return None
    for relation in function.relations:
        if relation.broken(**{use: values[use] for use in relation.uses}):
            raise InputError(relation.argument, relation.words)
    return _one_result(function, function.compute(**values), system)


def _read_scalars(
    function: WorksheetFunction, args: Sequence[Any], system: str
) -> dict[str, Any] | None:
    inputs = function.inputs
    if len(args) > len(inputs):
        raise count_error(function, len(args))
    values: dict[str, Any] = {}
    blank = False
    for i, arg in enumerate(inputs):
        value = read_one(arg, args[i], system) if i < len(args) else None
        if value is None:
            blank = blank or arg.required
            value = argument_columns.empty_of(arg) if arg.required else default_of(arg)
            value = argument_columns.empty_of(arg) if value is None else value
        values[arg.name] = value
    return None if blank else values


def count_error(function: WorksheetFunction, count: int) -> InputError:
    words = f"takes at most {len(function.inputs)} besides units, got {count}"
    return InputError("arguments", words, cell_error=CellError.VALUE)


def _one_result(function: WorksheetFunction, result: Any, system: str) -> Any:
    dimension = function.results[0].dimension
    kind = DIMENSIONS[dimension].kind
    if kind != "number":
        return str(result) if kind == "text" else result
    scale, offset = default_conversion(dimension, system)
    value = (float(result) - offset) / scale
    if not math.isfinite(value):
        raise InputError(function.results[0].name, "there is no finite result for these inputs")
    return value


# --- columns -------------------------------------------------------------------------------------


def column(function: WorksheetFunction, args: Sequence[Any], system: str) -> Column:
    """Results element by element; ranges broadcast as in a spreadsheet; a bad row is alone.

    The arguments are tidied (`arguments.tidy`).
    """
    if len(args) > len(function.inputs):
        raise count_error(function, len(args))
    arrays = aligned(function, args)
    shape = np.broadcast_shapes(*(a.shape for a in arrays))
    values: dict[str, Any] = {}
    codes = np.zeros(shape, dtype=np.uint8)
    for i, arg in enumerate(function.inputs):
        if i < len(arrays):
            base, own = argument_columns.read_column(arg, arrays[i], system)
            if own.any():
                base = fill_defaults(arg, base, own)
                # the first error of a row stands; an error outranks a blank
                codes = np.where(
                    codes >= argument_columns.FIRST_ERROR, codes, np.maximum(codes, own)
                )
        else:
            default = None if arg.required else default_of(arg)
            if arg.required:
                codes = np.maximum(codes, argument_columns.BLANK).astype(np.uint8)
            base = argument_columns.empty_of(arg) if default is None else default
        values[arg.name] = base
    return _compute_column(function, values, codes, system)


def aligned(function: WorksheetFunction, args: Sequence[Any]) -> list[Array]:
    """All as arrays whose shapes broadcast: a list beside a 2-D range counts as a column."""
    arrays = [
        a if isinstance(a, np.ndarray) else repeated(float(a) if type(a) is int else a, 1)
        for a in args
    ]
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
        words = f"the ranges differ in size ({sizes})"
        raise InputError(
            "arguments", words, cell_error=CellError.VALUE, function=function.name
        ) from None
    return arrays


def repeated(value: Any, length: int) -> Array:
    if type(value) is float or value is None:
        return np.full(length, np.nan if value is None else value)
    array = np.empty(length, dtype=object)
    array[:] = [value] * length
    return array


def fill_defaults(arg: Arg, base: Array, own: argument_columns.Codes) -> Array:
    """Optional blanks take the default (where there is one) and are no longer blanks."""
    if arg.required:
        return base
    default = default_of(arg)
    blanks = own == argument_columns.BLANK
    own[blanks] = argument_columns.OK
    if default is None or not blanks.any():
        return base
    base = base.copy()
    base[blanks] = default
    return base


def _compute_column(
    function: WorksheetFunction, values: dict[str, Any], codes: argument_columns.Codes, system: str
) -> Column:
    with np.errstate(all="ignore"):
        for relation in function.relations:
            broken = relation.broken(**{use: values[use] for use in relation.uses})
            codes = _mark(codes, broken, CellError.NUMBER)
        try:
            result = np.asarray(function.compute(**values))
        except (InputError, ZeroDivisionError, OverflowError):
            result, codes = _row_by_row(function, values, codes)
        result = np.broadcast_to(result, codes.shape)
        if DIMENSIONS[function.results[0].dimension].kind == "number":
            scale, offset = default_conversion(function.results[0].dimension, system)
            result = (result - offset) / scale if offset else result / scale
            if not np.isfinite(result.sum()):
                codes = _mark(codes, ~np.isfinite(result), CellError.NUMBER)
    return Column(result, codes)


def _row_by_row(
    function: WorksheetFunction, values: dict[str, Any], codes: argument_columns.Codes
) -> tuple[Array, argument_columns.Codes]:
    """The same one by one, where a calculation refused the column for some of its rows."""
    columns = {name: np.broadcast_to(value, codes.shape) for name, value in values.items()}
    codes = codes.copy()
    empty = "" if DIMENSIONS[function.results[0].dimension].kind == "text" else math.nan
    found = []
    for place in np.ndindex(codes.shape):
        result: Any = empty
        if codes[place] == argument_columns.OK:
            try:
                result = function.compute(**{n: c[place] for n, c in columns.items()})
            except InputError as error:
                codes[place] = argument_columns.CODE_OF[error.cell_error]
            except (ZeroDivisionError, OverflowError):
                codes[place] = argument_columns.CODE_OF[CellError.NUMBER]
        found.append(result)
    return np.array(found).reshape(codes.shape), codes


def _mark(codes: argument_columns.Codes, where: Any, error: CellError) -> argument_columns.Codes:
    marked = np.where(
        (codes == argument_columns.OK) & where, argument_columns.CODE_OF[error], codes
    )
    return marked.astype(np.uint8)
