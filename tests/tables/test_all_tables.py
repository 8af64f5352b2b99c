"""Nobody forgets a table: what stands in the modules and the examples is what workbooks ask for."""

from __future__ import annotations

import re
from importlib import import_module
from pathlib import Path

import pytest

from xlfuncs.tables.all_tables import TABLES
from xlfuncs.tables.columns import Table

ROOT = Path(__file__).parents[2]
OTHERS = {"exports", "setup", "store", "handwritten_beds"}  # no tables of the workbook
# What functions read that is computed, or typed as settings, in a workbook.
COMPUTED = {
    "Needs",
    "Terms",
    "WeekSettings",
    "LoggedSettings",
    "TimerSettings",
    "TimerSets",
    "StartOfMain",
    "Limits",
}


@pytest.mark.parametrize("system", ["us", "metric"])
def test_each_example_file_is_of_a_table(system: str) -> None:
    files = {path.stem.split(".")[0] for path in (ROOT / "examples" / system).iterdir()}
    names = {re.sub(r"(?<=[a-z])(?=[A-Z])", "_", table.name).lower() for table in TABLES}
    assert files - OTHERS <= names


def test_each_table_that_is_declared_is_asked_for() -> None:
    modules = [
        *(ROOT / "xlfuncs/tables/garden").glob("*.py"),
        *(ROOT / "xlfuncs/tables/money").glob("*.py"),
    ]
    declared = set()
    for path in modules:
        module = import_module(".".join(path.relative_to(ROOT).with_suffix("").parts))
        declared |= {value.name for value in vars(module).values() if isinstance(value, Table)}
    assert declared - COMPUTED == {table.name for table in TABLES}
