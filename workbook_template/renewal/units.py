"""The same inputs in the other system of units."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from workbook_template.build import demo_inputs
from xlfuncs.tables.all_settings import SETTINGS
from xlfuncs.tables.all_tables import TABLES
from xlfuncs.tables.columns import Column
from xlfuncs.tables.garden.crops import CROPS
from xlfuncs.tables.garden.soils import SOILS
from xlfuncs.units import DIMENSIONS, from_base, to_base
from xlfuncs.workbooks.our_tables.inputs import Inputs

DIGITS = 12  # enough that a length that is a whole number of spacings stays one


def converted(inputs: Inputs, old: str, new: str) -> Inputs:
    """Plain numbers in the units of `new`; text such as 22 ft 9 in stays as it was typed.

    A published row that nobody changed becomes the published row of the other system.
    """
    settings = {s.name: s for s in SETTINGS}
    given = {
        name: _converted(settings[name], value, old, new) for name, value in inputs.settings.items()
    }
    columns = {table.name: {c.name: c for c in table.columns} for table in TABLES}
    tables = {
        name: [_row(columns[name], row, old, new) for row in rows]
        for name, rows in inputs.tables.items()
    }
    published_old, published_new = demo_inputs(old).tables, demo_inputs(new).tables
    for name in (CROPS.name, SOILS.name):
        known = list(published_old[name])
        for i, row in enumerate(inputs.tables.get(name, ())):
            if row in known:
                tables[name][i] = dict(published_new[name][known.index(row)])
    return replace(inputs, settings=given, tables=tables)


def _row(columns: Mapping[str, Column], row: Mapping[str, Any], old: str, new: str) -> (
    dict[str, Any]
):  # fmt: skip
    return {name: _converted(columns[name], value, old, new) for name, value in row.items()}


def _converted(column: Column, value: Any, old: str, new: str) -> Any:
    dimension = DIMENSIONS[column.dimension]
    if type(value) is not float or dimension.unit(old) == dimension.unit(new):
        return value
    base = to_base(value, column.dimension, old)
    return float(f"{from_base(base, column.dimension, new):.{DIGITS}g}")
