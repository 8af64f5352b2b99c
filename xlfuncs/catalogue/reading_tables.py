"""Tables as arguments: columns found by their headers, units from headers, values looked up.

A table is a range whose first row holds headers, a DataFrame, or a mapping of names to columns. A
column of the declaration is found by its own name or by the words of `tables` for it, in whatever
order the columns stand; a plain number in it is in the unit that its header states.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt

from xlfuncs.catalogue.argument_columns import all_blank, tidy
from xlfuncs.catalogue.arguments import is_blank
from xlfuncs.catalogue.declaration import Arg, WorksheetFunction
from xlfuncs.errors import CellError, InputError, UnitError
from xlfuncs.tables.columns import Column, Table
from xlfuncs.tables.headers import ABBREVIATED, FEET_AND_INCHES, NEAR, Header, match_header
from xlfuncs.units import conversion, default_conversion

Array = npt.NDArray[Any]
_NO_UNIT = re.compile(r"[-+\d\s./,½¼¾⅛⅜⅝e]+")


@dataclass
class TablesRead:
    """What is known of the arguments of a call before any value is looked at."""

    raw: dict[str, Any] = field(default_factory=dict)  # by the name that the calculation knows
    labels: dict[str, str] = field(default_factory=dict)  # the same -> as errors call it
    row_names: dict[str, list[Any]] = field(default_factory=dict)  # by group


@dataclass(frozen=True)
class _Found:
    """A table whose columns were found: by their names in `Arg.table`."""

    arg: Arg
    words: Table
    cells: dict[str, Any]
    headers: dict[str, str]

    @property
    def row_names(self) -> Any:
        """The first column, by which people call a row."""
        return self.cells.get(self.words.columns[0].name)


def read_tables(function: WorksheetFunction, args: list[Any], system: str) -> TablesRead | None:
    """The columns of all tables of a call, and its other arguments as they are.

    None where a table that is needed is blank.
    """
    read = TablesRead()
    tables: dict[str, _Found] = {}
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
                tables[arg.name] = _found(function, arg, value, system)
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
    read: TablesRead, tables: dict[str, _Found], function: WorksheetFunction, arg: Arg, own: _Found
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


def _looked_up(arg: Arg, own: _Found, other: _Found, cells: Any) -> Any:
    """The column, its blanks filled from another table by the names in a third."""
    assert arg.looked_up is not None
    keys = own.cells.get(arg.looked_up.key)
    there = other.cells.get(arg.looked_up.column)
    if keys is None or (there is None and cells is not None):
        return cells
    places = {_key(name): i for i, name in reversed(list(enumerate(_each(other.row_names))))}
    label = f"{own.arg.name}: {own.headers[arg.looked_up.key]}"
    found = np.empty(len(_each(keys)), dtype=object)
    for i, key in enumerate(_each(keys)):
        given = None if cells is None else _each(cells)[i]
        if is_blank(given) and not is_blank(key):
            place = places.get(_key(key))
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


def _key(name: Any) -> str:
    return f"{name:.15g}" if isinstance(name, float) else str(name).strip().casefold()


def _lacking(function: WorksheetFunction, arg: Arg, own: _Found) -> str:
    words = f"needs a column {own.words[arg.column or arg.name].header}"
    if arg.looked_up is None:
        return words
    other = next(a for a in function.inputs if a.name == arg.looked_up.table)
    there = _words(function, other)[arg.looked_up.column].header
    return f"{words}, or {own.words[arg.looked_up.key].header} and the {other.name} with {there}"


# --- one table ---


def _found(function: WorksheetFunction, arg: Arg, value: Any, system: str) -> _Found:
    if isinstance(value, Mapping):
        headers, columns = list(map(str, value)), [tidy(cells) for cells in value.values()]
    elif hasattr(value, "columns"):  # a DataFrame
        headers = list(map(str, value.columns))
        columns = [tidy(value.iloc[:, i]) for i in range(len(headers))]
    elif isinstance(value, (list, tuple, np.ndarray)):
        headers, columns = _columns_of_range(arg, value)
    else:
        raise InputError(arg.name, "needs a table, headers in its first row",
                         cell_error=CellError.VALUE)  # fmt: skip
    words = _words(function, arg)
    named = {value.name: value.column for value in function.values
             if value.column and function.table_of.get(value.name) is arg}  # fmt: skip
    known = [named.get(text.strip().lower().replace(" ", "_"), text) for text in headers]
    found = _matched(arg, words, known, _used(function, arg))
    cells = {
        name: _in_default_unit(columns[header.place], header, system)
        for name, header in found.items()
    }
    return _Found(arg, words, cells, {n: headers[header.place] for n, header in found.items()})


def _columns_of_range(arg: Arg, value: Any) -> tuple[list[str], list[Any]]:
    rows = [list(row) if isinstance(row, (list, tuple, np.ndarray)) else [row] for row in value]
    if arg.settings:
        return _settings(arg, rows)
    headers = ["" if is_blank(cell) else str(cell) for cell in rows[0]]
    if not any(isinstance(cell, str) and cell.strip() for cell in rows[0]):
        raise InputError(arg.name, "needs headers in its first row", cell_error=CellError.VALUE)
    empty = [tidy(np.empty(0, dtype=object))] * len(headers)
    return headers, [tidy(list(column)) for column in zip(*rows[1:], strict=True)] or empty


def _settings(arg: Arg, rows: list[list[Any]]) -> tuple[list[str], list[Any]]:
    """Labels and values of a table that runs down; a unit beside a value joins its label."""
    if len(rows[0]) < 2:
        raise InputError(arg.name, "needs labels and values beside them",
                         cell_error=CellError.VALUE)  # fmt: skip
    rows = [row for row in rows if not is_blank(row[0])]
    units = [f" ({row[2]})" if len(row) > 2 and not is_blank(row[2]) else "" for row in rows]
    labels = [f"{row[0]}{unit}" for row, unit in zip(rows, units, strict=True)]
    return labels, [row[1] for row in rows]


def _used(function: WorksheetFunction, arg: Arg) -> set[str]:
    """The columns of a table that a function may read."""
    used = set()
    for value in function.values:
        own = function.table_of.get(value.name)
        if own is arg:
            used.add(value.column or value.name)
        if value.looked_up is not None and own is arg:
            used.add(value.looked_up.key)
        if value.looked_up is not None and value.looked_up.table == arg.name:
            used.add(value.looked_up.column)
    return used


def _words(function: WorksheetFunction, arg: Arg) -> Table:
    """The table's columns by which headers are known, those of the declaration alone included."""
    assert arg.table is not None
    own = {value.column or value.name: value for value in function.values
           if function.table_of.get(value.name) is arg}  # fmt: skip
    more = tuple(
        Column(name, name.replace("_", " ").capitalize(), value.dimension, value.help)
        for name, value in own.items()
        if name not in arg.table.names
    )
    return Table(arg.table.name, arg.table.help, (*arg.table.columns, *more))


def _matched(arg: Arg, table: Table, headers: list[str], used: set[str]) -> dict[str, Header]:
    """Which header names which column; InputError where that is doubtful for one that is read."""
    meant = [match_header(text, table, i, ABBREVIATED) for i, text in enumerate(headers)]
    found: dict[str, Header] = {}
    for matches in sorted(filter(None, meant), key=lambda matches: matches[0].rank):
        free = [header for header in matches if header.column.name not in found]
        if free:
            found[free[0].column.name] = free[0]
            continue
        other = found[matches[0].column.name]
        if other.rank == matches[0].rank and other.column.name in used:
            words = f"both {other.text!r} and {matches[0].text!r} are {other.column.header}"
            raise InputError(arg.name, words, cell_error=CellError.VALUE)
    for header in found.values():
        if header.column.name in used and header.measures_something_else:
            words = f"{header.text!r}: {header.odd_unit} does not measure {header.column.dimension}"
            raise UnitError(arg.name, words)
    for text in (text for text, m in zip(headers, meant, strict=True) if not m):
        for header in match_header(text, table, 0, NEAR):
            name = header.column.name
            if name in used and name not in found:
                words = f"there is no column {text!r}; did you mean {header.column.header}?"
                raise InputError(arg.name, words, cell_error=CellError.VALUE)
    return found


def _in_default_unit(cells: Any, header: Header, system: str) -> Any:
    """Plain numbers of a column in the default unit, where its header states another."""
    unit, dimension = header.unit, header.column.dimension
    unit = "ft" if unit == FEET_AND_INCHES else unit
    if not unit or conversion(unit, dimension) == default_conversion(dimension, system):
        return cells
    (scale, offset), (to_scale, to_offset) = (
        conversion(unit, dimension), default_conversion(dimension, system)
    )  # fmt: skip

    def turned(cell: Any) -> Any:
        if type(cell) is float or type(cell) is int:
            return (cell * scale + offset - to_offset) / to_scale
        if isinstance(cell, str) and cell.strip() and _NO_UNIT.fullmatch(cell):
            return f"{cell} {unit}"
        return cell

    if not isinstance(cells, np.ndarray):
        return turned(cells)
    if cells.dtype == np.float64:
        return (cells * scale + offset - to_offset) / to_scale
    return tidy([turned(cell) for cell in cells.tolist()])
