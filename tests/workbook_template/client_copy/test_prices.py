"""An attacker with the copy, its PDF and the published sizes of packs; run as a file for many.

The attacker is another than the tool's: it counts, for each markup, how many prices go back to
ordinary endings, and looks at the ratios between packs of one part. What the tool says before it
writes is held against what this one finds.
"""

from __future__ import annotations

import io
import random
import re
import sys
from dataclasses import replace
from decimal import Decimal
from typing import Any

import numpy as np
import openpyxl
import pytest

from tests.workbook_template.client_copy.client_workbooks import consultants_inputs
from workbook_template.build import computed, write
from workbook_template.client_copy.copying import ClientCopy, Wishes, client_copy
from workbook_template.client_copy.scheme import Offer, Scheme, attack
from workbook_template.client_copy.settings import Settings
from xlfuncs.hosts.cells import worksheet_callables

PARTS = 30
HABITS = ((0.99,), (0.95, 0.99), (0.0, 0.5), (0.9,), tuple(i / 10 for i in range(10)))
FINE = tuple((Decimal(a), Decimal(b)) for a, b in (("1", "0.02"), ("10", "0.05"), ("100", "0.1")))
SCHEMES: tuple[dict[str, Any], ...] = (
    {}, {"endings": (Decimal("0.9"),)}, {"factors": {"lines": 1.15, "parts": 0.95}},
    {"spread": 0.12}, {"endings": (Decimal("0.49"), Decimal("0.99")), "spread": 0.1},
)  # fmt: skip


def _shops(chance: random.Random) -> list[dict[str, Any]]:
    """A price list with the ending habit of a shop; some parts come in two packs."""
    habit = chance.choice(HABITS)
    rows: list[dict[str, Any]] = []
    for i in range(PARTS):
        price = max(int(chance.lognormvariate(2.5, 1.2)) + chance.choice(habit), 0.49)
        for pack in (1.0, 10.0) if i % 4 == 0 else (1.0,):
            whole = price if pack == 1 else int(price * 8.5) + chance.choice(habit)
            rows.append({"part": f"part {i}", "pack": pack, "price": round(whole, 2), "tax": 0.2,
                         "currency": "USD", "source": "shop"})  # fmt: skip
    return rows


def _copy(seed: int, **given: Any) -> tuple[ClientCopy, float, list[dict[str, Any]]]:
    chance = random.Random(seed)
    inputs, rows = consultants_inputs(), _shops(chance)
    markup = round(chance.uniform(0.1, 1.2), 4)
    date = inputs.tables["Prices"][0]["date"]
    tables = {
        **inputs.tables,
        "Prices": [*inputs.tables["Prices"][:2], *({**row, "date": date} for row in rows)],
        "CountingRules": [{"part": f"part {i}", "counted_by": "bed",
                           "each": float(1 + 3 * (i % 4 == 0))} for i in range(PARTS)],
        "QuotationLines": [{"item": f"job {i}", "quantity": 1.0, "unit_cost": row["price"],
                            "optional": ("yes", "no")[i % 2]} for i, row in enumerate(rows[:8])],
    }  # fmt: skip
    source = replace(inputs, settings={**inputs.settings, "markup": markup}, tables=tables)
    scheme = Scheme(**{**SCHEMES[seed % len(SCHEMES)], **given})
    content = computed(write("us", source))[0]
    wishes = Wishes(settings=Settings(prices=scheme))
    return client_copy(content, worksheet_callables(), wishes), markup, rows


def _seen(copy: ClientCopy) -> list[float]:
    """Prices of single packs, of lines and optional items: from the copy, and from the PDF."""
    book = openpyxl.load_workbook(io.BytesIO(copy.content), data_only=True, read_only=True)
    rows = book["Purchase"].iter_rows(values_only=True)
    prices = [row[4] for row in rows if str(row[0]).startswith("part ")]
    quoted = book["Quotation"].iter_rows(values_only=True)
    prices += [row[4] or row[5] / 1.0625 for row in quoted if str(row[1]).startswith("job ")]
    pypdf = pytest.importorskip("pypdf")
    pages = pypdf.PdfReader(io.BytesIO(copy.proposal(["quotation"]))).pages
    text = pages[0].extract_text()
    prices += [float(n.replace(",", "")) for n in re.findall(r"\d[\d,]*\.\d\d\b", text)]
    return [float(price) for price in prices if isinstance(price, int | float) and price > 0]


def _guess(prices: list[float]) -> float:
    """The markup under which most prices are what rounding makes of ordinary endings."""
    seen = np.array(sorted(set(prices)))
    rounding = np.array([_last_place(price) for price in seen.tolist()])
    best, markup = -np.inf, 0.0
    for factor in np.arange(1.0, 2.5, 0.001):
        low, high = (seen - rounding) / factor, (seen + rounding) / factor
        for habit in HABITS:
            hits = sum((np.floor(high - end) >= np.ceil(low - end)).astype(float) for end in habit)
            chance = np.minimum((high - low) * len(habit), 1.0)
            score = float(np.sum(np.minimum(hits, 1.0) - chance))
            if score > best:
                best, markup = score, float(factor - 1)
    return markup


def _last_place(price: float) -> float:
    """Half of what a price seems to be rounded to."""
    for step in (100.0, 10.0, 5.0, 1.0, 0.25, 0.1, 0.05, 0.01):
        if abs(price / step - round(price / step)) < 1e-9 and price >= 10 * step:
            return step / 2
    return 0.005


def attacked(seeds: range, **given: Any) -> tuple[int, int, float, int]:
    """Copies; markups found by guessing; what the tool said of that in sum; costs that show."""
    found, told, costs_shown = 0, 0.0, 0
    for seed in seeds:
        copy, markup, rows = _copy(seed, **given)
        prices = _seen(copy)
        assert copy.concluded.prices >= PARTS and len(prices) > PARTS
        found += abs(_guess(prices) - markup) <= 0.01
        told += copy.concluded.near
        book = openpyxl.load_workbook(io.BytesIO(copy.content), data_only=True, read_only=True)
        paid = {(row["part"], row["price"]) for row in rows}
        shown = {(row[0], row[4]) for row in book["Purchase"].iter_rows(values_only=True)}
        costs_shown += len(paid & shown)
    return len(seeds), found, told, costs_shown


def test_no_markup_is_found_beyond_what_the_report_says() -> None:
    copies, found, told, shown = attacked(range(4))
    assert found <= told + 3 * np.sqrt(told * (1 - told / copies) + 0.05) and shown == 0


def test_fine_steps_without_a_spread_are_told_to_betray_the_markup() -> None:
    """The attack has teeth: what a fine scheme gives away it finds, and says so."""
    copy, markup, _ = _copy(0, steps=FINE, digits=3, spread=0.0)
    assert copy.concluded.found and abs(copy.concluded.likeliest - markup) <= 0.01
    assert "WARNING: your markup can be found" in str(copy)


def test_the_attack_finds_what_bayes_rule_says_by_hand() -> None:
    """One price of 1.40 to the cent, its cost a whole unit: only markups of 40 % can be."""
    one = attack([Offer("a", 1.395, 1.405)], 0.0, 0.4)
    assert one.near > 10 * one.blind  # the other habits leave others possible
    several = [Offer(str(c), 1.4 * c - 0.005, 1.4 * c + 0.005) for c in (3, 7, 8, 11, 16, 23)]
    assert attack(several, 0.0, 0.4).near > 0.99
    assert attack(several, 0.0, 0.55).near < 0.01  # another true one is not met
    nothing = attack([], 0.08, 0.4)
    assert nothing.near == pytest.approx(nothing.blind)
    assert str(nothing).startswith("may be sent: ")
    assert nothing.told(all_odds=False).endswith("no better than by chance")
    assert str(nothing).startswith(f"{nothing.told(all_odds=False)} with them: ")
    known = attack([Offer("a", 1.395, 1.405, cost=1.0)], 0.08, 0.4, costs_known=True)
    assert nothing.blind * 3 < known.near < 0.25, "the spread is about eleven points either way"
    assert str(known).startswith("may be sent, with a doubt: ")


def test_a_difference_of_totals_tells_no_more_than_the_report_says() -> None:
    """A reader who knows what two options differ by, and the contingency, divides one by the other.

    Where sums were of costs at one factor, this gave each markup to 0.1 %.
    """
    found, told = 0, []
    for seed in range(200):
        chance = random.Random(seed)
        markup, scheme = chance.uniform(0.1, 1.2), Scheme(secret=str(seed))
        costs = {name: 1.1 * chance.uniform(20, 400) for name in ("timer", "valve box")}
        prices = {n: scheme.price(cost, markup, "work", n) for n, cost in costs.items()}
        more, paid = (v["valve box"] - v["timer"] for v in (prices, costs))
        found += abs(more / paid - 1 - markup) <= 0.01
        offers = [Offer(n, *scheme.room(prices[n]), cost=costs[n]) for n in costs]
        told.append(attack(offers, scheme.spread, markup, costs_known=True).near)
    assert 0.05 < np.mean(told) < 0.25  # one price gives it to within 8 % and the step
    assert found <= sum(told) + 3 * np.sqrt(sum(told))
    exact = [Offer(str(c), 1.35 * c - 0.005, 1.35 * c + 0.005, cost=c) for c in (100.0, 200.0)]
    assert attack(exact, 0.0, 0.35, costs_known=True).near > 0.99


def test_a_secret_keeps_prices_alike_from_revision_to_revision() -> None:
    one, two = (Scheme(secret="mine alone").price(214.0, 0.35, "parts", "tee") for _ in "ab")
    other = [Scheme(secret=str(i)).price(214.0, 0.35, "parts", "tee") for i in range(20)]
    assert one == two and len(set(other)) > 2
    assert all(abs(price - 214 * 1.35) <= 0.08 * 214 * 1.35 + 5 for price in other)  # steps of ten


def test_nothing_is_sold_at_cost() -> None:
    """However small the markup is beside the steps and the spread."""
    scheme = Scheme(secret="x")
    for cents in range(1, 30_000, 37):
        assert scheme.price(cents / 100, 0.01, "parts", str(cents)) > cents / 100


def test_prices_end_as_the_scheme_says() -> None:
    scheme = Scheme(endings=(Decimal("0.49"), Decimal("0.99")), spread=0.0)
    prices = [scheme.price(cost / 7, 0.3) for cost in range(8, 900)]
    assert {round(price % 1, 2) for price in prices if price >= 1.5} == {0.49, 0.99}
    for price in prices:
        low, high = scheme.room(price)
        assert low < price < high


if __name__ == "__main__":
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 50
    betraying: dict[str, Any] = {"steps": FINE, "digits": 3, "spread": 0.0}
    for name, more in (
        ("schemes by turns", {}),
        ("fine, no spread", betraying),
    ):
        copies, found, told, shown = attacked(range(count if not more else 5), **more)
        print(f"{name}: of {copies} copies {found} markups found to a point, {told:.2f} told of by"
              f" the reports; {shown} purchase prices shown")  # fmt: skip
