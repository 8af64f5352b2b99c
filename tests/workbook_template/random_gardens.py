"""Gardens by chance as inputs of a workbook: 2 to 60 beds of two widths, weak and strong taps,
wells, pumps, slopes; and what in a workbook speaks against the design that is in it."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

from workbook_template.build import Built, demo_inputs
from workbook_template.kit.inputs import Inputs
from workbook_template.sheets.money.purchase import BOUGHT_ROWS
from workbook_template.sheets.water.pressure import DELIVERY
from workbook_template.sheets.water.timer import SETS
from workbook_template.sheets.water.valves import VALVES
from xlfuncs.catalogue.design_rows import DesignRow
from xlfuncs.workbooks.checking.input_checks import check

SIZES = (2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 16, 18, 20, 22, 24, 26, 28, 30, 32, 35, 38,
         40, 44, 48, 52, 56, 60)  # fmt: skip
NOT_OF_THE_DESIGN = ("BedPlan", "FieldChecks", "CatchTests", "WeatherLog", "BedNotes", "Ledger",
                     "Readings", "Store", "Tariffs", "Tiers", "Years")  # fmt: skip
# What Checks may say of it that is no matter of a design.
OF_ANY_GARDEN = ("the price is old", "Price age")


def garden_inputs(seed: int, beds: int) -> Inputs:
    """The invented lists and prices with another garden, the same for the same seed (US units)."""
    chance, inputs = random.Random(seed), demo_inputs("us")
    tables = {k: [dict(r) for r in rows] for k, rows in inputs.tables.items()
              if k not in NOT_OF_THE_DESIGN}  # fmt: skip
    settings = dict(inputs.settings)
    for name in ("timer_month", "hose_from", "hose_to", "allowed_days", "longest_run"):
        settings.pop(name, None)
    large = 1 if beds <= 16 else 3  # a larger head assembly for more beds
    for row in (*tables["HeadParts"], *tables["Regulators"]):
        for name in ("loss_flow", "greatest_flow"):
            if row.get(name):
                row[name] = row[name] * large
    tables["Beds"] = _beds(chance, beds)
    tables["CountingRules"] += [
        {"part": "zone valve", "counted_by": "valve by timer"},
        {"part": "valve box", "counted_by": "valve by timer", "each": 0.5},
        {"part": "zone wire", "counted_by": "wire length"},
        {"part": "hand valve", "counted_by": "valve by hand"},
        {"part": "main coupler", "counted_by": "main join", "every": 100.0},
    ]
    parts = ({"part": "zone valve", "price": 24.0}, {"part": "valve box", "price": 14.0},
             {"part": "zone wire", "roll_length": 100.0, "price": 19.0},
             {"part": "hand valve", "price": 9.0})  # fmt: skip
    like = {name: tables["Prices"][0][name] for name in ("currency", "date")} | {"source": "shop"}
    tables["Prices"] += [like | part for part in parts]
    settings |= _supply(chance, tables, large) | {
        "weekly_depth": chance.choice([0.8, 1.0, 1.3]),
        "waterings_a_week": chance.choice([2.0, 3.0, 5.0]),
        "allowed_from": 4.0, "allowed_to": chance.choice([9.0, 14.0, 20.0]),
        "soil": chance.choice(["sandy loam", "loam", "silt loam"]),
        "stations": float(chance.choice([1, 4, 12])),
        "keep_valves": "no",
    }  # fmt: skip
    return replace(inputs, tables=tables, settings=settings)


def _beds(chance: random.Random, count: int) -> list[dict[str, Any]]:
    sloping = chance.random() < 0.5
    rows = []
    for i in range(count):
        strips, width, top = ((2.0, 15.0, 40.0), (3.0, 13.0, 48.0))[i % 2]
        rows.append(
            {
                "bed": f"bed {i + 1}", "strips": strips, "strip_width": width,
                "bed_top_width": top, "length": float(chance.choice([24, 36, 48, 60, 90])),
                "line": "tape 8 in", "laterals": 4.0, "distance": 15.0 + 4.0 * i,
                "main_pipe": "tubing three quarter", "manifold_pipe": "tubing half inch",
                "branch": 0.0, "branch_start": 0.0,
                "elevation": round(chance.uniform(-3, 3), 1) if sloping else 0.0,
                "slope": chance.choice([0.0, 1.0, -1.0]) if sloping else 0.0,
                "valve": "1", "cover": "open",
                "on": "no" if i and chance.random() < 0.08 else "yes",
            }
        )  # fmt: skip
    return rows


def _supply(chance: random.Random, tables: dict[str, Any], large: int) -> dict[str, Any]:
    """A weak tap, a strong one, a well or a pump, in place of the farm's."""
    kind = chance.choice(["weak tap", "strong tap", "well", "pump"])
    own: dict[str, Any] = {"supply": kind, "kind": kind.split()[-1].replace("tap", "service")}
    settings = {"supply_used": kind, "bucket_volume": 5.0}
    if kind == "weak tap":
        settings |= {"static_pressure": 28.0, "bucket_seconds": 60.0 / large}
    elif kind == "strong tap":
        settings |= {"static_pressure": 60.0, "bucket_seconds": 25.0 / large}
    elif kind == "well":
        own |= {"cut_in_pressure": 30.0, "cut_out_pressure": 50.0, "sustained_yield": 7.0 * large}
    else:
        own["lift"] = 10.0
        tables["PumpCurves"] = [
            {"supply": kind, "flow": flow * large, "head": head}
            for flow, head in ((0.0, 95.0), (4.0, 88.0), (8.0, 72.0), (12.0, 45.0))
        ]
    if kind in ("well", "pump"):  # a pump can push back
        settings |= {"preventer": "reduced pressure principle", "back_pressure": "yes"}
    tables["Supplies"] = [own]
    return settings


def disagreements(design: DesignRow, built: Built, path: Path) -> Iterator[str]:
    """What sheets and commands say against the design that the workbook holds, which the design
    does not say of itself."""
    doubts = " ".join(design.doubts)
    known = [*OF_ANY_GARDEN, *(words for words in ("by hand", "filling") if words in doubts)]
    for words in _said(design, built, path):
        if not any(part in words for part in known):
            yield words


def _said(design: DesignRow, built: Built, path: Path) -> Iterator[str]:
    yield from _numbers(design, built)
    yield from _sheets(design, built)
    checks = built.values["Checks"]
    for (row, col), words in sorted(checks.items()):
        if col == 4 and words and checks.get((row, 2)) in ("wrong", "doubtful"):
            yield f"Checks: {words}"
    for finding in check(path):
        if finding.kind != "note":
            yield f"check: {finding}"


def _numbers(design: DesignRow, built: Built) -> Iterator[str]:
    sets = [row for row in built.block(SETS) if row["set"]]
    watered = [row for row in built.block(DELIVERY) if isinstance(row["delivered"], float)]
    total = sum(row["minutes"] for row in sets) if sets else 0.0
    for what, of_design, of_sheet, within in (
        ("Purchase: cost", design.cost, built.named("cost_of_parts"), 0.005),
        ("Summary: sets", len(design.sets), built.named("number_of_sets"), 0),
        ("Pressure: beds", sum(map(len, design.sets)), len(watered), 0),
        ("Pressure: driest bed", design.least_share, min((r["share"] for r in watered), default=0),
         1e-4),
        ("Timer: minutes of a watering", sum(design.minutes), total, 1e-3 * total),
    ):  # fmt: skip
        if not isinstance(of_sheet, (int, float)) or abs(of_design - of_sheet) > within:
            yield f"{what}: the design has {of_design}, the sheet {of_sheet}"
    named = sorted(tuple(row["names"].split(", ")) for row in sets)
    if named != sorted(design.sets):
        yield f"Timer: other sets: {named}"


def _sheets(design: DesignRow, built: Built) -> Iterator[str]:
    for name, right in (
        ("pressure_state", "ok"), ("head_state", "ok"), ("design_state", "ok"),
        ("pressure_findings", 0), ("head_limits_broken", 0), ("beds_not_solved", 0),
        ("beds_with_too_little", 0), ("beds_with_too_much", 0), ("purchase_check", "ok"),
        ("timer_state", "ok"), ("sets_over_supply", 0),
    ):  # fmt: skip
        if built.named(name) != right:
            yield f"{name} is {built.named(name)!r}, not {right!r}"
    for row in built.block(DELIVERY):
        if isinstance(row["delivered"], float) and not row["remark"].startswith("ok"):
            yield f"Pressure: {row['bed']}: {row['remark']}"
        if row["set_by_pressure"] == "none":
            yield f"Pressure: {row['bed']}: in no set"
    for row in built.block(VALVES):
        if row["verdict"] not in ("", None, "ok", "off"):
            yield f"Valves: {row['bed']}: {row['verdict']}"
    for row in built.block(SETS):
        if row["set"] and (row["notes"] not in ("", "–") or not row["entered"]):
            yield f"Timer: {row['set']}: {row['notes']}"
    bought = [row for row in built.block(BOUGHT_ROWS) if isinstance(row["packs"], float)]
    if abs(sum(row["total"] for row in bought) - design.cost) > 0.01 * len(bought):
        yield "Purchase: the rows add up to another cost"
