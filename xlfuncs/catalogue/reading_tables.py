"""Tables as arguments: columns found by their headers, units from headers, values looked up.

A table is a range whose first row holds headers, a DataFrame, or a mapping of names to columns. A
column of the declaration is found by its own name or by the words of `tables` for it, in whatever
order the columns stand; a plain number in it is in the unit that its header states.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt

from xlfuncs.catalogue.argument_columns import all_blank, tidy
from xlfuncs.catalogue.arguments import is_blank
from xlfuncs.catalogue.declaration import Arg, WorksheetFunction
from xlfuncs.catalogue.finding_columns import Found, found_table, key_of, known_headers, words_of
from xlfuncs.errors import CellError, InputError

Array = npt.NDArray[Any]


@dataclass
class TablesRead:
    """What is known of the arguments of a call before any value is looked at."""

    raw: dict[str, Any] = field(default_factory=dict)  # by the name that the calculation knows
    labels: dict[str, str] = field(default_factory=dict)  # the same -> as errors call it
    row_names: dict[str, list[Any]] = field(default_factory=dict)  # by group


def read_tables(function: WorksheetFunction, args: list[Any], system: str) -> TablesRead | None:
    """The columns of all tables of a call, and its other arguments as they are.

    None where a table that is needed is blank.
    """
    read = TablesRead()
    tables: dict[str, Found] = {}
    args = in_order(function, args)
    given = dict(zip((arg.name for arg in function.inputs), args, strict=False))
    for i, arg in enumerate(function.inputs):
        value = args[i] if i < len(args) else None
        if arg.table is None:
            read.raw[arg.name] = tidy(value)
        elif not _is_nothing(value):
            if arg.single is not None:
                value, read.raw[arg.single.name] = _single_apart(arg.single.name, value)
            if isinstance(value, CellError):
                raise InputError(arg.name, f"holds the error {value}", cell_error=value)
            if value is not None:
                found = found_table(function, arg, value, system)
                named = given.get(arg.picked_by)
                tables[arg.name] = found.only(tidy(named)) if arg.picked_by else found
        elif arg.required:
            return None
    for arg in function.values:
        own = function.table_of.get(arg.name)
        if own is not None and own.name in tables and read.raw.get(arg.name) is None:
            _serve(read, tables, function, arg, tables[own.name])
    for name, found in tables.items():
        if isinstance(found.row_names, np.ndarray) and found.words.columns[0].dimension == "text":
            read.row_names[name] = found.row_names.tolist()
    return read


def in_order(function: WorksheetFunction, args: list[Any]) -> list[Any]:
    """Tables that were given in any order, in that of the declaration: by most known headers."""
    held = function.args[-1].holds
    first = len(function.inputs) - len(held)
    places: list[Any] = [None] * len(held)
    for place, value in enumerate(args[first:] if held else ()):
        if _is_nothing(value):
            continue
        if isinstance(value, CellError):
            name = function.args[-1].name
            raise InputError(name, f"holds the error {value}", cell_error=value)
        known = [known_headers(function, arg, value) for arg in held]
        best = max(range(len(held)), key=lambda i: (known[i], i == place))
        if not known[best]:
            words = f"has no table of {', '.join(arg.name for arg in held)} with such headers"
            raise InputError(function.args[-1].name, words, cell_error=CellError.VALUE)
        if places[best] is not None:
            words = f"has two tables of {held[best].name}"
            raise InputError(function.args[-1].name, words, cell_error=CellError.VALUE)
        places[best] = value
    return [*args[:first], *[None] * (first - len(args)), *places] if held else args


def _is_nothing(value: Any) -> bool:
    rows = value if isinstance(value, (list, tuple)) else [value]
    return all(all_blank(tidy(row)) for row in rows)


def _single_apart(name: str, value: Any) -> tuple[Any, Any]:
    """A table, and the single value that may stand in its place or, in Python, beside it."""
    if isinstance(value, Mapping):
        return {key: cells for key, cells in value.items() if key != name} or None, value.get(name)
    rows = hasattr(value, "columns") or isinstance(value, (list, tuple, np.ndarray))
    return (value, None) if rows else (None, value)


def _serve(
    read: TablesRead, tables: dict[str, Found], function: WorksheetFunction, arg: Arg, own: Found
) -> None:
    """One column of the declaration: from its own table, else looked up by a name there."""
    name = arg.column or arg.name
    cells = own.cells.get(name)
    called = arg.looked_up.key if arg.looked_up is not None and cells is None else name
    header = own.headers.get(called) or own.headers.get(name) or own.words[name].header
    read.labels[arg.name] = f"{own.arg.name}: {header}"
    if arg.looked_up is not None and arg.looked_up.table in tables:
        cells = _looked_up(arg, own, tables[arg.looked_up.table], cells)
    if cells is None and arg.required:
        words = _lacking(function, arg, own)
        raise InputError(own.arg.name, words, cell_error=CellError.VALUE)
    read.raw[arg.name] = cells


def _looked_up(arg: Arg, own: Found, other: Found, cells: Any) -> Any:
    """The column, its blanks filled from another table by the names in a third."""
    assert arg.looked_up is not None
    keys = own.cells.get(arg.looked_up.key)
    there = other.cells.get(arg.looked_up.column)
    if keys is None or (there is None and cells is not None):
        return cells
    places = {key_of(name): i for i, name in reversed(list(enumerate(_each(other.row_names))))}
    label = f"{own.arg.name}: {own.headers[arg.looked_up.key]}"
    found = np.empty(len(_each(keys)), dtype=object)
    for i, key in enumerate(_each(keys)):
        given = None if cells is None else _each(cells)[i]
        if is_blank(given) and not is_blank(key):
            place = places.get(key_of(key))
            given = None if place is None or there is None else _each(there)[place]
            if place is None:
                given = _not_found(label, f"{str(key)!r} is not among the {other.arg.name}")
            elif is_blank(given) and arg.required:
                header = other.words[arg.looked_up.column].header
                given = _not_found(
                    label, f"{str(key)!r} has no {header} among the {other.arg.name}"
                )
        found[i] = given
    return tidy(found)


def _not_found(label: str, words: str) -> InputError:
    """What stands in a column for a value that was looked up in vain; reading it raises it."""
    return InputError(label, words, cell_error=CellError.NOT_AVAILABLE)


def _each(cells: Any) -> list[Any]:
    return cells.tolist() if isinstance(cells, np.ndarray) else [cells]


def _lacking(function: WorksheetFunction, arg: Arg, own: Found) -> str:
    words = f"needs a column {own.words[arg.column or arg.name].header}"
    if arg.looked_up is None:
        return words
    other = next(a for a in function.inputs if a.name == arg.looked_up.table)
    there = words_of(function, other)[arg.looked_up.column].header
    return f"{words}, or {own.words[arg.looked_up.key].header} and the {other.name} with {there}"
