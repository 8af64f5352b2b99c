"""Designs of gardens by chance, put into their workbooks: no sheet and no command calls one wrong.

A few gardens; `tests/trial/designs_trial.py` does thirty, up to 60 beds.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from tests.made_once import made
from tests.workbook_template.random_gardens import disagreements, garden_inputs
from workbook_template.build import build, results, write
from workbook_template.designed import given_of, with_design
from workbook_template.kit.inputs import Inputs
from workbook_template.sheets.water.timer import SETS
from xlfuncs.catalogue.whole_designs import Designs, whole_designs


@cache
def offered(seed: int, beds: int) -> tuple[Inputs, Designs]:
    """For reading only."""
    inputs = garden_inputs(seed, beds)
    return inputs, whole_designs(given_of(made("us", inputs)[1], "us"), 60.0)


@pytest.mark.parametrize(("seed", "beds"), [(903, 5), (905, 7), (906, 8)])
def test_what_is_offered_is_right_on_every_sheet(seed: int, beds: int, tmp_path: Path) -> None:
    inputs, found = offered(seed, beds)
    passing = [row for row in found.rows if row.kind != "fails"]
    assert passing
    for row in found.rows:
        assert (row.kind == "fails") == bool(row.fails and row.mends)
    for row in passing[:2]:
        path = tmp_path / "designed.xlsx"
        designed = build(path, "us", with_design(inputs, row, "us"))
        assert list(disagreements(row, designed, path)) == []


def test_fewer_days_than_waterings_leave_each_day_more_to_do() -> None:
    """Five waterings on three days: what fits in two hours five times a week may not do so."""
    inputs = garden_inputs(103, 5)
    inputs.settings.update(allowed_days="Mon Wed Fri", waterings_a_week=5.0, weekly_depth=1.3,
                           allowed_from=4.0, allowed_to=6.0)  # fmt: skip
    found = whole_designs(given_of(results(write("us", inputs)), "us"), 60.0)
    row = found.rows[0]
    assert row.kind != "fails" and sum(row.minutes) <= 120
    designed = results(write("us", with_design(inputs, row, "us")))
    assert designed.named("watering_days") == 3
    sets = [timed for timed in designed.block(SETS) if timed["set"]]
    assert {timed["notes"] for timed in sets} == {"–"}
    assert sum(timed["minutes"] for timed in sets) == pytest.approx(sum(row.minutes))


def test_a_design_that_is_put_in_and_then_changed_is_called_wrong(tmp_path: Path) -> None:
    inputs, found = offered(905, 7)
    designed = with_design(inputs, found.rows[0], "us")
    for bed in designed.tables["Beds"]:
        bed["valve"] = "1"
    path = tmp_path / "one_valve.xlsx"
    said = " ".join(disagreements(found.rows[0], build(path, "us", designed), path))
    assert "pressure_findings" in said
    assert "Timer: other sets" in said
