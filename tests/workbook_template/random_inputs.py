"""Inputs as nobody would type them: every table and setting filled by chance from a seed."""

from __future__ import annotations

import random
from datetime import date, timedelta
from typing import Any

from xlfuncs.tables.all_tables import SETTINGS, TABLES
from xlfuncs.tables.columns import Column
from xlfuncs.units import DIMENSIONS, from_base
from xlfuncs.workbooks.our_tables.read_inputs import Inputs

TEXTS = (
    "North 1", "=1+1", "'quoted'", "Beet am Zaun", "tab\there", "two\nlines", "5", "yes",
    "<b> & \"c\"", " spaces ", "ä" * 300, "日本", "-", "#N/A", "TRUE", "22 ft 9 in",
)  # fmt: skip


def random_inputs(seed: int, system: str) -> Inputs:
    """The same seed gives the same inputs."""
    chance = random.Random(seed)
    settings = {s.name: value for s in SETTINGS if (value := _value(chance, s, system)) is not None}
    tables = {table.name: _rows(chance, table.columns, system) for table in TABLES}
    return Inputs(settings, tables, invented=chance.random() < 0.3)


def _rows(chance: random.Random, columns: tuple[Column, ...], system: str) -> list[dict[str, Any]]:
    rows = []
    for _ in range(chance.randrange(13)):
        row = {c.name: value for c in columns
               if (value := _value(chance, c, system)) is not None}  # fmt: skip
        rows.append(row)
    while rows and not rows[-1]:
        rows.pop()
    return rows


def _value(chance: random.Random, column: Column, system: str) -> Any:
    """A value that may be of any kind; None for a blank."""
    kind = chance.random()
    if kind < 0.3:
        return None
    if kind < 0.4:
        return chance.choice(TEXTS)
    if column.choices and kind < 0.9:
        return chance.choice(column.choices)
    if column.dimension == "flag":
        return chance.choice(("yes", "no"))
    if column.dimension == "date":
        return date(2020, 1, 1) + timedelta(days=chance.randrange(4000))
    if column.dimension == "text":
        return chance.choice(TEXTS) if kind < 0.8 else round(chance.uniform(-5, 500), 3)
    low = column.minimum if column.minimum is not None else column.above or 0.0
    high = column.maximum if column.maximum is not None else low + 100.0
    number = from_base(chance.uniform(low, high), column.dimension, system)
    unit = DIMENSIONS[column.dimension].unit(system)
    if kind < 0.55 and unit:
        return f"{number:.4g} {unit}"
    return float(f"{number:.{chance.randint(1, 15)}g}")
