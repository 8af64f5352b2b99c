"""What the sheets say in words of their own, as data beside them.

said.toml has paragraphs, a table a module; results.csv what each named result is called;
columns.csv the computed columns of tables and blocks; steps.csv the work, step by step;
checked.csv cells that Checks asks, what is said of each, and of what kind it is where it counts.
"""

import tomllib
from collections.abc import Collection
from functools import cache
from pathlib import Path
from types import SimpleNamespace

from xlfuncs.errors import DeclarationError
from xlfuncs.tables.columns import Column
from xlfuncs.units import rows_of

MONTHS = "1-12"
_SHEETS = Path(__file__).parents[1] / "sheets"


@cache
def _paragraphs() -> dict[str, dict[str, str]]:
    return tomllib.loads((_SHEETS / "said.toml").read_text("utf-8"))


def said(sheet: str) -> SimpleNamespace:
    """The texts of a sheet's module, each by its name."""
    return SimpleNamespace(**_paragraphs()[sheet])


@cache
def data(name: str) -> list[dict[str, str]]:
    """The rows of a list of the sheets, by its headings."""
    return rows_of(_SHEETS / name)


@cache
def _results() -> dict[str, dict[str, str]]:
    return {row["name"]: row for row in data("results.csv")}


def told_of(result: str) -> tuple[str, str, str]:
    """What a named result is called, its dimension, and words beside it."""
    row = _results()[result]
    return row["label"], row["dimension"], row["words"]


@cache
def _columns() -> dict[str, dict[Column, bool]]:
    """All computed columns, by their table or block; twelve months are one row of the list."""
    found: dict[str, dict[Column, bool]] = {}
    for row in data("columns.csv"):
        there = found.setdefault(row["table"], {})
        heads = row["header"].split() if row["name"] == MONTHS else [row["header"]]
        for number, header in enumerate(heads, 1):
            name = str(number) if row["name"] == MONTHS else row["name"]
            column = Column(name, header, row["dimension"], row["help"])
            there[column] = row["folded"] == "yes"
    return found


def computed_columns(of: str, names: Collection[str] | None = None) -> dict[Column, bool]:
    """The computed columns of a table or block in their order, or those of these names.

    Each with whether it is folded away.
    """
    declared = _columns().get(of, {})
    if names is None:
        return declared
    if unknown := set(names) - {column.name for column in declared}:
        raise DeclarationError(f"columns.csv has no column {', '.join(unknown)} of {of}")
    return {column: folded for column, folded in declared.items() if column.name in names}
