"""What a worksheet function answers to Calc, in the values that Calc understands."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from xlfuncs.catalogue.quick_calls import quick_call
from xlfuncs.catalogue.registry import functions
from xlfuncs.errors import CellError
from xlfuncs.hosts.cells import call_from_cells
from xlfuncs.hosts.libreoffice.ways import cell_error

CALC_ERRORS: Final = {
    CellError.VALUE: 519,
    CellError.NUMBER: 503,
    CellError.DIVISION: 532,
    CellError.NOT_AVAILABLE: 32767,
    CellError.REFERENCE: 524,
    CellError.NAME: 525,
    CellError.NULL: 521,
}
_AS_NAN: Final = {error: cell_error(number) for error, number in CALC_ERRORS.items()}
_AS_JSON: Final = {error: {"error": number} for error, number in CALC_ERRORS.items()}


def answer_with_nan(name: str, args: Sequence[Any]) -> Any:
    """A cell value, or rows of them; an error is a NaN that carries its number."""
    return _answer(name, args, _AS_NAN)


def answer_for_json(name: str, args: Sequence[Any]) -> Any:
    """The same with an error as {"error": number}, since JSON has no NaN with a number in it."""
    return _answer(name, args, _AS_JSON)


def _answer(name: str, args: Sequence[Any], errors: dict[CellError, Any]) -> Any:
    number = quick_call(name)(args)
    if number is not None:
        return number
    if name not in functions():  # the extension is older than the package
        return errors[CellError.NAME]
    result = call_from_cells(name, [_argument(arg) for arg in args])
    if type(result) is list:
        return tuple(tuple([_value(cell, errors) for cell in row]) for row in result)
    return _value(result, errors)


def _argument(arg: Any) -> Any:
    """Calc's own values as those of `xlfuncs.hosts.cells`: in a range an empty cell is ""."""
    if type(arg) is tuple or type(arg) is list:
        return [[None if cell == "" else cell for cell in row] for row in arg]
    return arg


def _value(cell: Any, errors: dict[CellError, Any]) -> Any:
    if type(cell) is float or type(cell) is str:
        return cell
    if isinstance(cell, CellError):
        return errors[cell]
    return float(cell)  # a yes or no, which Calc keeps as 1 or 0
