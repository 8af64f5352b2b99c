"""The notebook's bed list of the examples becomes a workbook, once its one question is answered."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from workbook_template.kit.inputs import example_folder
from xlfuncs.command_line.commands.new import command
from xlfuncs.workbooks.checking.input_checks import check

LIST = example_folder("us") / "handwritten_beds.csv"
ANSWERS = LIST.with_suffix(".mapping.toml")


def test_the_question_comes_first_and_no_workbook(tmp_path: Path) -> None:
    output = tmp_path / "farm.xlsx"
    result = CliRunner().invoke(command, [str(output), "--beds", str(LIST)])
    assert result.exit_code == 1
    assert "Line: which drip line lies in the bed? One for all beds" in result.output
    assert '[values] line = "tape 8 in" (or "tape 12 in",' in result.output
    assert '[values] manifold_pipe = "tubing half inch"' in result.output
    assert not output.exists()
    assert output.with_suffix(".mapping.toml").exists()


def test_with_the_answers_the_workbook_holds_every_bed(tmp_path: Path) -> None:
    import openpyxl

    output = tmp_path / "farm.xlsx"
    result = CliRunner().invoke(
        command, [str(output), "--beds", str(LIST), "--mapping", str(ANSWERS)]
    )
    assert result.exit_code == 0, result.output
    for row in ("Row 1 stands above", "Row 11 is not used", "Row 12 is not used",
                 "Blank rows: 7"):  # fmt: skip
        assert row in result.output
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
    assert columns["Laterals"] == [4, 4, 4, 4, 3, 4]
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
    assert "pipe one inch" not in result.output
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
    given = {"laterals": "3", "line": "tape 8 in", "main_pipe": "tubing three quarter",
             "manifold_pipe": "none"}  # fmt: skip
    answers.write_text("[columns]\n" + "".join(f'{n} = "{v}"\n' for n, v in given.items()))
    result = CliRunner().invoke(command, [*call, "--mapping", str(answers)])
    assert result.exit_code == 0, result.output
    assert "known by the name onions; choose" in result.output
    assert "'What grows there' is not used" not in result.output
    made = openpyxl.load_workbook(output, data_only=True)
    beds, plan = made["Beds"].tables["Beds"].ref, made["Plan"].tables["BedPlan"].ref
    crops = [[cell.value for cell in row[:2]] for row in made["Plan"][plan]]
    assert crops[1:4] == [["A", "carrot"], ["B", "onions"], ["D", "pepper, sweet"]]
    head, *rows = ([cell.value for cell in row] for row in made["Beds"][beds])
    last = dict(zip(head, rows[3], strict=True))
    assert (last["Laterals"], last["Line"], last["Manifold pipe"]) == (3, "tape 8 in", None)
    assert last["Main pipe"] == "tubing three quarter"
