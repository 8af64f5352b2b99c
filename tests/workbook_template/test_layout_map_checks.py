"""Beds (filling), Line layout, Map and Checks: their numbers and words.

Held against geometry by brute force, volumes of cylinders, and defects put into the inputs.
"""

from __future__ import annotations

import math
from dataclasses import replace

import openpyxl
import pytest

from tests.made_once import made_once
from workbook_template.build import demo_inputs, starting_inputs
from workbook_template.kit.inputs import Inputs

CUBIC_INCHES = 231  # of a US gallon
# Of a width unit in a length unit; volume in m3 of a (length unit x diameter unit squared) cylinder
# of diameter 1, over a flow unit of a minute.
WIDTH_IN_LENGTH = {"us": 1 / 12, "metric": 1 / 100}
FULL_PER_FLOW = {
    "us": math.pi / 4 * 12 / CUBIC_INCHES,  # gal a foot of an inch
    "metric": math.pi / 4 * 1e-6 * 1000,  # L a metre of a millimetre
}


@pytest.fixture(scope="module", params=["us", "metric"])
def farm(request, tmp_path_factory):
    """System, inputs, what was built, and the workbook as read."""
    return _built(request.param, demo_inputs(request.param), tmp_path_factory)


def _built(system, inputs, factory):
    path = factory.mktemp(system) / "farm.xlsx"
    result = made_once(path, system, inputs)
    return system, inputs, result, openpyxl.load_workbook(path, data_only=True)


def test_filling_is_the_volume_inside_over_the_flow(farm) -> None:
    system, inputs, built, _ = farm
    lines = {row["line"]: row for row in inputs.tables["Lines"]}
    pipes = {row["pipe"]: row for row in inputs.tables["Pipes"]}
    checked = 0
    for bed in built.rows("Beds"):
        if bed["counted"] != "yes" or isinstance(bed["length"], str):
            continue
        held = bed["laterals"] * bed["length"] * lines[bed["line"]]["inside_diameter"] ** 2
        across = bed["bed_top_width"] * WIDTH_IN_LENGTH[system]
        held += across * pipes[bed["manifold_pipe"]]["inside_diameter"] ** 2
        expected = held * FULL_PER_FLOW[system] / bed["nominal_flow"]
        assert bed["fill_minutes"] == pytest.approx(expected, rel=1e-6)
        assert bed["fill_share"] == pytest.approx(expected / bed["minutes"], rel=1e-6)
        assert bed["fill_check"] == "ok"
        checked += 1
    assert checked > 5


def _rows(sheet, header, width, *, beside=""):
    """Rows under the first header that reads so and has `beside` next to it."""
    top = next(
        r
        for r in range(1, sheet.max_row)
        if sheet.cell(r, 1).value == header and str(sheet.cell(r, 2).value).startswith(beside)
    )
    return [
        [sheet.cell(r, c).value for c in range(1, width + 1)]
        for r in range(top + 1, sheet.max_row + 1)
    ]


def _planted(width, strips, strip):
    """Points across the bed that each planting asks for, a thousandth of the bed apart."""
    every = [i * width / 1000 for i in range(1001)]
    middles = [(i + 0.5) * width / strips for i in range(strips)]
    return {
        2: [width / 2],
        3: [width / 4, width * 3 / 4],  # half the bed between twin rows
        4: [width / 3, width * 2 / 3],  # a third of it between zigzag rows
        5: [x for x in every if any(abs(x - m) <= strip / 2 for m in middles)],
        6: every,
    }


def test_layouts_by_brute_force(farm) -> None:
    _, inputs, built, book = farm
    width, strips, strip = (
        inputs.settings[f"layout_{name}"] for name in ("width", "strips", "strip_width")
    )
    wetted = built.named("soil_wetted_width")
    spacing = built.named("layout_spacing")
    reach = math.sqrt(wetted**2 - spacing**2) / 2
    compared = _rows(book["Line layout"], "Lines", 10)[:6]
    serving = []
    for row in compared:
        count, inset = int(row[0]), row[1]
        gap = (width - 2 * inset) / max(count - 1, 1)
        lines = [inset + i * gap for i in range(count)] if count > 1 else [width / 2]
        far = {
            column: max(min(abs(x - line) for line in lines) for x in points)
            for column, points in _planted(width, int(strips), strip).items()
        }
        for column, distance in far.items():
            assert row[column] == pytest.approx(distance, abs=0.002 * width)
        assert row[7] == pytest.approx(reach, rel=1e-6)
        if row[8] == "ok":
            assert max(far.values()) <= reach + 0.002 * width
            serving.append(count)
    assert built.named("fewest_to_serve") == min(serving)
    assert [row[9] for row in compared].count("fewest") == 1
    positions = _rows(book["Line layout"], "Line", 2, beside="From")[
        : int(built.named("lines_laid"))
    ]
    across = [row[1] for row in positions]
    assert across == pytest.approx([width - x for x in reversed(across)])  # symmetric


def test_advice_by_the_rate_over_the_wet_strip(farm) -> None:
    system, inputs, built, book = farm
    rows = _rows(book["Line layout"], "Line", 7, beside="Emitter flow")
    top = [row for row in rows if row[6]]
    assert len(top) == len(inputs.tables["Lines"])
    wetted = built.named("soil_wetted_width")
    for line, flow, spacing, rate, share, advice, reason in top:
        # depth = volume over the area of one emitter's part of the strip
        depth = (
            flow * CUBIC_INCHES / (spacing * wetted)
            if system == "us"
            else flow * 1e6 / (spacing * wetted * 100)
        )
        assert rate == pytest.approx(depth, rel=1e-6), line
        assert share == pytest.approx(depth / inputs.settings["measured_intake"], rel=1e-6)
        assert advice in ("recommended", "ok", "too fast")
        assert reason
    best = [row for row in top if row[5] == "recommended"]
    assert len(best) == 1
    assert best[0][3] == max(row[3] for row in top if row[5] != "too fast")


def test_the_map_is_to_scale(farm) -> None:
    system, _, built, book = farm
    rows = {row[0]: row for row in _rows(book["Map"], "Bed", 30) if row[0]}
    beds = {row["bed"]: row for row in built.rows("Beds")}
    assert set(rows) == set(beds)
    ((_, supply), (bar, drawn_bar)) = _drawn_beside(book["Map"])
    scale = drawn_bar / bar  # hundredths of the map's side for each unit of length
    for name, row in rows.items():
        bed = beds[name]
        if bed["counted"] == "no":
            assert set(row[17:21]) == {0}  # nothing is drawn of it
            assert row[29] == " "
            continue
        left, right, lower, upper = row[13:17]
        if not isinstance(bed["length"], str):
            assert right - left == pytest.approx(bed["length"] * scale)
        width = bed["bed_top_width"] * WIDTH_IN_LENGTH[system] * scale
        assert upper - lower == pytest.approx(width)
        assert (upper + lower) / 2 - supply == pytest.approx(bed["distance"] * scale)
        drawn = row[17:19] if bed["counted"] == "yes" else row[19:21]
        assert drawn == pytest.approx([right - left, width])
        if bed["counted"] == "yes":
            even = [
                lower + width * (i + 0.5) / bed["laterals"] for i in range(int(bed["laterals"]))
            ]
            assert row[23 : 23 + len(even)] == pytest.approx(even)
    for row in rows.values():
        assert 0 < min(row[13:17]) <= max(row[13:17]) < 100
    assert bar in {m * 10**n for m in (1, 2, 5) for n in range(4)} and 4 < drawn_bar < 30


def _drawn_beside(sheet):
    """Where the supply lies, and how long the scale bar is: in the garden, and drawn."""
    at = next(r for r in range(1, sheet.max_row) if sheet.cell(r, 1).value == "Scale bar")
    supply = sheet.cell(at + 1, 2).value, sheet.cell(at + 1, 3).value
    return supply, (sheet.cell(at, 2).value, sheet.cell(at + 2, 4).value)


def _list(book):
    """The rows of the list: words, and the place that they are about."""
    sheet = book["Checks"]
    top = next(r for r in range(1, sheet.max_row) if sheet.cell(r, 3).value == "Where")
    rows = ([sheet.cell(r, c).value for c in (1, 3, 4)] for r in range(top + 1, top + 41))
    return [(words, place) for number, place, words in rows if number]


def test_defects_put_in_are_listed_with_their_place(tmp_path_factory) -> None:
    farm = demo_inputs("us")
    beds = [dict(row) for row in farm.tables["Beds"]]
    beds[1]["bed"] = beds[0]["bed"]  # two of one name
    beds[2]["line"] = "no such line"
    plan = [dict(row) for row in farm.tables["BedPlan"]]
    plan[3]["crop"] = "no such crop"
    settings = {k: v for k, v in farm.settings.items() if k != "static_pressure"}
    settings["weekly_depth"], settings["waterings_a_week"] = 0.2, 14  # short runs
    parts = [dict(row) for row in farm.tables["Parts"]]
    parts[1]["inlet"] = "compression 0.70 in"  # nothing before it ends so
    tables = {**farm.tables, "Beds": beds, "BedPlan": plan, "Parts": parts}
    tables["CatchTests"] = farm.tables["CatchTests"][:2]  # not tested again once it was flushed
    inputs = replace(farm, settings=settings, tables=tables)
    _, _, built, book = _built("us", inputs, tmp_path_factory)
    listed = _list(book)
    assert built.named("checks_count") == len(listed)
    for begins, sheet, cell_says in (
        ("Static pressure is blank", "Setup", None),
        ("North 1: Bed: another row has this", "Beds", "North 1"),
        ("North 3: Line 'no such line' is not in", "Beds", "no such line"),
        ("South 4: Length:", "Beds", "5 2"),
        ("North 4: doubtful: filling takes over a fifth", "Beds", "North 4"),
        (f"{parts[1]['part']}: ", "Connections", ""),
        (f"{plan[3]['bed']}, no such crop: Crop: not in", "Plan", "Crop: not in the list of crops"),
        ("Tunnel 1, evenness poor", "Catch test", "poor"),
    ):
        found = [(words, place) for words, place in listed if words.startswith(begins)]
        assert found, begins
        assert found[0][1].startswith(f"{sheet}, ")
        value = book[sheet][found[0][1].split(", ")[1]].value
        assert value is None if cell_says is None else value.startswith(cell_says)


def test_summary_and_start_count_the_checks(farm) -> None:
    _, _, built, book = farm
    count = built.named("checks_count")
    assert count == len(_list(book))
    summary = {row[0].value: row[1].value for row in book["Summary"].iter_rows() if row[0].value}
    assert summary["To put right"] == count
    steps = {row[1].value: row[3].value for row in book["Start"].iter_rows() if row[1].value}
    said = [int(part.split()[0]) for part in steps["Checks"].split(", ")]
    assert sum(said) == count + _examples(book) - built.named("checks_note")


def _examples(book):
    """How many invented rows are in use, by the rows behind the list."""
    area = book.defined_names["examples_used"].attr_text.partition("!")[2]
    return sum(cell.value for (cell,) in book["Checks"][area])


@pytest.mark.parametrize("system", ["us", "metric"])
def test_half_filled_and_empty_show_no_errors(tmp_path_factory, system) -> None:
    started = starting_inputs(system)
    bare = Inputs({}, {**started.tables, "Beds": [], "BedPlan": []})
    for inputs in (started, bare):
        *_, book = _built(system, inputs, tmp_path_factory)
        for name in ("Beds", "Line layout", "Map", "Checks"):
            errors = [
                cell.coordinate
                for row in book[name].iter_rows()
                for cell in row
                if isinstance(cell.value, str) and cell.value.startswith("#") and name != "Checks"
            ]
            assert not errors, (name, errors)
        missing = [words for words, _ in _list(book) if words.endswith("is blank")]
        assert "Soil is blank" in missing
