"""Designs of gardens by chance, put into their workbooks: no sheet and no command calls one wrong.

A few gardens; `tests/trial/designs_trial.py` does thirty, up to 60 beds.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.workbook_template.random_gardens import disagreements, garden_inputs
from workbook_template.build import build
from workbook_template.designed import given_of, with_design
from xlfuncs.catalogue.whole_designs import whole_designs


@pytest.mark.parametrize(("seed", "beds"), [(903, 5), (905, 7), (906, 8)])
def test_what_is_offered_is_right_on_every_sheet(seed: int, beds: int, tmp_path: Path) -> None:
    inputs = garden_inputs(seed, beds)
    found = whole_designs(given_of(build(tmp_path / "as_it_is.xlsx", "us", inputs), "us"), 60.0)
    passing = [row for row in found.rows if row.kind != "fails"]
    assert passing
    for row in found.rows:
        assert (row.kind == "fails") == bool(row.fails and row.mends)
    for row in passing[:2]:
        path = tmp_path / "designed.xlsx"
        designed = build(path, "us", with_design(inputs, row, "us"))
        assert list(disagreements(row, designed, path)) == []


def test_a_design_that_is_put_in_and_then_changed_is_called_wrong(tmp_path: Path) -> None:
    inputs = garden_inputs(905, 7)
    found = whole_designs(given_of(build(tmp_path / "as_it_is.xlsx", "us", inputs), "us"), 60.0)
    designed = with_design(inputs, found.rows[0], "us")
    for bed in designed.tables["Beds"]:
        bed["valve"] = "1"
    path = tmp_path / "one_valve.xlsx"
    said = " ".join(disagreements(found.rows[0], build(path, "us", designed), path))
    assert "pressure_findings" in said
    assert "Timer: other sets" in said
