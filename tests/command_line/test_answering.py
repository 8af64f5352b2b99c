"""Questions about a list in the terminal: choices by number, answers kept in the mapping file."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from datetime import date
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner, Result

from tests.workbooks.conftest import workbook
from workbook_template.build import build, starting_inputs
from workbook_template.first_plan import answered
from workbook_template.quoted_for import question, terms_of
from xlfuncs.command_line import answering
from xlfuncs.command_line.commands import add_columns, new
from xlfuncs.tables.garden.beds import BEDS
from xlfuncs.workbooks.lists.bed_list_import import read_bed_list
from xlfuncs.workbooks.lists.mapping import load, mapping_from
from xlfuncs.workbooks.our_tables.read_inputs import read_inputs

LIST = {
    "A1": "Beet", "B1": "Run", "C1": "Distance", "D1": "in Betrieb", "E1": "Lines", "A2": "1",
    "B2": 48, "C2": 5, "D2": "läuft", "E2": 2, "A3": "2", "B3": 36, "C3": 9, "D3": "läuft",
    "E3": 2, "A4": "3", "B4": 36, "C4": 12, "D4": "ruht", "E4": 2,
}  # fmt: skip


LATER = 5 * "\n"  # valves, tap, line, regulator, pipe


@pytest.fixture
def path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr(answering, "in_terminal", lambda: True)
    path = tmp_path / "beds.xlsx"
    path.write_bytes(workbook({"Beds": LIST}))
    return path


def run(path: Path, typed: str, *options: str) -> Result:
    call = [str(path), "--add", "pressure", *options]
    return CliRunner().invoke(add_columns.command, [*call], input=typed)


def test_choices_are_made_by_number_and_one_answer_holds_for_all_rows(path: Path) -> None:
    done = run(path, "1\n2\n1\n" + LATER)  # läuft means yes; ruht means no; us
    assert done.exit_code == 0, done.output
    assert done.output.count("what does 'läuft' mean?") == 1
    sheet = openpyxl.load_workbook(path, data_only=True)["Beds"]
    assert [sheet.cell(row, 4).value for row in (2, 3, 4)] == ["läuft", "läuft", "ruht"]
    working = openpyxl.load_workbook(path, data_only=True)["Beds pressure"]
    heads = {cell.value: cell.column for cell in working[1]}
    assert [working.cell(row, heads["On"]).value for row in (2, 3, 4)] == ["yes", "yes", "no"]
    assert [working.cell(row, heads["Length (ft)"]).value for row in (2, 3, 4)] == [48, 36, 36]
    kept = tomllib.loads(path.with_suffix(".mapping.toml").read_text("utf-8"))
    assert kept["system"] == "us"
    assert kept["words"] == {"läuft": "yes", "ruht": "no"}
    path.write_bytes(workbook({"Beds": LIST}))
    again = run(path, LATER, "--mapping", str(path.with_suffix(".mapping.toml")))
    assert again.exit_code == 0, again.output
    assert "läuft" not in again.output


def test_no_answer_leaves_the_question_in_the_file_and_the_list_alone(path: Path) -> None:
    before = path.read_bytes()
    done = run(path, "\n\n\n")  # each question is put, one after another
    assert done.exit_code == 1
    assert path.read_bytes() == before
    assert '"läuft" = ""' in path.with_suffix(".mapping.toml").read_text("utf-8")


def test_what_the_columns_rest_on_is_asked_line_by_line(path: Path) -> None:
    beds = {"A1": "Bed", "B1": "Field", "C1": "Length (ft)", "D1": "Width (in)", "E1": "Drip lines",
            "F1": "Area sq ft"}  # fmt: skip
    for row in range(2, 6):
        beds |= {f"A{row}": f"b{row}", f"B{row}": "House" if row < 4 else "Lower", f"C{row}": 100,
                 f"D{row}": 30, f"E{row}": 2, f"F{row}": 250}  # fmt: skip
    path.write_bytes(workbook({"Beds": beds}))
    typed = "1\nHouse 40, Lower far\nHouse 40, Lower 200\n5 30 45 10\n1\n1 in\n"
    done = run(path, typed, "--add", "minutes")
    assert done.exit_code == 0, done.output
    assert "'Lower far' names no valve and a length" in done.output
    assert "Area sq ft" not in done.output.partition("Tap:")[0].partition("Distance")[2]
    assert "To be filled in" not in done.output
    sheet = openpyxl.load_workbook(path, data_only=True)["Beds"]
    heads = {cell.value: cell.column for cell in sheet[1]}
    assert sheet.cell(2, heads["Flow delivered (gpm)"]).value > 0
    assert sheet.cell(2, heads["Minutes to water (min)"]).value > 0
    settings = openpyxl.load_workbook(path)["Water settings"]
    held = [[cell.value for cell in row] for row in settings.iter_rows()]
    assert ["Lower", 200] in [row[:2] for row in held]
    # ASTM D1785: 1.315 in outside, 0.133 in of wall
    pipe = next(row for row in held if "Schedule 40" in str(row[0]))
    assert pipe[1] == pytest.approx(1.315 - 2 * 0.133)


def test_new_asks_too(path: Path, tmp_path: Path) -> None:
    output = tmp_path / "farm.xlsx"
    typed = "\n1\n2\n30 in\n\n\n6 4:30 9\n"  # the soil first
    done = CliRunner().invoke(new.command, [str(output), "--beds", str(path)], input=typed)
    assert "Strip width (width of one planted strip): one for all" in done.output
    assert "Line: which drip line lies in the bed?" in done.output
    assert "Main pipe" not in done.output  # that which the counting rules buy is laid
    assert "Timer: stations" in done.output  # what is left open stops no other
    assert not output.exists()
    kept = tomllib.loads(output.with_suffix(".mapping.toml").read_text("utf-8"))
    kept = {section: kept[section] for section in ("columns", "values")}
    assert kept["values"]["strip_width"] == "30 in"  # what is no heading holds for all rows
    assert kept["values"]["line"] == ""
    off = CliRunner().invoke(new.command, [str(output), "--beds", str(path)], input="1\n")
    assert off.exit_code and not output.exists()  # broken off: what was answered is kept
    again = CliRunner().invoke(new.command, [str(output), "--beds", str(path)], input="\n\n")
    assert again.exit_code == 0, again.output  # only what was left open is asked again
    assert "Tap: a bucket's" in again.output and "Timer: stations" not in again.output
    there = CliRunner().invoke(new.command, [str(output), "--beds", str(path)])
    assert "and asks only what farm.mapping.toml leaves open" in there.output


def test_an_answer_that_the_mapping_file_would_be_refused_for_is_not_kept(path: Path) -> None:
    beds, output = path.parent / "beds.csv", path.parent / "farm.xlsx"
    beds.write_text("Bed;Length (m);Width (m)\nA;1,500;1,000\nB;2,500;1,200\n")
    typed = "\n3\n1\n"  # the soil later; of a list of two the third
    done = CliRunner().invoke(new.command, [str(output), "--beds", str(beds)], input=typed)
    assert """'3': decimal must be "," or ".", is '3'""" in done.output
    assert load(output.with_suffix(".mapping.toml"))["decimal"] == ","
    assert "Units: metric, by the list; else --units us" in done.output
    assert "tape 20 cm" in done.output


@pytest.mark.parametrize(
    "typed",
    [
        "4 5 9:30",
        "4 stations, 5:00, 9:30",
        "4 stations from 5 am to 9:30 a.m.",
        "4; 5:00-9:30",
        "4 5-9.5",
    ],
)
def test_a_timer_is_read_as_people_say_it(typed: str) -> None:
    hours = {"stations": 4.0, "allowed_from": "05:00", "allowed_to": "09:30"}
    assert answered({"timer": typed}, "us") == hours
    night = answered({"timer": "1 station, 8 pm, 12 am"}, "us")
    assert list(night.values()) == [1.0, "20:00", "00:00"]


def test_a_consultant_is_asked_in_one_line_whom_the_quotation_is_for(
    path: Path, tmp_path: Path
) -> None:
    last, output = tmp_path / "last.xlsx", tmp_path / "next.xlsx"
    beds = [{"bed": "1"}, {"bed": "2"}, {"bed": "3"}, {"bed": "4"}]
    start = starting_inputs("us", beds)
    settings = {"weekly_depth": 1.2, "labour_hours": 10.0, "prepared_by": "A. N. Other",
                "markup": 0.4, "payment": "On delivery"}  # fmt: skip
    build(last, "us", replace(start, settings=settings))
    call = [str(output), "--for", "consultant", "--beds", str(path), "--from", str(last)]
    typed = "peat\nloam\n1\n2\n30 in\n\n5 30 45\n"  # three beds
    two = "4 5 9\nA; B; C; soon\nSample family; 3 Hill Road; Q-9\n"
    done = CliRunner().invoke(new.command, call, input=typed + two)
    assert done.exit_code == 0, done.output
    assert (
        "hours of labor (blank: 2.5 a bed as last time); as Sample family; 3 Hill Road; Q-31; 12\n"
        "(Enter: later, with 7.5 h)" in done.output
    )
    assert "'soon' is no number of hours." in done.output
    assert "'peat' is none of sand, " in done.output and "per week 1.2 in" in done.output
    assert "Assumed on Quoting: Labor 7.5 h, by bed as last time" in done.output
    # Loam takes in 10 mm/h at least (FAO Training Manual 5); 0.45 gpm/100 ft on 18 in is 7.3 mm/h.
    assert "2  tape 12 in: 0.27 gph every 12 in, suits loam" in done.output
    assert "3  drip line 12 in: 0.5 gph every 12 in, water ponds on loam" in done.output
    assert {bed["line"] for bed in read_inputs(output).inputs.tables["Beds"]} == {"tape 12 in"}
    given = read_inputs(output).inputs.settings
    wanted = {"client": "Sample family", "site": "3 Hill Road", "quotation_number": "Q-9",
              "labour_hours": 7.5, "stations": 4.0,
              "supply_measured_on": date.today(), "prepared_by": "A. N. Other", "soil": "loam",
              "weekly_depth": 1.2,
              "payment": "On delivery"}  # fmt: skip
    assert {name: given[name] for name in wanted} == wanted
    assert given["farm"] == "Sample family"  # the title of what the client gets
    before = output.read_bytes()
    again = CliRunner().invoke(new.command, [*call, "--force"], input="\n")
    assert [kept.read_bytes() for kept in tmp_path.glob("next.backup-*")] == [before]
    assert again.exit_code == 0 and "Quotation: client" not in again.output, again.output


def test_what_was_so_last_time_is_proposed_and_the_others_stand_behind_a_question_mark(
    path: Path,
) -> None:
    last, output, beds = (path.with_name(name) for name in ("last.xlsx", "next.xlsx", "beds.csv"))
    start = starting_inputs("us", [{"bed": "1", "line": "tape 12 in"}])
    build(last, "us", replace(start, settings={"soil": "loam"}))
    beds.write_text("Bed,Length (ft),Width (in),Distance (ft)\na,40,48,5\nb,40,60,9\nc,9,30,9\n")
    call = [str(output), "--for", "consultant", "--beds", str(beds), "--from", str(last)]
    done = CliRunner().invoke(new.command, call, input="\n?\n\n\n20 32 55\n\n\n")
    assert done.exit_code == 0, done.output
    said = done.output.partition("Lines per bed (Enter")[0]
    assert "Soil (Enter: loam, as last time; ? for others)" in said and "silty clay" not in said
    line = "Line (Enter: tape 12 in, suits loam, as last time; ? for others)"
    before, _, listed = said.partition(line)
    assert "tape 8 in" not in before and "1  tape 8 in" in listed  # once asked for
    assert "every 18 in, which a line wets of loam" in done.output
    assert "every 18 in: 3 (48 to 60 in wide), 2 (30)." in done.output
    assert (
        "\n38 gpm at 55 psi; dated today\n" in done.output
    )  # 20 gal in 32 s: the numbers of liters
    rows = read_inputs(output).inputs.tables["Beds"]
    assert [(row["line"], row["laterals"]) for row in rows] == [
        ("tape 12 in", 3), ("tape 12 in", 3), ("tape 12 in", 2)
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("typed", "system", "taken"),
    [
        # 1 m3 is 1000 L and 1 h 60 min; 1 bar is 100 kPa; 1 psi 6.894757 kPa (NIST SP 811).
        ("1.9 m3/h at 2.6 bar", "metric", (31.66667, 2.6)),
        ("a well, 2.6 bar, 31.66667 L/min", "metric", (31.66667, 2.6)),
        ("pump: 8 gpm at 40-60 psi", "us", (8, 40, 60)),
        ("8 gpm, 275.79 to 413.69 kPa", "us", (8, 40, 60)),
        ("10 20 3", "metric", (10, 20, 3)),  # a bucket's
        ("3 bar, 10 L in 20 s", "metric", (10, 20, 3)),
    ],
)
def test_the_tap_may_be_a_well(typed: str, system: str, taken: tuple[float, ...]) -> None:
    names = ("bucket_volume", "bucket_seconds", "static_pressure")
    if "m" in typed:
        names = ("sustained_yield", "cut_in_pressure", "cut_out_pressure")
    wanted = dict(zip(names, taken, strict=False))
    assert answered({"tap": typed}, system) == pytest.approx(wanted, rel=1e-4)


def test_a_well_feeds_the_plan(path: Path, tmp_path: Path) -> None:
    output = tmp_path / "next.xlsx"
    call = [str(output), "--for", "consultant", "--beds", str(path)]
    typed = "?\n\n1\n2\n30 in\n?\n1\n?\n8 gpm\n2 gpm at 40 psi\n0 6 20\n?\n\n"
    done = CliRunner().invoke(new.command, call, input=typed)
    assert done.exit_code == 0, done.output
    for what in ("how wide a line wets", "Its flow and spacing decide", "stands on the quotation"):
        assert what in done.output
    assert "Fill a bucket at the open tap" in done.output  # what "?" says
    wrong = "'8 gpm': cut-in pressure needed too; type it as 5 30 45 or 8 gpm at 40 psi."
    assert wrong in done.output
    assert "Supply: a well or pump, 2 gpm for hours at 40 psi." in done.output
    assert "Volume caught, Seconds" not in done.output.partition("To fill in:")[2]
    given = read_inputs(output).inputs
    row = {"supply": "the well", "kind": "well", "sustained_yield": 2, "cut_in_pressure": 40}
    assert given.tables["Supplies"] == [row] and given.settings["supply_used"] == "the well"
    built = openpyxl.load_workbook(output, data_only=True)
    name = (
        built.defined_names["supply_greatest_flow"]
        .attr_text.replace("$", "")
        .replace("'", "")
        .split("!")
    )
    assert built[name[0]][name[1]].value == pytest.approx(2)


def test_who_prepares_it_is_asked_for_where_the_last_workbook_does_not_say() -> None:
    words = question({"prepared_by": "A. N. Example (invented)"}, 0.0, 3).words
    assert (
        words.endswith("3 Hill Road; Q-31; 12; A. Sample, 555-0100; 14 days net")
        and "blank" not in words
    )
    answer = {"quotation": "The Kims; ; Q-2; 3,5; Ren, 555-0199; Half first"}
    assert terms_of(answer, {}, 8.0) == (
        {"client": "The Kims", "quotation_number": "Q-2", "labour_hours": 3.5,
         "prepared_by": "Ren, 555-0199", "payment": "Half first"}, [],
    )  # fmt: skip
    known = {"prepared_by": "Ren", "payment": "Half first"}
    assert question(known, 0.0, 3).words.endswith("; as Sample family; 3 Hill Road; Q-31; 12")
    assert [bool(question(known, 0.0, 3).fault(f"a;b;c;{n}")) for n in ("4,5", "-4", "x")] == [
        False, True, True
    ]  # fmt: skip
    assert terms_of({}, known, 0.0) == ({}, [])


@pytest.mark.parametrize(
    ("typed", "read_as"),
    [
        ("20; 30; 40\n20; 33\n", [5, 20, 33]),
        ("20; 330\n4 5 9\n20; 33\n", [5, 20, 33]),  # in doubt, the next answer is no such list
        ("12 yd\n", [5, 36, 36]),
        ("leave out\n", [5]),
        ("1\n", [5, 1, 1]),
    ],
)
def test_values_that_are_missing_are_typed_in_their_order_or_their_rows_left_out(
    path: Path, tmp_path: Path, typed: str, read_as: list[float]
) -> None:
    heads = ("Bed", "Length (ft)", "Width (in)", "Distance (ft)", "Lines", "Line")
    rows = [heads, *((name, 40, 30, at, 2, "tape 8 in") for name, at in
                     (("a", 5), ("b", None), ("c", None)))]  # fmt: skip
    path.write_bytes(workbook({"Beds": {f"{letter}{n}": value for n, row in enumerate(rows, 1)
                                        for letter, value in zip("ABCDEF", row, strict=True)
                                        if value is not None}}))  # fmt: skip
    output = tmp_path / "farm.xlsx"
    done = CliRunner().invoke(
        new.command, [str(output), "--beds", str(path)], input=f"\n{typed}\n\n"
    )
    assert done.exit_code == 0, done.output
    words = "Distance of b, c is missing in line 3, 4. "
    words += "Type one for each, in that order, with commas; or:"
    assert words in done.output and "-  leave out 3, 4" in done.output
    asked = (
        "(330 is far above the rest. Press Enter if these are right, or type all 2 again): 4 5 9"
    )
    for said, where in (("3 values for 2 rows: they end at c with 30; 40 is left over", "; 40"),
                        ("b 20, c 33 ft; to change: Distance on Beds\n", ";"),
                        (asked, "330"), ("Press Enter if these", "330")):  # fmt: skip
        assert (said in done.output) == (where in typed)
    kept = tomllib.loads(output.with_suffix(".mapping.toml").read_text("utf-8"))
    assert kept.get("leave_out", []) == ([3, 4] if len(read_as) == 1 else [])
    beds = read_inputs(output).inputs.tables["Beds"]
    assert [bed["distance"] for bed in beds] == read_as


def test_the_regulator_is_asked_after_the_line_with_a_caution(path: Path) -> None:
    typed = "1\n2\n1\nwhat\nAll\n5 30 45\n1\n\n\n"  # all open; gauge, thin tape, no regulator
    done = run(path, typed)
    assert done.exit_code == 0, done.output
    assert "'what' is no column of the list" in done.output
    asked = done.output.partition("Drip line")[2]
    assert "45 psi at the gauge on a line rated at 8: without a regulator it may burst" in asked
    kept = tomllib.loads(path.with_suffix(".mapping.toml").read_text("utf-8"))
    assert kept["settings"]["regulator"] == "none"
    done = run(path, "\n")  # only the pipe is asked again
    assert "regulator holds" not in done.output


def test_lines_per_bed_by_width_hold_for_every_later_bed(path: Path) -> None:
    beds, output = path.parent / "beds.csv", path.parent / "farm.xlsx"
    text = "Bed,Length (ft),Width (in),Distance (ft),Line\na,40,48,5,tape 8 in\n"
    text += "b,40,30,5,tape 8 in\nc,40,8,5,tape 8 in\n"  # the last is narrower than half of it
    beds.write_text(text)
    typed = "\nevery 18 in\n\n\n"
    done = CliRunner().invoke(new.command, [str(output), "--beds", str(beds)], input=typed)
    assert done.exit_code == 0, done.output
    assert "2, 3, 2, or every 18 in." in done.output
    assert "every 18 in: 3 (48 in wide), 2 (30), 1 (8)." in done.output
    assert [row["laterals"] for row in read_inputs(output).inputs.tables["Beds"]] == [3, 2, 1]
    beds.write_text(text + "d,40,60,5,tape 8 in\n")
    kept = mapping_from(load(output.with_suffix(".mapping.toml")), "", BEDS)
    assert [row["laterals"] for row in read_bed_list(beds, "us", kept).rows] == [3, 2, 1, 3]
    wrong = read_bed_list(beds, "us", replace(kept, values={"laterals": "every 0 in"}))
    assert "must be above 0 in, is '0 in'" in wrong.questions[0].words


@pytest.mark.parametrize("answer", ["rows of tape", "E", "Valve"])
def test_a_heading_answers_also_where_it_is_another_columns_or_a_value_was_asked(
    path: Path, answer: str
) -> None:
    """The first answer is no number, so it is asked again: then by a heading or its letters."""
    heads = {"A1": "Bed", "B1": "Length (ft)", "C1": "Width (in)", "D1": "Distance (ft)",
             "E1": "Valve" if answer == "Valve" else "Rows of tape"}  # fmt: skip
    rows = {f"{letter}{row}": value for row in (2, 3)
            for letter, value in zip("ABCDE", (row, 48, 30, 9, 2), strict=True)}  # fmt: skip
    path.write_bytes(workbook({"Beds": heads | rows}))
    done = run(path, f"many\n{answer}\n" + LATER, "--units", "us")
    assert done.exit_code == 0, done.output
    assert done.output.count("is not a number with a unit") == 1
    kept = tomllib.loads(path.with_suffix(".mapping.toml").read_text("utf-8"))
    assert kept["columns"]["laterals"] == answer
    assert "laterals" not in kept.get("values", {})
    working = openpyxl.load_workbook(path, data_only=True)["Beds pressure"]
    heads = {cell.value: cell.column for cell in working[1]}
    assert [working.cell(row, heads["Lines per bed"]).value for row in (2, 3)] == [2, 2]


def test_a_file_of_many_questions_can_be_read_back(tmp_path: Path) -> None:
    """Rows with words for a distance: one question, and one key of the file."""
    beds = tmp_path / "beds.csv"
    beds.write_text(
        "Bed,Length (ft),Width (ft),Distance (ft)\nA,24,4,at the gate\nB,24,4,far end\n"
    )
    found = read_bed_list(beds, "us")
    (asked,) = (asked for asked in found.questions if asked.key == ("leave_out",))
    assert asked.words.startswith("Distance of A, B cannot be read in line 2, 3: ")
    raw = tomllib.loads(found.mapping)
    assert raw["leave_out"] == []
    assert not mapping_from(raw, "a file", BEDS).leave_out
