"""A workbook just made is up to date: computing it anew changes nothing, byte for byte."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.made_once import made_once
from tests.workbooks.recalculated import recalculated_bytes
from workbook_template.build import build, demo_inputs, starting_inputs
from xlfuncs.catalogue.findings.given import BLANK
from xlfuncs.errors import WorkbookError
from xlfuncs.hosts.cells import worksheet_callables
from xlfuncs.workbooks.checking.input_checks import check
from xlfuncs.workbooks.checking.told import waits


@pytest.mark.parametrize(
    ("system", "inputs", "macros"),
    [("us", demo_inputs, False), ("metric", starting_inputs, True)],
)
def test_recalculation_changes_nothing(system, inputs, macros, tmp_path: Path) -> None:
    path = tmp_path / ("book.xlsm" if macros else "book.xlsx")
    made_once(path, system, inputs(system), macros=macros)
    before = path.read_bytes()
    after, report = recalculated_bytes(before, worksheet_callables())
    assert report.formulas > 5000
    assert report.unevaluated == []
    assert report.changed_cells == 0
    assert after == before


def test_more_beds_than_are_stated_are_refused_in_words(tmp_path: Path) -> None:
    beds = [{"bed": f"Bed {i}", "length": 30} for i in range(801)]
    with pytest.raises(WorkbookError, match="Beds: at most 800 rows, not 801"):
        build(tmp_path / "book.xlsx", "us", starting_inputs("us", beds))
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize("edition", ["grower", "consultant", "bookkeeper", "all"])
def test_what_is_to_be_filled_in_is_counted_as_the_command_does(tmp_path, edition: str) -> None:
    """Start said 0 to fill in where check asked for the backflow preventer."""
    path = tmp_path / "new.xlsx"
    built = made_once(path, "us", starting_inputs("us", person=edition), edition=edition)
    blank = [f for f in check(path, built.values) if f.words.endswith(BLANK) and not waits(f)]
    assert built.named("checks_missing") == len(blank) > 0
