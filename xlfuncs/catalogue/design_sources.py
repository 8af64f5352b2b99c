"""Where whole designs take their tables and settings from: rows as typed, or columns as read.

Both give rows and settings in base units; `left_out` says which rows could not be read, and why.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from xlfuncs.calculations.arrays import Floats
from xlfuncs.catalogue.arguments import as_argument, in_base, is_blank, read_one
from xlfuncs.errors import InputError
from xlfuncs.tables.all_tables import SETTINGS
from xlfuncs.tables.columns import Table
from xlfuncs.tables.garden.crops import SOILS
from xlfuncs.units import to_base

# Columns that no design asks for: a row may be without them.
UNASKED = {"line", "laterals", "inset", "date", "source"}


@dataclass(frozen=True)
class Given:
    """What a workbook holds: rows as typed by table and column name, settings by name, and the
    supply's curve (flow and pressure before the head assembly), all in units of the system."""

    system: str
    tables: Mapping[str, Sequence[Mapping[str, Any]]]
    settings: Mapping[str, Any]
    flow: Sequence[float]
    pressure: Sequence[float]
    most_pressure: float | None = None  # of a well at cut-out, before the head assembly


class AsTyped:
    """The source that reads what is given as typed; rows that cannot be read are left out."""

    def __init__(self, given: Given) -> None:
        self._given, self.system = given, given.system
        self.left_out: list[str] = []
        self._rows: dict[str, list[dict[str, Any]]] = {}
        self.flow = self._base(given.flow, "flow")
        self.pressure = self._base(given.pressure, "pressure")
        most = given.most_pressure
        self.most_pressure = None if most is None else to_base(most, "pressure", self.system)

    def _base(self, values: Sequence[float], dimension: str) -> Floats:
        return np.array([to_base(value, dimension, self.system) for value in values])

    def rows(self, table: Table) -> list[dict[str, Any]]:
        if table.name in self._rows:
            return self._rows[table.name]
        named = table.columns[0].name
        unasked = {name for name in table.names if name in UNASKED and name != named}
        rows = self._rows[table.name] = []
        for row in self._given.tables.get(table.name, ()):
            try:
                rows.append(in_base(table, row, self.system, unasked))
            except InputError as error:
                self.left_out.append(f"{row.get(named) or '?'}: {error.argument} {error.message}")
        return rows

    def setting(self, name: str) -> Any:
        column = next(column for column in SETTINGS if column.name == name)
        value = self._given.settings.get(name, column.default_in(self.system))
        return read_one(as_argument(column), value, self.system)

    def wetted_width(self) -> float:
        soil = self.setting("soil")
        if soil is None:
            raise InputError("soil", "is not given yet")
        for row in self.rows(SOILS):
            if row["soil"] == soil and row["wetted_width"] is not None:
                return float(row["wetted_width"])
        raise InputError("soil", f"{soil!r} has no wetted width on Soils")


@dataclass
class AsRead:
    """The source of a worksheet function: columns in base units by table and column name."""

    system: str
    columns: Mapping[str, Mapping[str, Any]]
    settings: Mapping[str, Any]
    flow: Floats
    pressure: Floats
    most_pressure: float | None = None
    left_out: list[str] = field(default_factory=list)

    def rows(self, table: Table) -> list[dict[str, Any]]:
        columns = self.columns.get(table.name, {})
        rows = zip(*(np.asarray(c).tolist() for c in columns.values()), strict=True)
        plain = ([None if is_blank(value) else value for value in row] for row in rows)
        return [dict.fromkeys(table.names) | dict(zip(columns, row, strict=True)) for row in plain]

    def setting(self, name: str) -> Any:
        value = self.settings.get(name)
        return None if is_blank(value) else value

    def wetted_width(self) -> float:
        value = self.setting("soil_wetted_width")
        if value is None:
            raise InputError("wanted", "needs the width that one line wets")
        return float(value)
