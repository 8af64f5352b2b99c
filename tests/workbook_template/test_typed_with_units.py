"""A quantity may be typed with its unit: the sheets then say the same as of the plain number.

By the promise on Setup. What formulas count with themselves takes plain numbers alone (`plain` in
columns.csv), and whoever types a unit there is told the number to write.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import pytest

from workbook_template.build import Built, demo_inputs, results, write
from workbook_template.kit.inputs import Inputs
from xlfuncs.catalogue.findings.cells import words_on_cell
from xlfuncs.errors import CellError
from xlfuncs.tables.all_tables import SETTINGS, TABLES
from xlfuncs.tables.columns import Column

QUANTITY = re.compile(r"(-?\d+(?:\.\d+)?)(?: ?[^\d\s].*)?")
SYSTEMS = ("us", "metric")
COUNTED = ("Start", "Checks")  # sheets that count what is still as in the example: typed is not


def with_units(inputs: Inputs, system: str) -> Inputs:
    """Every number that formulas need not count with themselves, as text with its own unit."""

    def typed(column: Column, value: Any) -> Any:
        unit = column.unit(system)
        number = isinstance(value, (int, float)) and not isinstance(value, bool)
        if not number or not unit or column.plain or column.dimension == "clock":
            return value
        return f"{value:g} {unit}"

    def row(columns: Mapping[str, Column], cells: Mapping[str, Any]) -> dict[str, Any]:
        return {k: typed(columns[k], v) if k in columns else v for k, v in cells.items()}

    tables = dict(inputs.tables)
    for table in TABLES:
        columns = {column.name: column for column in table.columns}
        if table.name in tables:
            tables[table.name] = [row(columns, cells) for cells in tables[table.name]]
    return replace(inputs, tables=tables, settings=row({s.name: s for s in SETTINGS},
                                                       inputs.settings))  # fmt: skip


def shown(inputs: Inputs, system: str) -> Built:
    return results(write(system, inputs))


def alike(number: Any, typed: Any) -> bool:
    """The same, or the typed text where the number stood."""
    if isinstance(number, str) and "example" in number:
        return True
    if isinstance(typed, str) and (quantity := QUANTITY.fullmatch(typed)):
        other = QUANTITY.fullmatch(str(number))
        return other is not None and float(other[1]) == float(quantity[1])
    if isinstance(number, float) and isinstance(typed, float):
        return typed == pytest.approx(number, rel=1e-6, abs=1e-9)
    return bool(number == typed)


@pytest.mark.parametrize("system", SYSTEMS)
def test_a_number_and_the_same_with_its_unit_say_the_same(system: str) -> None:
    inputs = demo_inputs(system)
    plain, typed = shown(inputs, system), shown(with_units(inputs, system), system)
    other = [
        (sheet, at, value, typed.values[sheet].get(at))
        for sheet, cells in plain.values.items() if sheet not in COUNTED
        for at, value in cells.items() if not alike(value, typed.values[sheet].get(at))
    ]  # fmt: skip
    assert other == []
    assert typed.named("checks_wrong") == plain.named("checks_wrong")
    assert not [at for cells in typed.values.values() for at, value in cells.items()
                if isinstance(value, CellError)]  # fmt: skip


@pytest.mark.parametrize("system", SYSTEMS)
def test_where_a_number_must_stand_alone_it_is_said_which(system: str) -> None:
    columns = {column.name: column for table in TABLES for column in table.columns}
    for column in {*columns.values(), *SETTINGS}:
        if column.plain:
            said = [*words_on_cell(column, f"12 {column.unit(system)}", system)]
            assert [kind for kind, _ in said] == ["wrong"], column.name
            assert f"write 12 for '12 {column.unit(system)}'" in said[0][1]


def test_one_flow_in_another_unit_is_converted() -> None:
    """30 gph a 100 ft of a tape's data sheet, in a column in gpm a 100 ft, whose other row is 1."""
    inputs = demo_inputs("us")

    def flow(value: Any) -> Built:
        lines = [dict(row) for row in inputs.tables["Lines"]]
        lines[0] |= {"emitter_flow": None, "flow_per_length": value}
        return shown(replace(inputs, tables=inputs.tables | {"Lines": lines}), "us")

    other, plain = (
        [row["delivered"] for row in flow(value).block("delivery") if row["delivered"]]
        for value in ("30 gph/100 ft", 0.5)
    )
    assert other == pytest.approx(plain, rel=1e-9)
