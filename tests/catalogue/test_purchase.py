"""Buying on the invented farm: from the bed list to a basket that adds up, in both systems."""

from __future__ import annotations

import csv
import datetime as dt
from decimal import Decimal
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

import xlfuncs
from xlfuncs.errors import InputError, UnitError
from xlfuncs.tables.columns import Table
from xlfuncs.tables.money.parts import COUNTING_RULES, PARTS
from xlfuncs.tables.money.prices import PRICES
from xlfuncs.units import parse

EXAMPLES = Path(__file__).parents[2] / "examples"
SYSTEMS = ("us", "metric")
PLAN_DATE = dt.date(2026, 2, 15)
# What a person counts on the bed list: 12 beds of 4 lines are watered (North 7 lies fallow, South 4
# cannot be read). Beds 1, 2, 3 and 5 of North and South face each other; North 4 and 6 and the two
# tunnels are fed alone, Tunnel 2 at the end of the main.
BY_HAND = {
    "main cross": 4,
    "main tee": 4,
    "flush end": 1,
    "bed valve": 12,
    "drain end": 24,
    "timer": 1,
    "tape connector": 40,
    "tape end": 40,
    "drip line connector": 8,
    "drip line end": 8,
    "filter screen": 0,
}


def rows(system: str, name: str) -> list[dict[str, str]]:
    """An example file, headings without their units."""
    with (EXAMPLES / system / name).open(encoding="utf-8", newline="") as file:
        return [{k.split(" (")[0]: v for k, v in row.items()} for row in csv.DictReader(file)]


def column(table: list[dict[str, str]], name: str) -> list[Any]:
    return [row[name] or None for row in table]


def counted_beds(system: str) -> list[dict[str, str]]:
    found = []
    for row in rows(system, "beds.csv"):
        try:
            parse(row["Length"], "length", system)
        except UnitError:
            continue
        if row["On"] == "yes":
            found.append(row)
    return found


@pytest.fixture(params=SYSTEMS)
def farm(request: pytest.FixtureRequest) -> dict[str, Any]:
    system = request.param
    beds = counted_beds(system)
    spacing = {row["Line"]: row["Emitter spacing"] for row in rows(system, "lines.csv")}
    lengths = xlfuncs.cut_length(
        column(beds, "Length"), [float(spacing[bed["Line"]]) for bed in beds], 0.5, units=system
    )
    return {"system": system, "beds": beds, "lengths": np.asarray(lengths)}


def count(farm: dict[str, Any]) -> pd.DataFrame:
    beds, rules = farm["beds"], rows(farm["system"], "counting_rules.csv")
    return xlfuncs.parts_count(
        laterals=column(beds, "Lines per bed"),
        line_lengths=farm["lengths"],
        distance=column(beds, "Distance"),
        parts=column(rules, "Part"),
        counted_by=column(rules, "Counted by"),
        each=column(rules, "Each"),
        every=column(rules, "Every"),
        only_line=column(rules, "Only for line"),
        spare_share=column(rules, "Spare share"),
        least_spares=column(rules, "Minimum spares"),
        manifold_lengths=[f"{bed['Bed top width']} {WIDTH[farm['system']]}" for bed in beds],
        valve=column(beds, "Valve"),
        line=column(beds, "Line"),
        kind=["tape" if "tape" in name else "drip line" for name in column(beds, "Line")],
        units=farm["system"],
    )


WIDTH = {"us": "in", "metric": "cm"}


def needs(farm: dict[str, Any]) -> pd.DataFrame:
    """Parts by count, tubing by length (may be joined), lines by piece."""
    counts = count(farm)
    counts["number"] = np.where(counts["length"] > 0, 1, counts["number"] + counts["spares"])
    parts = counts[["part", "number", "length"]].assign(joined=counts["length"] > 0)
    lines = pd.DataFrame(
        {
            "part": column(farm["beds"], "Line"),
            "number": [float(n) for n in column(farm["beds"], "Lines per bed")],
            "length": farm["lengths"],
            "joined": False,
        }
    )
    return pd.concat([parts, lines], ignore_index=True)


def buy(farm: dict[str, Any], wanted: pd.DataFrame, **changes: Any) -> pd.DataFrame:
    prices = rows(farm["system"], "prices.csv")
    arguments: dict[str, Any] = {
        "parts": list(wanted["part"]),
        "numbers": list(wanted["number"]),
        "plan_date": PLAN_DATE,
        "price_parts": column(prices, "Part"),
        "prices": column(prices, "Price"),
        "currencies": column(prices, "Currency"),
        "dates": column(prices, "Date"),
        "lengths": list(wanted["length"]),
        "joined": list(wanted["joined"]),
        "packs": column(prices, "Pack"),
        "roll_lengths": column(prices, "Roll length"),
        "from_packs": column(prices, "From quantity"),
        "taxes": column(prices, "Tax"),
        "deliveries": column(prices, "Delivery"),
    }
    return xlfuncs.purchase_list(**{**arguments, **changes}, units=farm["system"])


def test_parts_as_counted_by_hand(farm):
    counts = count(farm).groupby("part")["number"].sum()
    assert {part: counts[part] for part in BY_HAND} == BY_HAND


def test_the_basket_adds_up(farm):
    wanted = needs(farm)
    bought = buy(farm, wanted)
    held = bought["packs"] * bought["pack"].fillna(bought["roll_length"])
    for part, mine in wanted.groupby("part"):
        needed = float((mine["number"] * np.where(mine["length"] > 0, mine["length"], 1)).sum())
        lines = bought["part"] == part
        extra = float((bought["spare"] + bought["left_over"])[lines].sum())
        assert float(held[lines].sum()) >= needed - 1e-6
        assert float(held[lines].sum()) == pytest.approx(needed + extra)
    assert set(bought["part"]) == set(wanted["part"][wanted["number"] > 0])
    cents = [Decimal(f"{x:.2f}") for x in bought["total"]]
    parts = [Decimal(f"{x:.2f}") for c in ("net", "delivery", "tax") for x in bought[c]]
    assert sum(cents) == sum(parts)
    assert bought["net"].to_numpy() == pytest.approx((bought["packs"] * bought["price"]).to_numpy())
    assert (bought["left_over_value"] <= bought["total"] + 0.01).all()


def test_only_the_old_price_is_flagged(farm):
    bought = buy(farm, needs(farm))
    flagged = bought[(bought["note"] != "") & ~bought["note"].str.match(r"\d+ needed: ")]
    assert list(flagged["part"]) == ["pressure gauge with tee"]
    assert "442 days old" in flagged["note"].iloc[0]  # 2024-11-30 to 2026-02-15


def test_a_part_without_a_price_stops_the_basket(farm):
    prices = rows(farm["system"], "prices.csv")
    blank = [None if row["Part"] == "timer" else row["Price"] for row in prices]
    with pytest.raises(InputError, match="'timer' has no price"):
        buy(farm, needs(farm), prices=blank)


def test_rolls_by_the_basket_are_the_proven_purchase(farm):
    """The same lines through ROLL_PURCHASE, at prices with tax, cost what the basket says."""
    wanted = needs(farm)
    bought = buy(farm, wanted)
    for line in ("tape 8 in", "drip line 12 in", "tape 20 cm", "drip line 30 cm"):
        mine = wanted[wanted["part"] == line]
        prices = [row for row in rows(farm["system"], "prices.csv") if row["Part"] == line]
        if not len(mine):
            continue
        rolls = xlfuncs.roll_purchase(
            mine[["length", "number"]],
            roll_lengths=column(prices, "Roll length"),
            roll_prices=[float(row["Price"]) * (1 + float(row["Tax"])) for row in prices],
            units=farm["system"],
        )
        assert set(rolls["proof"]) == {"proven cheapest"}
        basket = bought.loc[bought["part"] == line, "total"].sum()
        assert rolls["cost"].sum() == pytest.approx(basket, abs=0.02)


def test_parts_of_the_head_fit_each_other(farm):
    path = rows(farm["system"], "parts.csv")
    faults = xlfuncs.connection_check(
        column(path, "Part"), column(path, "Inlet"), column(path, "Outlet")
    )
    assert list(faults["fault"]) == [""] * len(path)


@pytest.mark.parametrize("system", SYSTEMS)
@pytest.mark.parametrize(
    ("table", "name"),
    [(PRICES, "prices.csv"), (COUNTING_RULES, "counting_rules.csv"), (PARTS, "parts.csv")],
    ids=lambda value: getattr(value, "name", value),
)
def test_example_files_have_the_columns_of_their_tables(table: Table, name: str, system: str):
    with (EXAMPLES / system / name).open(encoding="utf-8", newline="") as file:
        assert next(csv.reader(file)) == [c.heading(system) for c in table.columns]


@pytest.mark.parametrize("system", SYSTEMS)
def test_every_counted_part_has_a_price_and_a_known_life(system):
    prices = rows(system, "prices.csv")
    priced = {row["Part"] for row in prices}
    assert {row["Part"] for row in rows(system, "counting_rules.csv")} <= priced
    for row in prices:
        lives = [float(row[c]) for c in ("Short life", "Likely life", "Long life")]
        assert lives == sorted(lives)


@pytest.mark.parametrize(
    ("inlet", "words"),
    [
        ("hose thread 3/4 in", "cannot read"),
        ("barb 16", "needs its unit"),
        ("tube 16 mm", "outside x inside"),
        ("spigot 3/4 in", "cannot read"),
    ],
)
def test_ends_that_cannot_be_read(inlet, words):
    with pytest.raises(InputError, match=words):
        xlfuncs.connection_check(["filter"], [inlet], [""])


def test_where_no_design_passes_each_says_what_it_fails():
    """A supply of 3 psi for a line that gives its flow at 10: sqrt(0.3) is 55 % at most."""
    found = xlfuncs.designs(
        beds={"Bed": ["A"], "Strip width (in)": [20], "Length (ft)": [10], "Distance (ft)": [10]},
        lines={"Line": ["tape"], "Kind": ["tape"], "Emitter spacing (in)": [12],
               "Emitter flow (gph)": [0.3], "Rated pressure (psi)": [10],
               "Inside diameter (in)": [0.626]},
        pipes={"Pipe": ["pipe"], "Inside diameter (in)": [0.81]},
        prices={"Part": ["tape", "pipe"], "Roll length (ft)": [100, 50], "Price": [5, 7],
                "Currency": ["USD", "USD"]},
        rules={"Part": ["pipe", "stake"], "Counted by": ["main length", "line"], "Each": [1, 0]},
        supply={"Flow (gpm)": [0, 5], "Supply (psi)": [3, 2]},
        wanted={"Net depth per week (in)": 1, "Waterings per week": 3, "Efficiency": 0.9,
                "Width that one line wets (in)": 24},
    )  # fmt: skip
    assert set(found["kind"]) == {"fails"}
    assert "A gets 5" in found["words"].iloc[0]
    assert "90% is wanted" in found["words"].iloc[0]
