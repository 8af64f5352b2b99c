"""Reading a column of an argument, vectorised; only rows that fail are read one by one."""

import math
from collections.abc import Sequence
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from xlfuncs.catalogue.arguments import AFTER_LAST_DAY, FIRST_DAY, is_blank, limits, read_one
from xlfuncs.catalogue.declaration import Arg
from xlfuncs.errors import CellError, InputError
from xlfuncs.units import default_conversion

Codes = npt.NDArray[np.uint8]

OK: Final = 0
BLANK: Final = 1
ERRORS: Final = tuple(CellError)
FIRST_ERROR: Final = 2
CODE_OF: Final = {error: FIRST_ERROR + i for i, error in enumerate(ERRORS)}

_EMPTY: Final[dict[str, Any]] = {
    "number": math.nan, "text": "", "flag": False, "date": np.datetime64("NaT", "D"),
}  # fmt: skip
_DTYPES: Final[dict[str, Any]] = {
    "number": np.float64, "text": object, "flag": np.bool_, "date": "datetime64[D]",
}  # fmt: skip


def error_of(code: int) -> CellError:
    """The cell error that a code above BLANK stands for."""
    return ERRORS[code - FIRST_ERROR]


def all_blank(value: Any) -> bool:
    """A blank, or an array of nothing else."""
    return all(map(is_blank, value.flat)) if isinstance(value, np.ndarray) else is_blank(value)


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
    if {*map(type, array.flat)} <= {float, int, type(None), np.float64}:
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
    if values.dtype == np.float64:
        values = np.where(np.isnan(values), None, values)  # for NaN equals nothing
    cells = values.ravel().tolist()
    if arg.kind == "text" and not arg.choices and {*map(type, cells)} <= {str, type(None)}:
        base = np.empty(values.size, dtype=object)
        base[:] = ["" if cell is None else cell.strip() for cell in cells]
        codes = np.where(base == "", BLANK, OK).astype(np.uint8)
        return base.reshape(values.shape), codes.reshape(values.shape)
    keys = by_kind(cells)
    firsts = dict(zip(keys, cells, strict=True))
    read = {key: _value_and_code(arg, value, system) for key, value in firsts.items()}
    base = np.empty(values.size, dtype=_DTYPES[arg.kind])
    base[:] = [read[key][0] for key in keys]
    codes = np.array([read[key][1] for key in keys], dtype=np.uint8)
    return base.reshape(values.shape), codes.reshape(values.shape)


def by_kind(cells: Sequence[Any]) -> Sequence[Any]:
    """What tells cells apart that are not the same: 1, 1.0 and TRUE equal each other."""
    kinds = [*map(type, cells)]
    return cells if {*kinds} <= {float, str, type(None)} else [*zip(kinds, cells, strict=True)]


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


def even_out(columns: dict[str, Any], lengths: dict[str, int], short: int, length: int) -> None:
    """Columns of one length, blank below: a row put into a table leaves the blocks beside it."""
    if any(not blanks(columns[name][short:]).all() for name in lengths):
        name, longest = (of(lengths, key=lambda key: lengths[key]) for of in (min, max))
        words = f"has {short} rows where {longest} has {length}"
        raise InputError(name, words, cell_error=CellError.VALUE)
    for name, own in lengths.items():
        below = np.full(length - own, None, dtype=object)
        columns[name] = tidy(np.concatenate([columns[name].astype(object), below]))


def as_column(arg: Arg, value: Any) -> Any:
    if not isinstance(value, np.ndarray) or value.ndim == 1:
        return value
    if min(value.shape) > 1:
        size = "x".join(map(str, value.shape))
        raise InputError(arg.name, f"needs one column, got {size}", cell_error=CellError.VALUE)
    return value.ravel()


def blanks(array: Any) -> Any:
    if array.dtype == np.float64:
        return np.isnan(array)
    if array.dtype.kind == "M":
        return np.isnat(array)
    # none and text, of which there is most, without a call
    found = [v is None or (not v.strip() if v.__class__ is str else is_blank(v)) for v in array]
    return np.array(found, dtype=bool)


def refusal(arg: Arg, value: Any, system: str) -> InputError:
    """Why a cell that was not read as it should could not be."""
    try:
        read_one(arg, value, system)
    except InputError as error:
        return error
    return InputError(arg.name, "is blank", cell_error=CellError.VALUE)
