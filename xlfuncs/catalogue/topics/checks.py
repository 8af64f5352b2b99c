"""Declarations: INPUT_CHECK, which says in words why a function gives what it gives.

It reads the arguments by the very code that the functions use, so the words and the outcome
cannot part.
"""

from typing import Any

import numpy as np

from xlfuncs.catalogue.argument_columns import all_blank, tidy
from xlfuncs.catalogue.arguments import doubt_of_argument, read_one
from xlfuncs.catalogue.calling import call, read_system, split_units
from xlfuncs.catalogue.calling_elementwise import aligned
from xlfuncs.catalogue.calling_whole import FINE, words_on_rows
from xlfuncs.catalogue.declaration import Arg, Result, WorksheetFunction, worksheet_function
from xlfuncs.catalogue.findings.all_findings import find_all, given_ranges, in_full
from xlfuncs.catalogue.findings.cells import unreadable_rows
from xlfuncs.catalogue.findings.given import from_range
from xlfuncs.catalogue.reading_tables import in_order
from xlfuncs.catalogue.sources import DEFINITION
from xlfuncs.catalogue.whole_results import ResultTable
from xlfuncs.errors import CellError, InputError, UndeclaredError
from xlfuncs.tables.all_tables import TABLES
from xlfuncs.tables.columns import Table
from xlfuncs.units import default_conversion

_CHECKED = (
    "function: text: Name of the worksheet function, in quotation marks",
    Arg("argument", "text", "The arguments as that function gets them, units included",
        variadic=True),
)  # fmt: skip


@worksheet_function(
    "INPUT_CHECK",
    help="Says in words what is wrong or doubtful in the arguments of a function: ok, or argument,"
    " limit, value and remedy.",
    args=_CHECKED,
    results=(Result("words", "text", "ok, or what is wrong or doubtful"),),
    source=DEFINITION.at("the function's own declaration"),
    examples=('INPUT_CHECK("RUN_MINUTES", 600, 1, 0)',),
)
def input_check(function: Any, *args: Any) -> Any:
    from xlfuncs.catalogue.registry import find

    try:
        declared = find(str(function))
        values, system = split_units(declared, args)
    except KeyError as error:
        return str(error.args[0])
    except InputError as error:
        return str(error)
    if not declared.elementwise:
        return words_on_whole(declared, values, system)
    tidied = [tidy(value) for value in values]
    if not any(isinstance(value, np.ndarray) for value in tidied):
        return words_on_one(declared, tidied, system)
    try:
        arrays = np.broadcast_arrays(*aligned(declared, tidied))
    except InputError as error:
        return str(error)
    flat = [array.ravel().tolist() for array in arrays]
    words = [words_on_one(declared, list(row), system) for row in zip(*flat, strict=True)]
    shape = arrays[0].shape
    return np.array(words, dtype=object).reshape(shape if shape[1:] > (1,) else -1)


@worksheet_function(
    "ROW_CHECK",
    help="Says in words what keeps each row of a function's first table from being used: ok where"
    " nothing does. Of a table by its name: which cell cannot be read.",
    args=_CHECKED,
    results=(Result("words", "text", "ok, left out, or what is missing or wrong"),),
    source=DEFINITION.at("the function's own declaration"),
    examples=(
        'ROW_CHECK("SYSTEM_DELIVERY", A1:H9, 12, J1:R4)',
        'ROW_CHECK("Beds", A1:S20, units)',
    ),
)
def row_check(function: Any, *args: Any) -> Any:
    from xlfuncs.catalogue.registry import find

    if table := next((t for t in TABLES if t.name.casefold() == str(function).casefold()), None):
        return _readable(table, *args)
    try:
        declared = find(str(function))
    except KeyError as error:
        raise InputError("function", str(error.args[0]), cell_error=CellError.NAME) from None
    values, system = split_units(declared, args)
    if not declared.rows:
        raise InputError("function", f"{declared.name} gives no result a row",
                         cell_error=CellError.VALUE)  # fmt: skip
    return np.array(words_on_rows(declared, values, system), dtype=object)


def _readable(table: Table, cells: Any, units: Any = "us") -> Any:
    """Of each row of a declared table ok, or its first cell that cannot be read; '' for blank."""
    rows = _rows(cells)
    if not rows:
        raise InputError(table.name, "needs the table, headers in its first row",
                         cell_error=CellError.VALUE)  # fmt: skip
    given = from_range(table, rows, read_system(units))
    words = np.full(len(rows) - 1, "", dtype=object)
    words[[row.number - 1 for row in given.filled]] = FINE
    for number, said in unreadable_rows(given).items():
        words[number - 1] = said
    return words


def words_on_one(function: WorksheetFunction, values: list[Any], system: str) -> str:
    """ok, what is doubtful, which argument is blank, or what is wrong, for single values."""
    try:
        result = call(function, values, system)
    except (InputError, UndeclaredError) as error:
        return str(error)
    if result is None:
        return _words_on_blank(function, values)
    return _doubts(function, values, system, result) or FINE


def _words_on_blank(function: WorksheetFunction, values: list[Any]) -> str:
    values = in_order(function, values)
    names = [
        arg.name
        for i, arg in enumerate(function.inputs)
        if arg.required and (i >= len(values) or all_blank(tidy(values[i])))
    ]
    verb = "is" if len(names) == 1 else "are"
    return f"{function.name}: nothing computed, {' and '.join(names)} {verb} blank"


def _doubts(function: WorksheetFunction, values: list[Any], system: str, result: Any) -> str:
    doubts = []
    for arg, value in zip(function.inputs, values, strict=False):
        base = read_one(arg, value, system)
        if words := doubt_of_argument(arg, base):
            doubts.append(f"{arg.name}: {words}")
    if function.doubt is not None:
        scale, offset = default_conversion(function.results[0].dimension, system)
        if words := function.doubt(result * scale + offset):
            doubts.append(words)
    return f"{function.name}: doubtful: {'; '.join(doubts)}" if doubts else ""


def words_on_whole(function: WorksheetFunction, values: list[Any], system: str) -> str:
    """The same for a function that works on the whole."""
    try:
        outcome = call(function, values, system)
    except (InputError, UndeclaredError) as error:
        return str(error)
    if outcome is None or (isinstance(outcome, ResultTable) and outcome.nothing):
        return _words_on_blank(function, values)
    return FINE


@worksheet_function(
    "FINDINGS",
    help="All that is wrong, doubtful or worth knowing in input tables and settings, looked at"
    " together: worst first, one a row; a blank row ends the list.",
    args=(
        "system: text: us or metric: the units of plain numbers",
        Arg("given", "text", "Input tables with their headers, and settings with their labels",
            variadic=True),
    ),
    source=DEFINITION.at("the limits of the tables' columns, and what they say of each other"),
    examples=("FINDINGS(units, A1:S20, U1:AH9)",),
)  # fmt: skip
def findings(system: Any, *given: Any) -> Any:
    ranges = [_rows(cells) for cells in given]
    known = given_ranges([cells for cells in ranges if cells], read_system(system))
    found = find_all(known)
    rows = [
        (
            said.kind,
            said.table or said.column,
            said.row.number if said.row else 0,
            known.tables[said.table].places.get(said.column, 0) + 1 if said.table else 1,
            in_full(known, said),
        )
        for said in found
    ]
    # A blank row ends the list; of one row alone Calc would fill a whole block.
    return [*rows, ("", "", np.nan, np.nan, "")]


def _rows(cells: Any) -> list[list[Any]]:
    """A range as rows; None for a single cell."""
    if not isinstance(cells, list | tuple | np.ndarray):
        return []
    return [list(row) if isinstance(row, list | tuple | np.ndarray) else [row] for row in cells]
