"""Input tables as they were given, and what is said of their cells."""

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property, lru_cache
from typing import Any, NamedTuple

from xlfuncs.catalogue.argument_columns import by_kind
from xlfuncs.catalogue.arguments import as_argument, is_blank, read_one
from xlfuncs.errors import InputError
from xlfuncs.tables.columns import Column, Table
from xlfuncs.units import SYSTEMS

# A number cannot be relied on, or it may do harm; something looks like a slip; something to know.
WRONG, DOUBTFUL, NOTE = "wrong", "doubtful", "note"
KINDS = (WRONG, DOUBTFUL, NOTE)

BLANK = " is blank"  # how the words end that a cell is to be filled in: a note where it may wait
_UNIT = re.compile(r"\s*\(([^()]*)\)\s*$")


class Row(NamedTuple):
    """One filled row: its number, by whatever the caller counts, and its cells by column name."""

    number: int
    cells: Mapping[str, Any]

    @property
    def begun(self) -> bool:
        """Whether anything stands there but a note that was left from what was cleared."""
        return any(not is_blank(v) for name, v in self.cells.items() if name != "note")

    def text(self, name: str) -> str:
        return _text(self.cells.get(name))


@dataclass(frozen=True)
class GivenTable:
    """A declared table as it stands somewhere: its headers and its filled rows."""

    table: Table
    headers: Sequence[str]
    filled: Sequence[Row]
    system: str
    _bases: dict[tuple[str, type, Any], Any] = field(default_factory=dict)  # most cells repeat
    _columns: dict[str, list[Any]] = field(default_factory=dict)

    @cached_property
    def places(self) -> dict[str, int]:
        """Which header (from 0) means which column."""
        found: dict[str, int] = {}
        for i, header in enumerate(self.headers):
            match = column_of(header, self.table)
            if match:
                found.setdefault(match[0].name, i)
        return found

    @cached_property
    def waits(self) -> bool:
        """Whether a table that may wait has a column that it needs and that nobody has begun."""
        needed = (c.name for c in self.table.columns if c.required and c.name in self.places)
        return self.table.may_wait and any(all(map(is_blank, self.column(name))) for name in needed)

    def rows(self) -> Iterator[Row]:
        return iter(self.filled)

    def row_name(self, row: Row) -> str:
        """What people call a row: its first column, a date as one."""
        first = self.table.columns[0]
        date = self.base(row, first.name) if first.dimension == "date" else None
        return row.text(first.name) if date is None else str(date)

    def base(self, row: Row, name: str) -> Any:
        """A cell in base units or its default; None where it is missing or cannot be used."""
        if name not in self.places:
            return None
        key = name, type(value := row.cells.get(name)), value
        if key not in self._bases:
            self._bases[key] = _base(self.table[name], value, self.system)
        return self._bases[key]

    def column(self, name: str) -> list[Any]:
        """The cells of a column as they were given, one for each filled row."""
        if name not in self._columns:
            self._columns[name] = [row.cells.get(name) for row in self.filled]
        return self._columns[name]

    def bases(self, name: str) -> list[Any]:
        """As `base` of every filled row."""
        if name not in self.places:
            return [None] * len(self.filled)
        return self.of_each(name, lambda value: _base(self.table[name], value, self.system))

    def texts(self, name: str) -> list[str]:
        """As a row's `text` of every filled row."""
        return self.of_each(name, _text)

    def of_each(self, name: str, found: Callable[[Any], Any]) -> list[Any]:
        """What is found of the cells of a column, looked for once where they are alike."""
        values = self.column(name)
        keys = by_kind(values)
        known = {key: found(value) for key, value in dict(zip(keys, values, strict=True)).items()}
        return [known[key] for key in keys]


class Said(NamedTuple):
    """One finding: of a cell of a table's row, or of its header; of a setting without a table."""

    kind: str
    table: str
    row: Row | None
    column: str
    words: str


@dataclass(frozen=True)
class Given:
    """All that findings are looked for in: tables by name, settings by name as typed."""

    tables: Mapping[str, GivenTable]
    settings: Mapping[str, Any] = field(default_factory=dict)
    system: str = "us"

    def rows(self, table: str) -> Iterator[tuple[GivenTable, Row]]:
        if table in self.tables:
            for row in self.tables[table].rows():
                yield self.tables[table], row

    def setting(self, column: Column) -> Any:
        """A setting in base units or its default; None where it cannot be used."""
        return _base(column, self.settings.get(column.name), self.system)


def _text(value: Any) -> str:
    return "" if is_blank(value) else f"{value:.15g}" if isinstance(value, float) else str(value)


def _base(column: Column, value: Any, system: str) -> Any:
    try:
        base = read_one(as_argument(column), value, system)
    except InputError:
        return None
    return column.default if base is None else base


def from_range(table: Table, cells: Sequence[Sequence[Any]], system: str) -> GivenTable:
    """A table from a range with its headers in the first row; rows count from 1."""
    headers = ["" if is_blank(cell) else str(cell) for cell in cells[0]]
    empty = GivenTable(table, headers, (), system)
    columns = [*zip(*cells[1:], strict=True)] or [()] * len(headers)
    chosen = zip(*(columns[place] for place in empty.places.values()), strict=True)
    rows = (Row(i, dict(zip(empty.places, own, strict=True))) for i, own in enumerate(chosen, 1))
    filled = [row for row in rows if row.begun]
    return GivenTable(table, headers, filled, system)


def without_unit(header: str) -> str:
    """A header without the unit in brackets behind it, to compare it with others."""
    return _UNIT.sub("", header).strip()


def unit_in(header: str) -> str:
    """The unit in brackets behind a header, '' for none."""
    match = _UNIT.search(header)
    return match[1] if match else ""


@lru_cache(maxsize=8192)
def column_of(header: str, table: Table) -> tuple[Column, str] | None:
    """The column that a header of a workbook means, and the unit that it states.

    Headers that the column had once are known too; its other synonyms are not, for a column that
    somebody added may be called so.
    """
    headings, bare = _named(table)
    if column := headings.get(header):
        return column, unit_in(header) if column.unit("us") else ""
    column = bare.get(without_unit(header).casefold())
    return (column, unit_in(header)) if column else None


@lru_cache(maxsize=256)
def _named(table: Table) -> tuple[dict[str, Column], dict[str, Column]]:
    """The columns by their headings, and without units also by those that they had once."""
    columns = table.columns[::-1]  # of two the first counts
    headings = {column.heading(system): column for column in columns for system in SYSTEMS}
    former = {name: column for column in columns for name in column.former}
    return headings, former | {column.header.casefold(): column for column in columns}
