"""Finding the columns of one table: by its headers, the units that those state, one row of it."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from xlfuncs.catalogue.argument_columns import tidy
from xlfuncs.catalogue.arguments import is_blank
from xlfuncs.catalogue.declaration import Arg, WorksheetFunction
from xlfuncs.errors import CellError, InputError, UnitError
from xlfuncs.tables.columns import Column, Table
from xlfuncs.tables.headers import ABBREVIATED, FEET_AND_INCHES, NEAR, Header, match_header, unit_of
from xlfuncs.units import conversion, default_conversion

_NUMBER_AND_UNIT = re.compile(r"[-+]?[\d.,/½¼¾⅛⅜⅝⅞]+\s*([^\d\s].*)")
_NO_UNIT = re.compile(r"[-+\d\s./,½¼¾⅛⅜⅝e]+")


@dataclass(frozen=True)
class Found:
    """A table whose columns were found: by their names in `Arg.table`."""

    arg: Arg
    words: Table
    cells: dict[str, Any]
    headers: dict[str, str]

    @property
    def row_names(self) -> Any:
        """The first column, by which people call a row."""
        return self.cells.get(self.words.columns[0].name)

    def only(self, name: Any) -> "Found":
        """One row of it: that of this name; without a name the one that there is."""
        column = self.row_names
        names = column.tolist() if isinstance(column, np.ndarray) else [column]
        rows = [i for i, own in enumerate(names) if not is_blank(own)] or list(range(len(names)))
        if not is_blank(name):
            rows = [i for i in rows if key_of(names[i]) == key_of(name)]
        if not rows:
            words = f"{str(name)!r} is not among the {self.arg.name}"
            raise InputError(self.arg.picked_by, words, cell_error=CellError.NOT_AVAILABLE)
        if len(rows) > 1 and is_blank(name):
            words = f"is needed: there are {len(rows)} {self.arg.name}"
            raise InputError(self.arg.picked_by, words, cell_error=CellError.VALUE)
        cells = {n: c.item(rows[0]) if isinstance(c, np.ndarray) and c.size else c
                 for n, c in self.cells.items()}  # fmt: skip
        return replace(self, cells=cells)


def key_of(name: Any) -> str:
    """A name as names are compared."""
    return f"{name:.15g}" if isinstance(name, float) else str(name).strip().casefold()


def known_headers(function: WorksheetFunction, arg: Arg, value: Any) -> int:
    """How many of a table's headers are words for columns that the function reads of `arg`."""
    words, used = words_of(function, arg), _used(function, arg)
    found: set[str] = set()
    for text in _known(function, arg, _headers_and_columns(arg, value)[0]):
        found.update(h.column.name for h in match_header(text, words, 0, ABBREVIATED)[:1])
    return len(found & used)


def found_table(function: WorksheetFunction, arg: Arg, value: Any, system: str) -> Found:
    headers, columns = _headers_and_columns(arg, value)
    words = words_of(function, arg)
    used = _used(function, arg)
    found = _matched(arg, words, _known(function, arg, headers), used)
    for name in used & set(found):
        _refuse_contradiction(arg, found[name], columns[found[name].place])
    cells = {
        name: _in_default_unit(columns[header.place], header, system)
        for name, header in found.items()
    }
    return Found(arg, words, cells, {n: headers[header.place] for n, header in found.items()})


def _known(function: WorksheetFunction, arg: Arg, headers: list[str]) -> list[str]:
    """The headers, the calculation's own names for columns turned into the table's."""
    named = {value.name: value.column for value in function.values
             if value.column and function.table_of.get(value.name) is arg}  # fmt: skip
    return [named.get(text.strip().lower().replace(" ", "_"), text) for text in headers]


def _headers_and_columns(arg: Arg, value: Any) -> tuple[list[str], list[Any]]:
    if isinstance(value, Mapping):
        return list(map(str, value)), [tidy(cells) for cells in value.values()]
    if hasattr(value, "columns"):  # a DataFrame
        headers = list(map(str, value.columns))
        return headers, [tidy(value.iloc[:, i]) for i in range(len(headers))]
    if isinstance(value, (list, tuple, np.ndarray)):
        return _columns_of_range(arg, value)
    raise InputError(arg.name, "needs a table, headers in its first row",
                     cell_error=CellError.VALUE)  # fmt: skip


def _columns_of_range(arg: Arg, value: Any) -> tuple[list[str], list[Any]]:
    rows: list[Any] = [
        row if isinstance(row, (list, tuple, np.ndarray)) else [row] for row in value
    ]
    if arg.settings:
        return _settings(arg, rows)
    headers = ["" if is_blank(cell) else str(cell) for cell in rows[0]]
    if not any(isinstance(cell, str) and cell.strip() for cell in rows[0]):
        raise InputError(arg.name, "needs headers in its first row", cell_error=CellError.VALUE)
    empty = [tidy(np.empty(0, dtype=object))] * len(headers)
    return headers, [tidy(list(column)) for column in zip(*rows[1:], strict=True)] or empty


def _settings(arg: Arg, rows: list[Any]) -> tuple[list[str], list[Any]]:
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


def words_of(function: WorksheetFunction, arg: Arg) -> Table:
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


def _refuse_contradiction(arg: Arg, header: Header, cells: Any) -> None:
    """A heading in ft over cells that say m: what are plain numbers among those? One cell with
    a unit of its own is nothing odd, even of two, nor is a column where every cell says its own."""
    if not header.unit or not isinstance(cells, np.ndarray) or cells.dtype != object:
        return
    filled = [cell for cell in cells.tolist() if not is_blank(cell)]
    stated = [unit for unit in map(_unit_in, filled) if unit]
    if not len(filled) > len(stated) >= max(len(filled) / 2, 2):
        return  # before units are asked of pint, which loads slowly
    dimension = header.column.dimension
    others = {u for u in stated if unit_of(u, dimension) and not _alike(u, header.unit, dimension)}
    if others and others >= set(stated):
        plain = next(cell for cell in filled if not _unit_in(cell))
        words = f"{header.text!r} is in {header.unit}, most of its cells in {', '.join(others)}"
        raise UnitError(arg.name, f"{words}: what is {plain}? Correct the heading or the cells")


def _unit_in(cell: Any) -> str:
    """The unit that a cell states behind one number."""
    match = _NUMBER_AND_UNIT.fullmatch(cell.strip()) if isinstance(cell, str) else None
    return match[1] if match else ""


def _alike(one: str, other: str, dimension: str) -> bool:
    first, second = (conversion(_of_plain(unit), dimension) for unit in (one, other))
    return first == second


def _of_plain(unit: str) -> str:
    """The unit of plain numbers under a heading: of feet and inches it is feet."""
    return "ft" if unit == FEET_AND_INCHES else unit


def _in_default_unit(cells: Any, header: Header, system: str) -> Any:
    """Plain numbers of a column in the default unit, where its header states another."""
    unit, dimension = _of_plain(header.unit or ""), header.column.dimension
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
