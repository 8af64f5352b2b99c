"""The map of a workbook: what is drawn agrees with the bed list."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner

from tests.made_once import made_once
from workbook_template.build import build, demo_inputs
from workbook_template.kit.map_drawing import Words, shapes
from xlfuncs.command_line.commands.map import command
from xlfuncs.workbooks.bed_map import read_bed_map


@pytest.mark.parametrize(("system", "foot"), [("us", 1.0), ("metric", 0.3048)])
def test_the_map_agrees_with_the_bed_list(tmp_path: Path, system: str, foot: float) -> None:
    inputs = demo_inputs(system)
    build(tmp_path / "farm.xlsx", system, inputs)
    bed_map = read_bed_map(tmp_path / "farm.xlsx")
    listed = {row["bed"]: row for row in inputs.tables["Beds"]}
    assert {bed.name for bed in bed_map.beds} == set(listed) - {"South 4"}
    assert len(bed_map.left_out) == 1
    assert bed_map.left_out[0].startswith("South 4: ")
    inches = 12 if system == "us" else 100
    for bed in bed_map.beds:
        row = listed[bed.name]
        assert bed.y == pytest.approx(row["distance"])
        if isinstance(row["length"], float):
            assert abs(bed.end_x - bed.inlet_x) == pytest.approx(row["length"])
        assert bed.width == pytest.approx(row["bed_top_width"] / inches)
        assert len(bed.lines) == row["laterals"]
        assert max(map(abs, bed.lines)) < bed.width / 2
        assert bed.on == (row["on"] == "yes")
        for low, high in bed.strip_edges:
            assert high - low == pytest.approx(row["strip_width"] / inches)


def test_beds_that_would_overlap_lie_across_and_words_wider_than_a_bed_stand_beside_it(
    tmp_path: Path,
) -> None:
    """Two beds of 60 in whose middles are 3 ft apart overlap by 2 ft."""
    inputs = demo_inputs("us")
    one = inputs.tables["Beds"][0] | {"bed_top_width": 60.0, "length": 40.0}
    beds = [one | {"bed": "A", "distance": 20.0}, one | {"bed": "B", "distance": 23.0},
            one | {"bed": "C", "distance": 40.0, "length": 5.0}]  # fmt: skip
    build(tmp_path / "farm.xlsx", "us", replace(inputs, tables={**inputs.tables, "Beds": beds}))
    bed_map = read_bed_map(tmp_path / "farm.xlsx")
    a, b, c = bed_map.beds
    assert a.end_x * b.end_x < 0
    (words,) = (s for s in shapes(bed_map) if isinstance(s, Words) and s.text.startswith("C"))
    assert abs(words.x) > abs(c.end_x)


def test_the_parts_of_the_map_fit_its_lines(tmp_path: Path) -> None:
    """As many ends as lines are laid, a fallow bed's too, by the counting rules: one a line."""
    made_once(tmp_path / "farm.xlsx", "us", demo_inputs("us"))
    bed_map = read_bed_map(tmp_path / "farm.xlsx")
    parts = {name: count.split(" ") for name, count in bed_map.parts}
    ends = [int(parts[f"{kind} end"][0]) for kind in ("tape", "drip line")]
    assert sum(ends) == sum(len(bed.lines) for bed in bed_map.beds)
    longest = max(bed.y for bed in bed_map.beds if bed.on)
    pipe, unit = parts["tubing three quarter"]
    assert unit == "ft"
    assert longest <= float(pipe) <= 1.1 * longest  # with some trimming


def test_the_command_writes_pictures(tmp_path: Path) -> None:
    made_once(tmp_path / "farm.xlsx", "us", demo_inputs("us"))
    done = CliRunner().invoke(command, [str(tmp_path / "farm.xlsx")])
    assert done.exit_code == 0, done.output
    svg = (tmp_path / "farm-map.svg").read_text("utf-8")
    assert "<svg" in svg
    assert (tmp_path / "farm-map.png").read_bytes().startswith(b"\x89PNG")
    assert "Not drawn: South 4" in done.output
