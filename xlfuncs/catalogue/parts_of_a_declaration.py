"""What a declaration is made of: arguments, tables and their columns, results, relations."""

from __future__ import annotations

import inspect
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from pathlib import Path
from typing import Any, Final, NamedTuple

from xlfuncs.errors import DeclarationError
from xlfuncs.tables.columns import Column, Table, number
from xlfuncs.units import DIMENSIONS, SYSTEMS, parse, rows_of

REQUIRED: Final = object()
HELP_LIMIT: Final = 255  # what Excel's function wizard takes


class LookedUp(NamedTuple):
    """A value of another table: in the row that a column here names, by that table's first."""

    table: str  # the argument
    key: str  # column here that holds the name
    column: str  # column there


_SAID: Final = re.compile(r"(>=|>|<=|<|of |column |from )(.+)")
_MEANS: Final = {
    ">": "above", ">=": "minimum", "<": "below", "<=": "maximum", "of ": "group",
    "column ": "column", "from ": "looked_up",
}  # fmt: skip


@dataclass(frozen=True)
class Arg:
    """One argument. Limits and defaults: a number is in the base unit, text carries its unit."""

    name: str
    dimension: str
    help: str
    default: Any = REQUIRED
    above: float | str | None = None
    minimum: float | str | None = None
    below: float | str | None = None
    maximum: float | str | None = None
    whole: bool = False
    divides: bool = False  # zero is a division by zero rather than a number out of range
    choices: tuple[str, ...] = ()
    group: str = ""  # of a whole function: columns of one group have equal length
    selects: bool = False  # a flag column; rows where it is false are left out
    variadic: bool = False  # the last argument, any number of times, passed on as it is
    holds: tuple[Arg, ...] = ()  # tables that it takes in any order, known by their headers
    # of a table:
    table: Table | None = None  # the words for its columns
    columns: tuple[Arg, ...] = ()  # what the function reads of it; their group is the table's name
    settings: bool = False  # labels and values, down two columns; a third may hold the units
    single: Arg | None = None  # what a single value in place of the table is
    picked_by: str = ""  # the argument that names the one row which the function reads
    # of a column of a table:
    column: str = ""  # its name in `table`, where that is not its own
    looked_up: LookedUp | None = None  # where to find what the table itself has not

    @classmethod
    def of(cls, text: str, **more: Any) -> Arg:
        """An argument as a declaration writes it: "[strips=1]: count, >=1, whole: Planted strips".

        Its name, in brackets where it may be left out, with its default, which the help names too;
        then dimension, limits, fields of `Arg` that are true, its group ("of beds"), its "column"
        in the table, what it is looked up by ("from lines.line.exponent", as `LookedUp` has them);
        then its help. `more`: what this cannot say. DeclarationError names a faulty text.
        """
        try:
            called, said, help = text.split(": ", 2)
            dimension, *limits = said.split(", ")
            name, sign, default = called.strip("[]").partition("=")
            given: dict[str, Any] = {}
            if called.startswith("["):
                given["default"] = _value(default, DIMENSIONS[dimension].kind) if sign else None
            if default and "(default" not in help:
                help += f" (default {default})"
            for limit in limits:
                match = _SAID.fullmatch(limit)
                given[_MEANS[match[1]] if match else limit] = _value(match[2]) if match else True
            if "looked_up" in given:
                given["looked_up"] = LookedUp(*given["looked_up"].split("."))
            return cls(name, dimension, help, **given | more)
        except (KeyError, TypeError, ValueError) as error:
            raise DeclarationError(f"cannot read the argument {text!r}: {error}") from error

    @property
    def required(self) -> bool:
        return self.default is REQUIRED

    @property
    def kind(self) -> str:
        """number, text, flag or date."""
        return DIMENSIONS[self.dimension].kind

    def base(self, value: Any) -> Any:
        """A limit or default in the base unit."""
        if isinstance(value, str) and self.kind == "number":
            return parse(value, self.dimension)
        return value


def _value(text: str, kind: str = "number") -> Any:
    if kind == "flag":
        return {"yes": True, "no": False}[text]
    try:
        return number(text) if kind == "number" else text
    except ValueError:
        return text  # with its unit, or a name


def arguments(given: Iterable[Arg | str]) -> tuple[Arg, ...]:
    return tuple(Arg.of(one) if isinstance(one, str) else one for one in given)


def argument_of(column: Column, name: str) -> Arg:
    """A column of a table as an argument, by its own dimension, limits, default and help."""
    default = REQUIRED if column.required else column.default
    if default is None and DIMENSIONS[column.dimension].kind == "text":
        default = ""
    help = column.help if len(column.help) <= HELP_LIMIT else column.header
    return Arg(
        name, column.dimension, help, default, column.above, column.minimum, None,
        column.maximum, whole=column.dimension == "count", choices=column.choices,
    )  # fmt: skip


def columns_of(of: Table, names: str) -> tuple[Arg, ...]:
    """Columns of a table as arguments: `distance length=lateral_length` has the second by the name
    behind the sign, where the calculation calls it otherwise."""
    found = []
    for item in names.split():
        name, _, called = item.partition("=")
        arg = argument_of(of[name], called or name)
        found.append(replace(arg, column=name) if called else arg)
    return tuple(found)


def table(
    name: str, help: str, of: Table, *columns: Arg | str, default: Any = REQUIRED,
    settings: bool = False, single: Arg | None = None, picked_by: str = "",
) -> Arg:  # fmt: skip
    """An argument that is a table, with the columns that the function reads of it.

    A text declares a column, see `Arg.of`, or names columns of the table itself, see `columns_of`.
    """
    apart = settings or bool(picked_by)
    given = [
        one for c in columns
        for one in (columns_of(of, c) if isinstance(c, str) and ": " not in c else arguments((c,)))
    ]  # fmt: skip
    grouped = tuple(column if apart else replace(column, group=name) for column in given)
    return Arg(name, "table", help, default, table=of, columns=grouped, settings=settings,
               single=single, picked_by=picked_by)  # fmt: skip


UNITS: Final = Arg(
    "units", "text", "Units of plain numbers: us or metric (default us)", "us", choices=SYSTEMS
)


# After the arguments of a function that reads tables and gives several columns.
SHOWN: Final = (
    Arg("columns", "text", "Names of the result columns wanted, parted by commas (default all)",
        default=""),
    Arg("headers", "flag", "yes: with a row of headers, as the next function reads them (default"
        " no)", default=False),
)  # fmt: skip


class Result(NamedTuple):
    """One column of a result.

    `row_of` names a group whose rows the numbers of this column name, from 1: the function counts
    the rows that reached it, a reader those that were passed, blank and left-out ones included.
    """

    name: str
    dimension: str
    help: str
    row_of: str = ""

    def heading(self, system: str) -> str:
        """The header of the column: Inlet pressure (psi)."""
        unit = DIMENSIONS[self.dimension].unit(system)
        words = self.name.replace("_", " ").capitalize()
        return f"{words} ({unit})" if unit else words


@lru_cache(maxsize=1)
def tables_of_results() -> dict[str, tuple[Result, ...]]:
    """The result columns of functions that give a table, by function: the rows of results.csv."""
    found: dict[str, tuple[Result, ...]] = {}
    for row in rows_of(Path(__file__).with_name("results.csv")):
        function = row.pop("function")
        found[function] = (*found.get(function, ()), Result(**row))
    return found


@dataclass(frozen=True)
class Relation:
    """A limit between arguments, e.g. that the inset is at most half the width.

    `broken` takes arguments by their names, in base units (floats or arrays), and is true where
    the limit is broken; a comparison with NaN is false, so arguments left out break nothing.
    """

    argument: str
    broken: Callable[..., Any]
    words: str

    @cached_property
    def uses(self) -> tuple[str, ...]:
        """The arguments that it is about."""
        return tuple(inspect.signature(self.broken).parameters)
