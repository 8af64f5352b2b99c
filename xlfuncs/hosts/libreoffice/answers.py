"""What a worksheet function answers to Calc, in the values that Calc understands."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from typing import Any, Final

from xlfuncs.errors import CellError
from xlfuncs.hosts.cells import Cells

CALC_ERRORS: Final = {
    CellError.VALUE: 519,
    CellError.NUMBER: 503,
    CellError.DIVISION: 532,
    CellError.NOT_AVAILABLE: 32767,
    CellError.REFERENCE: 524,
    CellError.NAME: 525,
    CellError.NULL: 521,
}
Errors = dict[CellError, Any]


def answering(error: Callable[[int], Any]) -> Callable[[str, Sequence[Any]], Any]:
    """What answers (function's name, arguments) with a cell value or rows of them.

    `error` makes of Calc's number of an error what stands for it in an answer.
    """
    errors = {kind: error(number) for kind, number in CALC_ERRORS.items()}
    return Cells(_argument, partial(_answer, errors)).call


def _argument(arg: Any) -> Any:
    """Calc's own values as those of `xlfuncs.hosts.cells`: in a range an empty cell is ""."""
    if type(arg) is tuple or type(arg) is list:
        return [[None if cell == "" else cell for cell in row] for row in arg]
    return arg


def _answer(errors: Errors, result: Any) -> Any:
    if type(result) is list:
        return tuple(tuple([_value(errors, cell) for cell in row]) for row in result)
    return _value(errors, result)


def _value(errors: Errors, cell: Any) -> Any:
    if type(cell) is float or type(cell) is str:
        return cell
    if isinstance(cell, CellError):
        return errors[cell]
    return float(cell)  # a yes or no, which Calc keeps as 1 or 0
