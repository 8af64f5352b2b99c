"""The module that Excel imports: one entry for each worksheet function, made when it is asked for.

Excel calls its VBA module, that calls xlwings' COM server, and the server calls
`getattr(functions, "BED_AREA")(*args)` here. Every argument comes as rows of cells (`ndim=2`), an
error cell as text (`err_to_str`). The answer goes back as rows; an error travels as marked text,
which the VBA module (see `wrapper`) turns into a real error of the spreadsheet.

The entries do not show in `dir()`: xlwings' own "Import Functions" would otherwise write wrappers
that leave the marked text in the cells, where SUM silently skips it.
"""

import inspect
from collections.abc import Callable
from decimal import Decimal
from functools import lru_cache
from typing import Any

import xlwings

from xlfuncs.catalogue.declaration import TOPICS, Arg, WorksheetFunction
from xlfuncs.catalogue.registry import functions
from xlfuncs.errors import CellError
from xlfuncs.hosts.cells import Cells, error_from_text
from xlfuncs.hosts.excel.wrapper import MARK

# An error cell that xlwings does not know arrives as its COM code: 0x800A0000 plus the number of
# the error (2045 is a blocked spill), read as a signed number of 32 bits.
_ERROR_CODES = range(0x800A0000 - 2**32 + 2000, 0x800A0000 - 2**32 + 2100)

Rows = list[list[Any]]


def __getattr__(name: str) -> Callable[..., Rows]:
    if name not in functions():
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return _entry(name)


def __dir__() -> list[str]:
    return []


@lru_cache(maxsize=512)
def _entry(name: str) -> Callable[..., Rows]:
    function = functions()[name]

    def entry(*args: Any) -> Rows:
        answer = _CELLS.call(name, [_from_excel(arg) for arg in args])
        return answer if isinstance(answer, list) else [[answer]]

    entry.__name__ = entry.__qualname__ = name
    entry.__doc__ = function.help
    entry.__signature__ = _signature(function)  # type: ignore[attr-defined]
    entry.__annotations__ = {}
    for arg in function.args:
        entry = xlwings.arg(arg.name, doc=arg.help, ndim=2, err_to_str=True)(entry)
    # Rows of floats and text need none of the checks that xlwings makes cell by cell (30 times
    # the time on a column), so they pass as they are.
    entry = xlwings.ret("raw")(entry)
    decorated: Callable[..., Rows] = xlwings.func(category=TOPICS[function.topic])(entry)
    return decorated


def _signature(function: WorksheetFunction) -> inspect.Signature:
    """What xlwings reads to learn which arguments may be left out; those arrive as None."""
    return inspect.Signature([_parameter(arg) for arg in function.args])


def _parameter(arg: Arg) -> inspect.Parameter:
    if arg.variadic:
        return inspect.Parameter(arg.name, inspect.Parameter.VAR_POSITIONAL)
    default = inspect.Parameter.empty if arg.required else None
    return inspect.Parameter(arg.name, inspect.Parameter.POSITIONAL_OR_KEYWORD, default=default)


def _from_excel(arg: Any) -> Any:
    """An argument as xlwings hands it over, as a cell value or rows of them."""
    if not isinstance(arg, (list, tuple)):
        return _cell(arg)
    if len(arg) == 1 and len(arg[0]) == 1:
        return _cell(arg[0][0])
    return [[v if type(v) is float else _cell(v) for v in row] for row in arg]


def _cell(value: Any) -> Any:
    """One value of Excel's: currency is a Decimal, a date a datetime, an empty cell None."""
    if isinstance(value, str):
        error = error_from_text(value)
        return value if error is None else error
    if isinstance(value, bool):
        return value
    if isinstance(value, int):
        return CellError.VALUE if value in _ERROR_CODES else float(value)
    return float(value) if isinstance(value, Decimal) else value


def _to_excel(answer: Any) -> Any:
    """A cell value or rows of them as xlwings passes them on, errors as marked text."""
    if isinstance(answer, list):
        return [[v if type(v) is float else _with_errors_marked(v) for v in row] for row in answer]
    return _with_errors_marked(answer)


def _with_errors_marked(value: Any) -> Any:
    if isinstance(value, CellError):
        return f"{MARK}{value}"
    if isinstance(value, str) and value.startswith(MARK):
        return MARK + value
    return value


_CELLS = Cells(write=_to_excel)
