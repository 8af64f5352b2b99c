"""Editions: each has the sheets of its person, the same numbers, and nothing that leads nowhere."""

from __future__ import annotations

import re
import zipfile
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner

from tests.made_once import made_once
from workbook_template.build import (
    Built,
    build,
    demo_inputs,
    edition_named,
    edition_of,
    groups,
    with_group,
)
from workbook_template.kit.declared import EDITIONS, PEOPLE
from workbook_template.kit.said import computed_columns, data
from workbook_template.sheets.money.quotation import QUOTED
from workbook_template.sheets.order import declared_sheets
from workbook_template.sheets.whole import start
from xlfuncs.command_line.commands.new import command
from xlfuncs.errors import CellError, WorkbookError
from xlfuncs.workbooks.our_tables.read_inputs import read_inputs

MOST_SHEETS = {"grower": 16, "bookkeeper": 10}
NAMES = (*PEOPLE, "grower+costs", "bookkeeper+quotation", "grower+field check+designs")


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Built:
    return made_once(tmp_path_factory.mktemp("whole") / "whole.xlsx", "us", demo_inputs("us"))


@pytest.mark.parametrize("name", NAMES)
def test_an_edition_has_its_sheets_and_the_numbers_of_the_whole(
    name: str, whole: Built, tmp_path: Path
) -> None:
    path = tmp_path / "farm.xlsx"
    built = made_once(path, "us", demo_inputs("us"), edition=name)
    book = openpyxl.load_workbook(path)
    shown = {s.name for s in declared_sheets().values() if s.name in edition_named(name).shown}
    assert shown <= set(book.sheetnames) <= shown | {"Workings"}
    assert len(book.sheetnames) <= MOST_SHEETS.get(name, len(shown) + 1)
    # Every name that is here leads to the same number; checks count what is here.
    named = [
        n for n in built.names if not n.startswith("checks_") and built.names[n][0] in built.values
    ]
    assert len(named) > 10
    assert {n: built.named(n) for n in named} == {n: whole.named(n) for n in named}
    errors = [v for cells in built.values.values() for v in cells.values()]
    assert not [value for value in errors if isinstance(value, CellError)]
    _leads_nowhere_else(book, path)


def _leads_nowhere_else(book: openpyxl.Workbook, path: Path) -> None:
    """No formula, name, list, link or chart speaks of a sheet that is not there."""
    missing = set(declared_sheets()) - set(book.sheetnames)
    with zipfile.ZipFile(path) as package:
        texts = {n: package.read(n).decode() for n in package.namelist() if n.endswith(".xml")}
    for name, text in texts.items():
        led = set(re.findall(r"(?:'|&apos;|&#39;)([A-Z][^'&<>!]*)(?:'|&apos;|&#39;)!", text))
        assert led & missing == set(), name
    rules = "".join(re.findall(r"<formula1>(\w+_to_choose_from)<", "".join(texts.values())))
    assert all(name in book.defined_names for name in re.findall(r"\w+?_to_choose_from", rules))


@pytest.mark.parametrize("name", EDITIONS)
def test_a_workbook_says_its_edition(name: str, tmp_path: Path) -> None:
    path, again = tmp_path / "farm.xlsx", tmp_path / "again.xlsx"
    made_once(path, "metric", demo_inputs("metric"), edition=name)
    found = read_inputs(path)
    assert found.marks.edition == name and found.marks.invented
    build(again, found.marks.system, found.inputs, edition=found.marks.edition)
    one, two = zipfile.ZipFile(path), zipfile.ZipFile(again)
    assert one.namelist() == two.namelist()
    parts = [n for n in one.namelist() if n != "docProps/core.xml"]  # holds the time of making
    assert [n for n in parts if one.read(n) != two.read(n)] == []
    assert edition_of(openpyxl.load_workbook(path, read_only=True).sheetnames) == name


def test_for_excel_answers_spill_among_the_workings(tmp_path: Path) -> None:
    path = tmp_path / "farm.xlsm"
    made_once(path, "us", demo_inputs("us"), edition="grower", macros=True)
    names = openpyxl.load_workbook(path, read_only=True).sheetnames
    assert "Results" not in names and "Workings" in names


def test_groups_are_added_by_name() -> None:
    assert with_group("grower", "costs") == "grower+costs"
    assert set(groups()["costs"]) <= edition_named("grower+costs").shown
    with pytest.raises(WorkbookError, match="there already"):
        with_group("all", "costs")
    with pytest.raises(WorkbookError, match="no group of sheets 'soup'"):
        with_group("grower", "soup")


def test_every_sheet_is_for_somebody_and_needs_sheets_that_exist() -> None:
    sheets = declared_sheets()
    for sheet in sheets.values():
        assert set(sheet.people) <= set(PEOPLE) and (sheet.people or sheet.group)
        assert {*sheet.needs, *sheet.reads} <= set(sheets)


def test_what_lists_of_the_sheets_declare_is_written(whole: Built) -> None:
    """No row of them is left behind where a sheet no longer computes it."""
    results = {row["name"] for name in ("results.csv", "checked.csv") for row in data(name)}
    assert results <= set(whole.names)
    assert {row["sheet"] for row in data("steps.csv")} <= set(declared_sheets())
    for of in {row["table"] for row in data("columns.csv")}:
        columns = {column.name for column in computed_columns(of)}
        for_client = {"price"} if of == QUOTED else set()
        assert columns - for_client <= set(whole.places[of].columns), of


def test_a_sheet_that_no_step_names_comes_after_the_sheet_before_it(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    rows = [row for row in data("steps.csv") if row["sheet"] != "Cut list"]
    monkeypatch.setattr(start, "data", lambda _: list(rows))
    made_once(path := tmp_path / "farm.xlsx", "us", demo_inputs("us"))
    named = [cell.value for cell in openpyxl.load_workbook(path)["Start"]["B"]]
    assert named.index("Cut list") == 1 + named.index("Purchase")


def test_new_for_a_bookkeeper(tmp_path: Path) -> None:
    path = tmp_path / "books.xlsx"
    done = CliRunner().invoke(command, [str(path), "--for", "bookkeeper"])
    assert done.exit_code == 0, done.output
    names = openpyxl.load_workbook(path, read_only=True).sheetnames
    assert "Ledger" in names and "Beds" not in names
