"""The check of a workbook's inputs: each slip that is put in is named at its cell, and no other."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from dataclasses import replace
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
import xlsxwriter
from click.testing import CliRunner

from xlfuncs.command_line.commands.check import command
from xlfuncs.tables.columns import Table
from xlfuncs.tables.garden.beds import BED_PLAN, BEDS
from xlfuncs.tables.garden.lines import LINES
from xlfuncs.workbooks.checking.input_checks import check
from xlfuncs.workbooks.our_tables.findings import Finding, grouped

GOOD_BED: dict[str, Any] = {
    "bed": "North 1", "strips": 2, "strip_width": 15, "length": 48, "bed_top_width": 40,
    "line": "tape 8 in", "laterals": 4, "distance": 20, "on": "yes",
}  # fmt: skip
GOOD_LINE: dict[str, Any] = {
    "line": "tape 8 in", "kind": "tape", "emitter_spacing": 8, "flow_per_length": 0.4,
    "rated_pressure": 8, "inside_diameter": 0.626,
}  # fmt: skip
METRIC_BED = GOOD_BED | {"strip_width": 38, "length": 14.6, "bed_top_width": 102, "distance": 6}
METRIC_LINE = GOOD_LINE | {
    "emitter_spacing": 20, "flow_per_length": 5, "rated_pressure": 0.55, "inside_diameter": 15.9,
}  # fmt: skip


def write(
    fill: Callable[[xlsxwriter.Workbook], None] = lambda book: None,
    *,
    system: str = "us",
    tables: Sequence[tuple[Table, Sequence[dict[str, Any]]]] = (),
    headings: dict[str, str] | None = None,
) -> bytes:
    """A workbook with tables as the template names them, one a sheet from A1, and more cells."""
    buffer = BytesIO()
    book = xlsxwriter.Workbook(buffer, {"default_date_format": "yyyy-mm-dd"})
    setup = book.add_worksheet("Setup")
    setup.write("A1", system)
    book.define_name("units", "=Setup!$A$1")
    for table, rows in tables:
        sheet = book.add_worksheet(table.name)
        heads = [(headings or {}).get(c.name, c.heading(system)) for c in table.columns]
        sheet.add_table(
            0, 0, max(len(rows), 1), len(heads) - 1,
            {"name": table.name, "columns": [{"header": head} for head in heads]},
        )  # fmt: skip
        for i, row in enumerate(rows, 1):
            for name, value in row.items():
                sheet.write(i, table.names.index(name), value)
    fill(book)
    book.close()
    return buffer.getvalue()


def us(beds: Sequence[dict[str, Any]], lines: Sequence[dict[str, Any]] = (GOOD_LINE,),
       plan: Sequence[dict[str, Any]] = ()) -> list[Finding]:  # fmt: skip
    return check(write(tables=[(BEDS, beds), (LINES, lines), (BED_PLAN, plan)]))


def cell(table: Table, column: str, row: int) -> str:
    return f"{table.name}!{chr(65 + table.names.index(column))}{row}"


def test_good_inputs_are_passed_without_a_word() -> None:
    assert us([GOOD_BED, GOOD_BED | {"bed": "North 2", "length": "46 ft 6 in"}]) == []
    metric = write(system="metric", tables=[(BEDS, [METRIC_BED]), (LINES, [METRIC_LINE])])
    assert check(metric) == []


SLIPS: list[tuple[dict[str, Any], str, str]] = [
    ({"length": "5 2"}, "length", "without its unit"),
    ({"length": "20 gal"}, "length", "does not measure length"),
    ({"length": "20 furlongz"}, "length", "not known"),
    ({"length": -3}, "length", "must be above"),
    ({"length": None}, "length", "is blank"),
    ({"length": "12,5"}, "length", "comma"),
    ({"laterals": 2.5}, "laterals", "whole number"),
    ({"strip_width": 25}, "strip_width", "wider than the bed top"),
    ({"strip_width": 3000}, "strip_width", "must be at most"),
    ({"inset": 21}, "inset", "more than half the bed"),
    ({"cover": "glass"}, "cover", "must be one of"),
    ({"on": "maybe"}, "on", "yes or no"),
    ({"line": "tape 9 in"}, "line", "not in the table Lines"),
]


@pytest.mark.parametrize(("slip", "column", "words"), SLIPS)
def test_a_slip_in_the_bed_list_is_named_at_its_cell(
    slip: dict[str, Any], column: str, words: str
) -> None:
    (finding,) = us([GOOD_BED, GOOD_BED | {"bed": "North 2"} | slip])
    assert finding.kind == "wrong"
    assert finding.address == cell(BEDS, column, 3)
    assert words in finding.words


def test_a_list_with_one_distance_is_doubted() -> None:
    """Two beds may lie across from each other, and beds of two branches have two places."""
    beds = [GOOD_BED | {"bed": f"North {number}"} for number in (1, 2, 3)]
    (finding,) = us(beds)
    assert (finding.kind, finding.address) == ("doubtful", cell(BEDS, "distance", 2))
    assert "all beds are fed from one place: 3 beds, Distance 20 ft" in finding.words
    assert us(beds[:2]) == us([*beds[:2], beds[2] | {"distance": 26}]) == []
    assert us([*beds[:2], beds[2] | {"branch": 1}]) == []


def test_a_bed_named_twice() -> None:
    (finding,) = us([GOOD_BED, GOOD_BED | {"bed": "north 1"}])
    assert finding.address == cell(BEDS, "bed", 3)
    assert finding.words == "north 1: Bed: another row has this name too"


@pytest.mark.parametrize(
    ("slip", "column", "words"),
    [
        ({"kind": "drip line", "inside_diameter": 0.75}, "inside_diameter", "nominal size"),
        ({"kind": "drip line", "inside_diameter": "16 mm"}, "inside_diameter", "nominal size"),
        ({"flow_per_length": 24}, "flow_per_length", "gph/100 ft"),
        ({"flow_per_length": None}, "line", "neither"),
        ({"emitter_flow": 0.25}, "emitter_flow", "is not what the flow per length gives"),
        ({"flow_per_length": None, "emitter_flow": 0.004}, "emitter_flow", "is it in gpm"),
        ({"rated_pressure": None}, "rated_pressure", "is blank"),
    ],
)
def test_a_slip_in_the_lines(slip: dict[str, Any], column: str, words: str) -> None:
    (finding,) = us([GOOD_BED], [GOOD_LINE | slip])
    assert finding.address == cell(LINES, column, 2)
    assert words in finding.words


def test_tape_is_called_by_its_bore_and_a_note_alone_is_no_row() -> None:
    """Thin tape of 5/8 in or 16 mm is that wide inside (from memory: suppliers' data sheets)."""
    for bore in (0.625, "16 mm"):
        assert us([GOOD_BED], [GOOD_LINE | {"inside_diameter": bore}, {"note": "Invented"}]) == []


def test_an_outside_diameter_may_be_a_nominal_size() -> None:
    line = METRIC_LINE | {"outside_diameter": 16}
    assert check(write(system="metric", tables=[(BEDS, [METRIC_BED]), (LINES, [line])])) == []


def plan_row(bed: str, crop: str, start: str, end: str) -> dict[str, Any]:
    return {
        "bed": bed, "crop": crop,
        "start": dt.date.fromisoformat(start), "end": dt.date.fromisoformat(end),
    }  # fmt: skip


def test_overlaps_in_the_bed_plan_even_behind_a_short_crop() -> None:
    plan = [
        plan_row("North 1", "tomato", "2026-04-01", "2026-08-31"),
        plan_row("North 1", "radish", "2026-09-01", "2026-09-30"),
        plan_row("North 1", "lettuce", "2026-08-31", "2026-09-15"),
    ]
    findings = us([GOOD_BED], plan=plan)
    assert [f.address for f in findings] == [cell(BED_PLAN, "start", 3), cell(BED_PLAN, "start", 4)]
    assert "lettuce from 2026-08-31 overlaps tomato until 2026-08-31" in findings[1].words


@pytest.mark.parametrize(
    ("row", "column", "words"),
    [
        (plan_row("North 1", "beet", "2026-08-01", "2026-04-01"), "end", "before the first day"),
        (plan_row("Nort 1", "beet", "2026-04-01", "2026-08-01"), "bed", "not in the table Beds"),
        ({"bed": "North 1", "crop": "beet", "start": "spring"}, "start", "not a date"),
    ],
)
def test_slips_in_the_bed_plan(row: dict[str, Any], column: str, words: str) -> None:
    findings = us([GOOD_BED], plan=[row])
    assert any(f.address == cell(BED_PLAN, column, 2) and words in f.words for f in findings)


def test_beds_on_without_crop_and_off_with_one() -> None:
    beds = [GOOD_BED, GOOD_BED | {"bed": "B", "on": "no"}]
    findings = us(beds, plan=[plan_row("B", "beet", "2026-04-01", "2026-08-01")])
    words = {f.address: f"{f.kind}: {f.words}" for f in findings}
    assert words[cell(BEDS, "bed", 2)].startswith("note: North 1 is on but has no crop")
    assert words[cell(BEDS, "bed", 3)].startswith("doubtful: B is off but has a crop")


@pytest.mark.parametrize(
    ("heading", "kind", "words"),
    [("Length (m)", "wrong", "read as ft"), ("Length", "doubtful", "without its unit")],
)
def test_a_header_with_the_wrong_unit_or_none(heading: str, kind: str, words: str) -> None:
    book = write(tables=[(BEDS, [GOOD_BED]), (LINES, [GOOD_LINE])], headings={"length": heading})
    (finding,) = check(book)
    assert (finding.kind, finding.address) == (kind, cell(BEDS, "length", 1))
    assert words in finding.words


def calls(
    *formulas: tuple[str, str, object], system: str = "us", **cells: object
) -> dict[str, str]:
    """Findings by address of formulas (cell, formula, stored value) beside typed cells."""

    def fill(book: xlsxwriter.Workbook) -> None:
        sheet = book.add_worksheet("Work")
        for place, value in cells.items():
            sheet.write(place.upper(), value)
        for place, formula, value in formulas:
            sheet.write_formula(place, formula, value=value)

    findings = check(write(fill, system=system))
    assert len({f.address for f in findings}) == len(findings)
    return {f.address: f"{f.kind}: {f.words}" for f in findings}


def test_calls_without_a_slip() -> None:
    assert calls(("B1", "=BED_AREA(A1,30,2,units)*2", 480), a1=48) == {}
    assert calls(("B1", "=RUN_MINUTES(600,1,BED_FLOW(100,8,0.25,4))", 249.4)) == {}
    assert calls(("B1", "=BED_AREA(15,76,1,units)", 11.4), system="metric") == {}


@pytest.mark.parametrize(
    ("formula", "words"),
    [
        ("=BED_AREA(A1,30)", "wrong: BED_AREA without units counts in us units"),
        ('=BED_AREA(A1,30,1,"us")', "doubtful: BED_AREA is called with units 'us'"),
        ('=BED_AREA(A1,30,1,"metrisch")', "wrong: BED_AREA: units: must be one of"),
    ],
)
def test_units_left_out_in_a_metric_workbook(formula: str, words: str) -> None:
    found = calls(("B1", formula, 1), system="metric", a1=12)
    assert found["Work!B1"].startswith(words)


def test_a_nominal_size_behind_a_reference_is_named_at_its_cell() -> None:
    found = calls(("B1", "=PIPE_VOLUME(50,A1)", 1.1), ("B2", "=PIPE_VOLUME(9,A1)", 0.2), a1=0.75)
    assert list(found) == ["Work!A1"]
    assert "nominal size" in found["Work!A1"]
    assert "PIPE_VOLUME in Work!B1" in found["Work!A1"]


def test_gallons_an_hour_where_gallons_a_minute_are_read() -> None:
    nested = calls(("B1", "=RUN_MINUTES(600,1,LATERAL_FLOW(100,8,0.25))", 9.97))
    assert nested["Work!B1"] == (
        "wrong: RUN_MINUTES: flow is read as gpm but gets the result of LATERAL_FLOW, which is in"
        " gph"
    )
    apart = calls(("A1", "=LATERAL_FLOW(100,8,0.25)", 37.5), ("B1", "=RUN_MINUTES(600,1,A1)", 9.97))
    assert "result of LATERAL_FLOW" in apart["Work!B1"]
    assert calls(("B1", "=RUN_MINUTES(600,1,LATERAL_FLOW(100,8,0.25)/60)", 598)) == {}


def test_a_run_that_is_too_short_is_doubted() -> None:
    found = calls(("B1", "=RUN_MINUTES(600,1,A1)", 1.04), a1=360)
    assert found["Work!B1"].startswith("doubtful: RUN_MINUTES: a run under 3 minutes")


def test_typed_values_outside_limits_and_relations() -> None:
    found = calls(
        ("B1", "=BED_AREA(A1,30)", "#NUM!"), ("B2", '=BED_AREA("12 gpm",30)', "#VALUE!"),
        ("B3", "=COVERAGE(30,2,A3)", "#NUM!"), a1=-4, a3=16,
    )  # fmt: skip
    assert "must be at least" in found["Work!A1"]
    assert "does not measure" in found["Work!B2"]
    assert "at most half the width" in found["Work!B3"]
    assert "Work!B1" not in found


def test_a_whole_function_names_the_row() -> None:
    found = calls(
        ("C1", "=BED_DAYS(A1:A2,DATE(2026,5,1),B1:B2,B3,B4)", "#NUM!"),
        ("D1", "=LINE_OFFSETS(30,2,A4)", "#NUM!"), a1="x", a2="y", b1="x", a4=17,
    )  # fmt: skip
    assert "inset" in found["Work!D1"]


def test_the_same_words_of_cells_below_each_other_are_said_once() -> None:
    findings = [Finding("wrong", "S", row, 2, "w") for row in (2, 3, 4, 6)]
    assert [f.address for f in grouped(findings + findings)] == ["S!B2:B4", "S!B6"]


def test_terms_of_a_quotation_that_nobody_began_are_no_slip() -> None:
    from workbook_template.build import starting_inputs
    from workbook_template.build import write as write_template

    started = starting_inputs("us")
    for settings, kinds in (({}, {"note"}), ({"client": "C"}, {"wrong"})):
        content = write_template("us", replace(started, settings=settings)).finish({})
        assert {f.kind for f in check(content) if f.sheet == "Quoting"} == kinds


def test_the_command_prints_and_fails_where_something_is_wrong(tmp_path: Path) -> None:
    path = tmp_path / "w.xlsx"
    path.write_bytes(write(tables=[(BEDS, [GOOD_BED | {"length": "5 2"}]), (LINES, [GOOD_LINE])]))
    result = CliRunner().invoke(command, [str(path)])
    assert result.exit_code == 1
    assert f"{cell(BEDS, 'length', 2)}: North 1: Length: '5 2'" in result.output
    path.write_bytes(write(tables=[(BEDS, [GOOD_BED]), (LINES, [GOOD_LINE])]))
    assert CliRunner().invoke(command, [str(path)]).exit_code == 0


@pytest.mark.parametrize("system", ["us", "metric"])
def test_the_invented_farm_has_only_the_slip_that_it_shows(system: str) -> None:
    """South 4's length cannot be read, on purpose; nothing else may be wrong."""
    from workbook_template.build import demo_inputs
    from workbook_template.build import write as write_template

    content = write_template(system, demo_inputs(system)).finish({})
    findings = check(content)
    (wrong,) = [f for f in findings if f.kind == "wrong"]
    assert wrong.sheet == "Beds"
    assert wrong.words.startswith("South 4: Length:")
    assert wrong.words.endswith("has a number without its unit")
    # What the sheets warn of by themselves (the list Checks) is said too, each once.
    assert [f.sheet for f in findings if f.kind == "doubtful"] == ["Prices"]
    old = [f for f in findings if "the price is old" in f.words]
    assert [(f.sheet, f.column) for f in old] == [("Prices", 18)]  # behind Counted and Bought
    assert sum("South 4: " in f.words for f in findings) == 1  # and once among the examples
