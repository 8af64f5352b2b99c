"""Nobody forgets a table: what stands in the modules and the examples is what workbooks ask for."""

from __future__ import annotations

import re
from importlib import import_module
from pathlib import Path

import pytest

from xlfuncs.errors import DeclarationError
from xlfuncs.tables import columns
from xlfuncs.tables.all_tables import TABLES
from xlfuncs.tables.columns import Table
from xlfuncs.workbooks.adding_columns.basis import SECTIONS

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


def test_each_row_of_columns_is_of_a_table_or_section() -> None:
    named = {row["table"] for row in columns.data_rows("columns.csv")}
    tables = columns.data_rows("tables.csv")
    beside = {f"Water settings, {section.name}" for section in SECTIONS}
    assert named <= beside | {row["name"] for row in tables}
    assert {row["kind"] for row in tables} == {"settings", "table", "for functions"}
    begun = {row["begins"] for row in tables if row["kind"] == "table"}
    assert begun == {"all", "row", "none"}


BED = {"table": "Beds", "name": "bed", "header": "Bed", "dimension": "text", "help": "Its name"}


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ({**BED, "dimension": "lenght"}, "lenght"),
        ({**BED, "dimension": "length", "minimum": "o"}, "could not convert"),
        ({**BED, "required": "x"}, "'x'"),
        ({**BED, "synonims": "row"}, "synonims"),
        ({**BED, "header": ""}, "header"),
        ({**BED, "like": "Pipes.bed"}, "Pipes"),
    ],
)
def test_a_row_that_cannot_be_read_is_named(
    row: dict[str, str], words: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(columns, "data_rows", lambda file: [row])
    with pytest.raises(DeclarationError, match=rf"Beds, bed: .*{words}"):
        columns._declared.__wrapped__()


def test_a_column_twice_and_a_table_without_columns_are_named(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(columns, "data_rows", lambda file: [BED, BED])
    with pytest.raises(DeclarationError, match=r"Beds, bed: .*declared twice"):
        columns._declared.__wrapped__()
    with pytest.raises(DeclarationError, match="no column of 'Beets'"):
        columns.columns_of("Beets")
