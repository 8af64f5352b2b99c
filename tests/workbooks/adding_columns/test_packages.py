"""Packages of columns beside a grower's own list: the plan's numbers, in his sheet.

The plan is the other judge: its sheets were written before, in another room, and check themselves
against published values. Areas, minutes and rolls are worked by hand.
"""

from __future__ import annotations

import datetime as dt
import re
import zipfile
from pathlib import Path

import openpyxl
import pytest
from openpyxl.utils import get_column_letter

from tests.made_once import made_once
from tests.workbooks.adding_columns.garden_lists import added, columns_in, write_list
from tests.workbooks.conftest import parts_of, workbook
from workbook_template.build import Built, build, demo_inputs
from xlfuncs.errors import WorkbookError
from xlfuncs.hosts.cells import worksheet_callables
from xlfuncs.workbooks.adding_columns.plan_settings import settings_of, settings_of_plan
from xlfuncs.workbooks.checking.input_checks import check
from xlfuncs.workbooks.lists.questions import OpenQuestions
from xlfuncs.workbooks.recalculating.engine import evaluate

UNITS = {"us": "gpm", "metric": "L/min"}
DEPTH = 144 / 231  # gallons that an inch is on a square foot


@pytest.fixture(scope="module", params=["us", "metric"])
def plan(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Built:
    path = tmp_path_factory.mktemp("plan") / f"{request.param}.xlsx"
    return made_once(path, request.param, demo_inputs(request.param))


@pytest.fixture(scope="module")
def settings(plan: Built, tmp_path_factory: pytest.TempPathFactory) -> dict[str, object]:
    path = tmp_path_factory.mktemp("settings") / "plan.xlsx"
    system = system_of(plan)
    build(path, system, plan.inputs)
    found, of_plan = settings_of_plan(path)
    assert of_plan == system
    return found


def system_of(plan: Built) -> str:
    return "us" if plan.inputs.settings["currency"] == "USD" else "metric"


@pytest.mark.parametrize("table", [False, True])
def test_flows_and_minutes_are_those_of_the_plan_to_the_last_digit(
    plan: Built, settings: dict[str, object], tmp_path: Path, table: bool
) -> None:
    system = system_of(plan)
    path = write_list(tmp_path / "mine.xlsx", plan.inputs, system, table=table)
    report = added(path, add=["pressure", "minutes"], settings=settings)
    assert report.unevaluated == []
    assert report.to_fill_in == []
    mine, theirs = columns_in(path), plan.rows("Beds")
    for name, heading in (
        ("delivered_flow", f"Flow delivered ({UNITS[system]})"),
        ("minutes_delivered", "Minutes, flow delivered (min)"),
    ):
        counted = [i for i, row in enumerate(theirs) if row["counted"] == "yes"]
        assert len(counted) >= 11
        assert [mine[heading][i] for i in counted] == [theirs[i][name] for i in counted]
    valves = plan.places["beds by valve"]
    given = [plan.values["Valves"].get((valves.first + i + 1, valves.columns["given_by_plan"] + 1))
             for i in counted]  # fmt: skip
    assert [mine["Minutes to water (min)"][i] for i in counted] == pytest.approx(given, rel=1e-12)
    for row, words in zip(theirs, mine["Pressure check"], strict=False):
        assert (words == "left out") == (row["counted"] == "off")
        assert row["counted"] != "no" or "has a number without its unit" in str(words)


def test_minutes_without_pressure_are_those_of_the_nominal_flow(
    plan: Built, settings: dict[str, object], tmp_path: Path
) -> None:
    path = write_list(tmp_path / "mine.xlsx", plan.inputs, system_of(plan))
    added(path, add=["minutes"], settings=settings)
    mine = columns_in(path)["Minutes at nominal flow (min)"]
    counted = [i for i, row in enumerate(plan.rows("Beds")) if row["counted"] == "yes"]
    assert [mine[i] for i in counted] == [plan.rows("Beds")[i]["minutes"] for i in counted]


@pytest.mark.parametrize("table", [False, True])
def test_nothing_else_in_the_file_changes(plan: Built, tmp_path: Path, table: bool) -> None:
    path = write_list(tmp_path / "mine.xlsx", plan.inputs, system_of(plan), table=table)
    before = parts_of(path.read_bytes())
    added(path, add=["pressure", "minutes", "purchase"])
    after = parts_of(path.read_bytes())
    changed = {name for name in before if before[name] != after[name]}
    assert changed == {
        "[Content_Types].xml", "xl/workbook.xml", "xl/_rels/workbook.xml.rels", "xl/styles.xml",
        "xl/worksheets/sheet1.xml", *(["xl/tables/table1.xml"] if table else []),
    }  # fmt: skip
    assert all(re.fullmatch(r"xl/worksheets/sheet\d\.xml", name) for name in set(after) - changed
               - set(before))  # fmt: skip
    for name in changed - {"xl/worksheets/sheet1.xml", "xl/tables/table1.xml", "xl/styles.xml"}:
        old, new = before[name], after[name]  # entries were put in, none taken out
        pieces = re.findall(rb"<[^>]+>", old)
        at = 0
        for piece in pieces:
            at = new.index(piece, at) + len(piece)
    old_cells = re.findall(rb"<c .*?</c>|<c [^>]*/>", before["xl/worksheets/sheet1.xml"])
    assert all(cell in after["xl/worksheets/sheet1.xml"] for cell in old_cells)
    book = openpyxl.load_workbook(path)
    assert book.sheetnames == ["My beds", "Notes", "Water settings", "My beds pressure",
                               "Lines to buy"]  # fmt: skip
    assert book["Notes"]["A1"].value == "=SUM('My beds'!C4:C9)"


def test_a_table_gets_the_columns_as_its_own(plan: Built, tmp_path: Path) -> None:
    system = system_of(plan)
    path = write_list(tmp_path / "mine.xlsx", plan.inputs, system, table=True)
    added(path, add=["area"])
    sheet = openpyxl.load_workbook(path)["My beds"]
    (table,) = sheet.tables.values()
    rows = len(plan.inputs.tables["Beds"])
    area, letters = table.tableColumns[-1], get_column_letter(len(table.tableColumns))
    assert table.ref == f"A3:{letters}{3 + rows}"
    assert area.name == sheet[f"{letters}3"].value
    assert "=" + area.calculatedColumnFormula.attr_text == sheet[f"{letters}4"].value
    assert "Ours[[#This Row],[Strips]]" in sheet[f"{letters}4"].value


def test_a_row_that_is_added_to_the_table_is_solved_with_the_others(
    plan: Built, settings: dict[str, object], tmp_path: Path
) -> None:
    """As Excel does it when a row is typed below a table: its reach grows, its formulas go down."""
    system = system_of(plan)
    path = write_list(tmp_path / "mine.xlsx", plan.inputs, system, table=True)
    added(path, add=["pressure"], settings=settings)
    book = openpyxl.load_workbook(path)
    sheet = book["My beds"]
    (table,) = sheet.tables.values()
    last = 3 + len(plan.inputs.tables["Beds"])
    table.ref = table.ref.replace(str(last), str(last + 1))
    for column in range(1, sheet.max_column + 1):
        sheet.cell(last + 1, column, sheet.cell(4, column).value)
    sheet.cell(last + 1, 1, "the next one")
    sheet["B30"] = None
    book.save(path)
    values = evaluate(path, worksheet_callables()).values["My beds"]
    heads = {cell.value: cell.column for cell in sheet[3]}
    flow = heads[f"Flow delivered ({UNITS[system]})"]
    assert values[last + 1, heads["Pressure check"]] == "ok"
    # a twin of the first bed at the same branch point, on the same valve, gets the same; and the
    # first gets less than it did alone
    assert values[last + 1, flow] == pytest.approx(values[4, flow])
    assert values[4, flow] < plan.rows("Beds")[0]["delivered_flow"]


def test_what_is_not_known_is_left_blank_and_named_and_typed_settings_stay(tmp_path: Path) -> None:
    path = tmp_path / "mine.xlsx"
    path.write_bytes(workbook({"B": {
        "A1": "Bed", "B1": "Length (ft)", "C1": "Width (in)", "D1": "Lines", "E1": "Tape",
        "A2": "a", "B2": 48, "C2": 30, "D2": 2, "E2": "tape 8",
    }}))  # fmt: skip
    report = added(path, add=["minutes"])
    assert "Inside diameter of tape 8" in report.to_fill_in
    assert columns_in(path, 1)["Minutes at nominal flow (min)"] == [None]
    book = openpyxl.load_workbook(path)
    sheet = book["Water settings"]
    places = {sheet.cell(row, 1).value: row for row in range(1, sheet.max_row + 1)}
    sheet.cell(places["Net depth per week (in)"], 2, 1.5)
    sheet.cell(places["tape 8"], 2, 8)
    sheet.cell(places["tape 8"], 3, 0.25)
    book["B"]["A3"], book["B"]["B3"], book["B"]["C3"], book["B"]["D3"] = "b", 24, 30, 2
    book["B"]["E3"], book["B"]["A4"], book["B"]["E4"] = "tape 8", "c", "tape 12"
    book["B"]["B4"], book["B"]["C4"], book["B"]["D4"] = 24, 30, 2
    book.save(path)
    report = added(path, add=["minutes"])
    assert "Inside diameter of tape 12" in report.to_fill_in
    after = openpyxl.load_workbook(path)["Water settings"]
    assert after.cell(places["Net depth per week (in)"], 2).value == 1.5
    assert after.cell(places["tape 8"] + 1, 1).value == "tape 12"
    # 48 ft at 8 in are 72 emitters a line, two lines of 0.25 gph: 0.6 gpm; 1.5 in on 120 sq ft in
    # three waterings at 90 %; the second bed is half as long, with half the flow
    minutes = 1.5 * 120 * DEPTH / 3 / 0.9 / 0.6
    column = {new.header: new.column for new in report.columns}["Minutes at nominal flow (min)"]
    values = evaluate(path, worksheet_callables()).values["B"]
    assert [values[row, column] for row in (2, 3)] == [pytest.approx(minutes)] * 2
    assert values[4, column] == ""  # tape 12 is not described yet


def test_a_season_by_hand(tmp_path: Path) -> None:
    path = tmp_path / "mine.xlsx"
    path.write_bytes(workbook({"B": {
        "A1": "Bed", "B1": "Length (ft)", "C1": "Width (in)", "D1": "Lines", "E1": "Cover",
        "A2": "a", "B2": 48, "C2": 30, "D2": 2, "A3": "b", "B3": 48, "C3": 30, "D3": 2,
        "E3": "polytunnel",
    }}))  # fmt: skip
    july = {"month": 7, "days": 30, "reference_et": 5.0, "rain": 1.0, "kc": 1.1}
    line = {"line": "tape", "emitter_spacing": 8, "emitter_flow": 0.25, "rated_pressure": 8,
            "inside_diameter": 0.63}  # fmt: skip
    known = {"months": [july], "lines": [line], "weekly_depth": 1.0}
    added(path, add=["season"], settings=known)
    columns = columns_in(path, 1)
    assert columns["Minutes Jun (min)"] == [None, None]
    open_ground, tunnel = columns["Minutes Jul (min)"]
    # no rain gets into the tunnel: 5.5 in over 0.9, on 120 sq ft at 0.6 gpm, in 30/7 x 3 waterings
    assert tunnel == pytest.approx(5.5 / 0.9 * 120 * DEPTH / 0.6 / (3 * 30 / 7))
    assert (5.5 - 1) / 5.5 * tunnel <= open_ground < tunnel  # at most the whole inch counts


SHARED = {
    "A1": "Bed", "B1": "Length (ft)", "C1": "Width (in)", "D1": "Lines", "E1": "Field",
    **{f"A{row}": f"b{row}" for row in range(2, 6)}, **{f"B{row}": 100 for row in range(2, 6)},
    **{f"C{row}": 30 for row in range(2, 6)}, **{f"D{row}": 2 for row in range(2, 6)},
    "E2": "House", "E3": "House", "E4": "Lower", "E5": "Lower",
}  # fmt: skip
SAID = {
    "tap": "5 gal 60 s 45 10",
    "drip_line": "12 .5 8 0.63",
    "pipe": "1 in Schedule 40: 1.049 in",
    "depth": "1",
}
# two lines of 100 ft with an emitter a foot of 0.5 gph: 1.67 gpm a bed
NOMINAL = 2 * 100 * 0.5 / 60


def test_beds_of_a_valve_share_its_flow_and_minutes_and_the_cause_is_said(tmp_path: Path) -> None:
    path = tmp_path / "mine.xlsx"
    path.write_bytes(workbook({"B": SHARED}))
    asked = {**SAID, "tap": "3 gal 60 s 45 10"}  # less than the two beds of a valve want at once
    asked |= {"open_together": "Field", "distance": "House 40, Lower 200"}
    added(path, add=["pressure", "minutes"], settings=asked)
    mine = columns_in(path, 1)
    assert mine["Nominal flow (gpm)"] == [pytest.approx(NOMINAL)] * 4
    flows = mine["Flow delivered (gpm)"]
    assert flows[0] + flows[1] < 3
    assert flows[2] < flows[0]  # farther along the pipe
    for words in mine["Pressure check"]:
        assert "3.3 gpm wanted at once, 3 at the bucket: open fewer beds at once" in words
        assert "wider pipe" not in words  # little is lost in an inch of pipe at 3 gpm
    wanted, given = mine["Minutes, flow delivered (min)"], mine["Minutes to water (min)"]
    assert given == pytest.approx(wanted)  # beds alike
    assert "Planted area (ft²)" not in mine
    assert openpyxl.load_workbook(path)["Water settings"]["B7"].value == "Field"


def test_a_tap_that_all_but_gives_it_is_the_cause_where_the_pipe_loses_little(
    tmp_path: Path,
) -> None:
    path = tmp_path / "mine.xlsx"
    path.write_bytes(workbook({"B": SHARED}))
    asked = {**SAID, "tap": "3.4 gal 60 s 20 10", "open_together": "Field", "distance": "10"}
    added(path, add=["pressure"], settings=asked)
    words = columns_in(path, 1)["Pressure check"][0]
    assert words.endswith("3.3 gpm wanted at once, 3.4 at the bucket: open fewer beds at once")


def test_beds_that_nothing_is_said_of_count_alone_and_say_so(tmp_path: Path) -> None:
    path = tmp_path / "mine.xlsx"
    path.write_bytes(workbook({"B": SHARED}))
    report = added(path, add=["pressure"], settings={**SAID, "distance": "40"})
    words = "which beds open together is not said"
    assert all(words in said for said in columns_in(path, 1)["Pressure check"])
    assert "each counts as open alone" in str(report)
    doubtful = [f for f in check(path) if words in f.words]
    assert {finding.kind for finding in doubtful} == {"doubtful"}
    flows = columns_in(path, 1)["Flow delivered (gpm)"]
    settled(path, {"B7": "all"})
    after = evaluate(path, worksheet_callables()).values["B"]
    heads = {c.value: c.column for c in openpyxl.load_workbook(path)["B"][1]}
    assert after[2, heads["Flow delivered (gpm)"]] < flows[0]
    assert "not said" not in str(after[2, heads["Pressure check"]])


@pytest.mark.parametrize("table", [False, True])
def test_columns_are_renewed_when_the_list_got_a_valve_and_settings_stay(
    plan: Built, settings: dict[str, object], tmp_path: Path, table: bool
) -> None:
    """A column more in the list shifts every place that the added formulas read."""
    system = system_of(plan)
    path = write_list(tmp_path / "mine.xlsx", plan.inputs, system, table=table)
    book = openpyxl.load_workbook(path)
    place = [cell.value for cell in book["My beds"][3]].index("Valve") + 1
    book["My beds"].cell(3, place).value = "Remark"
    if table:
        book["My beds"].tables["Ours"].tableColumns[place - 1].name = "Remark"
    book.save(path)
    added(path, add=["pressure", "minutes"], settings=settings)
    book = openpyxl.load_workbook(path)
    book["My beds"].cell(3, place).value = "Valve"
    if table:
        book["My beds"].tables["Ours"].tableColumns[place - 1].name = "Valve"
    book["Water settings"]["B6"] = 33.0 if system == "us" else 2.3
    book.save(path)
    again = added(path, add=["pressure", "minutes"])
    assert again.to_fill_in == []
    assert openpyxl.load_workbook(path)["Water settings"]["B6"].value in (33, 2.3)
    fresh = write_list(tmp_path / "fresh.xlsx", plan.inputs, system, table=table)
    known, of_list = settings_of(path)
    assert of_list == system
    added(fresh, add=["pressure", "minutes"], settings=known)
    flow = f"Flow delivered ({UNITS[system]})"
    assert columns_in(path)[flow] == columns_in(fresh)[flow]
    assert added(path, add=["pressure", "minutes"]).new_cells == 0
    if table:
        (own,) = openpyxl.load_workbook(path)["My beds"].tables.values()
        sheet = openpyxl.load_workbook(path)["My beds"]
        for at, column in enumerate(own.tableColumns, 1):
            if column.calculatedColumnFormula:
                assert "=" + column.calculatedColumnFormula.attr_text == sheet.cell(4, at).value


def test_an_edited_formula_is_not_replaced(tmp_path: Path) -> None:
    path = tmp_path / "mine.xlsx"
    path.write_bytes(workbook({"B": SHARED}))
    added(path, add=["pressure"], settings={**SAID, "distance": "40"})
    book = openpyxl.load_workbook(path)
    cell = book["B"]["G2"]
    cell.value += "-0.1"
    book.save(path)
    with pytest.raises(OpenQuestions, match="G2 stands under"):
        added(path, add=["pressure"])


def test_rolls_are_whole_and_no_line_is_joined(tmp_path: Path) -> None:
    path = tmp_path / "mine.xlsx"
    path.write_bytes(workbook({"B": {
        "A1": "Bed", "B1": "Length (ft)", "C1": "Lines", "A2": "a", "B2": 60, "C2": 3,
        "A3": "b", "B3": 60, "C3": 2, "A4": "Total", "B4": 120, "C4": 5,
    }}))  # fmt: skip
    line = {"line": "tape", "emitter_spacing": 8, "rated_pressure": 8, "inside_diameter": 0.63,
            "roll_length": 100, "roll_price": 10.0}  # fmt: skip
    added(path, add=["purchase"],
          settings={"lines": [line], "plan_date": dt.date(2026, 2, 1)})  # fmt: skip
    sheet = openpyxl.load_workbook(path, data_only=True)["Lines to buy"]
    assert sheet["B2"].value == "ok"
    # five lines of 60 ft: a 100 ft roll gives one, so five rolls, of which 200 ft are left over
    assert [cell.value for cell in sheet[5]][:6] == [
        "tape", 5, 100, 10, 50, pytest.approx(200)
    ]  # fmt: skip
    assert sheet["A6"].value is None


def test_a_csv_gives_a_workbook_with_the_numbers_of_a_sheet(tmp_path: Path) -> None:
    text = (
        "Garten 2026\nBeet;Länge (m);Breite (cm);Schläuche\n1;15,5;75;2\nSumme;15,5;;\n2;9;80;3\n"
    )
    (tmp_path / "beds.csv").write_text(text, "utf-8")
    report = added(tmp_path / "beds.csv", add=["area"])
    assert (report.name, report.header_row, report.rows) == ("beds.xlsx", 2, [3, 5])
    columns = columns_in(tmp_path / "beds.xlsx", 2)
    assert columns["Länge (m)"] == [15.5, 15.5, 9]
    assert columns["Planted area (m²)"] == [pytest.approx(11.625), None, pytest.approx(7.2)]
    with pytest.raises(WorkbookError, match="is there already"):
        added(tmp_path / "beds.csv", add=["area"])


def test_the_sheet_with_a_list_is_found(tmp_path: Path) -> None:
    path = tmp_path / "mine.xlsx"
    beds = {"A1": "Length (ft)", "B1": "Width (in)", "A2": 4, "B2": 30}
    path.write_bytes(workbook({"Notes": {"A1": "nothing"}, "Beds": beds}))
    assert added(path, add=["area"]).sheet == "Beds"


def test_too_much_and_too_little_are_said_where_no_limit_of_the_line_is_known(
    plan: Built, settings: dict[str, object], tmp_path: Path
) -> None:
    """Common practice, no published source: within a tenth below, a quarter above nominal."""
    lines = [{**line, "max_pressure": None} for line in settings["lines"]]
    path = write_list(tmp_path / "mine.xlsx", plan.inputs, system_of(plan))
    call = {**settings, "lines": lines, "head_parts": []}
    added(path, add=["pressure", "minutes"], settings=call)
    names = ("Pressure check", "Share of nominal", "Minutes, flow delivered (min)")
    checks, shares, minutes = (columns_in(path)[name] for name in names)
    given = [(words, time) for words, time in zip(checks, minutes, strict=True) if words]
    assert not any(time for words, time in given if "regulator missing" in words)
    solved = [(words, share) for words, share in zip(checks, shares, strict=True) if share]
    assert len(solved) >= 11
    for words, share in solved:
        much, little = "regulator missing" in str(words), "too little" in str(words)
        assert (much, little) == (share > 1.25, share < 0.9)
    assert any(share > 1.25 for _, share in solved)


def test_parts_half_typed_are_said_in_words(
    plan: Built, settings: dict[str, object], tmp_path: Path
) -> None:
    path = write_list(tmp_path / "mine.xlsx", plan.inputs, system_of(plan))
    added(path, add=["pressure"], settings={
        **settings, "head_parts": [{"part": "regulator", "loss": 1.5}]})  # fmt: skip
    for words in filter(None, columns_in(path)["Pressure check"]):
        assert words.endswith("(regulator): is needed with a loss") or ("not counted" in words)


def settled(path: Path, cells: dict[str, object]) -> None:
    """Values typed on the settings, as by their owner."""
    book = openpyxl.load_workbook(path)
    for place, value in cells.items():
        book["Water settings"][place] = value
    book.save(path)


def test_the_settings_say_what_each_is_and_what_is_missing_without_a_computation(
    tmp_path: Path,
) -> None:
    path = tmp_path / "mine.xlsx"
    path.write_bytes(workbook({"B": {
        "A1": "Bed", "B1": "Length (ft)", "C1": "Lines", "D1": "Distance (ft)", "E1": "Tape",
        "A2": "a", "B2": 48, "C2": 2, "D2": 5, "E2": "tape 8",
    }}))  # fmt: skip
    added(path, add=["pressure"])
    sheet = openpyxl.load_workbook(path)["Water settings"]
    above = {cell.value: (sheet.cell(cell.row - 1, cell.column).value,
                          sheet.cell(cell.row - 2, cell.column).value)
             for row in sheet.iter_rows(min_row=4) for cell in row}  # fmt: skip
    assert above["Exponent"][0] == "may stay blank"
    assert above["Inside diameter (in)"][0] == "needed"
    assert above["Emitter flow (gph)"][0] == "one of the two"
    for term in ("Exponent", "Loss to open (psi)", "Preset (psi)"):
        assert len(above[term][1]) > 20
    tape = next(row for row in sheet.iter_rows() if row[0].value == "tape 8")
    state = next(cell for cell in tape if "fill in" in str(cell.value))  # right of it: answers kept
    assert not re.search(r"[A-Z]{2,}_", state.value)  # no function of ours is asked
    values = evaluate(path, worksheet_callables()).values["Water settings"]
    assert values[state.row, state.column] == "fill in: Emitter spacing"
    at = tape[0].row
    settled(path, {f"B{at}": 8, f"C{at}": 0.25, f"E{at}": 8})
    again = added(path, add=["pressure"])
    assert "Inside diameter of tape 8" in again.to_fill_in  # of a row that was typed there
    found = [str(finding) for finding in check(path)]
    assert any("tape 8: fill in: Inside diameter" in words for words in found)
    assert any("Volume caught (gal): fill in" in words for words in found)


def test_which_of_several_lines_is_asked_not_taken(
    plan: Built, settings: dict[str, object], tmp_path: Path
) -> None:
    path = write_list(tmp_path / "mine.xlsx", plan.inputs, system_of(plan))
    book = openpyxl.load_workbook(path)
    del_at = [cell.value for cell in book["My beds"][3]].index("Line") + 1
    book["My beds"].delete_cols(del_at)
    book.save(path)
    with pytest.raises(OpenQuestions) as caught:
        added(path, add=["pressure"], settings=settings)
    (question,) = caught.value.questions
    assert question.key == ("values", "line")
    assert list(question.choices) == [line["line"] for line in settings["lines"]]
    # typed on the sheet later, the second line is asked about beside every bed
    one = {**settings, "lines": settings["lines"][:1]}
    added(path, add=["pressure"], settings=one)
    assert "ok" in columns_in(path)["Pressure check"]
    at = next(row[0].row for row in openpyxl.load_workbook(path)["Water settings"].iter_rows()
              if row[0].value == one["lines"][0]["line"])  # fmt: skip
    settled(path, {f"A{at + 1}": "another"})
    values = evaluate(path, worksheet_callables()).values["My beds"]
    heads = {cell.value: cell.column for cell in openpyxl.load_workbook(path)["My beds"][3]}
    assert "which one?" in str(values[4, heads["Pressure check"]])


def test_check_says_what_the_columns_say_of_beds(
    plan: Built, settings: dict[str, object], tmp_path: Path
) -> None:
    path = write_list(tmp_path / "mine.xlsx", plan.inputs, system_of(plan))
    lines = [{**line, "max_pressure": None} for line in settings["lines"]]
    added(path, add=["pressure"], settings={**settings, "lines": lines, "head_parts": []})
    book = openpyxl.load_workbook(path, data_only=True)
    heads = {cell.value: cell.column for cell in book["My beds"][3]}
    at = heads["Pressure check"]
    shown = {row: str(book["My beds"].cell(row, at).value) for row in range(4, 18)}
    burst = {row for row, words in shown.items() if "bursts" in words}
    found = [f for f in check(path) if (f.sheet, f.column) == ("My beds", at)]
    said = {row: f for f in found for row in range(f.row, max(f.row, f.last_row) + 1)}
    assert burst
    assert {said[row].kind for row in burst} == {"wrong"}
    assert all(shown[row] == finding.words for row, finding in said.items())
    assert {row for row, words in shown.items() if words not in ("ok", "left out")} == set(said)


def test_a_blank_row_of_the_list_is_blank_in_the_working(tmp_path: Path) -> None:
    path = tmp_path / "mine.xlsx"
    path.write_bytes(workbook({"B": {
        "A1": "Bed", "B1": "Length (ft)", "C1": "Lines", "D1": "Distance (ft)",
        "A2": "a", "B2": 48, "C2": 2, "D2": 5, "A4": "b", "B4": 48, "C4": 2, "D4": 9,
    }}))  # fmt: skip
    added(path, add=["pressure"])
    rows = list(openpyxl.load_workbook(path, data_only=True)["B pressure"].iter_rows())
    at = [cell.value for cell in rows[0]].index("Check")
    assert [row[at].value for row in rows[1:4]] == ["Supply: not measured yet", None,
                                                    "Supply: not measured yet"]  # fmt: skip


def test_the_bed_that_suits_a_valve_least_and_a_pipe_that_is_too_thin_are_named(
    tmp_path: Path,
) -> None:
    path = tmp_path / "mine.xlsx"
    beds = {**SHARED, "D2": 1}  # half the water of its neighbor on the same area
    path.write_bytes(workbook({"B": beds}))
    asked = {**SAID, "tap": "3 60 45 10", "open_together": "Field", "distance": "40 900"}
    asked |= {"pipe": "0.6"}
    report = added(path, add=["pressure", "minutes"], settings=asked)
    mine = columns_in(path, 1)
    assert mine["Minutes check"][0].endswith("more than 10% off its valve's: move it to another")
    assert mine["Minutes check"][1].startswith("too much")
    assert mine["Minutes check"][1].endswith("more than 10% off its valve's: move b2 first")
    assert mine["Minutes check"][2] == "ok"
    assert mine["Pressure check"][2].endswith("open fewer beds at once, or lay a wider pipe")
    held = [[cell.value for cell in row[:2]]
            for row in openpyxl.load_workbook(path)["Water settings"].iter_rows()]  # fmt: skip
    assert ["House", 40] in held  # numbers alone are taken in the order of the valves
    assert ["Lower", 900] in held
    assert "1 in of water a week" in str(report)


def test_one_value_typed_for_all_beds_counts_as_a_number(tmp_path: Path) -> None:
    path = tmp_path / "mine.xlsx"
    beds = {**SHARED, "D1": "Soil", **{f"D{row}": "loam" for row in range(2, 6)}}
    path.write_bytes(workbook({"B": beds}))
    said = {**SAID, "open_together": "Field", "distance": "40"}
    added(path, add=["pressure", "minutes"], settings=said, values={"laterals": "2"})
    mine = columns_in(path, 1)
    assert mine["Pressure check"] == ["ok"] * 4
    assert mine["Nominal flow (gpm)"] == [pytest.approx(NOMINAL)] * 4


def test_packages_that_are_added_later_leave_the_columns_of_others_right(tmp_path: Path) -> None:
    path = tmp_path / "mine.xlsx"
    beds = {**SHARED, "F1": "Far (ft)", "G1": "Tape"}
    beds |= {f"F{row}": 40 for row in range(2, 6)} | {f"G{row}": "thin" for row in range(2, 6)}
    path.write_bytes(workbook({"B": beds}))
    said = {**SAID, "open_together": "Field", "distance": "Far (ft)"}
    added(path, add=["pressure", "minutes"], settings=said)
    before = columns_in(path, 1)
    report = added(path, add=["area"], settings=said)
    after = columns_in(path, 1)
    assert after["Planted area (ft²)"] == [250] * 4
    assert {name: after[name] for name in before} == before
    assert report.to_fill_in == []
    with_season = added(path, add=["season"], settings=said)
    assert {name: columns_in(path, 1)[name] for name in before} == before
    assert "Minutes Jul (min)" in columns_in(path, 1)
    assert with_season.unevaluated == []


def test_what_nobody_says_of_the_water_a_week_is_assumed_and_told(tmp_path: Path) -> None:
    path = tmp_path / "mine.xlsx"
    path.write_bytes(workbook({"B": SHARED}))
    asked = {name: text for name, text in SAID.items() if name != "depth"}
    report = added(path, add=["pressure", "minutes"], settings={**asked, "distance": "40"})
    assert report.to_fill_in == ["Open together"]
    assert "bucket got, 1 in of water a week" in str(report)
    # an inch on 250 sq ft in three waterings at 90 %, at a flow within what the line does
    flow = columns_in(path, 1)["Flow delivered (gpm)"][0]
    minutes = columns_in(path, 1)["Minutes, flow delivered (min)"][0]
    assert minutes == pytest.approx(250 * DEPTH / 3 / 0.9 / flow)


def test_new_columns_are_wide_enough_where_a_program_gave_all_columns_one_width(
    tmp_path: Path,
) -> None:
    """LibreOffice writes the width of all columns to the right of the list, as nobody's choice."""
    path = tmp_path / "mine.xlsx"
    path.write_bytes(workbook({"B": SHARED}))
    book = openpyxl.load_workbook(path)
    book["B"].column_dimensions["A"].width = 30
    book.save(path)
    parts = parts_of(path.read_bytes())
    name = "xl/worksheets/sheet1.xml"
    with zipfile.ZipFile(path, "w") as file:
        for part, text in parts.items():
            wide = b'<col customWidth="false" min="2" max="1024" width="8.7"/></cols>'
            file.writestr(part, text.replace(b"</cols>", wide) if part == name else text)
    added(path, add=["pressure"], settings={**SAID, "distance": "40"})
    widths = openpyxl.load_workbook(path)["B"].column_dimensions
    heads = {cell.value: cell.column_letter for cell in openpyxl.load_workbook(path)["B"][1]}
    assert widths["A"].width == 30
    assert widths[heads["Nominal flow (gpm)"]].width == 12
    assert widths[heads["Pressure check"]].width == 44
    assert (widths["B"].width, widths["B"].max) == (8.7, 5)


def test_changed_answers_are_saved_and_what_was_typed_since_stays(tmp_path: Path) -> None:
    path = tmp_path / "mine.xlsx"
    path.write_bytes(workbook({"B": SHARED}))
    said = {**SAID, "tap": "5 60 45", "open_together": "Field", "distance": "40"}
    added(path, add=["pressure", "minutes"], settings=said)
    before = columns_in(path, 1)
    assert "far more" in before["Pressure check"][0]
    untouched = path.read_bytes()
    added(path, add=["pressure", "minutes"], settings=said)
    assert path.read_bytes() == untouched

    said |= {"regulator": "10 psi"}
    report = added(path, add=["pressure", "minutes"], settings=said)
    assert "settings changed: regulator none -> 10 psi" in str(report)
    assert "Columns not used" not in str(report)
    mine = columns_in(path, 1)
    assert mine["Pressure check"] == ["ok"] * 4
    for new in report.columns:  # what is reported is what the file holds
        assert [report.values[row, new.column] for row in range(2, 6)] == mine[new.header]

    settled(path, {"B6": 33, "B7": "all"})  # the gauge and the valves, typed by hand
    report = added(path, add=["pressure", "minutes"], settings={**said, "regulator": "12 psi"})
    assert report.changed == ["regulator 10 -> 12 psi"]
    sheet = openpyxl.load_workbook(path)["Water settings"]
    assert (sheet["B6"].value, sheet["B7"].value) == (33, "all")
    together = columns_in(path, 1)["Minutes to water (min)"]
    assert together == [pytest.approx(together[0])] * 4
    assert together[0] > mine["Minutes to water (min)"][0]  # four beds share what two had

    other = {**said, "regulator": "none", "open_together": "each bed alone", "distance": "60"}
    other |= {"drip_line": "drip line: 12 in, 0.5 gph, 15 psi, 0.54 in"}
    report = added(path, add=["pressure", "minutes"], settings=other)
    told = "\n".join(report.changed)
    assert "regulator 12 -> none" in told
    assert "open together all -> each bed alone" in told
    assert "distance 40 -> 60 ft" in told
    assert "rated pressure 8 -> 15 psi" in told
    held = [[cell.value for cell in row[:2]]
            for row in openpyxl.load_workbook(path)["Water settings"].iter_rows()]  # fmt: skip
    assert ["all", 60] in held
    assert ["drip line", 12] in held
    assert not {"regulator", "line"} & {row[0] for row in held}
    again = path.read_bytes()
    assert added(path, add=["pressure", "minutes"], settings=other).changed == []
    assert path.read_bytes() == again


def test_a_bed_without_minutes_leaves_those_of_other_valves(tmp_path: Path) -> None:
    path = tmp_path / "mine.xlsx"
    path.write_bytes(workbook({"B": {**SHARED, "C4": "", "D5": 0}}))
    asked = {**SAID, "open_together": "Field", "distance": "House 40, Lower 200"}
    added(path, add=["pressure", "minutes"], settings=asked)
    mine = columns_in(path, 1)
    assert mine["Minutes to water (min)"][0] > 0
    assert mine["Minutes to water (min)"][2:] == [None, None]
    assert mine["Minutes check"][0] == "ok"
    assert "has no minutes of its own" in mine["Minutes check"][2]
    assert "Lines per bed" in mine["Pressure check"][3]


ANSWERS = {**SAID, "open_together": "Field", "distance": "House 40, Lower 200"}


@pytest.mark.parametrize("heading", ["Tape lines", "Drip tape"])
def test_small_whole_numbers_are_laterals_whatever_their_heading(
    tmp_path: Path, heading: str
) -> None:
    path = tmp_path / "mine.xlsx"
    beds = {**SHARED, "D1": heading, "A6": "Total", "B6": "=SUM(B2:B5)", "D6": "=SUM(D2:D5)"}
    path.write_bytes(workbook({"B": beds}))
    report = added(path, add=["pressure", "minutes"], settings=ANSWERS)
    assert f"{heading!r} as Lines per bed" in str(report)
    assert columns_in(path, 1)["Nominal flow (gpm)"][:4] == [pytest.approx(NOMINAL)] * 4


def test_a_tape_named_by_a_number_stays_the_tape_where_laterals_are_there(tmp_path: Path) -> None:
    path = tmp_path / "mine.xlsx"
    path.write_bytes(workbook({"B": {**SHARED, "F1": "Drip tape",
                                     **{f"F{row}": 2 for row in range(2, 6)}}}))  # fmt: skip
    report = added(path, add=["pressure", "minutes"], settings=ANSWERS)
    assert "'Lines' as Lines per bed, 'Drip tape' as Line" in str(report)


def test_a_bed_without_a_length_says_length_and_its_name(tmp_path: Path) -> None:
    path = tmp_path / "mine.xlsx"
    path.write_bytes(workbook({"B": {**SHARED, "B3": ""}}))
    report = added(path, add=["pressure", "minutes"], settings=ANSWERS)
    words = columns_in(path, 1)["Pressure check"]
    assert [words[0], *words[2:]] == ["ok"] * 3
    assert words[1].startswith("Length") and "Distance" not in words[1]
    assert f"b3: {words[1]}" in str(report)


def test_a_changed_length_is_told_and_minutes_are_offered_only_where_they_are(
    tmp_path: Path,
) -> None:
    path = tmp_path / "mine.xlsx"
    path.write_bytes(workbook({"B": SHARED}))
    no_tap = {name: words for name, words in ANSWERS.items() if name != "tap"}
    assert "Use 'Minutes to water'" not in str(added(path, add=["pressure", "minutes"],
                                                     settings=no_tap))  # fmt: skip
    report = added(path, add=["pressure", "minutes"], settings=ANSWERS)
    assert "Use 'Minutes to water' 3 times a week" in str(report)
    assert "90% efficiency, level ground" in str(report)
    assert "values of 4 beds changed" in str(report)
    parts = parts_of(path.read_bytes())
    with zipfile.ZipFile(path, "w") as file:  # as Excel does where the functions are missing
        for part, text in parts.items():
            file.writestr(part, re.sub(rb'(r="B2"[^>]*><v>)100', rb"\g<1>80", text))
    again = added(path, add=["pressure", "minutes"], settings=ANSWERS)
    assert "values of 2 beds changed" in str(again)  # its valve has another bed
    assert "changed" not in str(added(path, add=["pressure", "minutes"], settings=ANSWERS))
