"""No price that is old or missing goes to a client, and no number stands for two prices."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from tests.made_once import made, made_once
from tests.workbook_template.client_copy.client_workbooks import consultants_inputs, with_formula
from workbook_template.build import Inputs, write
from workbook_template.client_copy.copying import Wishes, client_copy
from xlfuncs.command_line.commands.client_copy import command
from xlfuncs.errors import WorkbookError
from xlfuncs.hosts.cells import worksheet_callables
from xlfuncs.xlsx.cell_references import cell_name


def _with(table: str, *rows: dict[str, Any], **settings: Any) -> Inputs:
    inputs = consultants_inputs()
    tables = {**inputs.tables, table: list(rows)} if rows else inputs.tables
    return Inputs({**inputs.settings, **settings}, tables)


def _copied(content: bytes, **wishes: Any) -> Any:
    return client_copy(content, worksheet_callables(), Wishes(**wishes))


def test_results_older_than_a_changed_bed_are_refused() -> None:
    inputs = consultants_inputs()
    beds = [{**inputs.tables["Beds"][0], "length": 75.0}, *inputs.tables["Beds"][1:]]
    values = made("us", inputs)[1].values
    stale = write("us", replace(inputs, tables={**inputs.tables, "Beds": beds})).finish(values)
    with pytest.raises(
        WorkbookError, match=r"older than its inputs \(planted_area .*recalculate it"
    ):
        _copied(stale)


def test_a_formula_that_no_longer_gives_what_is_stored_is_refused() -> None:
    book = write("us", consultants_inputs())
    place = book.places["QuotationLines"]
    cell = cell_name(place.first + 1, place.columns["unit_cost"] + 1)
    content = made("us", consultants_inputs())[0]
    with pytest.raises(WorkbookError, match=f"Quoting!{cell} holds 50, its formula gives 100.0"):
        _copied(with_formula(content, "Quoting", cell, "20*5", 50.0))
    assert f"Quoting!{cell}" in str(_copied(with_formula(content, "Quoting", cell, "20*5", 100.0)))


@pytest.mark.parametrize(
    ("inputs", "words"),
    [
        (_with("QuotationLines", {"item": "Valves", "quantity": 3.0}),
         r"line Valves: Unit cost: missing, or not a number; fill in Quoting!E\d+, or clear"),
        (_with("", margin=0.3), "margin: give a markup or a margin, not both"),
        (_with("", markup="", margin=30.0), "margin: 30 is not below 1"),
        (_with("QuotationLines",
               {"item": "Gauge", "quantity": 1.0, "unit_cost": 20.0, "optional": "yes"},
               labour_hours=0.0, tax_rate="often"), "no option on Quoting has a price"),
    ],
)  # fmt: skip
def test_no_proposal_is_made_without_the_price_that_was_asked_for(
    inputs: Inputs, words: str
) -> None:
    with pytest.raises(WorkbookError, match=words):
        _copied(write("us", inputs).finish({}))


def test_one_number_for_two_prices_is_said_and_the_former_file_is_kept(tmp_path: Path) -> None:
    path = tmp_path / "farm.xlsx"
    made_once(path, "us", consultants_inputs())

    def run(*more: str) -> str:
        result = CliRunner().invoke(command, [str(path), *more])
        assert result.exit_code == 0, result.output
        return result.output

    first, again, other = run(), run("--force"), run("--force", "--margin", "0.5")
    for output in (first, again):
        assert "Revision" not in output and "the revision before" not in output
    assert (
        "7, revision 0 was made with a total of" in other and "count Revision on Quoting" in other
    )
    assert "the revision before" not in other, "the same one, made again"
    kept = sorted(p.name for p in tmp_path.glob("*.backup-*"))
    assert [name.rpartition(".")[2] for name in kept] == ["pdf", "xlsx"]
    revised = consultants_inputs()
    revised = replace(revised, settings={**revised.settings, "revision": 1.0})
    made_once(path, "us", revised)
    for _ in range(2):  # the second time, what was sent is kept beside
        output = run("--force")
        assert "count Revision on Quoting" not in output
        assert "by which it differs from the revision before" in output
    assert len([*tmp_path.glob("*.backup-*")]) == 4, "the former revision stays beside"
