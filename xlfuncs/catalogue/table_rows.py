"""Rows of the input tables, as typed, in base units."""

from collections.abc import Container, Mapping
from dataclasses import replace
from functools import lru_cache
from typing import Any

from xlfuncs.catalogue.arguments import read_one
from xlfuncs.catalogue.parts_of_a_declaration import Arg, argument_of
from xlfuncs.errors import InputError
from xlfuncs.tables.columns import Column, Table


@lru_cache(maxsize=512)
def as_argument(column: Column) -> Arg:
    """A column read by the very rules that arguments of worksheet functions are read by."""
    return replace(argument_of(column, column.header), default=None)


def in_base(
    table: Table, row: Mapping[str, Any], system: str, unasked: Container[str] = ()
) -> dict[str, Any]:
    """A row by column name, in base units, blanks by their defaults; columns `unasked` are left
    out. InputError names the column and what is wrong with its cell, or that a required one is
    blank."""
    values: dict[str, Any] = {}
    for column in table.columns:
        if column.name in unasked:
            continue
        value = read_one(as_argument(column), row.get(column.name), system)
        if value is None and column.required:
            raise InputError(column.header, "is blank")
        values[column.name] = column.default if value is None else value
    return values
