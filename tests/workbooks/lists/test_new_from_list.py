"""The notebook's bed list of the examples becomes a workbook, once its one question is answered."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from workbook_template.kit.inputs import example_folder
from xlfuncs.command_line.commands.new import command
from xlfuncs.workbooks.checking.input_checks import check
from xlfuncs.workbooks.lists.bed_list_import import stated_system

LIST = example_folder("us") / "handwritten_beds.csv"
ANSWERS = LIST.with_suffix(".mapping.toml")


def test_the_question_comes_first_and_no_workbook(tmp_path: Path) -> None:
    output = tmp_path / "farm.xlsx"
    result = CliRunner().invoke(command, [str(output), "--beds", str(LIST)])
    assert result.exit_code == 1
    assert "Line: which drip line lies in the bed? One for all beds" in result.output
    assert '[values] line = "tape 8 in" (or "tape 12 in",' in result.output
    assert "pipe" not in result.output.partition("run again")[0]  # those that are counted are laid
    assert not output.exists()
    assert output.with_suffix(".mapping.toml").exists()


@pytest.mark.parametrize(("rows", "system"), [
    ("Bed;How wide;How long\nA;1,20 m;14,5 m\nB;90 cm;8 m", "metric"),
    ("Bed,Width,Length\nA,3' 6\",14'\nB,3 ft,12 ft 6 in", "us"),
    ("Bed,Width (ft),Length\nA,4,3 m\nB,4,5 m", "us"),  # the headings go before
    ("Bed,Width,Length\nA,4,30\nB,4,50", "us"),
])  # fmt: skip
def test_units_in_the_cells_say_the_system(tmp_path: Path, rows: str, system: str) -> None:
    beds = tmp_path / "beds.csv"
    beds.write_text(rows, encoding="utf-8")
    assert stated_system(beds) == system


def test_with_the_answers_the_workbook_holds_every_bed(tmp_path: Path) -> None:
    import openpyxl

    output = tmp_path / "farm.xlsx"
    result = CliRunner().invoke(
        command, [str(output), "--beds", str(LIST), "--mapping", str(ANSWERS)]
    )
    assert result.exit_code == 0, result.output
    assert "Rows not used, totals: 11" in result.output  # a title and blank rows are no beds
    assert "Row 12 is not used" in result.output
    sheet = openpyxl.load_workbook(output, data_only=True)["Beds"]
    area = sheet.tables["Beds"].ref
    rows = [[cell.value for cell in row] for row in sheet[area]]
    head, beds = rows[0], [row for row in rows[1:] if row[0]]
    columns = {name: [row[head.index(name)] for row in beds] for name in head}
    assert columns["Bed"] == ["N1", "N2", "N3", "S1", "S2", "T1"]
    # by hand: 46 6/12, 17/0.3048, 51 8/12
    assert columns["Length (ft)"] == pytest.approx([48, 46.5, 44.5, 55.7743, 51.6667, 30], abs=1e-4)
    assert columns["Strip width (in)"] == [30, 30, 30, 30, 30, 36]
    assert columns["Bed top width (in)"] == [40, 40, 40, 40, 40, 48]
    assert columns["Lines per bed"] == [4, 4, 4, 4, 3, 4]
    assert columns["Cover"][1:] == ["open", None, "plastic mulch", "plastic mulch", "tunnel"]
    assert columns["Counted"] == ["yes"] * 6
    # planted: six beds' length times width, in square feet
    assert sum(columns["Planted area (ft²)"]) == pytest.approx(
        (48 + 46.5 + 44.5 + 17 / 0.3048 + 51 + 8 / 12) * 2.5 + 30 * 3
    )
    assert [f for f in check(output) if f.sheet == "Beds" and f.kind == "wrong"] == []


def test_a_line_that_the_workbook_has_not_is_named_and_every_bed_has_room_for_two_crops(
    tmp_path: Path,
) -> None:
    import openpyxl

    head = "Bed,Length (ft),Width (in),Line,Laterals,Distance (ft),Main pipe,Manifold pipe\n"
    beds = "".join(f"B{i},40,30,tape of mine,2,{i},pipe one inch,none\n" for i in range(9))
    (tmp_path / "beds.csv").write_text(head + beds)
    output = tmp_path / "farm.xlsx"
    result = CliRunner().invoke(command, [str(output), "--beds", str(tmp_path / "beds.csv")])
    assert "'tape of mine' is not among the lines of the workbook yet" in result.output
    assert "'pipe one inch'" not in result.output and "Main pipe" not in result.output
    plan = openpyxl.load_workbook(output)["Plan"]
    (table,) = plan.tables.values()
    assert len(list(plan[table.ref])) - 1 >= 18


def test_crops_of_the_list_stand_on_plan_and_a_value_may_stand_where_a_heading_was_asked_for(
    tmp_path: Path,
) -> None:
    import openpyxl

    (tmp_path / "beds.csv").write_text(
        "Bed,Length (ft),Width (in),What grows there,Distance (ft)\n"
        "A,40,30,Carrots,2\nB,40,30,onions,4\nC,40,30,,6\nD,40,30,peppers,8\n"
    )
    output, answers = tmp_path / "farm.xlsx", tmp_path / "farm.mapping.toml"
    call = [str(output), "--for", "grower", "--beds", str(tmp_path / "beds.csv")]
    assert CliRunner().invoke(command, call).exit_code == 1
    given = {"laterals": "1", "line": "tape 8 in"}
    answers.write_text("[columns]\n" + "".join(f'{n} = "{v}"\n' for n, v in given.items()))
    result = CliRunner().invoke(command, [*call, "--mapping", str(answers)])
    assert result.exit_code == 0, result.output
    assert "stand on Plan; to be chosen there: 1 (may wait)" in result.output
    assert "'What grows there' is not used" not in result.output
    made = openpyxl.load_workbook(output, data_only=True)
    beds, plan = made["Beds"].tables["Beds"].ref, made["Plan"].tables["BedPlan"].ref
    crops = [[cell.value for cell in row[:2]] for row in made["Plan"][plan]]
    assert crops[1:4] == [["A", "carrot"], ["B", "onions"], ["D", "pepper, sweet"]]
    head, *rows = ([cell.value for cell in row] for row in made["Beds"][beds])
    last = dict(zip(head, rows[3], strict=True))
    assert (last["Lines per bed"], last["Line"], last["Manifold pipe"]) == (1, "tape 8 in", None)
    # which the counting rules buy
    assert last["Main pipe"] == "tubing three quarter"
    assert "Main pipe tubing three quarter" in result.output


def test_valves_are_no_more_than_stations_and_pass_what_the_parts_need(tmp_path: Path) -> None:
    """Flows by hand: 5 gal in 45 s is 6.67 gpm, of which three quarters (common practice, no
    published source) are 5.0; the example's regulator holds its pressure from 0.5 gpm on."""
    import openpyxl

    lines = [4, 4, 3, 3, 3, 4, 4, 2, 2, 2, 1, 1, 2, 1, 1, 1, 2, 4, 1, 2]
    head = "Bed,Length (ft),Width (in),Line,Laterals,Distance (ft)\n"
    beds = [f"{i},{40 if i < 11 else 50},{48 if i in (15, 16) else 30},tape 8 in,{n},{5 * i}\n"
            for i, n in enumerate(lines, 1)]  # fmt: skip
    (tmp_path / "beds.csv").write_text(head + "".join(beds))
    for stations in (6, 3, 1):
        answers, output = tmp_path / "answers.toml", tmp_path / f"farm{stations}.xlsx"
        answers.write_text(f'[settings]\ntap = "5 45 50"\ntimer = "{stations} 5 10"\n')
        call = [str(output), "--for", "grower", "--beds", str(tmp_path / "beds.csv")]
        result = CliRunner().invoke(command, [*call, "--mapping", str(answers)])
        assert result.exit_code == 0, result.output
        by_hand = "a set opens by hand" in result.output  # one station cannot tell sets apart
        assert by_hand == (stations == 1) == ("by the valve at its st" not in result.output)
        assert ("(if electric, not on the list)" in result.output) == (stations > 1)
        sheet = openpyxl.load_workbook(output, data_only=True)["Beds"]
        head_row, *rows = ([c.value for c in row] for row in sheet[sheet.tables["Beds"].ref])
        flows: dict[str, float] = {}
        for row in (dict(zip(head_row, row, strict=True)) for row in rows if row[0]):
            flows[row["Valve"]] = flows.get(row["Valve"], 0) + row["Flow delivered (gpm)"]
        assert all(0.5 <= flow <= 5.0 for flow in flows.values()), flows
        # all beds take some 9 gpm, which is no single set: more stations are advised
        assert (len(flows) <= stations) == (stations > 1) == ("get a timer" not in result.output)


def test_beds_without_valves_get_the_fewest_that_the_tap_feeds(tmp_path: Path) -> None:
    import openpyxl

    head = "Bed,Length (ft),Width (in),Line,Laterals,Distance (ft)\n"
    beds = "".join(f"B{i},50,30,tape 8 in,{3 if i < 9 else 4},{4 * i}\n" for i in range(1, 17))
    (tmp_path / "beds.csv").write_text(head + beds)
    answers = tmp_path / "answers.toml"
    answers.write_text('[settings]\ntap = "5 30 48"\ntimer = "6 4:30 9"\n')
    output = tmp_path / "our-farm.xlsx"
    call = [str(output), "--for", "grower", "--beds", str(tmp_path / "beds.csv")]
    result = CliRunner().invoke(command, [*call, "--mapping", str(answers)])
    assert result.exit_code == 0, result.output
    assert "Waterings per week 3, Efficiency 0.9; on Beds: " in result.output
    assert (
        "to use 0.75, Net depth per week 1 in, " in result.output
        and "Plan date" not in result.output
    )
    assert "To fill in" not in result.output and "not known" not in result.output
    book = openpyxl.load_workbook(output, data_only=True)
    ((sheet, cell),) = book.defined_names["least_share"].destinations
    least = book[sheet][cell.replace("$", "")].value
    assert least > 1 and "every bed gets its planned flow; the least, B" in result.output
    assert f", {100 * least:.0f}%\n" in result.output
    head, *rows = ([c.value for c in row] for row in book["Beds"][book["Beds"].tables["Beds"].ref])
    found = [dict(zip(head, row, strict=True)) for row in rows if row[0]]
    by_valve: dict[str, list[dict[str, float]]] = {}
    for row in found:
        by_valve.setdefault(row["Valve"], []).append(row)
    # three quarters of 5 gal in 30 s (common practice, no published source): 7.5 gpm; by hand, 8
    # beds of 3 lines take 4.8 gpm at the rated pressure and 8 of 4 lines 6.4, so two sets are the
    # fewest of beds whose minutes are alike; a part that takes less asks for more
    assert 2 <= len(by_valve) <= 4
    assert [*by_valve] == sorted(by_valve), "numbered in the order in which their sets run"
    for beds_of in by_valve.values():
        assert sum(row["Flow delivered (gpm)"] for row in beds_of) <= 7.5
        minutes = [row["Minutes at nominal flow (min)"] for row in beds_of]
        assert max(minutes) <= 1.1 * min(minutes)
    assert book["Timer"].sheet_state == "visible"
    started = {row[0].value: row[1].value for row in book["Timer"].iter_rows(max_row=20)}
    assert (started["Stations"], started["Water from"], started["Water until"]) == (
        6, "04:30", "09:00",
    )  # fmt: skip
