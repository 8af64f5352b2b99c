"""The worksheet functions for Python and pandas.

A scalar call gives a float (or text) and raises InputError. A column call takes lists, arrays or
Series and gives an array, or a Series with the index of the first one; a row that has no result
is NaN, and one warning counts the rows that are wrong (blank rows are not wrong). A function with
many result columns gives a DataFrame.
"""

import inspect
import math
import sys
import warnings
from collections.abc import Callable, Sequence
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from xlfuncs.catalogue.declaration import WorksheetFunction
from xlfuncs.errors import InputWarning

if TYPE_CHECKING:
    from xlfuncs.catalogue.calling_elementwise import Column
    from xlfuncs.catalogue.whole_results import ResultTable


@lru_cache(maxsize=256)
def python_function(name: str) -> Callable[..., Any]:
    """The Python twin of a worksheet function, by either spelling of its name."""
    from xlfuncs.catalogue import calling
    from xlfuncs.catalogue.calling_elementwise import Column
    from xlfuncs.catalogue.registry import find
    from xlfuncs.catalogue.whole_results import ResultTable

    function = find(name)
    names = [arg.name for arg in function.inputs]
    most = sys.maxsize if function.variadic else len(names)

    def call(*args: Any, units: str = "us", **named: Any) -> Any:
        if named:
            args = _bound(function, names, args, named)
        if units != "us":
            units = calling.read_system(units)
        if len(args) > most:
            raise TypeError(f"{function.python_name}() takes {most} arguments besides units")
        outcome = calling.call(function, args, units)
        if type(outcome) is float:
            return outcome
        if isinstance(outcome, Column):
            return _column(function, outcome, args)
        if isinstance(outcome, ResultTable) or not function.elementwise:
            return _whole(function, outcome, args)
        return math.nan if outcome is None else outcome

    call.__name__ = call.__qualname__ = function.python_name
    call.__doc__ = _docstring(function)
    call.__signature__ = _signature(function)  # type: ignore[attr-defined]
    return call


def _bound(
    function: WorksheetFunction, names: list[str], args: Sequence[Any], named: dict[str, Any]
) -> tuple[Any, ...]:
    """Positional and named arguments as one positional list; TypeError as Python gives it.

    A table may also be given column by column, by the columns' own names.
    """
    known = {value.name: value for value in function.values}
    columns: dict[str, dict[str, Any]] = {}
    for name in [name for name in named if name in known and name not in names]:
        columns.setdefault(_table_with(function, name), {})[name] = named.pop(name)
    named |= {table: given for table, given in columns.items() if table not in named}
    _signature(function).bind_partial(*args, **named)
    values = list(args) + [None] * (len(names) - len(args))
    for name, value in named.items():
        values[names.index(name)] = value
    return tuple(values)


def _table_with(function: WorksheetFunction, name: str) -> str:
    """The table argument that a column, or the single value in its place, belongs to."""
    own = function.table_of.get(name)
    return own.name if own is not None else next(
        arg.name for arg in function.inputs if arg.single is not None and arg.single.name == name
    )  # fmt: skip


def _signature(function: WorksheetFunction) -> inspect.Signature:
    parameters = [
        inspect.Parameter(
            arg.name,
            inspect.Parameter.VAR_POSITIONAL
            if arg.variadic
            else inspect.Parameter.POSITIONAL_OR_KEYWORD,
            default=inspect.Parameter.empty if arg.required or arg.variadic else arg.default,
        )
        for arg in function.inputs
    ]
    units = inspect.Parameter("units", inspect.Parameter.KEYWORD_ONLY, default="us")
    return inspect.Signature([*parameters, units])


def _docstring(function: WorksheetFunction) -> str:
    from xlfuncs.units import DIMENSIONS

    def line(name: str, dimension: str, help_text: str) -> str:
        us, metric = (DIMENSIONS[dimension].unit(s) for s in ("us", "metric"))
        unit = f" ({us} | {metric})" if us != metric else f" ({us})" if us else ""
        return f"    {name}{unit}: {help_text}"

    shape = (
        "Elementwise: any argument may be a number, text with a unit, or a column."
        if function.elementwise
        else "Works on the whole: columns of equal length in, result columns out."
    )
    rows = [function.help, "", shape, "", "Arguments (us | metric):"]
    rows += [line(name, arg.dimension, arg.help) for name, arg in function.described]
    rows += [line(a.name, a.dimension, a.help) for a in function.args if a.name == "units"]
    rows += ["", "Gives:", *(line(r.name, r.dimension, r.help) for r in function.results)]
    rows += ["", "Errors: InputError names the argument, the limit and the value."]
    rows += [f"Source: {function.source}"]
    return "\n".join(rows)


def _index_of(args: Sequence[Any]) -> Any:
    # a pandas Index has to_numpy too, but no index of its own
    series = (arg for arg in args if hasattr(arg, "to_numpy") and hasattr(arg, "index"))
    return next((arg.index for arg in series), None)


def _column(function: WorksheetFunction, outcome: "Column", args: Sequence[Any]) -> Any:
    import numpy as np

    from xlfuncs.catalogue.argument_columns import BLANK, OK

    values = outcome.values
    wrong = int(np.count_nonzero(outcome.codes > BLANK))
    if wrong:
        warnings.warn(
            f"{function.python_name}: {wrong} of {outcome.codes.size} rows have no result;"
            " input_check says why",
            InputWarning,
            stacklevel=3,
        )
    if outcome.codes.any():
        gap: Any = math.nan if values.dtype.kind == "f" else None
        values = np.where(outcome.codes == OK, values, gap)
    index = _index_of(args)
    if index is None or values.ndim != 1:
        return values if values.flags.writeable else values.copy()  # a broadcast view is read-only
    import pandas as pd

    return pd.Series(values, index=index, name=function.results[0].name)


def _whole(function: WorksheetFunction, outcome: "ResultTable | None", args: Sequence[Any]) -> Any:
    if outcome is not None and outcome.single:
        value = outcome.columns[0][0]
        return float(value) if outcome.columns[0].dtype.kind == "f" else value
    import pandas as pd

    if outcome is None:
        return pd.DataFrame(columns=[result.name for result in function.results])
    follows: list[Any] = []
    for arg, value in zip(function.inputs, args, strict=False):
        if function.rows and function.rows in (arg.group, arg.name):
            follows += value.values() if isinstance(value, dict) else [value]
    found = dict(zip(outcome.names, outcome.columns, strict=True))
    return pd.DataFrame(found, index=_index_of(follows))
