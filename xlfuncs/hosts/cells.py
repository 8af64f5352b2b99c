"""Between cells and the catalogue: what every spreadsheet host shares.

A cell value is a float, bool, text, None (empty), or a CellError; a range is a list of rows. A
host says how its own values become these (dates serial numbers) and back. Nothing is ever raised: a
bad value becomes a CellError.
"""

import math
from collections.abc import Callable, Sequence
from functools import lru_cache, partial
from typing import Any, ClassVar

from xlfuncs.catalogue import argument_columns
from xlfuncs.catalogue.arguments import EPOCH
from xlfuncs.catalogue.calling import call_in_full, quick_call, split_units
from xlfuncs.catalogue.calling_elementwise import Column
from xlfuncs.catalogue.calling_whole import FINE
from xlfuncs.catalogue.registry import functions
from xlfuncs.catalogue.whole_results import ResultTable
from xlfuncs.errors import CellError, InputError
from xlfuncs.hosts.memory import Memory

_BY_TEXT = {error.value: error for error in CellError}
_RANGES = (list, tuple)
LONG = 100  # rows


def error_from_text(text: str) -> CellError | None:
    """The error that a host passes as text, such as #N/A; unknown ones count as #VALUE!."""
    if text.startswith("#") and text[-1:] in ("!", "?", "A"):
        return _BY_TEXT.get(text, CellError.VALUE)
    return None


def as_it_is(value: Any) -> Any:
    return value


class Cells:
    """The worksheet functions for the cells of one host.

    `read` turns an argument of the host into a cell value or rows of them, `write` an answer into
    the host's own form. A workbook reads a result of many columns cell by cell, each cell calling
    the function with the same ranges; those answers are kept as written, by their arguments alone.
    So are those to long ranges as Calc hands them over, which cost next to nothing to know again.
    """

    raises: ClassVar[bool] = False  # mistakes of ours, instead of #VALUE!; the tests want them

    def __init__(
        self, read: Callable[[Any], Any] = as_it_is, write: Callable[[Any], Any] = as_it_is
    ) -> None:
        self.answers = Memory()
        self._read = read
        self._write = write

    def call(self, name: str, args: Sequence[Any]) -> Any:
        """The answer for one cell: a cell value, or rows of them, which must not be changed."""
        number = quick_call(name)(args)
        if number is not None:
            return number
        if _works_on_whole(name) or any(type(arg) is tuple and len(arg) >= LONG for arg in args):
            return self.answers.answer((name, *args), partial(self._on_whole, name, args))
        return self._in_full(name, args)

    def _on_whole(self, name: str, args: Sequence[Any]) -> Any:
        known_good = name == "INPUT_CHECK" and self._gives_rows(args)
        return self._write(FINE) if known_good else self._in_full(name, args)

    def _in_full(self, name: str, args: Sequence[Any]) -> Any:
        if name not in functions():  # a host's list of them is older than the package
            return self._write(CellError.NAME)
        try:
            function = functions()[name]
            values, system = split_units(function, [_single(self._read(arg)) for arg in args])
            return self._write(_cells(call_in_full(function, values, system)))
        except InputError as error:
            return self._write(error.cell_error)
        except Exception:
            # A mistake of ours must not show as text in a cell, which sums silently skip;
            # INPUT_CHECK says what it is.
            if self.raises:
                raise
            return self._write(CellError.VALUE)

    def _gives_rows(self, checked: Sequence[Any]) -> bool:
        """Whether a function on the whole that is checked gives rows; its cells find them kept."""
        if len(checked) < 2:
            return False
        name = str(_single(self._read(checked[0]))).upper()
        if name == "INPUT_CHECK" or not _works_on_whole(name):
            return False
        answer = self.call(name, checked[1:])
        return isinstance(answer, _RANGES) and any(cell != "" for row in answer for cell in row)


@lru_cache(maxsize=1024)
def _works_on_whole(name: str) -> bool:
    return name in functions() and not functions()[name].elementwise


PLAIN = Cells()
call_from_cells = PLAIN.call


def worksheet_callables() -> dict[str, Callable[[Sequence[Any]], Any]]:
    """Every worksheet function as a callable on a list of cell values."""
    return {name: partial(call_from_cells, name) for name in functions()}


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


def _cells(outcome: Any) -> Any:
    """An outcome as a cell value or rows of them."""
    if isinstance(outcome, Column):
        return _rows_of(outcome)
    if not isinstance(outcome, ResultTable):
        return _cell(outcome)
    if outcome.single:
        return _cell(outcome.columns[0][0])
    columns = [[_cell(v) for v in column.tolist()] for column in map(_serials, outcome.columns)]
    rows = [list(row) for row in zip(*columns, strict=True)]
    return [list(outcome.headers), *rows] if outcome.headers else rows or ""


def _serials(column: Any) -> Any:
    """Dates as serial numbers; other columns as they are."""
    if column.dtype.kind != "M":
        return column
    days = (column - EPOCH).astype(float)
    days[column != column] = math.nan
    return days


def _cell(value: Any) -> Any:
    """One result as a cell value: NaN and None are blank text, numbers are floats."""
    if value is None or value != value:
        return ""
    if isinstance(value, (str, bool)):
        return value
    if type(value).__name__ == "datetime64":
        return float((value - EPOCH).astype(float))
    return bool(value) if type(value).__name__ == "bool" else float(value)


def _rows_of(outcome: Column) -> list[list[Any]]:
    values, codes = outcome.values, outcome.codes
    if values.ndim == 1:
        values, codes = values.reshape(-1, 1), codes.reshape(-1, 1)
    rows: list[list[Any]] = values.tolist()
    for r, c in argument_columns.places(codes):
        code = int(codes[r, c])
        rows[r][c] = "" if code == argument_columns.BLANK else argument_columns.error_of(code)
    return rows
