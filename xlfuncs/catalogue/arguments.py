"""Reading one argument: whatever a person or a spreadsheet passes, to base units.

`read_one` says in words what is wrong; `argument_columns` reads whole columns.
"""

import datetime as dt
import math
from collections.abc import Container, Mapping
from dataclasses import replace
from decimal import Decimal
from functools import lru_cache
from typing import Any, Final

import numpy as np

from xlfuncs.catalogue.parts_of_a_declaration import Arg, argument_of
from xlfuncs.errors import CellError, InputError, UnitError
from xlfuncs.tables.columns import Column, Table
from xlfuncs.units import DIMENSIONS, conversion, default_conversion, display, from_base, parse

EPOCH: Final = np.datetime64("1899-12-30", "D")  # day 0 of spreadsheets' 1900 date system
FIRST_DAY: Final = np.datetime64("1800-01-01", "D")  # years before and after stay in the calendar
AFTER_LAST_DAY: Final = np.datetime64("9000-01-01", "D")
_TRUE: Final = frozenset({"true", "yes", "y", "on", "x", "1"})
_FALSE: Final = frozenset({"false", "no", "n", "off", "0", "-"})
_MISSING_TYPES: Final = frozenset({"NAType", "NaTType"})  # pandas' own, known without importing it


def is_blank(value: Any) -> bool:
    """Nothing there: None, text without letters, NaN, or a missing value of pandas."""
    if isinstance(value, str):
        return not value.strip()
    if value is None or type(value).__name__ in _MISSING_TYPES:
        return True
    if isinstance(value, np.datetime64):
        return bool(np.isnat(value))
    return isinstance(value, float) and value != value


@lru_cache(maxsize=4096)
def limits(arg: Arg) -> tuple[float, bool, float, bool]:
    """Lower limit, whether it is itself refused, upper limit, whether it is itself refused."""
    low, low_open = (arg.above, True) if arg.above is not None else (arg.minimum, False)
    high, high_open = (arg.below, True) if arg.below is not None else (arg.maximum, False)
    return (
        -math.inf if low is None else float(arg.base(low)),
        low_open,
        math.inf if high is None else float(arg.base(high)),
        high_open,
    )


def read_one(arg: Arg, value: Any, system: str) -> Any:
    """One value in base units; None for a blank; InputError says what is wrong with it."""
    if is_blank(value):
        return None
    if isinstance(value, InputError):  # of a name that was looked up in vain
        raise value
    if isinstance(value, CellError):
        raise InputError(arg.name, f"the cell holds the error {value}", cell_error=value)
    if isinstance(value, np.generic):
        value = value if isinstance(value, np.datetime64) else value.item()
    return _READERS[arg.kind](arg, value, system)


def default_of(arg: Arg) -> Any:
    """What an optional argument is when it is left out, in base units; None for no value."""
    return arg.base(arg.default)


def _refuse(arg: Arg, message: str, error: CellError = CellError.VALUE) -> InputError:
    return InputError(arg.name, message, cell_error=error)


def _read_number(arg: Arg, value: Any, system: str) -> float:
    if isinstance(value, bool):
        raise _refuse(arg, f"needs a number, got {str(value).upper()}")
    if isinstance(value, (dt.date, dt.time, np.datetime64)):
        raise _refuse(
            arg, f"needs a number, got the date {value}; a spreadsheet may have turned 1/2 into one"
        )
    if isinstance(value, str):
        try:
            base = parse(value, arg.dimension, system)
        except UnitError as error:
            raise UnitError(arg.name, error.message) from None
    elif isinstance(value, (int, float, Decimal)):
        scale, offset = default_conversion(arg.dimension, system)
        base = float(value) * scale + offset
    else:
        raise _refuse(arg, f"needs a number, got {type(value).__name__}")
    if not math.isfinite(base):
        raise _refuse(arg, f"needs a finite number, got {value}", CellError.NUMBER)
    return _within_limits(arg, base, value, system)


def _within_limits(arg: Arg, base: float, value: Any, system: str) -> float:
    if arg.divides and base == 0:
        raise _refuse(arg, "is zero, and the result would be divided by it", CellError.DIVISION)
    low, low_open, high, high_open = limits(arg)

    def given() -> str:
        return repr(value) if isinstance(value, str) else display(base, arg.dimension, system)

    if base < low or (low_open and base == low):
        words = "above" if low_open else "at least"
        limit = display(low, arg.dimension, system)
        raise _refuse(arg, f"must be {words} {limit}, is {given()}", CellError.NUMBER)
    if base > high or (high_open and base == high):
        words = "below" if high_open else "at most"
        limit = display(high, arg.dimension, system)
        hint = "" if isinstance(value, str) else _other_unit(arg, float(value), system)
        raise _refuse(arg, f"must be {words} {limit}, is {given()}{hint}", CellError.NUMBER)
    if arg.whole:
        if abs(base - round(base)) > 1e-9:
            raise _refuse(arg, f"must be a whole number, is {given()}", CellError.NUMBER)
        return float(round(base))
    return base


def _other_unit(arg: Arg, value: float, system: str) -> str:
    """A hint where the number would make sense in another unit: 100 for bar, meant as kPa. What to
    write is said in the unit of the others, which every formula reads."""
    low, _, high, _ = limits(arg)
    row = DIMENSIONS[arg.dimension]
    for unit in row.also:
        scale, offset = conversion(unit, arg.dimension)
        if unit != row.unit(system) and low < (base := value * scale + offset) < high:
            return f"; if it is {unit}, write {from_base(base, arg.dimension, system):.4g}"
    return ""


def _read_text(arg: Arg, value: Any, system: str) -> str:
    if isinstance(value, bool):
        text = str(value).upper()
    elif isinstance(value, (int, float, Decimal)):
        text = f"{value:.15g}"
    else:
        text = str(value).strip()
    if not arg.choices:
        return text
    for choice in arg.choices:
        if choice.casefold() == text.casefold():
            return choice
    raise _refuse(arg, f"must be one of {', '.join(arg.choices)}, is {text!r}")


def _read_flag(arg: Arg, value: Any, system: str) -> bool:
    if isinstance(value, (bool, int, float)) and value in (0, 1):
        return bool(value)
    text = str(value).strip().casefold()
    if text in _TRUE or text in _FALSE:
        return text in _TRUE
    raise _refuse(arg, f"must be yes or no, is {value!r}")


def _read_date(arg: Arg, value: Any, system: str) -> Any:
    if isinstance(value, bool):
        raise _refuse(arg, f"needs a date, got {str(value).upper()}")
    if isinstance(value, (dt.date, np.datetime64)):
        day = np.datetime64(str(value)[:10], "D")
    elif isinstance(value, (int, float, Decimal)):
        if not 1 <= value < 2958466:
            raise _refuse(arg, f"{value:g} is not a day of the calendar", CellError.NUMBER)
        day = EPOCH + np.timedelta64(int(value), "D")
    else:
        day = np.datetime64(_typed_date(arg, str(value)), "D")
    if not FIRST_DAY <= day < AFTER_LAST_DAY:
        raise _refuse(arg, f"must be from 1800 to 8999, is {day}", CellError.NUMBER)
    return day


def _typed_date(arg: Arg, text: str) -> dt.date:
    """A date in words or numbers; which is the day and which the month is never guessed."""
    from xlfuncs.tables.header_words import UnreadableError, date_evidence, read_date

    order = date_evidence(text)
    if order == "?":
        raise _refuse(arg, f"{text!r} may be two dates; write it as 2026-04-30")
    try:
        return read_date(text, order)
    except UnreadableError as error:
        raise _refuse(arg, f"{error}; write it as 2026-04-30") from None


_READERS: Final = {
    "number": _read_number,
    "text": _read_text,
    "flag": _read_flag,
    "date": _read_date,
}


@lru_cache(maxsize=512)
def as_argument(column: Column) -> Arg:
    """A column read by the very rules that arguments of worksheet functions are read by."""
    return replace(argument_of(column, column.header), default=None)


def in_base(
    table: Table, row: Mapping[str, Any], system: str, unasked: Container[str] = ()
) -> dict[str, Any]:
    """A row by column name, in base units, blanks by their defaults; columns `unasked` are left
    out. InputError names the column and what is wrong with its cell, or that a required one is
    blank."""
    values: dict[str, Any] = {}
    for column in table.columns:
        if column.name in unasked:
            continue
        value = read_one(as_argument(column), row.get(column.name), system)
        if value is None and column.required:
            raise InputError(column.header, "is blank")
        values[column.name] = column.default if value is None else value
    return values


# --- values that are allowed but look like a slip; INPUT_CHECK and `check` say so in words ---
# Sizes that pipe is called by. Half-inch tubing is about 0.60 in inside, 16 mm line about
# 13.6 to 14 mm; an inside diameter of exactly a nominal size is most likely the name of the pipe.
NOMINAL_INCHES = (0.5, 0.625, 0.75, 1.0)
NOMINAL_MILLIMETRES = (16.0, 17.0, 20.0, 25.0)


def nominal_size(metres: float) -> str:
    """Words where an inside diameter is exactly a nominal pipe size, else ''."""
    for size in NOMINAL_INCHES:
        if abs(metres / 0.0254 - size) < 1e-6:
            return f"{size:g} in is a nominal size; look up the inside diameter in the pipe table"
    for size in NOMINAL_MILLIMETRES:
        if abs(metres * 1000 - size) < 1e-6:
            return f"{size:g} mm is a nominal size; look up the inside diameter in the pipe table"
    return ""


def doubt_of_argument(arg: Arg, base: Any) -> str:
    """Words on one argument's value (base unit), or ''."""
    if arg.dimension == "diameter" and isinstance(base, float):
        return nominal_size(base)
    return ""
