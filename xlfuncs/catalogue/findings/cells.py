"""What is wrong or doubtful in an input table, cell by cell."""

from collections.abc import Iterator
from functools import partial
from typing import Any

from xlfuncs.catalogue.arguments import as_argument, doubt_of_argument, is_blank, read_one
from xlfuncs.catalogue.findings.given import BLANK, DOUBTFUL, WRONG, GivenTable, Said, column_of
from xlfuncs.catalogue.parts_of_a_declaration import Arg
from xlfuncs.errors import InputError
from xlfuncs.tables.columns import Column
from xlfuncs.units import from_base

# The least flow (m³/s) that an emitter of drip lines is sold with is far above this (0.2 L/h).
_TINY_EMITTER_FLOW = 0.2e-3 / 3600


def check_headers(table: GivenTable) -> Iterator[Said]:
    """Headers whose unit is not the workbook's, and required columns that are missing."""
    name = table.table.name
    for place, header in enumerate(table.headers):
        match = column_of(header, table.table)
        if match is None or table.places.get(match[0].name) != place:
            continue
        column, stated = match
        unit = column.unit(table.system)
        if stated != unit and (stated or unit):
            words = f"is headed {header!r}, but plain numbers here are read as {unit or 'numbers'}"
            if not stated:
                words = f"is headed {header!r} without its unit; plain numbers are read as {unit}"
            kind = WRONG if stated else DOUBTFUL
            yield Said(kind, name, None, column.name, words)
    for column in table.table.columns:
        if column.required and column.name not in table.places:
            words = f"the table {name} has no column {column.heading(table.system)!r}"
            yield Said(WRONG, name, None, "", words)


def check_cells(table: GivenTable) -> Iterator[Said]:
    """Every input cell against its column: units, limits, blanks, and what looks like a slip."""
    rows = [*table.rows()]
    known: dict[str, list[list[tuple[str, str]]]] = {}  # of columns where there is a word
    for name in table.places:
        arg = as_argument(table.table[name])
        free = arg.kind == "text" and not arg.choices  # nothing is said of a text there
        said = table.of_each(name, partial(_words_on, table.table[name], table.system, free))
        if any(said):
            known[name] = said
    for i, row in enumerate(rows if known else ()):
        for name, words_of in known.items():
            for kind, words in words_of[i]:
                # thin tape is called by its bore
                if name != "inside_diameter" or kind == WRONG or row.text("kind") != "tape":
                    yield Said(kind, table.table.name, row, name, words)


def _words_on(column: Column, system: str, free: bool, value: Any) -> list[tuple[str, str]]:
    if free and value.__class__ is str and value.strip():
        return []
    return [*words_on_cell(column, value, system)]


def unreadable_rows(table: GivenTable) -> dict[int, str]:
    """Of each filled row that has one, by its number, the first cell that cannot be read."""
    found: dict[int, str] = {}
    for name in table.places:
        arg = as_argument(table.table[name])
        words = table.of_each(name, partial(_unreadable, arg, table.system))
        for row, said in zip(table.filled, words, strict=True):
            if said:
                found.setdefault(row.number, said)
    return found


def _unreadable(arg: Arg, system: str, value: Any) -> str:
    try:
        read_one(arg, value, system)
    except InputError as error:
        return str(error)
    return ""


def words_on_cell(column: Column, value: Any, system: str) -> Iterator[tuple[str, str]]:
    """Each thing to say of one input cell, with its kind."""
    if is_blank(value):
        if column.required:
            yield WRONG, f"{column.header}{BLANK}"
        return
    try:
        base = read_one(as_argument(column), value, system)
    except InputError as error:
        yield WRONG, str(error)
        return
    if column.plain and isinstance(value, str):
        number, unit = from_base(base, column.dimension, system), column.unit(system)
        yield WRONG, f"{column.header}: write {number:.6g} for {value!r}: a number alone, in {unit}"
        return
    inside = not column.name.startswith("outside")  # a nominal size often is the outside
    if inside and (words := doubt_of_argument(as_argument(column), base)):
        yield DOUBTFUL, f"{column.header}: {words}"
    if column.name == "emitter_flow" and 0 < base < _TINY_EMITTER_FLOW:
        typed = "gpm" if system == "us" else "L/min"
        wanted = f"where {column.unit(system)} is wanted?"
        yield DOUBTFUL, f"{column.header}: very little for an emitter; is it in {typed} {wanted}"
