"""Workbooks that earlier versions made and people used for a year are renewed.

`old/template_0_used.xlsx` is the invented farm of the first template (commit e77bd9b), with rows
added, a sheet renamed, one moved, a column, a sheet, charts, a comment and a colour of one's own,
its values computed by that version.
"""

from __future__ import annotations

import io
from pathlib import Path

import openpyxl
import pytest

from workbook_template.renewal.renewing import Remade, remade
from workbook_template.sheets.order import declared_sheets
from workbook_template.versions import CHANGES
from xlfuncs.workbooks.our_tables.read_inputs import TEMPLATE_VERSION, read_inputs

OLD = Path(__file__).parent / "old" / "template_0_used.xlsx"


@pytest.fixture(scope="module")
def made() -> Remade:
    return remade(OLD)


def test_every_input_is_there(made: Remade) -> None:
    before, after = read_inputs(OLD), read_inputs(made.content)
    assert (before.marks.version, after.marks.version) == (0, TEMPLATE_VERSION)
    for table, rows in before.inputs.tables.items():
        assert list(after.inputs.tables[table]) == list(rows), table
    assert len(before.inputs.tables) == 23
    assert before.inputs.settings.items() <= after.inputs.settings.items()
    assert before.inputs.tables["Beds"][-1] == {
        "bed": "New bed", "length": "18 ft 6 in", "strip_width": 30.0,
    }  # fmt: skip


def test_every_column_that_was_typed_in_is_read() -> None:
    """Columns renamed since then too: one that is not read would be lost without a word."""
    found = read_inputs(OLD).inputs.tables
    for sheet in openpyxl.load_workbook(OLD):
        for table in sheet.tables.values():
            headers, *rows = [[cell.value for cell in row] for row in sheet[table.ref]]
            typed = [
                header for header, *cells in zip(headers, *rows, strict=True)
                if any(c not in (None, "") and not str(c).startswith("=") for c in cells)
                and header != "Owner"
            ]  # fmt: skip
            read = {name for row in found[table.name] for name in row}
            assert len(read) == len(typed), (table.name, typed, read)


def test_own_things_are_there_or_named(made: Remade) -> None:
    book = openpyxl.load_workbook(io.BytesIO(made.content))
    assert book["My notes"]["B3"].value == "=water_a_week"
    assert book["My notes"]["B6"].value == f"=Summary!{_cell(book, 'planted_area')}"
    headers = [cell.value for cell in book["Beds"][book["Beds"].tables["Beds"].ref][0]]
    assert headers[-2:] == ["Owner", "Half"]
    report = str(made)
    for words in (
        "your sheet My notes", "your column Owner of Beds", "chart or picture on your sheet",
        "charts of your own on Beds", "measured again in May", "H3 (remember)",
        "the look that you gave to 1 cells of Beds", "=0.8+0.05",
    ):  # fmt: skip
        assert words in report, words


def _cell(book: openpyxl.Workbook, name: str) -> str:
    return book.defined_names[name].attr_text.split("!")[1].replace("$", "")


def test_each_changed_number_is_named(made: Remade) -> None:
    assert made.numbers is not None and made.numbers.known
    assert made.numbers.compared > 3000
    lines = list(made.numbers.lines(0))
    changed = [line for line in lines if "→" in line]
    assert len(changed) == len(made.numbers.changed) > 10
    assert sum(line.startswith("    why: ") for line in lines) == len(
        {change.sheet for change in made.numbers.changed}
    )


def test_changes_speak_of_sheets_that_there_are() -> None:
    for change in CHANGES:
        assert set(change.sheets) <= set(declared_sheets())
        assert 0 < change.version <= TEMPLATE_VERSION
