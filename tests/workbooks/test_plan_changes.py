"""A list that lives on and the plan made from it: changes are shown, and taken over on a word."""

from __future__ import annotations

from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner, Result

from xlfuncs.command_line import answering
from xlfuncs.command_line.commands import new, sync
from xlfuncs.workbooks.plan_changes import compare, read_plan

HEAD = "Bed,Length (ft),Width (in),Line,Laterals,Distance (ft),On\n"
PIPES = '[values]\nmain_pipe = "tubing three quarter"\nmanifold_pipe = "none"\n'
BEFORE = HEAD + (
    "N1,48,30,tape 8 in,2,10,yes\nN2,48,30,tape 8 in,2,20,yes\nN3,36,30,tape 8 in,2,30,yes\n"
    "old,20,30,tape 8 in,2,40,yes\n"
)
AFTER = HEAD + (
    "N1,52 ft 6 in,30,tape 8 in,2,10,yes\nMiddle,48,30,tape 8 in,2,20,yes\n"
    "N3,36,30,tape 8 in,2,30,no\nfar,60,30,tape 12 in,3,55,yes\n"
)


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """A plan from the list, in which a crop, a slope, a note and an own remark were typed."""
    folder = tmp_path_factory.mktemp("plan")
    (folder / "beds.csv").write_text(BEFORE)
    (folder / "pipes.toml").write_text(PIPES)
    path = folder / "farm.xlsx"
    given = ["--beds", str(folder / "beds.csv"), "--mapping", str(folder / "pipes.toml")]
    done = CliRunner().invoke(new.command, [str(path), *given])
    assert done.exit_code == 0, done.output
    book = openpyxl.load_workbook(path)
    plan, beds = book["Plan"], book["Beds"]
    (table,) = plan.tables.values()
    plan[table.ref.split(":")[0]].offset(1, 0).value = "N2"
    heads = {cell.value: cell.column for row in beds.iter_rows() for cell in row
             if cell.value in ("Slope (%)", "Notes")}  # fmt: skip
    beds.cell(row_of(beds, "N1"), heads["Slope (%)"]).value = 1.5
    beds.cell(row_of(beds, "N2"), heads["Notes"]).value = "shady"
    book.create_sheet("Mine")["A1"] = "my own"
    book.save(path)
    return path.read_bytes()


def row_of(sheet: openpyxl.worksheet.worksheet.Worksheet, bed: str) -> int:
    return next(row for row in range(1, 60) if sheet.cell(row, 1).value == bed)


def run(folder: Path, made: bytes, text: str, *options: str) -> Result:
    (folder / "farm.xlsx").write_bytes(made)
    (folder / "beds.csv").write_text(text)
    call = [str(folder / "farm.xlsx"), str(folder / "beds.csv"), *options]
    return CliRunner().invoke(sync.command, call)


def test_changes_are_shown_and_nothing_is_written(made: bytes, tmp_path: Path) -> None:
    done = run(tmp_path, made, AFTER)
    assert done.exit_code == 0, done.output
    for line in (
        "renamed: N2 is now Middle", "N1: Length 48 -> 52.5", "N3: On yes -> no",
        "new bed far: Strip width 30, Length 60", "old is no bed of the list; it stays",
    ):  # fmt: skip
        assert line in done.output
    assert (tmp_path / "farm.xlsx").read_bytes() == made


def test_what_was_typed_in_the_plan_stays(made: bytes, tmp_path: Path) -> None:
    done = run(tmp_path, made, AFTER, "--take-over")
    assert done.exit_code == 0, done.output
    book = openpyxl.load_workbook(tmp_path / "farm.xlsx", data_only=True)
    sheet = book["Beds"]
    area = sheet.tables["Beds"].ref
    heads, *rows = [[cell.value for cell in row] for row in sheet[area]]
    beds = {row[0]: dict(zip(heads, row, strict=True)) for row in rows if row[0]}
    assert list(beds) == ["N1", "Middle", "N3", "old", "far"]
    assert beds["N1"]["Length (ft)"] == 52.5
    assert beds["N1"]["Slope (%)"] == 1.5
    assert beds["Middle"]["Notes"] == "shady"
    assert (beds["N3"]["On"], beds["old"]["On"]) == ("no", "yes")
    # by hand: 52.5 ft by 30 in, and the new bed's 60 ft by 30 in, computed at once
    assert beds["N1"]["Planted area (ft²)"] == pytest.approx(131.25)
    assert beds["far"]["Planted area (ft²)"] == 150
    assert beds["far"]["Line"] == "tape 12 in"
    (plan,) = book["Plan"].tables.values()
    assert book["Plan"][plan.ref.split(":")[0]].offset(1, 0).value == "Middle"
    assert book["Mine"]["A1"].value == "my own"
    assert "old" in done.output
    assert "Main pipe tubing three quarter" in done.output, "as the beds of before"
    assert "is blank" not in done.output
    again = run(tmp_path, (tmp_path / "farm.xlsx").read_bytes(), AFTER)
    assert "All that the list says is in the plan." in again.output


def test_only_the_distance_of_a_new_bed_is_asked_for(
    made: bytes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The list says none; those of the beds of before are in the plan."""
    monkeypatch.setattr(answering, "in_terminal", lambda: True)
    head, *rows = BEFORE.splitlines()
    rows.append("new,30,30,tape 8 in,2,0,yes")
    text = "\n".join(",".join((*line.split(",")[:5], line.split(",")[6])) for line in (head, *rows))
    (tmp_path / "farm.xlsx").write_bytes(made)
    (tmp_path / "beds.csv").write_text(text)
    call = [str(tmp_path / "farm.xlsx"), str(tmp_path / "beds.csv"), "--take-over"]
    done = CliRunner().invoke(sync.command, call, input="70\n")
    assert done.exit_code == 0, done.output
    assert done.output.count("Distance") == 2, "the question, and the new bed"
    assert "new bed new: " in done.output and "Distance 70" in done.output
    book = openpyxl.load_workbook(tmp_path / "farm.xlsx", data_only=True)["Beds"]
    heads = {cell.value: cell.column for row in book.iter_rows(max_row=12) for cell in row}
    place = heads["Distance (ft)"]
    given = [book.cell(row_of(book, bed), place).value for bed in ("N1", "N2", "N3", "old", "new")]
    assert given == [10, 20, 30, 40, 70]
    answers = tmp_path / "of_new.toml"
    answers.write_text('[values]\ndistance = "10, 20, 30, 40 ft"\n')
    (tmp_path / "farm.xlsx").write_bytes(made)
    with_answers = [*call, "--mapping", str(answers)]
    done = CliRunner().invoke(sync.command, with_answers, input="\n")
    assert done.exit_code == 1 and 'distance = "10, 20' in answers.read_text()
    done = CliRunner().invoke(sync.command, with_answers, input="70\n")
    assert done.exit_code == 0 and "Distance 70" in done.output, done.output


def test_units_and_blanks_make_no_change() -> None:
    plan = [{"bed": "a", "length": "22 ft 9 in", "strip_width": 30.0, "slope": 2.0}]
    listed = [{"bed": "a", "length": 22.75, "strip_width": "30 in", "slope": None, "on": True}]
    changes = compare(plan, listed, "us")
    assert not changes
    assert changes.gone == []


def test_beds_of_one_size_are_renamed_by_their_place() -> None:
    plan = [{"bed": name, "length": 48.0} for name in ("a", "b", "c")]
    listed = [{"bed": name, "length": 48.0} for name in ("a", "x", "y")]
    assert compare(plan, listed, "us").renamed == {"b": "x", "c": "y"}


@pytest.mark.parametrize(("typed", "taken"), [("1\n", True), ("leave out\n", False)])
def test_a_count_that_is_asked_for_is_no_choice_and_a_bed_left_out_is_said(
    tmp_path: Path, made: bytes, monkeypatch: pytest.MonkeyPatch, typed: str, taken: bool
) -> None:
    monkeypatch.setattr(answering, "in_terminal", lambda: True)
    (tmp_path / "farm.xlsx").write_bytes(made)
    (tmp_path / "beds.csv").write_text(BEFORE + "new,20,30,tape 8 in,,40,yes\n")
    call = [str(tmp_path / "farm.xlsx"), str(tmp_path / "beds.csv")]
    done = CliRunner().invoke(sync.command, call, input=f"{typed}n\n")
    assert done.exit_code == 0, done.output
    assert "of new is missing in line 6" in done.output
    assert ("new bed new: " in done.output) == taken
    assert ("Row 6 is left out, as stated: new" in done.output) != taken
    assert ("All else that the list says is in the plan." in done.output) != taken


def test_a_row_that_cannot_be_read_holds_up_no_other(made: bytes, tmp_path: Path) -> None:
    done = run(tmp_path, made, AFTER.replace("52 ft 6 in", "long"), "--take-over")
    assert done.exit_code == 0, done.output
    assert "'long'" in done.output and "is left out, as stated: N1" in done.output
    rows = read_plan((tmp_path / "farm.xlsx").read_bytes(), "")[1]
    assert {row["bed"]: row["length"] for row in rows}["N1"] == 48
    assert "far" in [row["bed"] for row in rows]


def test_beds_may_be_left_as_they_are(
    made: bytes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for answer, taken in (("n1, far", False), ("y", True), ("nobody", False)):
        monkeypatch.setattr(answering, "in_terminal", lambda: True)
        (tmp_path / "farm.xlsx").write_bytes(made)
        (tmp_path / "beds.csv").write_text(AFTER)
        call = [str(tmp_path / "farm.xlsx"), str(tmp_path / "beds.csv")]
        done = CliRunner().invoke(sync.command, call, input=f"{answer}\n")
        assert done.exit_code == 0, done.output
        rows = read_plan((tmp_path / "farm.xlsx").read_bytes(), "")[1]
        found = {row["bed"]: row["length"] for row in rows}
        assert ("far" in found and found["N1"] == 52.5) == taken
        assert ("Middle" in found) == (answer != "nobody")
