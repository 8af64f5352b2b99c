"""Published tables that ship as data files beside this module, read by the columns declared."""

import csv
from functools import lru_cache
from importlib.resources import files

from xlfuncs.tables.columns import Table
from xlfuncs.units import DIMENSIONS

Row = dict[str, float | str | None]


@lru_cache(maxsize=16)
def published_rows(table: Table, file: str) -> tuple[Row, ...]:
    """The rows of a data file, numbers in base units, blanks as None."""
    text = files("xlfuncs.tables").joinpath("data", file).read_text("utf-8")
    return tuple(
        {name: _value(table, name, cell) for name, cell in line.items()}
        for line in csv.DictReader(text.splitlines())
    )


def _value(table: Table, name: str, cell: str) -> float | str | None:
    if not cell:
        return None
    is_number = DIMENSIONS[table[name].dimension].kind == "number"
    return float(cell) if is_number else cell
