"""The one way of a call: arguments from outside in, one outcome out.

An outcome is a single value (None where a required argument is blank), a Column where any argument
of an elementwise function is a range, or a Table from a function on the whole. Results are in the
default units of the system. InputError says what is wrong in words; whatever else a calculation
raises is a mistake of ours and becomes an UndeclaredError, whose words ask for a report.
"""

import inspect
import math
import sys
from collections.abc import Callable, Sequence
from functools import lru_cache
from typing import Any, Final, NamedTuple

import numpy as np

from xlfuncs.catalogue.argument_columns import empty_of, tidy
from xlfuncs.catalogue.arguments import default_of, limits, read_one
from xlfuncs.catalogue.calling_elementwise import column, scalar
from xlfuncs.catalogue.calling_whole import table
from xlfuncs.catalogue.declaration import UNITS, Arg, WorksheetFunction
from xlfuncs.catalogue.registry import functions
from xlfuncs.errors import CellError, InputError, UndeclaredError, XlfuncsError
from xlfuncs.units import DIMENSIONS, SYSTEMS, default_conversion, parse

QuickCall = Callable[[Sequence[Any]], float | None]

_MOST: Final = sys.float_info.max


class _Reading(NamedTuple):
    """How an argument becomes a number of the calculation; both limits are themselves allowed."""

    dimension: str
    scale: float
    offset: float
    low: float
    high: float
    whole: bool
    omitted: float | None  # what stands for a blank; None where the argument is required


@lru_cache(maxsize=1024)
def quick_call(name: str) -> QuickCall:
    """The quick way of a worksheet function, for the arguments of a cell, `units` among them."""
    if name not in functions() or not _is_quick(functions()[name]):
        return _nothing
    place = functions()[name].units_place
    by_system = {system: quick_numbers(name, system) for system in SYSTEMS}
    us = by_system["us"]

    def call(args: Sequence[Any]) -> float | None:
        if len(args) <= place:
            return us(args)
        units = args[place]
        if units is None:  # as Excel hands over what is left out
            units = "us"
        elif type(units) is not str or units not in by_system:
            return None
        return by_system[units]([*args[:place], *args[place + 1 :]])

    return call


@lru_cache(maxsize=1024)
def quick_numbers(name: str, system: str) -> QuickCall:
    """The quick way of a worksheet function in one system, for its arguments without `units`."""
    function = functions()[name]
    if not _is_quick(function):
        return _nothing
    readings = tuple(tuple(_reading(arg, system)) for arg in function.inputs)
    names = [arg.name for arg in function.inputs]
    omitted = [reading[-1] for reading in readings]
    needed, most = omitted.count(None), len(omitted)
    relations = [
        (relation.broken, [(use, names.index(use)) for use in relation.uses])
        for relation in function.relations
    ]
    compute = np.errstate(all="ignore")(_by_place(function.compute, names))
    unit, zero = default_conversion(function.results[0].dimension, system)

    def call(args: Sequence[Any]) -> float | None:
        if not needed <= len(args) <= most:
            return None
        values: list[Any] = []
        try:
            for value, reading in zip(args, readings):  # noqa: B905, some may be omitted
                dimension, scale, offset, low, high, whole, default = reading
                kind = type(value)
                if kind is float or kind is int:
                    base = value * scale + offset
                elif kind is str:
                    base = parse(value, dimension, system)
                elif value is None and default is not None:
                    values.append(default)
                    continue
                else:
                    return None
                if not low <= base <= high or (whole and base % 1):
                    return None
                values.append(base)
            values += omitted[len(args) :]
            for broken, uses in relations:
                if broken(**{use: values[place] for use, place in uses}):
                    return None
            result = (float(compute(*values)) - zero) / unit
        except Exception:  # the full way meets it too, and has the words
            return None
        return result if math.isfinite(result) else None

    return call


def _by_place(compute: Callable[..., Any], names: list[str]) -> Callable[..., Any]:
    """A calculation that takes its arguments in this order; that is quicker than by name."""
    if list(inspect.signature(compute).parameters)[: len(names)] == names:
        return compute
    return lambda *values: compute(**dict(zip(names, values, strict=True)))


def _nothing(args: Sequence[Any]) -> None:
    return None


def _is_quick(function: WorksheetFunction) -> bool:
    """One number from numbers, none of which may be anything but zero."""
    return (
        function.elementwise
        and all(arg.kind == "number" for arg in function.inputs)
        and DIMENSIONS[function.results[0].dimension].kind == "number"
        and not any(arg.divides and limits(arg)[0] < 0 for arg in function.inputs)
    )


def _reading(arg: Arg, system: str) -> _Reading:
    scale, offset = default_conversion(arg.dimension, system)
    low, low_open, high, high_open = limits(arg)
    if low_open or (arg.divides and low == 0):
        low = math.nextafter(low, math.inf)
    if high_open:
        high = math.nextafter(high, -math.inf)
    omitted = None if arg.required else default_of(arg)
    if omitted is None and not arg.required:
        omitted = empty_of(arg)
    low, high = max(low, -_MOST), min(high, _MOST)
    return _Reading(arg.dimension, scale, offset, low, high, arg.whole, omitted)


def call(function: WorksheetFunction, args: Sequence[Any], system: str) -> Any:
    """The outcome for the arguments without `units`."""
    number = quick_numbers(function.name, system)(args)
    return call_in_full(function, args, system) if number is None else number


def call_in_full(function: WorksheetFunction, args: Sequence[Any], system: str) -> Any:
    """The same with every argument looked at, so that words can say what is wrong with it."""
    try:
        with np.errstate(all="ignore"):
            return _outcome(function, args, system)
    except (ZeroDivisionError, OverflowError):  # zero itself is refused where an argument divides
        words = "there is no finite result for these inputs"
        raise InputError("result", words, function=function.name) from None
    except InputError as error:  # in no name that lives on: its frames hold the whole workbook
        error.function = function.name
        raise
    except XlfuncsError:
        raise
    except Exception as mistake:
        raise UndeclaredError(function.name, mistake, args) from mistake


def _outcome(function: WorksheetFunction, args: Sequence[Any], system: str) -> Any:
    if not function.elementwise:
        return table(function, args, system)
    tidied = [tidy(arg) for arg in args]
    several = any(isinstance(arg, np.ndarray) for arg in tidied)
    return (column if several else scalar)(function, tidied, system)


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
    inputs = list(args)
    if function.variadic or function.units_place >= len(inputs):
        return inputs, "us"
    units = inputs.pop(function.units_place)
    return inputs, read_system(units)
