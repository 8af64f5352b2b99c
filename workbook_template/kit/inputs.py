"""The inputs of the invented farm, and published tables as inputs."""

import csv
from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any

from xlfuncs.errors import WorkbookError
from xlfuncs.tables.columns import Column, Table
from xlfuncs.units import from_base
from xlfuncs.workbooks.our_tables.read_inputs import Inputs, Rows

__all__ = ["Inputs", "Rows", "invented_farm", "published", "read_rows"]


def example_folder(system: str) -> Path:
    """The example inputs: inside the installed package, or beside it in a checkout."""
    here = Path(__file__).parents[1]
    for folder in (here / "examples", here.parent / "examples"):
        if (folder / system).is_dir():
            return folder / system
    raise WorkbookError("the example inputs are missing from this installation")


def invented_farm(system: str, tables: Sequence[Table], settings: Sequence[Column]) -> Inputs:
    """The invented farm, read from the example files (one CSV a table, named like the module)."""
    folder = example_folder(system)
    filled = {}
    for table in tables:
        path = folder / f"{_snake(table.name)}.csv"
        if path.exists():
            filled[table.name] = read_rows(path, table, system)
    return Inputs(_read_settings(folder / "setup.csv", settings), filled, invented=True)


def published(table: Table, rows: Sequence[Mapping[str, Any]], system: str) -> list[dict[str, Any]]:
    """Published rows, which are in base units, in the system's units; blanks are left out."""
    return [
        {
            name: _in_units(table[name], value, system)
            for name, value in row.items()
            if value is not None
        }
        for row in rows
    ]


def _in_units(column: Column, value: Any, system: str) -> Any:
    """A number with the figures that a published one can carry: 30 cm are 11.8 in."""
    if isinstance(value, str):
        return value
    return float(f"{from_base(value, column.dimension, system):.3g}")


def read_rows(path: Path, table: Table, system: str) -> list[dict[str, Any]]:
    """Rows of a CSV whose headers are the table's own; blank cells are left out."""
    by_heading = {column.heading(system): column for column in table.columns}
    with path.open(encoding="utf-8", newline="") as file:
        reader = csv.DictReader(file)
        unknown = set(reader.fieldnames or ()) - set(by_heading)
        if unknown:
            raise WorkbookError(f"{path.name}: no column of {table.name} is headed {unknown}")
        return [
            {by_heading[h].name: _value(by_heading[h], text) for h, text in row.items() if text}
            for row in reader
        ]


def _read_settings(path: Path, settings: Sequence[Column]) -> dict[str, Any]:
    by_name = {column.name: column for column in settings}
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    return {
        row["name"]: _value(by_name[row["name"]], row["value"])
        for row in rows
        if row["name"] in by_name and row["value"]
    }


def _value(column: Column, text: str) -> Any:
    """A number where the text is one, a date for dates, else the text as typed."""
    if column.dimension == "date":
        return date.fromisoformat(text)
    if column.dimension in ("text", "flag"):
        return text
    try:
        return float(text)
    except ValueError:
        return text


def _snake(name: str) -> str:
    return "".join("_" + c.lower() if c.isupper() else c for c in name).lstrip("_")
