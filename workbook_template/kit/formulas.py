"""Pieces of formulas: calls of worksheet functions by argument names, and places of tables."""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from xlsxwriter.utility import xl_col_to_name

from xlfuncs.catalogue.declaration import WorksheetFunction
from xlfuncs.catalogue.registry import functions
from xlfuncs.errors import DeclarationError

_BESIDE = re.compile(r"\{(\d+)\+n\}")  # see Place.beside
_NAMED = re.compile(r"\{([a-z]\w*)(-1)?\}")
# Cells without a sheet. Texts, brackets and names of sheets come first, so that nothing in them
# is taken for a cell.
_OWN_CELLS = re.compile(
    r""""(?:[^"]|"")*"|\[[^\[\]]*\]|'(?:[^']|'')*'!\$?[A-Z]+\$?\d+(?::\$?[A-Z]+\$?\d+)?"""
    r"""|(?<![\w.$])(\$?[A-Z]{1,3}\$?\d+(?::\$?[A-Z]{1,3}\$?\d+)?)(?![\w.!(])"""
)


@dataclass(frozen=True)
class Place:
    """Where a table lies: its sheet, first and last row, and the place of each column."""

    sheet: str
    first: int
    last: int
    columns: Mapping[str, int]

    @classmethod
    def of(cls, sheet: str, names: Iterable[str], first: int, rows: int, col: int = 0) -> "Place":
        """Where a grid of so many rows lies, whose first row and column (from 0) are given."""
        return cls(sheet, first, first + rows - 1, {name: i for i, name in enumerate(names, col)})

    @property
    def rows(self) -> int:
        return self.last - self.first + 1

    def reference(self, column: str) -> str:
        """The cells of a column by sheet and address, for what cannot name a table's column."""
        return self.span(column, column)

    def here(self, column: str, *, fixed: bool | Literal["row"] = True) -> str:
        """The cells of a column for formulas of the same sheet."""
        letters = ("$" if fixed is True else "") + xl_col_to_name(self.columns[column])
        ends = (f"{letters}{'$' if fixed else ''}{row + 1}" for row in (self.first, self.last))
        return ":".join(ends)

    def head(self, column: str) -> str:
        """The cell of a heading, for formulas that reach from there to the row above."""
        return f"{xl_col_to_name(self.columns[column])}${self.first}"

    def cell(self, column: str, number: int = 1) -> str:
        """The cell of a column in a row, counted from 1."""
        return self.row_of(number, column, column).partition(":")[0]

    def beside(self, first: str, last: str = "") -> str:
        """The cells from one column to another in the row of the same number, for Page.grid.

        The formula in the n-th row of a grid gets the n-th row of this place.
        """
        ends = [f"${xl_col_to_name(self.columns[c])}{{{self.first}+n}}" for c in (first, last) if c]
        return f"'{self.sheet}'!{':'.join(ends)}"

    def with_headers(self, first: str, last: str) -> str:
        """The cells from one column to another, with the row of headers above."""
        ends = [xl_col_to_name(self.columns[column]) for column in (first, last)]
        return f"'{self.sheet}'!${ends[0]}${self.first}:${ends[1]}${self.last + 1}"

    def span(self, first: str, last: str) -> str:
        """The cells from one column to another in all rows."""
        ends = [xl_col_to_name(self.columns[column]) for column in (first, last)]
        return f"'{self.sheet}'!${ends[0]}${self.first + 1}:${ends[1]}${self.last + 1}"

    def row_of(self, number: int, first: str, last: str) -> str:
        """The cells from one column to another of a row, counted from 1."""
        ends = [xl_col_to_name(self.columns[column]) for column in (first, last)]
        row = self.first + number
        return f"'{self.sheet}'!${ends[0]}${row}:${ends[1]}${row}"


def call(name: str, /, *args: str, **named: str) -> str:
    """A formula's call of a worksheet function by argument names, `units` in its place."""
    function = functions()[name]
    if function.variadic:
        return f"{name}({','.join(args)})"
    names = [arg.name for arg in function.positions]
    given = dict(zip(names, args, strict=False)) | named | {"units": "units"}
    unknown = set(given) - set(names)
    if unknown:
        raise DeclarationError(f"{name} has no argument {', '.join(sorted(unknown))}")
    missing = [a.name for a in function.positions if a.required and a.name not in given]
    if missing:
        raise DeclarationError(f"{name} needs {', '.join(missing)}")
    written = ",".join(given.get(n, "") for n in names).rstrip(",")
    return f"{name}({written})"


def checked(name: str, /, *args: str, **named: str) -> str:
    """The call of INPUT_CHECK for the same arguments."""
    inner = call(name, *args, **named)[len(name) + 1 : -1]
    return f'INPUT_CHECK("{name}",{inner})'


def escaped(heading: str) -> str:
    return re.sub(r"(['\[\]#@])", r"'\1", heading)


def column_of(table: str, heading: str) -> str:
    """A whole column of a table in a formula, written as short as spreadsheet programs take it."""
    plain = heading.replace(" ", "").isalnum()
    return f"{table}[{heading}]" if plain else f"{table}[[{escaped(heading)}]]"


def by_letters(formula: str, place: Place) -> str:
    """`{name}` of a grid's columns as cells of the row; `{n}` and `{row}` stay."""

    def cell(match: re.Match[str]) -> str:
        if match[1] not in place.columns:
            return match[0]
        return f"{xl_col_to_name(place.columns[match[1]])}{{row{match[2] or ''}}}"

    return _NAMED.sub(cell, formula)


NUMBER, NUMBERED = "{n}", "No."  # of a row, and the header of a column of them


def cells_above(letters: str, first: int) -> str:
    """The number of a row (from 0) of a grid, `first` being the first: what is filled above it.

    In a column that has a header and a cell in each row this stays right when rows are put in,
    taken out or moved, above the grid or inside.
    """
    return f"COUNTA({letters}${first}:INDEX({letters}:{letters},ROW()-1))"


def in_row(formula: str, row: int, first: int, number: str) -> str:
    """A formula of a grid for one of its rows (from 0), `first` being that of the first."""
    if "{" not in formula:
        return formula
    text = formula.replace("{n}", number)
    text = text.replace("{row}", str(row + 1)).replace("{row-1}", str(row))
    if "+n}" not in text:
        return text
    return _BESIDE.sub(lambda match: str(int(match[1]) + row - first + 1), text)


def in_table(formula: str, table: str, headings: Mapping[str, str]) -> str:
    """`{name}` as this row's cell of the table."""

    def reference(match: re.Match[str]) -> str:
        return f"{table}[[#This Row],[{escaped(headings[match[1]])}]]"

    return re.sub(r"\{(\w+)\}", reference, formula)


def for_any_sheet(formula: str, sheet: str) -> str:
    """A formula of a sheet, with absolute cells, as a name stands for it."""
    return _OWN_CELLS.sub(lambda c: f"'{sheet}'!{c[1]}" if c[1] else c[0], formula)


def first_that_holds(conditions: Sequence[tuple[str, str]], otherwise: str) -> str:
    """What belongs to the first of the conditions that holds."""
    for condition, said in reversed(conditions):
        otherwise = f"IF({condition},{said},{otherwise})"
    return otherwise


@dataclass(frozen=True)
class Answer:
    """One call, which cells read by its `name`: for Excel of the cells that its answer fills."""

    call: str
    name: str
    sheet: str  # whose cells read it
    rows: int  # of the answer that are read
    spills: bool

    @cached_property
    def function(self) -> WorksheetFunction:
        return functions()[self.call.partition("(")[0]]

    @property
    def check(self) -> str:
        """The call of INPUT_CHECK for the same arguments."""
        return f'INPUT_CHECK("{self.function.name}",{self.call.partition("(")[2]}'

    @property
    def asked(self) -> str:
        """The name of the call, also where `name` is that of the cells."""
        return self.name.replace("_result", "_call") if self.spills else self.name

    @property
    def count(self) -> str:
        """How many rows the answer has; where it spills the cells of the name are more."""
        return f"ROWS({self.asked})"

    def item(self, column: int | str, row: int | str = "{n}") -> str:
        """An item by its column, a name or a number from 1, and its row.

        Without a row that of the cell's own row in a grid (see Page.grid).
        """
        if isinstance(column, str):
            column = [result.name for result in self.function.results].index(column) + 1
        return f"INDEX({self.name},{row},{column})"


def shortened(name: str) -> str:
    """A name where there is room for few letters: its begin and its end."""
    return f'IF(LEN({name})>16,LEFT({name},11)&"..."&RIGHT({name},3),{name})'
