"""Reading arguments: whatever a person, a spreadsheet or a table passes, to base units.

One value is read by `read_one`, which says in words what is wrong; a column by `read_column`,
which is vectorised and asks `read_one` only about the rows that fail.
"""

from __future__ import annotations

import datetime as dt
import math
from decimal import Decimal
from functools import lru_cache
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from xlfuncs.catalogue.declaration import Arg
from xlfuncs.errors import CellError, InputError, UnitError
from xlfuncs.units import DIMENSIONS, conversion, default_conversion, display, parse

Codes = npt.NDArray[np.uint8]

OK: Final = 0
BLANK: Final = 1
ERRORS: Final = tuple(CellError)
FIRST_ERROR: Final = 2
CODE_OF: Final = {error: FIRST_ERROR + i for i, error in enumerate(ERRORS)}

EPOCH: Final = np.datetime64("1899-12-30", "D")  # day 0 of spreadsheets' 1900 date system
FIRST_DAY: Final = np.datetime64("1800-01-01", "D")  # years before and after stay in the calendar
AFTER_LAST_DAY: Final = np.datetime64("9000-01-01", "D")
_TRUE: Final = frozenset({"true", "yes", "y", "on", "x", "1"})
_FALSE: Final = frozenset({"false", "no", "n", "off", "0", "-"})
_MISSING_TYPES: Final = frozenset({"NAType", "NaTType"})  # pandas' own, known without importing it


def error_of(code: int) -> CellError:
    """The cell error that a code above BLANK stands for."""
    return ERRORS[code - FIRST_ERROR]


def is_blank(value: Any) -> bool:
    """Nothing there: None, text without letters, NaN, or a missing value of pandas."""
    if value is None or type(value).__name__ in _MISSING_TYPES:
        return True
    if isinstance(value, str):
        return not value.strip()
    if isinstance(value, np.datetime64):
        return bool(np.isnat(value))
    return isinstance(value, float) and value != value


def all_blank(value: Any) -> bool:
    """A blank, or an array of nothing else."""
    return all(map(is_blank, value.flat)) if isinstance(value, np.ndarray) else is_blank(value)


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
    """A hint where the number would make sense in another unit: 100 for bar, meant as kPa."""
    low, _, high, _ = limits(arg)
    row = DIMENSIONS[arg.dimension]
    for unit in row.also:
        scale, offset = conversion(unit, arg.dimension)
        if unit != row.unit(system) and low < value * scale + offset < high:
            return f"; if it is {unit}, write {value:g}{'' if unit == '%' else ' '}{unit}"
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
        try:
            day = np.datetime64(dt.date.fromisoformat(str(value).strip()), "D")
        except ValueError:
            raise _refuse(arg, f"{value!r} is not a date; write it as 2026-04-30") from None
    if not FIRST_DAY <= day < AFTER_LAST_DAY:
        raise _refuse(arg, f"must be from 1800 to 8999, is {day}", CellError.NUMBER)
    return day


_READERS: Final = {
    "number": _read_number,
    "text": _read_text,
    "flag": _read_flag,
    "date": _read_date,
}
_EMPTY: Final[dict[str, Any]] = {
    "number": math.nan, "text": "", "flag": False, "date": np.datetime64("NaT", "D"),
}  # fmt: skip
_DTYPES: Final[dict[str, Any]] = {
    "number": np.float64, "text": object, "flag": np.bool_, "date": "datetime64[D]",
}  # fmt: skip


def empty_of(arg: Arg) -> Any:
    """What stands in a column where there is no value."""
    return _EMPTY[arg.kind]


def tidy(value: Any) -> Any:
    """A scalar as it is; anything with several values as an array, of floats where it can be."""
    if isinstance(value, (str, float, int, bool)) or value is None:
        return value
    if hasattr(value, "to_numpy"):  # a pandas Series or Index
        value = value.to_numpy()
    if isinstance(value, np.ndarray):
        array = value
    elif isinstance(value, (list, tuple)):
        array = np.empty(0, dtype=object) if not len(value) else np.array(value, dtype=object)
    else:
        return value
    if array.ndim == 0:
        return array.item()
    if array.dtype.kind in "iu":
        return array.astype(np.float64)
    if array.dtype.kind in "fM":
        return array
    array = array.astype(object)
    if {type(item) for item in array.flat} <= {float, int, type(None), np.float64}:
        return array.astype(np.float64)
    return array


def places(where: Any) -> list[tuple[int, ...]]:
    """The positions in an array that are true or not zero."""
    return [tuple(int(i) for i in place) for place in np.argwhere(where)]


def read_column(arg: Arg, values: Any, system: str) -> tuple[Any, Codes]:
    """An array in base units and a code for each element (OK, BLANK, or an error's)."""
    if values.dtype == np.float64 and arg.kind == "number":
        return _read_floats(arg, values, system)
    if values.dtype.kind == "M" and arg.kind == "date":
        days = values.astype("datetime64[D]")
        inside = (days >= FIRST_DAY) & (days < AFTER_LAST_DAY)
        codes = np.where(inside, OK, CODE_OF[CellError.NUMBER])
        return days, np.where(np.isnat(days), BLANK, codes).astype(np.uint8)
    if values.dtype.kind == "M":
        values = values.astype("datetime64[D]")  # whose list is one of dates, not of numbers
    seen: dict[Any, tuple[Any, int]] = {}
    read = []
    for value in values.ravel().tolist():
        # NaN equals nothing and NA neither yes nor no, so what is blank shares a key of its own
        key = (value.__class__, None if is_blank(value) else value)
        if key not in seen:
            seen[key] = _value_and_code(arg, value, system)
        read.append(seen[key])
    base = np.empty(values.size, dtype=_DTYPES[arg.kind])
    base[:] = [value for value, _ in read]
    codes = np.array([code for _, code in read], dtype=np.uint8)
    return base.reshape(values.shape), codes.reshape(values.shape)


def _value_and_code(arg: Arg, value: Any, system: str) -> tuple[Any, int]:
    try:
        read = read_one(arg, value, system)
    except InputError as error:
        return empty_of(arg), CODE_OF[error.cell_error]
    return (empty_of(arg), BLANK) if read is None else (read, OK)


def _read_floats(arg: Arg, values: Any, system: str) -> tuple[Any, Codes]:
    scale, offset = default_conversion(arg.dimension, system)
    base = values if scale == 1 and offset == 0 else values * scale + offset
    codes = np.zeros(base.shape, dtype=np.uint8)
    if not base.size:
        return base, codes
    low, low_open, high, high_open = limits(arg)
    least, most = base.min(), base.max()  # NaN where any is NaN, and then nothing holds
    fine = (least > low if low_open else least >= low) and (
        most < high if high_open else most <= high
    )
    zero_inside = arg.divides and not (low >= 0 and low_open)
    if fine and math.isfinite(least) and math.isfinite(most) and not (arg.whole or zero_inside):
        return base, codes
    with np.errstate(invalid="ignore"):
        bad = ~np.isfinite(base) | (base < low) | (base > high)
        bad |= (low_open & (base == low)) | (high_open & (base == high))
        if arg.divides:
            bad |= base == 0
        if arg.whole:
            bad |= np.abs(base - np.round(base)) > 1e-9
    blank = np.isnan(values)
    codes[blank], bad[blank] = BLANK, False
    base = np.round(base) if arg.whole else base.copy()
    for place in places(bad):
        base[place], codes[place] = _value_and_code(arg, float(values[place]), system)
    return base, codes
