"""Computed columns beside a grower's own list: what is found, asked, written, and left alone.

The expected numbers are worked by hand from the definitions: an area is length times width, 48 ft
by 30 in is 48 x 2.5 = 120 square feet; the emitters of a line are the whole spacings in its
length, 48 ft at 8 in has 72.
"""

from __future__ import annotations

from datetime import date
from io import BytesIO
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner
from openpyxl.styles import Border, Font, PatternFill, Side

from tests.workbooks.conftest import parts_of, workbook
from xlfuncs.command_line.commands.add_columns import command
from xlfuncs.errors import CellError, WorkbookError
from xlfuncs.hosts.cells import worksheet_callables
from xlfuncs.workbooks.adding_columns.adding import AddedColumns, add_columns
from xlfuncs.workbooks.adding_columns.serving import columns_of_lists
from xlfuncs.workbooks.lists.mapping import ListMapping, mapping_from
from xlfuncs.workbooks.lists.questions import OpenQuestions

THIN = Border(*(Side(style="thin") for _ in range(4)))


def growers_sheet() -> bytes:
    """Title rows that are merged, feet and inches, a blank, doubtful words, a total, notes."""
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "2026 beds"
    sheet["A1"] = "Kitchen garden, beds for 2026"
    sheet["A1"].font = Font(size=16, bold=True)
    sheet.merge_cells("A1:H1")
    sheet["A2"] = "measured in April"
    sheet.merge_cells("A2:F2")
    headers = ["Bed", "Crop", "Length (ft)", "Width (in)", "Lines", "Planted"]
    rows = [
        ["1", "Lettuce", 48, 30, 2],
        ["2", "Kale", "22 ft 9 in", 30, 2],
        ["3", "Peas", "22' 9\"", 24, 1],
        ["4", "Leek", None, 30, 2],
        ["5", "Beet", 60, "2 ft", 2],
        ["6", "Chard", "about 20", 30, 2],
    ]
    for column, header in enumerate(headers, 1):
        cell = sheet.cell(4, column, header)
        cell.font, cell.border = Font(bold=True), THIN
        cell.fill = PatternFill("solid", fgColor="DDEEDD")
    for row, values in enumerate(rows, 5):
        for column, value in enumerate(values, 1):
            sheet.cell(row, column, value).border = THIN
        planted = sheet.cell(row, 6, date(2026, 4, row))
        planted.number_format, planted.border = "d mmm yyyy", THIN
    sheet["A11"], sheet["C11"], sheet["E11"] = "Total", "=SUM(C5:C10)", "=SUM(E5:E10)"
    sheet["A13"] = "The far beds get less pressure."
    sheet["C14"] = "see the note book"
    sheet.freeze_panes = "B5"
    sheet.print_title_rows = "4:4"
    out = BytesIO()
    book.save(out)
    return out.getvalue()


@pytest.fixture
def path(tmp_path: Path) -> Path:
    path = tmp_path / "beds.xlsx"
    path.write_bytes(growers_sheet())
    return path


def added(path: Path, sheet: str = "2026 beds", **answers: object) -> AddedColumns:
    mapping = mapping_from(answers, "test", columns_of_lists())
    return add_columns(path, sheet, worksheet_callables(), mapping)


def cells(path: Path, *, values: bool = True) -> openpyxl.worksheet.worksheet.Worksheet:
    return openpyxl.load_workbook(path, data_only=values).worksheets[0]


def test_a_growers_sheet_gets_right_columns_and_stays_as_it_was(path: Path) -> None:
    before = growers_sheet()
    report = added(path, add=["BED_AREA", "EMITTER_COUNT"], values={"emitter_spacing": "8 in"})
    assert (report.header_row, report.rows) == (4, [5, 6, 7, 8, 9, 10])
    sheet = cells(path)
    assert [sheet.cell(4, c).value for c in (7, 8)] == ["Area (ft²)", "Emitters"]
    areas = [sheet.cell(row, 7).value for row in range(5, 11)]
    assert areas[:3] == [120, pytest.approx(22.75 * 2.5), pytest.approx(22.75 * 2)]
    assert areas[3:] == [None, 120, "#VALUE!"]
    emitters = [sheet.cell(row, 8).value for row in range(5, 11)]
    assert emitters == [72, 34, 34, None, 90, "#VALUE!"]  # 273 in / 8 in is 34.1
    formulas = cells(path, values=False)
    assert formulas["G5"].value == '=IF(OR(C5="",D5=""),"",BED_AREA(C5,D5,,"us"))'
    assert formulas["C11"].value == "=SUM(C5:C10)"
    assert [sheet.cell(row, 7).value for row in (11, 12, 13, 14)] == [None] * 4
    original = openpyxl.load_workbook(BytesIO(before)).worksheets[0]
    for row in original.iter_rows(max_col=6):
        for cell in row:
            assert formulas[cell.coordinate].value == cell.value
            assert formulas[cell.coordinate].number_format == cell.number_format
    assert formulas.merged_cells.ranges == original.merged_cells.ranges
    assert formulas.freeze_panes == "B5"


def test_new_cells_look_like_their_neighbours_but_never_like_dates(path: Path) -> None:
    added(path, add=["BED_AREA", "EMITTER_COUNT"], values={"emitter_spacing": "8 in"})
    sheet = cells(path)
    assert sheet["G4"].font.bold
    assert sheet["G4"].fill.fgColor.rgb == "00DDEEDD"
    assert sheet["G5"].border.left.style == sheet["H9"].border.top.style == "thin"
    assert (sheet["G5"].number_format, sheet["H5"].number_format) == ("0.00", "0")
    assert sheet["F5"].number_format == "d mmm yyyy"


def test_running_it_twice_changes_nothing(path: Path) -> None:
    answers = {"add": ["BED_AREA"]}
    added(path, **answers)
    once = path.read_bytes()
    assert added(path, **answers).new_cells == 0
    assert path.read_bytes() == once


def test_a_row_that_was_added_since_gets_its_formula(path: Path) -> None:
    added(path, add=["BED_AREA"])
    book = openpyxl.load_workbook(path)
    sheet = book.worksheets[0]
    sheet["A11"], sheet["C11"], sheet["D11"], sheet["E11"] = "7", 20, 30, 1
    book.save(path)
    assert added(path, add=["BED_AREA"]).new_cells == 1
    assert cells(path)["G11"].value == 50


def test_a_dry_run_shows_and_writes_nothing(path: Path) -> None:
    before = path.read_bytes()
    mapping = ListMapping(add=("BED_AREA",))
    report = add_columns(path, "2026 beds", worksheet_callables(), mapping, dry_run=True)
    assert path.read_bytes() == before
    assert report.new_cells == 7
    # what the column is, in words; the formula stands in the sheet
    assert "G  Area (ft²): BED_AREA of 'Length (ft)', 'Width (in)'; in row 5 120" in str(report)
    assert "would be added" in str(report)


def test_a_later_column_reads_an_earlier_one(path: Path) -> None:
    values = {"minutes": 60, "flow": 2}
    added(path, add=["BED_AREA", "DEPTH_APPLIED"], values=values)
    # 2 gpm for 60 min is 120 gal on 120 sq ft; one inch on a square foot is 144/231 gal
    assert cells(path)["H5"].value == pytest.approx(120 / 120 / (144 / 231))


def test_units_in_headers_are_converted_and_never_assumed(path: Path, tmp_path: Path) -> None:
    metric = tmp_path / "metric.xlsx"
    data = {"A1": "Bed", "B1": "Length [m]", "C1": "Width, cm", "A2": "1", "B2": 20, "C2": 80}
    metric.write_bytes(workbook({"Beete": data}))
    added(metric, "Beete", add=["BED_AREA"])
    assert cells(metric, values=False)["D2"].value.count('"metric"') == 1
    assert cells(metric)["D1"].value == "Area (m²)"
    assert cells(metric)["D2"].value == pytest.approx(16)
    mixed = tmp_path / "mixed.xlsx"
    mixed.write_bytes(
        workbook({"B": {"A1": "Length (ft)", "B1": "Width (ft)", "A2": 48, "B2": 2.5, "A3": 60,
                        "B3": "30 in"}})
    )  # fmt: skip
    added(mixed, "B", add=["BED_AREA"])
    assert cells(mixed, values=False)["C2"].value == (
        '=IF(OR(A2="",B2=""),"",BED_AREA(A2,IF(ISNUMBER(B2),B2*12,B2),,"us"))'
    )
    assert [cells(mixed).cell(row, 3).value for row in (2, 3)] == [120, 150]


@pytest.mark.parametrize(
    ("data", "answers", "asked"),
    [
        ({"A1": "Length", "B1": "Width (in)", "A2": 48, "B2": 30}, {}, "names no unit"),
        ({"A1": "Length (ft)", "B1": "Top", "A2": 48, "B2": 30}, {}, "gives Strip width"),
        ({"A1": "Length (psi)", "B1": "Width (in)", "A2": 48, "B2": 30}, {}, "does not measure"),
        ({"A1": "Bed length (ft)", "B1": "Row length (ft)", "C1": "Width (in)", "A2": 1, "B2": 2,
          "C2": 30}, {}, "Several columns"),
        ({"A1": "Name", "B1": "Size", "A2": 1}, {}, "No row"),
        ({"A1": "Length (ft)", "B1": "Width (in)", "C1": "Area (ft²)", "A2": 4, "B2": 3, "C2": 9},
         {}, "holds something else"),
        ({"A1": "Length (ft)", "B1": "Width (in)", "A2": 4, "B2": 3}, {"add": []},
         "Which columns are wanted? Possible now: BED_AREA"),
    ],
)  # fmt: skip
def test_what_is_in_doubt_is_asked_and_nothing_is_written(
    tmp_path: Path, data: dict[str, object], answers: dict[str, object], asked: str
) -> None:
    path = tmp_path / "beds.xlsx"
    path.write_bytes(workbook({"Beds": data}))
    before = path.read_bytes()
    with pytest.raises(OpenQuestions) as caught:
        added(path, "Beds", **{"add": ["BED_AREA"], **answers})
    assert asked in str(caught.value)
    assert "in the mapping file:" in str(caught.value)
    assert path.read_bytes() == before


def test_one_line_a_bed_is_never_assumed(tmp_path: Path) -> None:
    path = tmp_path / "beds.xlsx"
    path.write_bytes(workbook({"Beds": {"A1": "Bed", "B1": "Length (ft)", "A2": "a", "B2": 48}}))
    with pytest.raises(OpenQuestions, match=r"Lines per bed \(drip lines"):
        added(path, "Beds", add=["LINE_LENGTH"])
    added(path, "Beds", add=["LINE_LENGTH"], values={"laterals": 3})
    assert cells(path)["C2"].value == 144


def test_a_list_goes_on_below_blank_rows_and_repeated_headers(tmp_path: Path) -> None:
    """As `new` reads it: lists often have a gap, or their headers again for each block."""
    path = tmp_path / "beds.xlsx"
    data = {"A1": "Length (ft)", "B1": "Width (in)", "A2": 4, "B2": 30, "A4": "Length (ft)",
            "B4": "Width (in)", "A5": 6, "B5": 30}  # fmt: skip
    path.write_bytes(workbook({"Beds": data}))
    assert added(path, "Beds", add=["BED_AREA"]).rows == [2, 5]
    assert [cells(path).cell(row, 3).value for row in (2, 3, 4, 5)] == [10, None, None, 15]


def test_the_mapping_answers_what_was_asked(tmp_path: Path) -> None:
    path = tmp_path / "beds.xlsx"
    data = {
        "A3": "Run", "B3": "Top", "C3": "Area (ft²)", "A4": 48, "B4": 30, "C4": "rough",
        "A6": 60, "B6": 30,
    }  # fmt: skip
    path.write_bytes(workbook({"Beds": data}))
    report = added(
        path, "Beds", add=["bed_area"], header_row=3, last_row=6, units="us",
        columns={"length": "Run", "width": {"column": "B", "unit": "in"}},
        headers={"BED_AREA": "=Planted (ft²)"},
    )  # fmt: skip
    assert report.rows == [4, 6]  # a blank row is no bed
    sheet = cells(path, values=False)
    assert sheet["D3"].value == "=Planted (ft²)"
    assert sheet["D3"].data_type == "s"  # text never becomes a formula
    assert [cells(path).cell(row, 4).value for row in (4, 5, 6)] == [120, None, 150]


@pytest.mark.parametrize(
    ("answers", "words"),
    [
        ({"add": ["NO_SUCH"]}, "NO_SUCH is no function"),
        ({"colums": {}}, "unknown keys ['colums']"),
        ({"units": "imperial"}, "units must be"),
        ({"header_row": 0}, "header_row must be"),
        ({"columns": {"length": 3}}, "columns.length must be"),
        ({"values": {"length": True}}, "values.length must be"),
        ({"add": ["BED_AREA"], "columns": {"length": "Nope"}}, "but the headers are"),
    ],
)
def test_a_mapping_that_says_nonsense_is_refused(
    path: Path, answers: dict[str, object], words: str
) -> None:
    with pytest.raises(WorkbookError) as caught:
        added(path, **answers)
    assert words in str(caught.value)


def test_errors_are_shown_with_their_cells(path: Path) -> None:
    report = added(path, add=["BED_AREA"])
    assert report.values[10, 7] is CellError.VALUE
    words = "G10 shows #VALUE!: BED_AREA: length: 'about 20' is not a number with a unit"
    assert words in str(report)


def test_all_other_parts_stay_byte_for_byte(path: Path) -> None:
    before = parts_of(path.read_bytes())
    added(path, add=["BED_AREA"])
    after = parts_of(path.read_bytes())
    assert list(after) == list(before)
    differing = {name for name in before if before[name] != after[name]}
    assert differing == {"xl/worksheets/sheet1.xml", "xl/styles.xml"}


def test_new_columns_are_not_put_where_they_would_be_hidden(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.append(["Length (ft)", "Width (in)"])
    sheet.append([48, 30])
    sheet.column_dimensions.group("C", "D", hidden=True)
    path = tmp_path / "beds.xlsx"
    book.save(path)
    added(path, "Sheet", add=["BED_AREA"])
    assert cells(path)["E2"].value == 120


def test_columns_named_on_the_command_line_come_to_those_of_the_file(path: Path) -> None:
    mapping = path.with_suffix(".toml")
    mapping.write_text('add = ["BED_AREA"]\n')
    call = [str(path), "--sheet", "2026 beds", "--mapping", str(mapping), "--add", "line_length"]
    done = CliRunner().invoke(command, [*call, "--dry-run"])
    assert done.exit_code == 0, done.output
    assert "Area (ft²): BED_AREA of" in done.output
    assert "Line length (ft): LINE_LENGTH of" in done.output
