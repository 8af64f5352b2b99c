"""The client's copy: nothing of the consultant's in it, and right numbers without our functions."""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from functools import lru_cache
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from click.testing import CliRunner

from tests.made_once import made
from tests.workbook_template.client_copy.client_workbooks import (
    AREA,
    CANARIES,
    FILLED_BEDS,
    HIDDEN_SOIL,
    LENGTHS,
    MARKUP,
    PRICES,
    TYPED,
    consultants_inputs,
    consultants_workbook,
    found,
    with_foreign_parts,
    with_formula,
    without,
)
from workbook_template.build import Built, build
from workbook_template.client_copy.copying import ClientCopy, Wishes, client_copy
from workbook_template.client_copy.pages import NOTICE
from workbook_template.client_copy.scheme import Scheme
from workbook_template.client_copy.settings import Settings
from xlfuncs.command_line.commands.client_copy import command
from xlfuncs.errors import WorkbookError
from xlfuncs.hosts.cells import worksheet_callables
from xlfuncs.hosts.libreoffice.office import Office
from xlfuncs.workbooks.recalculating.engine import evaluate

# Without a spread, so that a price follows from its cost and the markup alone.
PLAIN = Settings(prices=Scheme(spread=0.0))
SOLD = [PLAIN.prices.price(price, MARKUP) for price in PRICES]
TAX = 0.0625  # of the quotation; parts enter without what was paid on them
LENGTH, LATERALS, NOTES, COMPUTED_AREA = "D", "G", "S", "T"  # columns of Beds


@pytest.fixture(scope="module")
def original() -> bytes:
    return with_foreign_parts(consultants_workbook())


@pytest.fixture(scope="module")
def copy(original: bytes) -> ClientCopy:
    return copied(original)


@pytest.fixture(scope="module")
def still(original: bytes) -> ClientCopy:
    """Values only."""
    return copied(original, values_only=True)


@pytest.fixture(scope="module")
def built() -> Built:
    """The consultant's workbook without the traces, for the places of its cells."""
    return made("us", consultants_inputs())[1]


def copied(content: bytes | Path, **wishes: Any) -> ClientCopy:
    return client_copy(content, worksheet_callables(), Wishes(settings=PLAIN, **wishes))


@lru_cache(maxsize=12)
def opened(content: bytes, *, values: bool = False) -> Any:
    """For reading only: the next test gets the same."""
    return editable(content, values=values)


def editable(content: bytes, *, values: bool = False) -> Any:
    return openpyxl.load_workbook(io.BytesIO(content), data_only=values)


def row_of(content: bytes, sheet: str, label: str) -> int:
    """The row whose first cell says this."""
    rows = opened(content)[sheet].iter_rows(max_col=1)
    return next(cell.row for (cell,) in rows if cell.value == label)


def changed(content: bytes, sheet: str, **cells: object) -> bytes:
    """The copy after its reader typed something, as openpyxl writes it."""
    book = editable(content)
    for cell, value in cells.items():
        book[sheet][cell] = value
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def in_calc(calc: Office, folder: Path, content: bytes) -> dict[str, dict[str, object]]:
    path = folder / "copy.xlsx"
    path.write_bytes(content)
    return {name: dict(cells) for name, cells in calc.values(path).items()}


def in_engine(content: bytes) -> dict[str, dict[str, object]]:
    values = evaluate(content, {}).values
    return {
        sheet: {f"{openpyxl.utils.get_column_letter(c)}{r}": v for (r, c), v in cells.items()}
        for sheet, cells in values.items()
    }


# --- what is gone ---


def test_the_canaries_are_in_the_original(original: bytes) -> None:
    assert {line.split()[0] for line in found(original)} == {*CANARIES, *TYPED}


@pytest.mark.parametrize("values_only", [False, True])
def test_no_part_of_the_copy_holds_a_canary(
    original: bytes, copy: ClientCopy, still: ClientCopy, values_only: bool
) -> None:
    noted = copied(original, include=["Own notes"], values_only=values_only)
    traces = found(noted.content)
    # The note typed on a sheet that was asked for is the only one that goes along.
    assert [trace.split()[0] for trace in traces] == [CANARIES[6]]
    assert opened(noted.content)["Own notes"]["A3"].value == CANARIES[6]
    assert found((still if values_only else copy).content) == []


def test_no_function_macro_or_foreign_part_is_left(copy: ClientCopy) -> None:
    with zipfile.ZipFile(io.BytesIO(copy.content)) as package:
        names = package.namelist()
        text = "".join(package.read(name).decode() for name in names)
    known = r"\[Content_Types\]|_rels|docProps/|xl/(workbook|styles|theme|worksheets|drawings"
    assert all(re.match(known + r"|charts|sharedStrings|_rels)", name) for name in names)
    assert set(re.findall(r"\b([A-Z]\w*)\(", text)) & {*worksheet_callables()} == set()
    assert "https://example.com" not in text
    assert "comments" not in text and "valve_price" not in text


def test_every_string_of_the_file_stands_in_a_cell(copy: ClientCopy) -> None:
    """The program that writes the file keeps strings of all sheets in one table."""
    with zipfile.ZipFile(io.BytesIO(copy.content)) as package:
        table = package.read("xl/sharedStrings.xml").decode()
        sheets = [package.read(n).decode() for n in package.namelist() if "worksheets/sheet" in n]
    used = {int(n) for text in sheets for n in re.findall(r't="s"><v>(\d+)</v>', text)}
    assert used == set(range(table.count("<si>")))


def test_internal_sheets_rows_and_columns_are_gone(copy: ClientCopy, built: Built) -> None:
    book = opened(copy.content)
    assert book.sheetnames[:3] == ["About", "Quotation", "Summary"]
    assert book.sheetnames == copy.sheets and book.sheetnames[-1] == "As delivered"
    assert {"Quoting", "Prices", "Own notes", "My prices", "Old plan"} <= set(copy.left_out)
    assert not set(copy.left_out) & set(book.sheetnames)
    for table, column in (("Lines", "note"), ("Beds", "notes"), ("PartLives", "note")):
        place = built.places[table]
        cells = book[place.sheet].iter_rows(
            place.first, place.last + 1, place.columns[column] + 1, place.columns[column] + 1
        )
        assert all(cell.value is None for (cell,) in cells)
    assert "weekly_depth" in book.defined_names and "markup" not in book.defined_names
    assert not {"valve_price", "quotation_result", "jqxzname"} & set(book.defined_names)
    assert all(book[name].sheet_state == "visible" for name in book.sheetnames)


def test_what_was_hidden_is_gone(copy: ClientCopy, original: bytes, built: Built) -> None:
    soils = built.places["Soils"]
    place = ("Soils", f"A{soils.first + 1}")
    assert opened(original)[place[0]][place[1]].value == HIDDEN_SOIL
    assert opened(copy.content)[place[0]][place[1]].value is None
    assert opened(copy.content)["Soils"].row_dimensions[soils.first + 1].hidden
    assert opened(copy.content)["Soils"][f"A{soils.first + 2}"].value


def test_charts_remember_what_their_cells_show(copy: ClientCopy) -> None:
    """The template's own charts come along, no other; their caches are of the copy's values."""
    shown = opened(copy.content, values=True)
    with zipfile.ZipFile(io.BytesIO(copy.content)) as package:
        charts = [package.read(n).decode() for n in package.namelist() if "charts/chart" in n]
    compared = 0
    for chart in charts:
        for sheet, cells, cache in re.findall(
            r"<c:f>'?([\w ]+)'?!([$A-Z0-9:]+)</c:f><c:numCache>(.*?)</c:numCache>", chart
        ):
            area = shown[sheet][cells.replace("$", "")]
            values = [cell.value for row in area for cell in row]
            for index, point in re.findall(r'<c:pt idx="(\d+)"><c:v>([^<]*)</c:v>', cache):
                value = values[int(index)]
                # The program that writes charts takes a text for 0.
                assert float(point) == (0 if value is None else pytest.approx(value))
                compared += value is not None
    assert compared > 20 and len(charts) == sum(len(s._charts) for s in shown.worksheets)


def test_the_report_names_what_stayed(copy: ClientCopy) -> None:
    """Headers, rules, formats and names are the template's anew; what was put in is named."""
    told = str(copy)
    for words in (
        "your column Variety of Beds", "the comment at Lines!", "cells of your own on Beds",
        "charts of your own on Summary", "text boxes on Summary", "the look that you gave",
        "of Beds, which is hidden",
    ):  # fmt: skip
        assert words in told, words


@pytest.mark.libreoffice
def test_a_workbook_saved_by_calc_gives_the_same_copy(
    original: bytes, copy: ClientCopy, calc: Office, tmp_path: Path
) -> None:
    path = tmp_path / "original.xlsx"
    path.write_bytes(original)
    saved = calc.save(path, tmp_path / "saved.xlsx", "Calc MS Excel 2007 XML", recalculate=False)
    again = copied(saved.read_bytes())
    assert found(again.content) == []
    ours, theirs = (opened(c.content, values=True) for c in (copy, again))
    for sheet in ours.sheetnames[1:-1]:
        for row in ours[sheet].iter_rows():
            for cell in row:
                assert theirs[sheet][cell.coordinate].value == cell.value, (sheet, cell.coordinate)
        assert len(ours[sheet]._charts) == len(theirs[sheet]._charts)


# --- prices ---


def test_selling_prices_are_rounded_to_steps() -> None:
    price = PLAIN.prices.price
    assert price(148.0, 0.4) == 210.0  # 207.2 to two digits
    assert price(21.43, 0.4) == 30.0  # 30.002 to fives
    assert price(5.21, 0.4) == 7.0  # 7.294 to whole units
    assert price(0.91, 0.4) == 1.25  # 1.274 to quarters
    assert price(0.07, 0.4) == 0.10  # 0.098 to five cents
    assert price(0.001, 0.4) == 0.05
    assert price(0.0, 0.4) == 0.0
    assert price(5.21, 0.0) == 5.21  # without a markup there is nothing to keep back


def test_costs_in_cents_leave_every_markup_possible() -> None:
    """Each price is tried with each markup: is there a cost in cents that gives it?"""
    prices = {PLAIN.prices.price(cents / 100, 0.37) for cents in range(4, 40_000, 7)}
    for markup in (0.05, 0.1, 0.25, 0.33, 0.4, 0.5, 0.7, 0.99):
        for price in prices:
            near = round(price / (1 + markup) * 100)
            costs = [(near + step) / 100 for step in range(-2, 3)]
            assert price in {PLAIN.prices.price(cost, markup) for cost in costs}, (markup, price)


def purchase(content: bytes) -> dict[str, tuple[Any, ...]]:
    """What Purchase says of each part: number, price, delivery and tax apart, total."""
    sheet = opened(content, values=True)["Purchase"]
    head = row_of(content, "Purchase", "Part")
    rows = sheet.iter_rows(head + 1, head + 4, max_col=9, values_only=True)
    return {row[0]: row for row in rows if row[0]}


def test_everything_is_at_selling_prices(copy: ClientCopy, built: Built) -> None:
    bought = purchase(copy.content)
    assert bought["valve"][1] == FILLED_BEDS and bought["valve"][4] == SOLD[2]
    _, rolls, _, _, price, net, _, tax, total, *_ = bought["tape"]
    assert price in SOLD[:2] and net == pytest.approx(rolls * price)
    assert tax == pytest.approx(TAX * net, abs=0.006) and total == pytest.approx(net + tax)
    lines, lives = built.places["Lines"], built.places["PartLives"]
    shown = opened(copy.content, values=True)
    for place, column in ((lines, "roll_price"), (lives, "cost")):
        cell = shown[place.sheet].cell(place.first + 1, place.columns[column] + 1)
        assert cell.value == SOLD[0]
    yearly = shown["Cost"].cell(lives.first + 1, lives.columns["yearly_likely_life"] + 1).value
    assert yearly == pytest.approx(SOLD[0] / 5)  # straight line over five years


@pytest.mark.parametrize("wish", [{"markup": 0.9}, {"margin": 0.4}, {"markup": 0.0}])
def test_another_margin_requotes_everything(
    original: bytes, copy: ClientCopy, wish: dict[str, float]
) -> None:
    """Quotation too: its price before tax is the sum of the lines and of labour, as printed."""
    other = copied(original, **wish)
    costs = [round(3 * cost, 2) * 1.0751234 for cost in (PRICES[2], PRICES[1])]  # valves, labour
    markup = 1 / (1 - wish["margin"]) - 1 if "margin" in wish else wish["markup"]
    for one, above in ((other, markup), (copy, MARKUP)):
        sold = sum(round(PLAIN.prices.price(cost, above, "work"), 2) for cost in costs)
        assert _quoted(one, "Price before tax") == pytest.approx(sold, abs=0.001)
        assert sold == pytest.approx(sum(costs) * (1 + above), rel=0.06)  # steps of two digits
    price = purchase(other.content)["valve"][4]
    assert price == PLAIN.prices.price(PRICES[2], markup) != purchase(copy.content)["valve"][4]
    assert found(other.content, CANARIES[3:]) == []


def _quoted(copy: ClientCopy, label: str) -> float:
    row = row_of(copy.content, "Quotation", label)
    return float(opened(copy.content, values=True)["Quotation"][f"C{row}"].value)


def test_what_rests_on_a_number_of_the_consultants_is_left_blank(original: bytes) -> None:
    copy = copied(original, include=["Own notes"])
    sheet = opened(copy.content, values=True)["Own notes"]
    # A price on another own sheet, what rests on it, a cost on Quoting, what a hidden row holds.
    for row in (4, 5, 7, 8, 21):
        assert sheet[f"A{row}"].value is None
        assert "may be a cost" in copy.left_blank["Own notes", row, 1]
    assert "Own notes!A4" in str(copy)
    assert sheet["A6"].value == pytest.approx(2 * AREA)


def test_a_markup_or_margin_must_be_known() -> None:
    content = consultants_workbook(without(consultants_inputs(), "markup"))
    with pytest.raises(WorkbookError, match="neither a markup nor a margin"):
        copied(content)
    assert copied(content, markup=0).sheets
    inputs = consultants_inputs()
    as_text = replace(inputs, settings={**inputs.settings, "markup": "41.79263%"})
    content = consultants_workbook(as_text)
    bought = purchase(copied(content).content)
    assert bought["valve"][4] == SOLD[2]


def test_only_named_sheets_and_columns_of_the_consultants_own_go_along(original: bytes) -> None:
    copy = copied(original, include=["Own notes", "variety"])
    sheet = opened(copy.content)["Own notes"]
    assert sheet["A1"].value == 2.25  # 2 ft 3 in in the unit of its reader, feet
    assert sheet["A2"].value.startswith("=") and "BED_AREA" not in sheet["A2"].value
    assert any(c.value == "early" for row in opened(copy.content)["Beds"].iter_rows() for c in row)
    told = str(copy)
    assert "your sheet Own notes: 3 typed cells; in formulas 0, 1, 10, 2" in told
    assert "as typed: your column Variety of Beds: 3 typed cells" in told
    assert "headers, footers, lists, prompts" in told and "formats, styles, themes, names" in told
    for name, words in (("Mine", "no sheet 'Mine'"), ("Quoting", "no sheet or column of your own")):
        with pytest.raises(WorkbookError, match=words):
            copied(original, include=[name])


def test_a_sheet_that_nobody_filled_in_stays_at_home_unless_it_is_named(
    original: bytes, copy: ClientCopy
) -> None:
    """Its plan and weather are blank, its lives of parts are not."""
    waiting = ["Plan", "Weather", "Bed need", "Need", "Season"]
    assert f"Left at home, not filled in: {', '.join(waiting)}\n" in str(copy)
    assert not {*waiting} & {*copy.sheets} and {*waiting} <= {*copy.left_out}
    assert {"Valves", "Timer", "Cost"} <= {*copy.sheets}
    unsaid = "Blank on Quoting, so not in the proposal: Supply measured on, Terms of payment"
    assert unsaid in copy.brief()
    named = copied(original, include=["plan", "Weather"])
    assert {"Plan", "Weather"} <= {*named.sheets}
    assert "Left at home, not filled in: Bed need, Need, Season\n" in str(named)
    assert "Left at home" not in named.brief()


def test_a_sheet_that_is_left_out_leaves_values_behind(original: bytes) -> None:
    copy = copied(original, leave_out=["Beds"])
    sheet = opened(copy.content, values=True)["Summary"]
    assert "Beds" in copy.left_out and "Beds" not in copy.sheets
    assert sheet[f"B{row_of(copy.content, 'Summary', 'Planted area')}"].value == pytest.approx(AREA)


def test_sheets_that_only_work_behind_are_not_shown(tmp_path: Path) -> None:
    """A grower's edition has no Summary, Quotation or Cost of its own."""
    path = tmp_path / "farm.xlsx"
    build(path, "us", consultants_inputs(), edition="grower")
    shown = set(opened(path.read_bytes()).sheetnames)
    copy = copied(path, markup=0.4)
    assert set(copy.sheets) - {"About", "As delivered"} < shown - {"Workings"}
    assert "Workings" in copy.left_out and found(copy.content) == []


def test_a_file_that_is_not_of_the_template_is_refused(copy: ClientCopy) -> None:
    out = io.BytesIO()
    openpyxl.Workbook().save(out)
    for content in (out.getvalue(), copy.content):  # a client's copy is none either
        with pytest.raises(WorkbookError, match="not a workbook of the template"):
            copied(content, markup=0.4)


def test_a_formula_typed_for_an_input_becomes_its_value(original: bytes, built: Built) -> None:
    """Its literals stay with the consultant; a cost in it becomes a selling price."""
    lines = built.places["Lines"]
    cell = f"{openpyxl.utils.get_column_letter(lines.columns['roll_price'] + 1)}{lines.first + 1}"
    content = with_formula(original, "Lines", cell, "7.305819*2", PRICES[1] * 2)
    copy = copied(content)
    assert opened(copy.content)["Lines"][cell].value == PLAIN.prices.price(PRICES[1] * 2, MARKUP)
    assert found(copy.content) == [] and f"Lines!{cell}: your formula" in str(copy)


# --- numbers without our functions ---


def test_calc_without_our_add_in_gives_the_same_numbers(
    copy: ClientCopy, calc: Office, tmp_path: Path
) -> None:
    got = in_calc(calc, tmp_path, copy.content)
    area, week = (row_of(copy.content, "Summary", w) for w in ("Planted area", "Water per week"))
    assert got["Summary"][f"B{area}"] == pytest.approx(AREA, rel=1e-9)
    # 1 inch on 1 square foot is 144 in3; a US gallon is 231 in3 (NIST Handbook 44, appendix C)
    assert got["Summary"][f"B{week}"] == pytest.approx(AREA * 1.2 * 144 / 231 / 0.9)
    for sheet in opened(copy.content, values=True).worksheets:
        for row in sheet.iter_rows():
            for cell in row:
                value = got[sheet.title].get(cell.coordinate, "")
                if isinstance(cell.value, int | float) and not isinstance(cell.value, bool):
                    assert value == pytest.approx(cell.value, rel=1e-9), (sheet.title, cell)
                elif cell.value is not None and cell.data_type == "s":
                    assert value == cell.value, (sheet.title, cell)


def test_the_copy_has_plain_formulas_and_says_so(copy: ClientCopy, built: Built) -> None:
    beds = built.places["Beds"]
    row = beds.first + 1
    sheet = opened(copy.content)["Beds"]
    area = sheet.cell(row, beds.columns["area"] + 1).value
    assert area.startswith("=IF(") and f"{LENGTH}{row}<0" in area
    assert sheet[f"{LENGTH}{row}"].value == LENGTHS[0]  # 46 ft 6 in
    assert copy.plain > 1000 and "uses the name bought_result" in str(copy)


RECALCULATIONS: list[Callable[..., dict[str, dict[str, object]]]] = [
    lambda _calc, _folder, content: in_engine(content),
    in_calc,
]


@pytest.mark.parametrize("program", [0, 1], ids=["engine", "calc"])
def test_an_input_changes_what_rests_on_it(
    copy: ClientCopy, built: Built, request: pytest.FixtureRequest, tmp_path: Path, program: int
) -> None:
    calc = request.getfixturevalue("calc") if program else None
    sheet, row, col = built.names["weekly_depth"]
    cell = f"{openpyxl.utils.get_column_letter(col + 1)}{row + 1}"
    got = RECALCULATIONS[program](calc, tmp_path, changed(copy.content, sheet, **{cell: 2.4}))
    before = opened(copy.content, values=True)
    week = f"B{row_of(copy.content, 'Summary', 'Water per week')}"
    assert got["Summary"][week] == pytest.approx(2 * before["Summary"][week].value)
    cost = f"B{row_of(copy.content, 'Purchase', 'Cost of all parts')}"
    assert got["Purchase"][cost] == pytest.approx(before["Purchase"][cost].value)  # buys no rolls


def _edits(built: Built) -> dict[str, tuple[str, str, object]]:
    beds, lines = built.places["Beds"], built.places["Lines"]
    price, first = openpyxl.utils.get_column_letter(lines.columns["cv"] + 1), beds.first
    return {
        "a length": ("Beds", f"{LENGTH}{first + 2}", 63),
        "a text for a number": ("Beds", f"{LENGTH}{first + 2}", "x"),
        "a number cleared": ("Beds", f"{LENGTH}{first + 2}", None),
        "laterals": ("Beds", f"{LATERALS}{first + 3}", 3),
        "a bed in a blank row": ("Beds", f"{LENGTH}{beds.last + 1}", 10),
        "an emitter spacing": ("Lines", f"C{lines.first + 1}", 12),
        "a blank of a line": ("Lines", f"{price}{lines.first + 1}", 0.1),
    }  # fmt: skip


@pytest.mark.parametrize("program", [0, 1], ids=["engine", "calc"])
@pytest.mark.parametrize("edit", range(7))
def test_an_input_behind_a_frozen_value_shows_the_notice(
    copy: ClientCopy, built: Built, request: pytest.FixtureRequest, tmp_path: Path, program: int,
    edit: int,
) -> None:  # fmt: skip
    calc = request.getfixturevalue("calc") if program else None
    sheet, cell, value = list(_edits(built).values())[edit]
    got = RECALCULATIONS[program](calc, tmp_path, changed(copy.content, sheet, **{cell: value}))
    alone = value == 0.1  # how evenly emitters are made buys no rolls
    for name in ("Pressure",) if alone else ("Purchase", "Pressure", "Cost"):
        assert NOTICE in got[name].values(), name
    # Beside the quotation; the document itself stays as delivered.
    assert got["Quotation"].get("C1", "") == ("" if alone else NOTICE)
    kept = opened(copy.content, values=True)["Quotation"]
    for row in kept.iter_rows(min_row=2):
        for c in row:
            now = got["Quotation"].get(c.coordinate, c.value)
            assert now == (pytest.approx(c.value) if isinstance(c.value, float) else c.value)
    if (sheet, value) == ("Beds", 63):  # what is computed plainly goes on
        area = f"B{row_of(copy.content, 'Summary', 'Planted area')}"
        assert got["Summary"][area] == pytest.approx(46.5 * 2.5 + 63 * 2.5 + 50 * 2)


def test_the_copy_itself_shows_no_notice(copy: ClientCopy, built: Built) -> None:
    assert not any(NOTICE in cells.values() for cells in in_engine(copy.content).values())
    row = built.places["Beds"].first + 1
    for cell, value in ((f"A{row}", "A"), (f"{LENGTH}{row}", 46.5)):  # typed again
        got = in_engine(changed(copy.content, "Beds", **{cell: value}))
        assert not any(NOTICE in cells.values() for cells in got.values())


# --- the file ---


def test_protection_leaves_the_inputs_open(original: bytes, built: Built) -> None:
    copy = copied(original, protect=True)
    book = opened(copy.content)
    assert all(sheet.protection.sheet for sheet in book.worksheets)
    row, lines = built.places["Beds"].first + 1, built.places["Lines"]
    assert not book["Beds"][f"{LENGTH}{row}"].protection.locked
    sheet, at, col = built.names["weekly_depth"]
    assert not book[sheet].cell(at + 1, col + 1).protection.locked
    area = book["Beds"].cell(row, built.places["Beds"].columns["area"] + 1)
    price = book["Lines"].cell(lines.first + 1, lines.columns["roll_price"] + 1)
    assert area.protection.locked and price.protection.locked


def test_values_only_has_no_formula_and_no_list_of_inputs(
    still: ClientCopy, copy: ClientCopy
) -> None:
    book = opened(still.content)
    assert "As delivered" not in book.sheetnames
    cells = [cell for sheet in book.worksheets for row in sheet.iter_rows() for cell in row]
    assert not [cell for cell in cells if cell.data_type == "f"]
    assert purchase(still.content) == purchase(copy.content)


def test_the_same_workbook_gives_the_same_bytes(original: bytes, copy: ClientCopy) -> None:
    assert copied(original).content == copy.content


def test_command_writes_the_copy_beside_the_file(original: bytes, tmp_path: Path) -> None:
    path = tmp_path / "plan.xlsx"
    path.write_bytes(original)
    result = CliRunner().invoke(command, [str(path), "--include", "Own notes"])
    assert result.exit_code == 1 and "Left blank" in result.output  # as told in words
    assert (tmp_path / "plan-client.pdf").read_bytes()[
        :5
    ] == b"%PDF-" and path.read_bytes() == original
    again = CliRunner().invoke(command, [str(path)])
    assert again.exit_code == 2 and "there already" in again.output
    both = CliRunner().invoke(command, [str(path), "--markup", "1", "--margin", "0.5", "--force"])
    assert both.exit_code == 2


def test_the_proposal_holds_no_canary(copy: ClientCopy) -> None:
    pypdf = pytest.importorskip("pypdf")
    content = copy.proposal()
    reader = pypdf.PdfReader(io.BytesIO(content))
    text = "".join(page.extract_text() for page in reader.pages) + str(reader.metadata)
    assert "B. Example" in text
    assert not [c for c in (*CANARIES, *TYPED) if c in re.sub(r"[.\s,]", "", text)]
    assert not [c for c in (*CANARIES, *TYPED) if c.encode() in content]


def test_blank_rows_are_watched_by_their_number(copy: ClientCopy, built: Built) -> None:
    sheet, beds = opened(copy.content)["As delivered"], built.places["Beds"]
    rows = {tuple(cell.value for cell in row[:4]) for row in sheet.iter_rows()}
    cells = f"{LENGTH}{beds.first}:{LENGTH}{beds.last + 1}"  # functions read the header too
    assert ("Beds", cells, "Length (ft): filled cells", FILLED_BEDS + 1) in rows


def test_a_renamed_sheet_comes_along(original: bytes) -> None:
    """A sheet of the template is known by its tables and names, whatever it is called."""
    book = editable(original)
    book["Soils"].title = "Our soils"
    out = io.BytesIO()
    book.save(out)
    copy = copied(out.getvalue())
    assert "Soils" in copy.sheets and "Our soils" not in copy.left_out
    about = opened(copy.content, values=True)["About"]
    assert datetime(2026, 2, 15) in {cell.value for (cell,) in about["B4:B12"]}
