"""The next client's workbook, from the lists and rates of the one before."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner

from tests.made_once import made_once
from workbook_template.build import demo_inputs, starting_inputs
from workbook_template.own_lists import _is_part, _words_of_parts
from workbook_template.renewal.renewing import remade
from xlfuncs.command_line.commands import new
from xlfuncs.workbooks.our_tables.read_inputs import Inputs, read_inputs


@pytest.fixture(scope="module")
def former(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("former") / "former.xlsx"
    made_once(path, "us", demo_inputs("us"))
    book = openpyxl.load_workbook(path)
    sheet = book["Quoting"]
    cost = next(c for row in sheet.iter_rows() for c in row if c.value == 148)
    cost.value = "=148+0"  # as a person takes over the cost of all parts
    book.save(path)
    return path


def made(path: Path, former: Path, *options: str) -> tuple[Inputs, str]:
    done = CliRunner().invoke(new.command, [str(path), "--from", str(former), *options])
    assert done.exit_code == 0, done.output
    return read_inputs(path).inputs, done.output


def test_lists_and_rates_go_along_and_what_is_of_one_garden_does_not(
    former: Path, tmp_path: Path
) -> None:
    inputs, told = made(tmp_path / "next.xlsx", former, "--for", "consultant")
    before = read_inputs(former).inputs
    for table in ("Lines", "Pipes", "Prices", "Parts", "CountingRules", "HeadParts"):
        assert inputs.tables[table] == before.tables[table]
    for name in ("currency", "markup", "labour_rate", "contingency", "prepared_by"):
        assert inputs.settings[name] == before.settings[name]
    for name in ("client", "site", "farm", "bucket_volume", "static_pressure", "quotation_date"):
        assert name in before.settings and name not in inputs.settings
    assert len(inputs.tables["Beds"]) == 1
    lines = inputs.tables["QuotationLines"]
    assert [row["item"] for row in lines] == ["Parts and lines", "Water meter for the garden line"]
    assert [row["quantity"] for row in lines] == [1, 1], "an optional item is offered as it was"
    assert "one line for all parts, 11 of former.xlsx taken out; " in told
    assert "no longer offered: Timer for five valves, " in told
    assert "kept Water meter for the garden line (1 piece)" in told
    assert "From former.xlsx: " not in told, "invented terms are asked for"
    assert "hour_cost" not in inputs.settings, "a client reads it on Setup"
    assert not any("cost" in row for row in inputs.tables["PartLives"])


@pytest.mark.parametrize(
    ("item", "is_part"),
    [
        ("Thin tape, 8 in spacing, laid", True), ("Tubing main with tees", True),
        ("3/4 in tubing (black)", True), ("2 x Bed valves", True), ("Holding line", True),
        ("Digging", False), ("Laying of lines", False), ("Line laying", False),
        ("Laying the lines", False), ("Labor for valves", False), ("Main trench", False),
        ("Water meter", False), ("Travel", False), ("", False),
    ],
)  # fmt: skip
def test_a_line_is_of_parts_by_what_it_names_first(item: str, is_part: bool) -> None:
    words = _words_of_parts(demo_inputs("us").tables)
    assert _is_part(item, words) == is_part


def test_lines_of_work_keep_what_is_of_no_garden(former: Path, tmp_path: Path) -> None:
    book = openpyxl.load_workbook(former)
    sheet = book["Quoting"]
    head = next(c for row in sheet.iter_rows() for c in row if c.value == "Item")
    for row, values in ((1, ("Travel", 2, "visits", 60)), (2, ("Trenching", 90, "ft", 1.4)),
                        (3, ("Drawing", 1, "job", "=2*75")), (4, ("Backflow test", 1, "set", 88.5)),
                        (5, ("Sign", 1, "pc", 20)), (6, ("Labels", 14, "pc", 2))):  # fmt: skip
        for col, value in enumerate(values):
            sheet.cell(head.row + row, head.column + col, value)
    pay = next(c for row in sheet.iter_rows() for c in row if c.value == "Terms of payment")
    sheet.cell(pay.row, pay.column + 1, "14 days net")
    book.save(tmp_path / "work.xlsx")
    inputs, told = made(tmp_path / "next.xlsx", tmp_path / "work.xlsx", "--for", "consultant")
    lines = inputs.tables["QuotationLines"]
    assert [(row["item"], row.get("quantity"), "unit_cost" in row) for row in lines[1:7]] == [
        ("Travel", 2, True), ("Trenching", None, True),
        ("Drawing", 1, False), ("Backflow test", 1, True), ("Sign", 1, True),
        ("Labels", None, True),
    ]  # fmt: skip
    assert "kept Travel (2 visits), Drawing (1 job), Backflow test (1 set), Sign (1 pc)" in told
    terms = "Valid for (30 days), Terms of payment (14 days net)"
    assert f"\nFrom work.xlsx: {terms}\n" in told
    words = "sized by the garden, so to be given a quantity, or cleared: "
    assert f"{words}Trenching (was 90 ft), Labels (was 14 pc)" in told
    assert "type them anew: Drawing" in told


def test_what_names_the_former_client_is_not_taken_over(former: Path, tmp_path: Path) -> None:
    book = openpyxl.load_workbook(former)
    sheet = book["Quoting"]
    cells = [cell for row in sheet.iter_rows() for cell in row]
    head = next(cell for cell in cells if cell.value == "Item")
    for row, item in ((1, "Gate post for Brackwater"), (2, "Visit to the farm")):
        for col, value in enumerate((item, 1, "visit", 60)):
            sheet.cell(head.row + row, head.column + col, value)
    for label, text in (("Client", "Brackwater Farm"), ("Terms of payment", "as Brackwater pays")):
        label = next(cell for cell in cells if cell.value == label)
        sheet.cell(label.row, label.column + 1, text)
    cells = [cell for row in book["Supply"].iter_rows() for cell in row]
    part = next(cell for cell in cells if cell.value == "hose splitter")
    note = next(c for c in cells if c.value == "Note" and c.row == part.row - 1)
    book["Supply"].cell(part.row, note.column, "Brackwater stock")
    book.save(tmp_path / "work.xlsx")
    inputs, told = made(tmp_path / "next.xlsx", tmp_path / "work.xlsx", "--for", "consultant")
    items = [row["item"] for row in inputs.tables["QuotationLines"]]
    assert "Visit to the farm" in items
    assert "Brackwater" not in str(inputs)
    assert "not taken over, for they name the former client: Gate post for Brackwater" in told
    assert "Not taken over, for it names the former client: Terms of payment" in told
    assert "Notes that name the former client, taken out: 1\n" in told
    assert "Supply: kept hose splitter, " in told


def test_the_cost_of_the_parts_is_computed_in_each_garden(tmp_path: Path) -> None:
    """Taken over with the name of the cost, or with the cell on Quoting that shows it."""
    first = tmp_path / "first.xlsx"
    assert CliRunner().invoke(new.command, [str(first), "--for", "consultant"]).exit_code == 0
    book = openpyxl.load_workbook(first)
    quoting = book["Quoting"]
    head = next(c for row in quoting.iter_rows() for c in row if c.value == "Item")
    tax = next(c for row in quoting.iter_rows() for c in row if c.value == "With their tax")
    for row, values in ((head.row + 2, ("Lines", 1, "set", f"=$B${tax.row}")),
                        (head.row + 3, ("Digging", 90, "ft", 1.4))):  # fmt: skip
        for col, value in enumerate(values, head.column):
            quoting.cell(row, col, value)
    book.save(first)
    _, told = made(tmp_path / "next.xlsx", first)
    book = openpyxl.load_workbook(tmp_path / "next.xlsx")
    sheet = book["Quoting"]
    assert "Ledger" not in book.sheetnames, "for a consultant too"
    rows = [[sheet.cell(head.row + i, head.column + j).value for j in (0, 1, 3)] for i in (1, 2, 3)]
    assert [row[:2] for row in rows] == [["Parts and lines", 1], ["Lines", 1], ["Digging", None]]
    assert rows[0][2] == '=IF(N(cost_of_parts)=0,"",cost_of_parts-N(tax_of_parts))'
    assert rows[1][2] == '=IF(N(cost_of_parts)=0,"",cost_of_parts)'
    assert "type them anew" not in told
    again = openpyxl.load_workbook(BytesIO(remade(tmp_path / "next.xlsx").content))["Quoting"]
    assert again.cell(head.row + 1, head.column + 3).value == rows[0][2]


def test_in_the_other_units_prices_stay_and_lengths_are_converted(
    former: Path, tmp_path: Path
) -> None:
    inputs, _ = made(tmp_path / "next.xlsx", former, "--units", "metric")
    old, new_ones = (i.tables["Lines"][0] for i in (read_inputs(former).inputs, inputs))
    assert new_ones["emitter_spacing"] == pytest.approx(old["emitter_spacing"] * 2.54)
    assert inputs.settings["markup"] == read_inputs(former).inputs.settings["markup"]


def test_the_pipe_that_beds_lie_on_is_the_one_that_is_bought() -> None:
    beds = [{"bed": "A", "main_pipe": "pipe one inch", "manifold_pipe": "tubing three quarter"}]
    rules = starting_inputs("us", beds).tables["CountingRules"]
    bought = {row["counted_by"]: row["part"] for row in rules}
    assert bought["main length"] == "pipe one inch"
    assert bought["manifold length"] == "tubing three quarter"
    rules = starting_inputs("us", [{"bed": "A", "main_pipe": "a pipe of mine"}])
    assert rules.tables["CountingRules"][11]["part"] == "tubing three quarter"
