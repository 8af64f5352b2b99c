"""The same question has the same answer wherever it is asked: sheets, the demo, the commands."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from tests.made_once import made_once
from workbook_template.build import Built, demo_inputs, results, write
from workbook_template.designed import given_of, with_design
from workbook_template.kit.inputs import Inputs
from workbook_template.sheets.money.purchase import BOUGHT_ROWS
from workbook_template.sheets.water.pressure import DELIVERY
from workbook_template.sheets.water.timer import SETS
from xlfuncs.catalogue.design_rows import DesignRow
from xlfuncs.catalogue.whole_designs import whole_designs
from xlfuncs.command_line.main import commands


def with_store_and_orders(inputs: Inputs) -> Inputs:
    """Two shops that charge for an order, something in the store, and a part that is free."""
    prices = [dict(row) for row in inputs.tables["Prices"]]
    for row in prices:
        row["delivery"] = 1.5 if row["part"].startswith("tape") and row.get("roll_length") else 0
        if row["part"] == "punch":
            row["price"] = 0
    tables = {
        **inputs.tables,
        "Prices": prices,
        "AlreadyHave": [{"part": "tape 8 in", "number": 1, "length": 300},
                        {"part": "bed valve", "number": 5}],
        "Orders": [{"shop": "shop A", "delivery": 12.0, "tax": 0.075},
                   {"shop": "shop B", "delivery": 4.0}],
    }  # fmt: skip
    return replace(inputs, tables=tables)


CASES = {"plain": lambda inputs: inputs, "store and orders": with_store_and_orders}


@pytest.fixture(scope="module", params=list(CASES))
def asked(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> tuple[Inputs, Built, DesignRow, Built]:
    """A workbook, the cheapest design of it, and the workbook with that design in it."""
    folder: Path = tmp_path_factory.mktemp("one")
    inputs = CASES[request.param](demo_inputs("us"))
    built = made_once(folder / "as_it_is.xlsx", "us", inputs)
    design = whole_designs(given_of(built, "us"), 60.0, front=False).rows[0]
    designed = with_design(inputs, design, "us")
    return designed, built, design, results(write("us", designed))


def bought(built: Built) -> list[dict[str, Any]]:
    return [row for row in built.block(BOUGHT_ROWS) if isinstance(row["packs"], float)]


def test_what_it_costs(asked) -> None:
    """Design, Purchase, Summary: to the cent."""
    _, _, design, built = asked
    assert built.named("cost_of_parts") == pytest.approx(design.cost, abs=0.005)
    assert built.named("cheapest_saves") == pytest.approx(0.0, abs=0.005)
    assert built.named("parts_cost_per_planted_area") == pytest.approx(design.cost_per_area)
    lines = {row["line"] for row in built.rows("Lines")}
    of_lines = sum(row["total"] for row in bought(built) if row["part"] in lines)
    assert built.named("cost_of_lines") == pytest.approx(of_lines)


def test_how_many_rolls(asked) -> None:
    """Summary, Purchase, Cut list: the rolls that are cut are those that are bought or there."""
    _, _, _, built = asked
    rolls = Counter(
        {row["length"]: row["packs"] for row in bought(built) if row["part"] == "tape 8 in"}
    )
    lines = {row["line"] for row in built.rows("Lines")}
    assert built.named("rolls_in_all") == sum(
        row["packs"] for row in bought(built) if row["part"] in lines
    )
    cells = built.values["Cut list"]
    start = min(row for (row, col), v in cells.items() if col == 1 and v == 1.0)
    cut: dict[float, float] = {}
    row = start
    while isinstance(cells.get((row, 1)), float):
        cut[cells[row, 1]] = cells[row, 2]
        row += 1
    assert Counter(cut.values()) == rolls


def test_how_many_lines(asked) -> None:
    """Design, Beds, Parts, Summary; fallow beds keep theirs."""
    _, _, design, built = asked
    laid = [row for row in built.rows("Beds") if row["counted"] in ("yes", "off")]
    wanted = [design.lines[round(row["bed_top_width"], 6)] for row in laid]
    assert [(row["line"], row["laterals"]) for row in laid] == [(x, n) for x, n, _ in wanted]
    assert built.named("number_of_lines") == sum(n for _, n, _ in wanted)
    assert any(row["counted"] == "off" for row in laid)


def test_how_many_sets_with_which_beds(asked) -> None:
    """Design, Pressure, Timer, Summary."""
    _, _, design, built = asked
    sets = [row for row in built.block(SETS) if row["set"]]
    assert built.named("number_of_sets") == len(design.sets) == len(sets)
    assert sorted(tuple(row["names"].split(", ")) for row in sets) == sorted(design.sets)
    valves: dict[str, list[str]] = {}
    for row in built.block(DELIVERY):
        if isinstance(row["delivered"], float):
            valves.setdefault(row["valve"], []).append(row["bed"])
    assert sorted(map(tuple, valves.values())) == sorted(design.sets)


def test_what_every_bed_gets(asked) -> None:
    """Design, Pressure: least share and evenness; minutes in which the beds of a set get between
    them what they want, as Valves and Timer have it, and each its own within a tenth."""
    _, _, design, built = asked
    rows = [row for row in built.block(DELIVERY) if isinstance(row["delivered"], float)]
    assert min(row["share"] for row in rows) == pytest.approx(design.least_share, rel=1e-4)
    of_line = {row["line"]: row["cv"] for row in built.rows("Lines")}
    cv = {row["bed"]: of_line[row["line"]] for row in built.rows("Beds")}
    evenness = min(row["uniformity"] * (1 - 1.27 * cv[row["bed"]]) for row in rows)
    assert evenness == pytest.approx(design.uniformity, rel=1e-4)
    beds = {row["bed"]: row for row in rows}
    for names, minutes in zip(design.sets, design.minutes, strict=True):
        flows = [beds[bed]["delivered"] for bed in names]
        wanted = [beds[bed]["minutes_delivered"] for bed in names]
        volume = sum(a * b for a, b in zip(flows, wanted, strict=True))
        assert volume / sum(flows) == pytest.approx(minutes, rel=1e-4)
        assert all(0.9 <= minutes / each <= 1.1 for each in wanted)


def test_no_sheet_calls_the_design_wrong(asked) -> None:
    _, _, _, built = asked
    assert built.named("pressure_findings") == 0
    assert built.named("head_limits_broken") == 0
    assert built.named("purchase_check") == "ok"
    assert built.named("timer_state") == "ok"
    assert not any(row["set_by_pressure"] == "none" for row in built.block(DELIVERY))


def test_the_demo_says_what_its_workbook_says(tmp_path: Path) -> None:
    path = tmp_path / "farm.xlsx"
    said = CliRunner().invoke(commands, ["demo", "--output", str(path)]).output
    built = made_once(tmp_path / "again.xlsx", "us", demo_inputs("us"))
    assert f"What to buy: {built.named('cost_of_parts'):,.2f} USD" in said
    assert f"{built.named('rolls_in_all'):.0f} rolls of line" in said
    for row in built.block(SETS):
        if row["set"]:
            assert f"{row['set']}: {row['minutes']:.0f} min: {row['names']}" in said
    driest = min(r["share"] for r in built.block(DELIVERY) if isinstance(r["share"], float))
    assert f"gets {driest:.0%} of its planned flow" in said
    best = whole_designs(given_of(built, "us"), 60.0, front=False).rows[0]
    assert f"{len(best.sets)} sets" in said
    assert f"{best.cost:,.2f}" in said
    shown = CliRunner().invoke(commands, ["designs"]).output
    assert f"{best.cost:,.2f}" in shown
    assert "proven" in shown
    assert "Not compared: South 4" in shown
