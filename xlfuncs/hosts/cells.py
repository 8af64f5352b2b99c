"""Between cells and the catalogue: what every spreadsheet host shares.

A cell value is a float, bool, text, None (empty), or a CellError; a range is a list of rows. A
host turns its own values into these (dates to serial numbers), calls `call_from_cells`, and turns
the answer back. Nothing is ever raised: a bad value becomes a CellError.
"""

from __future__ import annotations

import marshal
import math
from collections.abc import Callable, Sequence
from datetime import date
from functools import partial
from typing import Any

from xlfuncs.catalogue import arguments, calling
from xlfuncs.catalogue.calling_whole import table
from xlfuncs.catalogue.declaration import WorksheetFunction
from xlfuncs.catalogue.quick_calls import quick_call
from xlfuncs.catalogue.registry import find, functions
from xlfuncs.catalogue.topics.checks import FINE
from xlfuncs.errors import CellError, InputError
from xlfuncs.hosts.memory import Memory

_BY_TEXT = {error.value: error for error in CellError}
_RANGES = (list, tuple)


def error_from_text(text: str) -> CellError | None:
    """The error that a host passes as text, such as #N/A; unknown ones count as #VALUE!."""
    if text.startswith("#") and text[-1:] in ("!", "?", "A"):
        return _BY_TEXT.get(text, CellError.VALUE)
    return None


def call_from_cells(name: str, args: Sequence[Any]) -> Any:
    """The answer of a worksheet function for one cell: a cell value, or rows of them.

    Rows are shared between calls and must not be changed.
    """
    number = quick_call(name)(args)
    if number is not None:
        return number
    function = functions()[name]
    return _answer(function, args) if function.elementwise else _remembered(function, args)


def _answer(function: WorksheetFunction, args: Sequence[Any]) -> Any:
    try:
        return _call(function, args)
    except InputError as error:
        return error.cell_error
    except Exception:
        # A mistake of ours must not show as text in a cell, which sums silently skip.
        return CellError.VALUE


# A workbook reads a result of many columns cell by cell, each cell calling the function with the
# same ranges; the last answers are kept, by their arguments alone.
_answers = Memory()


def _remembered(function: WorksheetFunction, args: Sequence[Any]) -> Any:
    key = _key(function.name, args)
    if key is None:
        return _answer(function, args)
    if key in _answers:
        return _answers[key]
    answer = _answer(function, args)
    _answers.keep(key, answer)
    return answer


def _key(name: str, args: Sequence[Any]) -> bytes | None:
    """The same bytes for the same arguments only; None where they hold what is no cell value."""
    try:
        return marshal.dumps((name, list(args)), 2)
    except ValueError:  # an error or a date among the arguments
        pass
    try:
        return marshal.dumps((name, [_as_bytes(arg) for arg in args]), 2)
    except ValueError:
        return None


def _as_bytes(value: Any) -> Any:
    """Errors and dates as bytes, which no other cell value is."""
    if isinstance(value, _RANGES):
        return [_as_bytes(item) for item in value]
    return repr(value).encode() if isinstance(value, (CellError, date)) else value


def worksheet_callables() -> dict[str, Callable[[Sequence[Any]], Any]]:
    """Every worksheet function as a callable on a list of cell values."""
    return {name: partial(call_from_cells, name) for name in functions()}


def _call(function: WorksheetFunction, args: Sequence[Any]) -> Any:
    values, system = calling.split_units(function, [_single(a) for a in args])
    if not function.elementwise:
        good = function.name == "INPUT_CHECK" and len(args) > 1 and _has_rows(args)
        return FINE if good else _whole(function, values, system)
    if not any(isinstance(value, _RANGES) for value in values):
        result = calling.scalar(function, values, system)
        return "" if result is None else _cell(result)
    outcome = calling.column(function, values, system)
    return _rows_of(outcome)


def _has_rows(checked: Sequence[Any]) -> bool:
    """Whether a function on the whole that is checked gives rows; they are kept for its cells."""
    try:
        function = find(str(checked[0]))
    except KeyError:
        return False
    return not function.elementwise and isinstance(_remembered(function, checked[1:]), list)


def _single(value: Any) -> Any:
    """A range of one cell as its value, one of none as a blank."""
    if isinstance(value, _RANGES):
        if not value or value[0] in ([], ()):
            return None
        if len(value) == 1 and not isinstance(value[0], _RANGES):
            return value[0]
        if len(value) == 1 and len(value[0]) == 1:
            return value[0][0]
    return value


def _whole(function: WorksheetFunction, values: Sequence[Any], system: str) -> Any:
    outcome = table(function, values, system)
    if outcome is None:
        return ""
    if outcome.single:
        return _cell(outcome.columns[0][0])
    columns = [[_cell(v) for v in column.tolist()] for column in map(_serials, outcome.columns)]
    return [list(row) for row in zip(*columns, strict=True)] or ""


def _serials(column: Any) -> Any:
    """Dates as serial numbers; other columns as they are."""
    if column.dtype.kind != "M":
        return column
    days = (column - arguments.EPOCH).astype(float)
    days[column != column] = math.nan
    return days


def _cell(value: Any) -> Any:
    """One result as a cell value: NaN and None are blank text, numbers are floats."""
    if value is None or value != value:
        return ""
    if isinstance(value, (str, bool)):
        return value
    if type(value).__name__ == "datetime64":
        return float((value - arguments.EPOCH).astype(float))
    return bool(value) if type(value).__name__ == "bool" else float(value)


def _rows_of(outcome: calling.Outcome) -> list[list[Any]]:
    values, codes = outcome.values, outcome.codes
    if values.ndim == 1:
        values, codes = values.reshape(-1, 1), codes.reshape(-1, 1)
    rows: list[list[Any]] = values.tolist()
    for r, c in arguments.places(codes):
        code = int(codes[r, c])
        rows[r][c] = "" if code == arguments.BLANK else arguments.error_of(code)
    return rows
