"""How the columns of an input table are declared: once, for workbooks, imports and checks alike.

A table, or a section of settings, is a row of data/tables.csv; kind "for functions": it stands in
no workbook by itself. A column is a row of data/columns.csv, under the name of its table or the
title of its section, in the order in which a workbook has them. Limits are numbers in the
dimension's base unit (`1/3600` is a fraction), lists are parted by commas, flags are yes or no. A
row `like` the column of another table, "HeadParts.loss", takes from it what it leaves blank.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import Any, Literal

from xlfuncs.errors import DeclarationError
from xlfuncs.units import DIMENSIONS, from_base, rows_of


@dataclass(frozen=True)
class Column:
    """One column of an input table, a row of data/columns.csv."""

    name: str  # snake_case, as in Python
    header: str  # as people read it, without the unit
    dimension: str
    help: str
    required: bool = False
    choices: tuple[str, ...] = ()
    above: float | None = None
    minimum: float | None = None
    maximum: float | None = None
    default: object = None
    synonyms: tuple[str, ...] = ()  # other headers that people type
    former: tuple[str, ...] = ()  # its headers in older workbooks, in small letters
    one_of: tuple[str, str] | None = None  # a table and its column that the value should be from
    internal: bool = False  # never in a client's copy (purchase prices, notes)
    plain: bool = False  # formulas count with the cell itself: no text with a unit

    def __hash__(self) -> int:  # of all fields it would take longer than what is kept by them
        return hash(self.name)

    def unit(self, system: str) -> str:
        """The unit of plain numbers in this column, '' where there is none."""
        return DIMENSIONS[self.dimension].unit(system)

    def heading(self, system: str) -> str:
        """The header with its unit, as a workbook shows it: 'Length (ft)'."""
        unit = self.unit(system)
        return f"{self.header} ({unit})" if unit else self.header

    def default_in(self, system: str) -> Any:
        """In the system's unit; round where the other system has another: 15 cm beside 6 in."""
        if not isinstance(self.default, (int, float)) or isinstance(self.default, bool):
            return self.default
        value = from_base(self.default, self.dimension, system)
        alike = self.unit("us") == self.unit("metric")
        return value if alike else float(f"{value:.2g}")


@dataclass(frozen=True)
class Table:
    """A table of inputs: its PascalCase name in the workbook and its columns in order.

    `begins` is what a new workbook has of the example's rows: "all" of things to choose from, a
    "row" to be replaced, or "none" of what was measured, paid or offered, for that is one's own
    and a row of another's would stand in the sums. `most` rows are the limit that is stated: up to
    it a workbook is built and recalculated in less than a gigabyte. No purchase, proposal or
    program rests on a table that `may_wait`.
    """

    name: str
    help: str
    columns: tuple[Column, ...]
    begins: Literal["all", "row", "none"] = "row"
    most: int = 5_000
    may_wait: bool = False

    def __hash__(self) -> int:
        return hash(self.name)

    def __getitem__(self, name: str) -> Column:
        for column in self.columns:
            if column.name == name:
                return column
        raise KeyError(name)

    @property
    def names(self) -> tuple[str, ...]:
        return tuple(column.name for column in self.columns)


def data_rows(file: str) -> list[dict[str, str]]:
    """The rows of a data file of this room."""
    return rows_of(Path(__file__).with_name("data") / file)


@dataclass(frozen=True)
class Section:
    """Settings that belong together."""

    title: str
    help: str
    settings: tuple[Column, ...]
    may_wait: bool = False  # as a table

    def __getitem__(self, name: str) -> Column:
        return next(column for column in self.settings if column.name == name)


def named(kind: str) -> list[str]:
    """The names of data/tables.csv of this kind, in the order in which a workbook asks for them."""
    return [name for name, row in _tables().items() if row["kind"] == kind]


@lru_cache(maxsize=256)
def table(name: str, *shared: Column) -> Table:
    """The table of data/tables.csv; its columns stand after those that it shares with others."""
    row = _tables()[name]
    most = int(row["most"] or Table.most)
    columns, waits = columns_of(name, *shared), bool(row["may_wait"])
    return Table(name, row["help"], columns, row["begins"] or "row", most, waits)


@lru_cache(maxsize=256)
def section(title: str) -> Section:
    """The section of settings of data/columns.csv, with its words in tables.csv, if any."""
    row = _tables().get(title, {})
    return Section(title, row.get("help", ""), columns_of(title), bool(row.get("may_wait")))


@lru_cache(maxsize=1)
def _tables() -> dict[str, dict[str, Any]]:
    return {row["name"]: row for row in data_rows("tables.csv")}


def columns_of(name: str, *shared: Column) -> tuple[Column, ...]:
    """The columns declared for a table or a section, after those shared with others."""
    columns = (*shared, *_declared().get(name, {}).values())
    if not columns:
        raise DeclarationError(f"columns.csv has no column of {name!r}")
    return columns


@lru_cache(maxsize=1)
def _declared() -> dict[str, dict[str, Column]]:
    """All columns, by their table and name; DeclarationError names a row that cannot be read."""
    found: dict[str, dict[str, Column]] = {}
    for row in data_rows("columns.csv"):
        there = found.setdefault(row["table"], {})
        cells = {key: cell for key, cell in row.items() if cell and key != "table"}
        table, _, name = cells.pop("like", "").partition(".")
        try:
            if cells["name"] in there:
                raise ValueError("declared twice")
            there[cells["name"]] = _column(cells, found[table][name] if table else None)
        except (KeyError, TypeError, ValueError) as error:
            where = f"columns.csv, {row['table']}, {row['name']}"
            raise DeclarationError(f"{where}: {type(error).__name__} {error}") from error
    return found


def _column(cells: dict[str, str], like: Column | None) -> Column:
    kind = DIMENSIONS[cells["dimension"] if like is None else like.dimension].kind
    read = _READ | {"default": {"number": number, "flag": _yes}.get(kind, str)}
    given: dict[str, Any] = {key: read.get(key, str)(cell) for key, cell in cells.items()}
    return Column(**given) if like is None else replace(like, **given)


def number(text: str) -> float:
    """A number, or a fraction such as 1/3600; ValueError for other text."""
    above, _, below = text.partition("/")
    if below:
        return float(above) / float(below)
    return int(text) if text.lstrip("-").isdigit() else float(text)


def _yes(text: str) -> bool:
    return {"yes": True, "no": False}[text]


def _words(text: str) -> tuple[str, ...]:
    return tuple(text.split(", "))


_READ: dict[str, Callable[[str], Any]] = {
    **dict.fromkeys(("required", "internal", "plain"), _yes),
    **dict.fromkeys(("above", "minimum", "maximum"), number),
    **dict.fromkeys(("choices", "synonyms", "former"), _words),
    "one_of": lambda text: tuple(text.split(".")),
}
