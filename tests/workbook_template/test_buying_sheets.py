"""Purchase, Cut list and Designs: sums that a person can do with the sheet in hand."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import takewhile
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from tests.made_once import made_once
from workbook_template.build import build, demo_inputs, results, starting_inputs, write
from workbook_template.designed import given_of
from workbook_template.sheets.money.purchase import BOUGHT_ROWS, CHARTED, DEAREST_AT
from xlfuncs.catalogue.whole_designs import whole_designs


@pytest.fixture(scope="module", params=["us", "metric"])
def farm(request, tmp_path_factory):
    path = tmp_path_factory.mktemp(request.param) / "farm.xlsx"
    inputs = demo_inputs(request.param)
    built = made_once(path, request.param, inputs)
    return request.param, inputs, built, openpyxl.load_workbook(path, data_only=True)


def _under(sheet, header: str, width: int, *, col: int = 1, found: int = 1) -> list[list[object]]:
    """Rows down to the first blank one, under the n-th header that reads so."""
    rows = sheet.iter_rows(min_col=col, max_col=col + width - 1, values_only=True)
    for _ in range(found):
        assert any(row[0] == header for row in rows)  # and on from there
    return [[*row] for row in takewhile(lambda row: row[0] not in (None, ""), rows)]


def test_what_no_rule_counts_is_said_and_a_manifold_spans_the_strips(tmp_path: Path) -> None:
    farm = demo_inputs("us")
    beds = [dict(row) for row in farm.tables["Beds"]]
    beds[0] |= {"strips": 2, "strip_width": 15, "bed_top_width": None}
    beds[0] |= {"line": "holding line 12 in", "main_pipe": "pipe one inch"}
    beds[0] |= {"manifold_pipe": "tubing half inch"}
    beds[1] |= beds[0] | {"bed": beds[1]["bed"], "bed_top_width": "40 in"}
    inputs = replace(farm, tables={**farm.tables, "Beds": beds})
    build(tmp_path / "farm.xlsx", "us", inputs)
    book = openpyxl.load_workbook(tmp_path / "farm.xlsx", data_only=True, read_only=True)
    words = [row[0] for row in _under(book["Checks"], "What", 1, col=4)]
    for said in ("holding line 12 in: no counting rule is for it", "pipe one inch: leads to beds"):
        assert sum(text.startswith(said) for text in words) == 1
    assert not any("tape 8 in: no counting rule" in text for text in words)
    manifolds = [row[0] for row in _under(book["Parts"], "Manifold length", 1, col=16)]
    assert manifolds[:2] == ["30 in", "40 in"]  # two strips of 15 in; the bed top


def test_a_cell_of_a_bed_that_cannot_be_read_costs_that_bed_and_no_other() -> None:
    farm = demo_inputs("metric")
    beds = farm.tables["Beds"]

    def bought(rows: Sequence[Mapping[str, Any]]) -> tuple[Any, list[Any]]:
        inputs = replace(farm, tables={**farm.tables, "Beds": rows})
        built = results(write("metric", inputs, edition="grower"))
        listed = [(row["part"], row["packs"], row["total"]) for row in built.block(BOUGHT_ROWS)]
        flows = [row["flow_used"] for row in built.rows("Beds") if row["counted"] == "yes"]
        return built.named("purchase_check"), listed, flows

    without = bought(beds[1:])
    for column in ("distance", "branch", "branch_start", "bed_top_width", "elevation", "length"):
        typed = [dict(beds[0]) | {column: "11,4"}, *beds[1:]]
        assert bought(typed) == without, column


def test_an_offer_that_cannot_be_read_is_named_and_the_others_are_bought() -> None:
    farm = demo_inputs("us")
    prices = [dict(row) for row in farm.tables["Prices"]]
    odd = next(row for row in prices if row["part"] == "tape 8 in")
    without = [row for row in prices if row is not odd]
    found = []
    for rows in (without, [row | {"price": "62,50"} if row is odd else row for row in prices]):
        inputs = replace(farm, tables={**farm.tables, "Prices": rows})
        built = results(write("us", inputs, edition="grower"))
        listed = [(row["part"], row["packs"], row["total"]) for row in built.block(BOUGHT_ROWS)]
        found.append((built.named("purchase_check"), listed))
    assert found[0][1] == found[1][1]
    assert "an offer of 'tape 8 in' cannot be read and is left out" in found[1][0]


def test_a_part_without_a_price_is_named_and_no_cell_shows_an_error(tmp_path: Path) -> None:
    farm = demo_inputs("us")
    prices = [row for row in farm.tables["Prices"] if row["part"] != "tape 8 in"]
    built = build(
        tmp_path / "farm.xlsx", "us", replace(farm, tables=farm.tables | {"Prices": prices})
    )
    assert "'tape 8 in' has no price" in built.named("purchase_check")
    assert built.named("cost_of_parts") == ""
    rest = [row for row in built.block(BOUGHT_ROWS) if isinstance(row["total"], float)]
    assert len(rest) > 20  # what has a price is listed, and its sum is no cost of all parts
    assert built.named("cost_of_priced") == pytest.approx(sum(row["total"] for row in rest))
    book = openpyxl.load_workbook(tmp_path / "farm.xlsx", data_only=True, read_only=True)
    for name in ("Purchase", "Summary", "Cost"):
        assert [c.coordinate for row in book[name] for c in row if c.data_type == "e"] == []


def test_the_bars_are_the_parts_that_cost_most_and_the_rest(farm) -> None:
    _, _, built, book = farm
    each: dict[object, float] = defaultdict(float)
    for row in _under(book["Purchase"], "Part", 13):
        each[row[0]] += row[8]
    assert sum(each.values()) == pytest.approx(built.named("cost_of_parts"))
    bars = _under(book["Purchase"], "Part", 2, col=DEAREST_AT + 2)
    *dearest, rest = bars
    assert len(dearest) == CHARTED
    assert rest[0] == "all other parts"
    expected = sorted(each.items(), key=lambda item: -item[1])[:CHARTED]
    assert [cost for _, cost in dearest] == pytest.approx([cost for _, cost in expected])
    assert {name for name, _ in dearest} == {name for name, _ in expected}
    assert sum(cost for _, cost in bars) == pytest.approx(sum(each.values()))


@pytest.mark.parametrize("number", [1, 2])
def test_a_roll_holds_what_is_cut_from_it(farm, number: int) -> None:
    _, inputs, built, book = farm
    cuts = _under(book["Cut list"], "Roll", 7, found=number)
    line = inputs.settings[f"cut_line_{number}"]
    rolls: dict[object, list[list[object]]] = defaultdict(list)
    lines: dict[object, float] = defaultdict(float)
    for row in cuts:
        rolls[row[0]].append(row)
        lines[row[2]] += row[3]
    for rows in rolls.values():
        used = 0.0
        for _, roll_length, _, count, length, _, left in rows:
            used += count * length
            assert left == pytest.approx(roll_length - used, abs=1e-6)
            assert left >= -1e-9
    beds = [
        row
        for row in built.rows("Beds")
        if row["counted"] in ("yes", "off") and row["line"] == line
    ]
    assert lines == {row["bed"]: row["laterals"] for row in beds}


def test_designs_are_those_that_the_tables_give(farm) -> None:
    """The sheet's function on its columns, and the same asked of the tables as they were typed."""
    system, _, built, book = farm
    asked = whole_designs(given_of(built, system)).rows
    shown = _under(book["Designs"], "Kind", 14)
    assert [row[0] for row in shown] == [row.kind for row in asked]
    for cells, row in zip(shown, asked, strict=True):
        assert cells[5] == pytest.approx(row.cost)
        assert cells[6] == pytest.approx(row.cost_per_area)
        assert cells[2] == row.main
        if row.kind != "fails":
            assert cells[7] == len(row.sets)
            assert cells[8] == pytest.approx(row.hours)
            assert cells[9] == pytest.approx(row.least_share)
    assert "proven" in shown[0][12]


def test_nothing_costs_nothing_before_there_is_anything_to_buy(tmp_path: Path) -> None:
    path = tmp_path / "empty.xlsx"
    built = made_once(path, "us", starting_inputs("us"))
    for name in ("cost_of_parts", "tax_of_parts", "left_over_value",
                 "parts_cost_per_planted_area", "longest_watering_delivered"):  # fmt: skip
        assert built.named(name) == "", name
    book = openpyxl.load_workbook(path, data_only=True, read_only=True)
    assert _under(book["Cut list"], "Roll", 7) == []
    assert _under(book["Designs"], "Kind", 14) == []
    assert [row["minutes"] for row in built.rows("Beds")] == [""]


@pytest.mark.parametrize(("preset", "bought"), [(15, "pressure regulator 15 psi"), (10, "")])
def test_the_regulator_that_is_bought_holds_the_preset(preset: float, bought: str) -> None:
    farm = demo_inputs("us")
    head = [row | ({"preset": preset} if row.get("preset") else {})
            for row in farm.tables["HeadParts"]]  # fmt: skip
    changed = replace(farm, tables=farm.tables | {"HeadParts": head})
    built = results(write("us", changed))
    names = [str(row["part"]) for row in built.block(BOUGHT_ROWS)]
    assert [n for n in names if "regulator" in n] == [bought or "pressure regulator"]
