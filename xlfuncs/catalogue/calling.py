"""The one way of a call: arguments from outside in, one outcome out.

An outcome is a single value (None where a required argument is blank), a Column where any argument
of an elementwise function is a range, or a Table from a function on the whole. Results are in the
default units of the system. InputError says what is wrong in words; whatever else a calculation
raises is a mistake of ours and becomes an UndeclaredError, whose words ask for a report.
"""

from collections.abc import Sequence
from typing import Any

import numpy as np

from xlfuncs.catalogue.argument_columns import tidy
from xlfuncs.catalogue.arguments import read_one
from xlfuncs.catalogue.calling_elementwise import column, scalar
from xlfuncs.catalogue.calling_whole import table
from xlfuncs.catalogue.declaration import UNITS, WorksheetFunction
from xlfuncs.catalogue.quick_calls import quick_numbers
from xlfuncs.errors import CellError, InputError, UndeclaredError, XlfuncsError


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
        error = InputError("result", "there is no finite result for these inputs")
    except XlfuncsError:
        raise
    except Exception as mistake:
        raise UndeclaredError(function.name, mistake, args) from mistake
    error.function = function.name
    raise error


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
