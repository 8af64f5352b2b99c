"""What the sheets say in words of their own, as data beside them.

said.toml has paragraphs, a table a module; results.csv what each named result is called;
columns.csv the computed columns of tables, in their order; steps.csv the work, step by step.
"""

import tomllib
from collections.abc import Collection
from functools import cache
from pathlib import Path
from types import SimpleNamespace

from xlfuncs.errors import DeclarationError
from xlfuncs.tables.columns import Column
from xlfuncs.units import rows_of

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


def computed_columns(table: str, names: Collection[str]) -> dict[Column, bool]:
    """These computed columns of a table in their order, each with whether it is folded away."""
    declared = {row["name"]: row for row in data("columns.csv") if row["table"] == table}
    if unknown := set(names) - declared.keys():
        raise DeclarationError(f"columns.csv has no column {', '.join(unknown)} of {table}")
    return {
        Column(name, row["header"], row["dimension"], row["help"]): row["folded"] == "yes"
        for name, row in declared.items()
        if name in names
    }
