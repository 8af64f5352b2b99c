"""Renewal: every input is there, own things are there or named, each changed number is told."""

from __future__ import annotations

import io
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from click.testing import CliRunner

from tests.made_once import made_once
from tests.workbook_template.renewal.used_workbooks import NEW_BED, used_for_a_year
from workbook_template.build import build, demo_inputs, results, starting_inputs, write
from workbook_template.renewal.renewing import Remade, converted, remade
from xlfuncs.command_line.commands import add_sheets, convert, renew
from xlfuncs.hosts.libreoffice.office import Office
from xlfuncs.units import parse
from xlfuncs.workbooks.our_tables.read_inputs import read_inputs


@pytest.fixture(scope="module")
def used(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    path = tmp_path_factory.mktemp("farm") / "farm.xlsx"
    made_once(path, "us", demo_inputs("us"))
    return used_for_a_year(path)


@pytest.fixture(scope="module")
def made(used: bytes) -> Remade:
    return remade(used)


def opened(made: Remade, *, values: bool = False) -> Any:
    """For reading only: the next test gets the same."""
    return _opened(made.content, values)


@lru_cache(maxsize=4)
def _opened(content: bytes, values: bool) -> Any:
    return openpyxl.load_workbook(io.BytesIO(content), data_only=values)


def test_every_input_is_there(used: bytes, made: Remade) -> None:
    before, after = read_inputs(used).inputs, read_inputs(made.content).inputs
    assert after.tables == before.tables
    assert {k: v for k, v in after.settings.items() if v != before.settings[k]} == {}
    bed = after.tables["Beds"][-1]
    assert (bed["bed"], bed["length"]) == (NEW_BED["Bed"], NEW_BED["Length (ft)"])


def test_own_sheets_go_along_with_formulas_values_and_formats(made: Remade) -> None:
    written, values = opened(made)["My notes"], opened(made, values=True)["My notes"]
    assert written["B3"].value == "=water_a_week" and written["B3"].number_format == "#,##0"
    assert written["B8"].value == "=B3+1"
    assert values["B8"].value == pytest.approx(values["B3"].value + 1)
    first = read_inputs(made.content).inputs.tables["Beds"][0]["length"]
    length = first if isinstance(first, float) else parse(first, "length", "us") / 0.3048
    assert values["B4"].value == pytest.approx(2 * length)
    assert values["B6"].value == opened(made, values=True)["Summary"]["B10"].value
    assert (written["B7"].value, written["B9"].value, written["B10"].value) == (
        "rain in June", True, 4.5,
    )  # fmt: skip
    assert written["A1"].font.b and written.column_dimensions["A"].width > 29
    assert [str(area) for area in written.merged_cells.ranges] == ["A12:C12"]
    assert opened(made).defined_names["my_words"].attr_text == "'My notes'!$B$7"


def test_own_columns_go_along(made: Remade) -> None:
    sheet, values = opened(made)["Beds"], opened(made, values=True)["Beds"]
    cells = sheet[sheet.tables["Beds"].ref]
    columns = {cell.value: cell.column for cell in cells[0]}
    row = cells[1][0].row
    assert sheet.cell(row, columns["Tended by"]).value in ("Ann", "Ben")
    assert sheet.cell(row, columns["Half"]).value.startswith("=IFERROR(")
    length = values.cell(row, columns["Length (ft)"]).value
    if isinstance(length, float | int):
        assert values.cell(row, columns["Half"]).value == pytest.approx(length / 2)


def test_what_stays_behind_is_named(made: Remade) -> None:
    words = str(made)
    for said in (
        "a chart or picture on your sheet My notes", "charts of your own on Beds",
        "measured again in May", "ask about the hose", "the look that you gave to 1 cells of Beds",
        "=0.8+0.05",
    ):  # fmt: skip
        assert said in words, said


def test_the_same_template_changes_no_number(made: Remade) -> None:
    assert made.numbers is not None and made.numbers.known and made.numbers.compared > 4000
    assert made.numbers.changed == [] and made.numbers.gone < 20


def test_a_changed_number_is_named(used: bytes, tmp_path: Path) -> None:
    """As if an older version had computed otherwise: its stored values are not those of today."""
    path = tmp_path / "old.xlsx"
    farm = demo_inputs("us")
    made_once(path, "us", farm)
    other = tmp_path / "other.xlsx"
    build(other, "us", replace(farm, settings={**farm.settings, "weekly_depth": 1.5}))
    from workbook_template.renewal.numbers import compare
    from xlfuncs.xlsx.contents import Contents
    from xlfuncs.xlsx.package import Package

    old, new = (Contents(Package.open(p)) for p in (path, other))
    found = compare(old, new, {s.name: s.name for s in old.sheets})
    words = [str(changed) for changed in found.changed]
    assert any(w.startswith("Summary: Water per week: ") for w in words)
    assert any(w.startswith("Beds: Minutes") for w in words)


def test_renewed_twice_it_is_the_same(made: Remade) -> None:
    again = remade(made.content)
    assert again.own.columns.keys() == {"Beds"} and [s.name for s in again.own.sheets] == [
        "My notes"
    ]
    assert again.numbers is not None and again.numbers.changed == []
    assert read_inputs(again.content).inputs == read_inputs(made.content).inputs


def test_nothing_of_a_workbook_as_it_was_built_is_taken_for_ones_own(tmp_path: Path) -> None:
    for edition in ("all", "grower", "bookkeeper"):
        path = tmp_path / f"{edition}.xlsx"
        made_once(path, "metric", demo_inputs("metric"), edition=edition)
        made = remade(path)
        assert (made.own.words, made.own.sheets, made.own.columns) == ([], [], {})
        assert made.edition == edition and made.without == []


@pytest.mark.libreoffice
def test_nor_when_calc_saved_it(calc: Office, tmp_path: Path) -> None:
    path = tmp_path / "farm.xlsx"
    made_once(path, "us", demo_inputs("us"), edition="grower")
    saved = calc.save(path, tmp_path / "saved.xlsx", "Calc MS Excel 2007 XML", recalculate=False)
    made = remade(saved)
    assert (made.own.words, made.own.sheets, made.own.columns) == ([], [], {})
    assert made.numbers is not None and made.numbers.changed == []


def test_a_file_without_values_is_not_compared_and_says_what_it_lacks(used: bytes) -> None:
    out = io.BytesIO()
    openpyxl.load_workbook(io.BytesIO(used)).save(out)
    words = str(remade(out.getvalue()))
    assert "holds no computed values" in words
    assert "is left blank, for the file holds no value of it; recalculate the file first" in words


@pytest.mark.parametrize(("old", "new"), [("us", "metric"), ("metric", "us")])
def test_other_units_give_the_same_garden(old: str, new: str, tmp_path: Path) -> None:
    """Lengths, areas and volumes agree by the factors of NIST Handbook 44, appendix C."""
    first = made_once(tmp_path / "a.xlsx", old, demo_inputs(old))
    second = results(write(new, converted(demo_inputs(old), old, new)))
    factors = {"planted_area": 0.09290304, "line_length_total": 0.3048, "water_a_week": 3.785411784}
    for name, factor in factors.items():
        there = first.named(name) * (factor if new == "metric" else 1 / factor)
        assert second.named(name) == pytest.approx(there, rel=1e-4), name
    assert second.named("beds_counted") == first.named("beds_counted")


# --- the commands ---


def test_renew_keeps_the_old_file(used: bytes, tmp_path: Path) -> None:
    path = tmp_path / "garden.xlsx"
    path.write_bytes(used)
    tried = CliRunner().invoke(renew.command, [str(path), "--dry-run"])
    assert tried.exit_code == 0 and path.read_bytes() == used and len(list(tmp_path.iterdir())) == 1
    done = CliRunner().invoke(renew.command, [str(path)])
    assert done.exit_code == 0, done.output
    (kept,) = tmp_path.glob("garden.backup-*.xlsx")
    assert kept.read_bytes() == used and path.read_bytes() != used


def test_renew_proposes_valves_anew_where_it_is_asked(tmp_path: Path) -> None:
    """Beds that all open together are parted by what tap and parts take; nothing else changes."""
    path, rows = tmp_path / "farm.xlsx", demo_inputs("us")
    tables = rows.tables | {"Beds": [{**row, "valve": "1"} for row in rows.tables["Beds"]]}
    build(path, "us", replace(rows, tables=tables))
    for asked in ([], ["--valves"]):
        out = tmp_path / f"{len(asked)}.xlsx"
        done = CliRunner().invoke(renew.command, [str(path), "--output", str(out), *asked])
        assert done.exit_code == 0, done.output
        beds = read_inputs(out).inputs.tables["Beds"]
        assert (len({row["valve"] for row in beds if row.get("valve")}) > 1) is bool(asked)
        assert [row["bed"] for row in beds] == [row["bed"] for row in tables["Beds"]]


def test_add_sheets_to_a_growers_workbook(tmp_path: Path) -> None:
    path = tmp_path / "garden.xlsx"
    made_once(path, "us", starting_inputs("us"), edition="grower")
    done = CliRunner().invoke(add_sheets.command, ["costs", str(path)])
    assert done.exit_code == 0, done.output
    assert "Cost" in openpyxl.load_workbook(path, read_only=True).sheetnames
    assert read_inputs(path).marks.edition == "grower+costs"


def test_convert_writes_another_file(tmp_path: Path) -> None:
    path = tmp_path / "garden.xlsx"
    made_once(path, "us", starting_inputs("us"), edition="bookkeeper")
    done = CliRunner().invoke(convert.command, [str(path), "--units", "metric", "--excel"])
    assert done.exit_code == 0, done.output
    found = read_inputs(tmp_path / "garden-metric.xlsm")
    assert (found.marks.system, found.marks.edition) == ("metric", "bookkeeper")
    again = CliRunner().invoke(convert.command, [str(path), "--units", "metric", "--excel"])
    assert again.exit_code == 2 and "there already" in again.output
    back = CliRunner().invoke(
        convert.command, [str(tmp_path / "garden-metric.xlsm"), "--no-excel", "--dry-run"]
    )
    assert back.exit_code == 0 and "garden-metric.xlsx" in back.output
    assert CliRunner().invoke(convert.command, [str(path)]).exit_code == 2
