"""The client's copy: nothing of the consultant's in it, and right numbers without our functions."""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Callable
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner

from tests.workbook_template.client_copy.client_workbooks import (
    CANARIES,
    FILLED_BEDS,
    LAST_BED,
    MARKUP,
    PRICES,
    consultants_workbook,
    found,
    with_foreign_parts,
)
from workbook_template.client_copy.copying import ClientCopy, Wishes, client_copy
from workbook_template.client_copy.pages import NOTICE
from workbook_template.client_copy.prices import selling_price
from xlfuncs.command_line.commands.client_copy import command
from xlfuncs.errors import WorkbookError
from xlfuncs.hosts.cells import call_from_cells, worksheet_callables
from xlfuncs.hosts.libreoffice.office import Office
from xlfuncs.workbooks.recalculating.engine import evaluate

SOLD = [selling_price(price, MARKUP) for price in PRICES]
PIECES = [["Length (ft)", "Laterals"], [46.5, 3.0], [62.5, 2.0], [50.0, 2.0]]


@pytest.fixture(scope="module")
def original() -> bytes:
    return with_foreign_parts(consultants_workbook())


@pytest.fixture(scope="module")
def copy(original: bytes) -> ClientCopy:
    return client_copy(original, worksheet_callables())


def changed(content: bytes, sheet: str, **cells: object) -> bytes:
    """The copy after its reader typed something, as openpyxl writes it."""
    book = openpyxl.load_workbook(io.BytesIO(content))
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
    assert {line.split()[0] for line in found(original)} == set(CANARIES)


@pytest.mark.parametrize("values_only", [False, True])
def test_no_part_of_the_copy_holds_a_canary(original: bytes, values_only: bool) -> None:
    wishes = Wishes(include=["Own notes"], values_only=values_only)
    copy = client_copy(original, worksheet_callables(), wishes)
    traces = found(copy.content)
    # The note typed on a sheet that was asked for is the only one that goes along.
    assert all("sheet" in trace for trace in traces) and len(set(traces)) <= 2
    assert found(client_copy(original, worksheet_callables()).content) == []


def test_no_function_macro_or_foreign_part_is_left(copy: ClientCopy) -> None:
    with zipfile.ZipFile(io.BytesIO(copy.content)) as package:
        names = package.namelist()
        text = "".join(package.read(name).decode() for name in names)
    known = r"\[Content_Types\]|_rels|docProps/core|xl/(workbook|styles|theme|worksheets|drawings"
    assert all(re.match(known + r"|charts|_rels)", name) for name in names)
    for name in worksheet_callables():
        assert not re.search(rf"\b{name}\(", text), name
    assert "https://example.com" not in text
    assert "comments" not in text and "sharedStrings" not in text and "valve_price" not in text


def test_internal_sheets_rows_and_columns_are_gone(copy: ClientCopy) -> None:
    book = openpyxl.load_workbook(io.BytesIO(copy.content))
    assert book.sheetnames == ["About", "Summary", "Setup", "Lines", "Beds", "As delivered"]
    assert copy.left_out == ["Quoting", "Prices", "Own notes"]
    assert all(book["Lines"].cell(row, 6).value is None for row in range(1, 4))
    assert all(book["Beds"].cell(row, 6).value is None for row in range(1, 9))
    assert list(book.defined_names) == ["weekly_depth"]
    assert all(book[name].sheet_state == "visible" for name in book.sheetnames)


def test_a_chart_of_what_is_left_out_stays_behind(copy: ClientCopy) -> None:
    with zipfile.ZipFile(io.BytesIO(copy.content)) as package:
        charts = [name for name in package.namelist() if "charts/chart" in name]
        cache = package.read(charts[0]).decode()
    assert len(charts) == 1
    points = re.findall(r"<c:v>([^<]*)</c:v>", cache)
    assert points[:3] == ["Amount", "long", "short"]
    assert sum(map(float, points[3:])) == pytest.approx(_purchase(0)[1] + _purchase(1)[1])
    assert any("a chart on Summary" in note for note in copy.notes)
    assert any("text box on Summary" in note for note in copy.notes)


@pytest.mark.libreoffice
def test_a_workbook_saved_by_calc_gives_a_readable_copy_with_its_chart(
    original: bytes, copy: ClientCopy, calc: Office, tmp_path: Path
) -> None:
    path = tmp_path / "original.xlsx"
    path.write_bytes(original)
    saved = calc.save(path, tmp_path / "saved.xlsx", "Calc MS Excel 2007 XML", recalculate=False)
    again = client_copy(saved.read_bytes(), worksheet_callables())
    assert found(again.content) == []
    ours, theirs = (openpyxl.load_workbook(io.BytesIO(c.content)) for c in (copy, again))
    assert len(ours["Summary"]._charts) == len(theirs["Summary"]._charts) == 1


# --- prices ---


def test_selling_prices_are_rounded_to_steps() -> None:
    assert selling_price(148.0, 0.4) == 207.0  # 207.2 to three digits
    assert selling_price(21.43, 0.4) == 30.0  # 30.002 to tenths
    assert selling_price(5.21, 0.4) == 7.3  # 7.294 to five cents
    assert selling_price(0.07, 0.4) == 0.10  # 0.098 to two cents
    assert selling_price(0.001, 0.4) == 0.02
    assert selling_price(0.0, 0.4) == 0.0
    assert selling_price(5.21, 0.0) == 5.21  # without a markup there is nothing to keep back


def test_costs_in_cents_leave_every_markup_possible() -> None:
    """Each price is tried with each markup: is there a cost in cents that gives it?"""
    prices = {selling_price(cents / 100, 0.37) for cents in range(4, 40_000, 7)}
    for markup in (0.05, 0.1, 0.25, 0.33, 0.4, 0.5, 0.7, 0.99):
        for price in prices:
            near = round(price / (1 + markup) * 100)
            costs = [(near + step) / 100 for step in range(-2, 3)]
            assert price in {selling_price(cost, markup) for cost in costs}, (markup, price)


def _purchase(row: int) -> tuple[float, float]:
    """Rolls and cost that Python gives at selling prices."""
    sold = [["Roll length (ft)", "Roll price"], [1000.0, SOLD[0]], [100.0, SOLD[1]]]
    rolls = call_from_cells("ROLL_PURCHASE", (PIECES, sold, None, "us"))
    return rolls[row][1], rolls[row][2]


def test_everything_is_at_selling_prices(copy: ClientCopy) -> None:
    book = openpyxl.load_workbook(io.BytesIO(copy.content), data_only=True)
    summary, lines = book["Summary"], book["Lines"]
    assert [lines["E2"].value, lines["E3"].value] == SOLD[:2]
    for row in (0, 1):
        assert summary.cell(6 + row, 3).value == pytest.approx(_purchase(row)[1])
    total = _purchase(0)[1] + _purchase(1)[1]
    assert summary["C8"].value == pytest.approx(total)
    assert summary["C10"].value == pytest.approx(SOLD[0] / 5)  # straight line over five years


def test_what_rests_on_an_unexplained_number_of_the_consultants_is_left_blank(
    copy: ClientCopy,
) -> None:
    sheet = openpyxl.load_workbook(io.BytesIO(copy.content))["Summary"]
    assert sheet["C11"].value is None and sheet["C12"].value is None
    assert copy.left_blank["Summary", 11, 3].startswith("rests on Prices!B2")
    assert "Summary!C12" in str(copy)


def test_a_markup_or_margin_must_be_known() -> None:
    book = openpyxl.Workbook()
    book.active.title = "Summary"
    out = io.BytesIO()
    book.save(out)
    with pytest.raises(WorkbookError, match="neither a markup nor a margin"):
        client_copy(out.getvalue(), worksheet_callables())
    assert client_copy(out.getvalue(), worksheet_callables(), Wishes(markup=0)).sheets


def test_only_named_sheets_of_the_consultants_own_go_along(original: bytes) -> None:
    copy = client_copy(original, worksheet_callables(), Wishes(include=["Own notes"]))
    sheet = openpyxl.load_workbook(io.BytesIO(copy.content))["Own notes"]
    assert sheet["A1"].value == 2.25  # 2 ft 3 in in the unit of its reader, feet
    with pytest.raises(WorkbookError, match="no sheet 'Mine'"):
        client_copy(original, worksheet_callables(), Wishes(include=["Mine"]))


def test_a_sheet_that_is_left_out_leaves_values_behind(original: bytes) -> None:
    copy = client_copy(original, worksheet_callables(), Wishes(leave_out=["Beds"]))
    sheet = openpyxl.load_workbook(io.BytesIO(copy.content), data_only=True)["Summary"]
    assert "Beds" in copy.left_out
    assert sheet["B2"].value == pytest.approx(46.5 * 2.5 + 62.5 * 2.5 + 50 * 2)


# --- numbers without our functions ---


def test_calc_without_our_add_in_gives_the_same_numbers(
    copy: ClientCopy, calc: Office, tmp_path: Path
) -> None:
    got = in_calc(calc, tmp_path, copy.content)
    area = 46.5 * 30 / 12 + 62.5 * 30 / 12 + 50 * 24 / 12  # ft2, by hand
    assert got["Summary"]["B2"] == pytest.approx(area, rel=1e-9)
    # 1 inch on 1 square foot is 144 in3; a US gallon is 231 in3 (NIST Handbook 44, appendix C)
    assert got["Summary"]["B3"] == pytest.approx(round(area * 1.2 * 144 / 231 / 0.9, 1))
    saved = openpyxl.load_workbook(io.BytesIO(copy.content), data_only=True)
    for sheet in saved.worksheets:
        for row in sheet.iter_rows():
            for cell in row:
                if isinstance(cell.value, int | float):
                    value = got[sheet.title].get(cell.coordinate)
                    assert value == pytest.approx(cell.value, rel=1e-9), (sheet.title, cell)
                elif cell.value is not None and cell.data_type == "s":
                    assert got[sheet.title].get(cell.coordinate, "") == cell.value


def test_the_copy_has_plain_formulas_and_says_so(copy: ClientCopy) -> None:
    sheet = openpyxl.load_workbook(io.BytesIO(copy.content))["Beds"]
    assert sheet["G2"].value.startswith('=IF(A2="","",IF(OR(C2<0')
    assert sheet["C2"].value == 46.5  # 46 ft 6 in
    assert "ROLL_PURCHASE" in str(copy)
    assert {place[0] for place in copy.frozen} == {"Summary"}


RECALCULATIONS: list[Callable[..., dict[str, dict[str, object]]]] = [
    lambda _calc, _folder, content: in_engine(content),
    in_calc,
]


@pytest.mark.parametrize("program", [0, 1], ids=["engine", "calc"])
def test_an_input_changes_what_rests_on_it(
    copy: ClientCopy, request: pytest.FixtureRequest, tmp_path: Path, program: int
) -> None:
    calc = request.getfixturevalue("calc") if program else None
    book = changed(copy.content, "Setup", B4=2.4)
    got = RECALCULATIONS[program](calc, tmp_path, book)["Summary"]
    before = openpyxl.load_workbook(io.BytesIO(copy.content), data_only=True)["Summary"]
    assert got["B3"] == pytest.approx(2 * before["B3"].value, abs=0.11)
    assert got["C8"] == pytest.approx(before["C8"].value)  # depth buys no rolls


EDITS = {
    "a length": ("Beds", "C3", 63),
    "a text for a number": ("Beds", "C3", "x"),
    "a number cleared": ("Beds", "C3", None),
    "laterals": ("Beds", "E4", 3),
    "a bed in a blank row": ("Beds", f"C{LAST_BED}", 10),
    "a roll length": ("Lines", "D2", 500),
    "a price": ("Lines", "E3", 1),
}


@pytest.mark.parametrize("program", [0, 1], ids=["engine", "calc"])
@pytest.mark.parametrize("edit", EDITS)
def test_an_input_behind_a_frozen_value_shows_the_notice(
    copy: ClientCopy, request: pytest.FixtureRequest, tmp_path: Path, program: int, edit: str
) -> None:
    calc = request.getfixturevalue("calc") if program else None
    sheet, cell, value = EDITS[edit]
    got = RECALCULATIONS[program](calc, tmp_path, changed(copy.content, sheet, **{cell: value}))
    for result in ("B6", "B7", "C6", "C7", "C8", "C9"):
        assert got["Summary"][result] == NOTICE, result
    if (sheet, value) == ("Beds", 63):  # what is computed plainly goes on
        assert got["Summary"]["B2"] == pytest.approx(46.5 * 2.5 + 63 * 2.5 + 50 * 2)


@pytest.mark.parametrize("edit", [("Beds", "A2", "A"), ("Setup", "B4", 1.2)])
def test_the_same_value_typed_again_shows_none(copy: ClientCopy, edit: tuple[str, str, object]) -> (
    None
):  # fmt: skip
    sheet, cell, value = edit
    got = in_engine(changed(copy.content, sheet, **{cell: value}))["Summary"]
    assert NOTICE not in got.values()


# --- the file ---


def test_protection_leaves_the_inputs_open(original: bytes) -> None:
    copy = client_copy(original, worksheet_callables(), Wishes(protect=True))
    book = openpyxl.load_workbook(io.BytesIO(copy.content))
    assert all(sheet.protection.sheet for sheet in book.worksheets)
    assert not book["Beds"]["C2"].protection.locked and not book["Setup"]["B4"].protection.locked
    assert book["Beds"]["G2"].protection.locked and book["Lines"]["E2"].protection.locked


def test_values_only_has_no_formula_and_no_list_of_inputs(original: bytes) -> None:
    copy = client_copy(original, worksheet_callables(), Wishes(values_only=True))
    book = openpyxl.load_workbook(io.BytesIO(copy.content))
    assert "As delivered" not in book.sheetnames
    cells = [cell for sheet in book.worksheets for row in sheet.iter_rows() for cell in row]
    assert not [cell for cell in cells if cell.data_type == "f"]
    assert book["Summary"]["C8"].value == pytest.approx(_purchase(0)[1] + _purchase(1)[1])


def test_the_same_workbook_gives_the_same_bytes(original: bytes, copy: ClientCopy) -> None:
    assert client_copy(original, worksheet_callables()).content == copy.content


def test_command_writes_the_copy_beside_the_file(original: bytes, tmp_path: Path) -> None:
    path = tmp_path / "plan.xlsx"
    path.write_bytes(original)
    result = CliRunner().invoke(command, [str(path)])
    assert result.exit_code == 1 and "Left blank" in result.output  # as told in words
    assert (tmp_path / "plan-client.xlsx").exists() and path.read_bytes() == original
    again = CliRunner().invoke(command, [str(path)])
    assert again.exit_code == 2 and "there already" in again.output
    both = CliRunner().invoke(command, [str(path), "--markup", "1", "--margin", "0.5", "--force"])
    assert both.exit_code == 2


def test_the_pages_hold_no_canary(copy: ClientCopy, calc: Office, tmp_path: Path) -> None:
    pypdf = pytest.importorskip("pypdf")
    book, pages = tmp_path / "still.xlsx", tmp_path / "still.pdf"
    book.write_bytes(copy.pages)
    calc.to_pdf(book, pages, recalculate=False)
    reader = pypdf.PdfReader(pages)
    text = "".join(page.extract_text() for page in reader.pages) + str(reader.metadata)
    assert "Summary" in text
    assert not [c for c in CANARIES if c in re.sub(r"[.\s,]", "", text)]
    assert not [c for c in CANARIES if c.encode() in pages.read_bytes()]


def test_blank_rows_are_watched_by_their_number(copy: ClientCopy) -> None:
    sheet = openpyxl.load_workbook(io.BytesIO(copy.content))["As delivered"]
    rows = {tuple(cell.value for cell in row[:4]) for row in sheet.iter_rows()}
    # the purchase reads the column with its header
    filled = FILLED_BEDS + 1
    assert ("Beds", f"C1:C{LAST_BED}", "Length (ft): filled cells", filled) in rows
