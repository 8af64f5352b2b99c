"""The inputs of a workbook in use are read as they were typed, whatever was done around them."""

from __future__ import annotations

import io
import zipfile
from datetime import date
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from tests.made_once import made_once
from workbook_template.build import build, demo_inputs
from xlfuncs.errors import WorkbookError
from xlfuncs.hosts.libreoffice.office import Office
from xlfuncs.workbooks.our_tables.read_inputs import VERSION, Inputs, Reading, read_inputs


@pytest.fixture(scope="module")
def farm(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("farm") / "farm.xlsx"
    made_once(path, "us", demo_inputs("us"))
    return path


def used(farm: Path, change: Any) -> Reading:
    """The farm's workbook after somebody worked in it, read."""
    book = openpyxl.load_workbook(farm)
    change(book)
    out = io.BytesIO()
    book.save(out)
    return read_inputs(out.getvalue())


def beds_table(book: Any) -> tuple[Any, int, int, dict[str, int]]:
    """The sheet, first and last row of Beds, and its columns by header."""
    sheet = book["Beds"]
    cells = sheet[sheet.tables["Beds"].ref]
    return sheet, cells[1][0].row, cells[-1][0].row, {c.value: c.column for c in cells[0]}


def given(inputs: Inputs) -> dict[str, Any]:
    return {name: value for name, value in inputs.settings.items() if value != ""}


def same_parts(one: Path, two: Path) -> list[str]:
    """The parts that differ; the time of making stands in the core properties."""
    a, b = zipfile.ZipFile(one), zipfile.ZipFile(two)
    names = set(a.namelist()) | set(b.namelist())
    return [n for n in sorted(names) if n != "docProps/core.xml" and a.read(n) != b.read(n)]


@pytest.mark.parametrize("system", ["us", "metric"])
def test_built_again_from_what_was_read_it_is_the_same(system: str, tmp_path: Path) -> None:
    first, second = tmp_path / "first.xlsx", tmp_path / "second.xlsx"
    made_once(first, system, demo_inputs(system))
    found = read_inputs(first)
    assert found.marks.system == system and found.inputs.invented and found.notes == []
    build(second, found.marks.system, found.inputs)
    assert same_parts(first, second) == []


def test_every_table_and_setting_comes_back(farm: Path) -> None:
    typed, found = demo_inputs("us"), read_inputs(farm).inputs
    assert {name: list(rows) for name, rows in found.tables.items() if rows} == {
        name: [dict(row) for row in rows] for name, rows in typed.tables.items()
    }
    assert typed.settings.items() <= given(found).items()


def test_sheets_renamed_and_moved(farm: Path) -> None:
    def change(book: Any) -> None:
        book["Beds"].title = "Beete"
        book.move_sheet("Beete", -3)

    found = used(farm, change)
    assert found.tables["Beds"].sheet == "Beete"
    assert found.inputs.tables["Beds"] == read_inputs(farm).inputs.tables["Beds"]


def test_a_row_right_below_a_table_is_read(farm: Path) -> None:
    def change(book: Any) -> None:
        sheet, _, last, columns = beds_table(book)
        sheet.cell(last + 1, columns["Bed"]).value = "behind the spare rows"
        sheet.cell(last + 1, columns["Length (ft)"]).value = "22 ft 9 in"

    rows = used(farm, change).inputs.tables["Beds"]
    assert rows[-1] == {"bed": "behind the spare rows", "length": "22 ft 9 in"}
    assert {} in rows  # the spare rows between stay where they are


def test_a_unit_in_a_changed_header_goes_into_the_cells(farm: Path) -> None:
    def change(book: Any) -> None:
        sheet, first, _, columns = beds_table(book)
        table, column = sheet.tables["Beds"], columns["Length (ft)"]
        sheet.cell(first - 1, column).value = "Length (m)"
        table.tableColumns[column - 1].name = "Length (m)"
        sheet.cell(first, column).value = 6.5

    assert used(farm, change).inputs.tables["Beds"][0]["length"] == "6.5 m"


def test_a_formula_in_an_input_cell_is_named(tmp_path: Path, farm: Path) -> None:
    def change(book: Any) -> None:
        sheet, first, _, columns = beds_table(book)
        sheet.cell(first, columns["Length (ft)"]).value = "=20+2"

    found = used(farm, change)
    assert [note for note in found.notes if "=20+2" in note and note.startswith("Beds!")]


def test_dates_and_blanks(farm: Path) -> None:
    def change(book: Any) -> None:
        places = {name: book.defined_names[name].attr_text for name in ("plan_date", "efficiency")}
        for name, value in (("plan_date", date(2031, 5, 6)), ("efficiency", None)):
            sheet, _, cell = places[name].replace("$", "").replace("'", "").partition("!")
            book[sheet][cell] = value

    settings = used(farm, change).inputs.settings
    assert settings["plan_date"] == date(2031, 5, 6)
    assert settings["efficiency"] == ""  # cleared: its default does not come back


def test_what_is_no_workbook_of_the_template_is_refused() -> None:
    out = io.BytesIO()
    openpyxl.Workbook().save(out)
    with pytest.raises(WorkbookError, match="not a workbook of the template"):
        read_inputs(out.getvalue())


def test_a_workbook_of_a_newer_program_is_refused(farm: Path) -> None:
    def change(book: Any) -> None:
        props = book.custom_doc_props
        if VERSION in props.names:
            del props[VERSION]
        props.append(openpyxl.packaging.custom.StringProperty(name=VERSION, value="999"))

    with pytest.raises(WorkbookError, match="newer version"):
        used(farm, change)


@pytest.mark.libreoffice
def test_saved_by_calc_it_gives_the_same_inputs(farm: Path, calc: Office, tmp_path: Path) -> None:
    saved = calc.save(farm, tmp_path / "saved.xlsx", "Calc MS Excel 2007 XML", recalculate=False)
    before, after = read_inputs(farm), read_inputs(saved)
    assert after.inputs == before.inputs and after.marks == before.marks


def test_saved_by_openpyxl_it_gives_the_same_inputs(farm: Path) -> None:
    before, after = read_inputs(farm), used(farm, lambda book: None)
    assert after.inputs == before.inputs and after.marks == before.marks
