"""The template, its saved values removed, computed by a real Calc: every cell as in Python."""

from __future__ import annotations

import math
import re
import zipfile
from pathlib import Path
from typing import Any

import pytest
from openpyxl.utils import get_column_letter

from tests.made_once import made_once
from tests.workbook_template.stored_values import differences, lines, stored
from workbook_template.build import demo_inputs
from xlfuncs.hosts.libreoffice.office import Office

pytestmark = pytest.mark.libreoffice

FORMULA_CELL = re.compile(rb"(<c [^>]*>)(<f[ >].*?</f>|<f[^>]*/>)<v>.*?</v>", re.DOTALL)


def without_values(path: Path, target: Path) -> int:
    """A copy whose formula cells hold no value; gives how many were emptied."""
    emptied = 0
    with zipfile.ZipFile(path) as book, zipfile.ZipFile(target, "w") as copy:
        for name in book.namelist():
            content = book.read(name)
            if name.startswith("xl/worksheets/sheet"):
                content, count = FORMULA_CELL.subn(rb"\1\2", content)
                emptied += count
            copy.writestr(name, content)
    return emptied


def same(got: Any, wanted: Any) -> bool:
    if isinstance(wanted, (bool, int, float)) and isinstance(got, (int, float)):
        return math.isclose(got, wanted, rel_tol=1e-9, abs_tol=1e-12)
    return bool(got == ("" if wanted is None else wanted))


@pytest.mark.parametrize(
    ("office", "system"), [("in-process", "us"), ("worker", "metric")], indirect=["office"]
)
def test_every_computed_cell(office: Office, tmp_path: Path, system: str) -> None:
    path, emptied = tmp_path / "farm.xlsx", tmp_path / "emptied.xlsx"
    built = made_once(path, system, demo_inputs(system))
    wanted = {
        (sheet, f"{get_column_letter(column)}{row}"): value
        for sheet, cells in built.values.items()
        for (row, column), value in cells.items()
    }
    assert without_values(path, emptied) >= 0.9 * len(wanted) > 0
    got = office.values(emptied)
    different = {
        place: (got[place[0]].get(place[1], ""), value)
        for place, value in wanted.items()
        if not same(got[place[0]].get(place[1], ""), value)
    }
    assert different == {}
    in_calc = {
        sheet: {
            (row, column): got[sheet].get(f"{get_column_letter(column)}{row}")
            for row, column in cells
        }
        for sheet, cells in built.values.items()
    }
    assert differences(lines(in_calc), stored(system)) == []
