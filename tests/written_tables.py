"""The tables of a call written in other ways: what people do to headers, order and units."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from xlfuncs.catalogue.declaration import Arg, WorksheetFunction
from xlfuncs.catalogue.finding_columns import words_of
from xlfuncs.tables.columns import Column, Table
from xlfuncs.tables.header_words import headings
from xlfuncs.tables.headers import match_header
from xlfuncs.units import DIMENSIONS, from_base, to_base

LANGUAGES = ("German", "French", "Spanish")
Rows = list[list[Any]]


def ways(function: WorksheetFunction, args: Sequence[Any]) -> Iterator[tuple[str, list[Any]]]:
    """The same call, its tables written otherwise: the way in words, the arguments."""
    if not any(arg.table for arg in function.positions):
        return
    place, args_of = function.units_place, function.positions
    system = args[place] if place < len(args) and args[place] else "us"
    for words, rewrite in WAYS.items():
        written = [
            rewrite(value, _columns(function, args_of[i], value), args_of[i], system)
            if args_of[i].table is not None and isinstance(value, list)
            else value
            for i, value in enumerate(args)
        ]
        if written != list(args):
            yield words, written


def _columns(function: WorksheetFunction, arg: Arg, rows: Rows) -> list[Column | None]:
    """What each heading, or each label of settings, stands for."""
    table: Table = words_of(function, arg)
    texts = [row[0] for row in rows] if arg.settings else rows[0]
    found = [match_header(str(text), table) for text in texts]
    return [matches[0].column if matches else None for matches in found]


def _backwards(rows: Rows, columns: list[Column | None], arg: Arg, system: str) -> Rows:
    return rows[::-1] if arg.settings else [row[::-1] for row in rows]


def _headed(text: str, unit: str) -> str:
    return f"{str(text).partition(' (')[0]} ({unit})"


def _in_headers(rows: Rows, columns: list[Column | None], arg: Arg, system: str) -> Rows:
    """In the units of the other system, which the headings state."""
    return _turned(rows, columns, arg, system, lambda place: True, in_cells=False)


def _in_cells(rows: Rows, columns: list[Column | None], arg: Arg, system: str) -> Rows:
    return _turned(rows, columns, arg, system, lambda place: True, in_cells=True)


def _mixed(rows: Rows, columns: list[Column | None], arg: Arg, system: str) -> Rows:
    """Every other column in the other system, by its heading; then every other by its cells."""
    half = _turned(rows, columns, arg, system, lambda place: place % 4 == 1, in_cells=False)
    return _turned(half, columns, arg, system, lambda place: place % 4 == 3, in_cells=True)


def _turned(
    rows: Rows, columns: list[Column | None], arg: Arg, system: str, wanted: Any, *, in_cells: bool
) -> Rows:
    other = "metric" if system == "us" else "us"
    written = [list(row) for row in rows]
    for place, column in enumerate(columns):
        dimension = "" if column is None else column.dimension
        if not dimension or not wanted(place) or " (" in str(_cell(written, arg, place, 0)):
            continue
        unit = DIMENSIONS[dimension].unit(other)
        if not unit or unit == DIMENSIONS[dimension].unit(system):
            continue
        count = 2 if arg.settings else len(rows)
        values = [_cell(written, arg, place, i) for i in range(1, count)]
        if any(isinstance(value, str) and value for value in values):
            continue  # a quantity with a unit of its own
        for i, value in enumerate(values, 1):
            if isinstance(value, int | float) and value == value:
                turned = from_base(
                    to_base(value, column.dimension, system), column.dimension, other
                )
                _put(written, arg, place, i, f"{turned!r} {unit}" if in_cells else turned)
        if not in_cells:
            _put(written, arg, place, 0, _headed(_cell(written, arg, place, 0), unit))
    return written


def _cell(rows: Rows, arg: Arg, place: int, number: int) -> Any:
    return rows[place][number] if arg.settings else rows[number][place]


def _put(rows: Rows, arg: Arg, place: int, number: int, value: Any) -> None:
    if arg.settings:
        rows[place][number] = value
    else:
        rows[number][place] = value


def _in_language(language: str) -> Any:
    def written(rows: Rows, columns: list[Column | None], arg: Arg, system: str) -> Rows:
        if arg.settings:
            return rows
        heads = [_foreign(text, column, language) for text, column in
                 zip(rows[0], columns, strict=True)]  # fmt: skip
        return [heads, *rows[1:]]

    return written


def _foreign(text: Any, column: Column | None, language: str) -> Any:
    if column is None or column.name not in headings():
        return text
    word = headings()[column.name][language].split(",")[0].strip()
    _, found, unit = str(text).partition(" (")
    return f"{word}{found}{unit}"


WAYS: dict[str, Any] = {
    "columns backwards": _backwards, "units in headings": _in_headers,
    "units in cells": _in_cells, "both systems mixed": _mixed,
    **{language: _in_language(language) for language in LANGUAGES},
}  # fmt: skip
