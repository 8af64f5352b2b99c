"""Invented gardens: beds of two widths on one main, weak and strong taps, slopes, a pump."""

from __future__ import annotations

import random

import numpy as np

from xlfuncs.calculations.buying.part_purchase import Offer
from xlfuncs.calculations.buying.parts_count import Rule
from xlfuncs.calculations.designs.question import (
    Bed,
    Buying,
    Line,
    Pipe,
    Question,
    Regulator,
    Wanted,
)
from xlfuncs.calculations.supply.head_parts import HeadParts
from xlfuncs.calculations.supply.supplies import pump_pressure, service_pressure

BAR, LITRE_A_MINUTE, LITRE_AN_HOUR = 1e5, 1 / 60_000, 1 / 3.6e6
LINES = (
    Line("tape", "tape", 0.2, 1.0 * LITRE_AN_HOUR, 0.55 * BAR, 0.0159, 0.5, 0.03, 0.28 * BAR,
         0.97 * BAR),
    Line("wide tape", "tape", 0.3, 1.3 * LITRE_AN_HOUR, 0.55 * BAR, 0.0159, 0.5, 0.03, 0.28 * BAR,
         0.97 * BAR),
    Line("drip line", "drip line", 0.3, 1.6 * LITRE_AN_HOUR, 1.0 * BAR, 0.0136, 0.5, 0.04,
         0.5 * BAR, 3.0 * BAR),
)  # fmt: skip
PIPES = (Pipe("thin pipe", 0.0155), Pipe("pipe", 0.021), Pipe("wide pipe", 0.0264))
PRICES = (
    ("tape", 0, 150.0, 30.0), ("tape", 0, 300.0, 55.0), ("wide tape", 0, 150.0, 28.0),
    ("drip line", 0, 50.0, 40.0), ("drip line", 0, 100.0, 70.0),
    ("thin pipe", 0, 25.0, 16.0), ("thin pipe", 0, 50.0, 28.0), ("pipe", 0, 25.0, 30.0),
    ("pipe", 0, 50.0, 52.0), ("wide pipe", 0, 50.0, 80.0),
    ("regulator 0.7", 1, 0, 15.0), ("regulator 1.0", 1, 0, 16.0), ("connector", 1, 0, 0.9),
    ("connector", 25, 0, 18.0), ("bed valve", 1, 0, 6.0), ("zone valve", 1, 0, 24.0),
    ("stake", 100, 0, 12.0),
)  # fmt: skip
RULES = (
    Rule("pipe", "main length"), Rule("regulator 0.7", "system"), Rule("connector", "line", 2.0,
    0.0, 0.1), Rule("bed valve", "bed"), Rule("zone valve", "valve"), Rule("stake", "line length",
    1.0, 1.5), Rule("thin pipe", "manifold length"),
)  # fmt: skip


def head(preset: float) -> HeadParts:
    """A filter and a regulator."""
    none = np.nan
    return HeadParts(
        np.array([0.3 * BAR, 0.1 * BAR]), np.array([30.0, 30.0]) * LITRE_A_MINUTE,
        np.array([0.1 * BAR, 0.0]), np.array([none, preset * BAR]),
        np.array([none, 1.5 * LITRE_A_MINUTE]), np.array([40.0, 35.0]) * LITRE_A_MINUTE,
        np.array([none, (preset + 0.3) * BAR]),
    )  # fmt: skip


def garden(seed: int, beds: int | None = None, most_lines: int = 4, lines: int = 3) -> Question:
    """One of many gardens, the same for the same seed."""
    chance = random.Random(seed)
    count = beds or chance.randint(2, 9)
    tops = (0.75, 1.0)
    listed = []
    for i in range(count):
        top = tops[i % 2]
        length = chance.choice([8.0, 11.0, 14.5, 18.0, 25.0])
        listed.append(
            Bed(
                f"bed {i + 1}", length, top, length * top * 0.8, 5.0 + 2.0 * i,
                round(chance.uniform(-1.0, 1.0), 1), chance.choice([0.0, 0.0, 0.01, -0.02]),
                strips=1, strip_width=top * 0.8, watered=chance.random() > 0.1 or i == 0,
            )
        )  # fmt: skip
    open_flow = chance.choice([12.0, 20.0, 40.0]) * LITRE_A_MINUTE
    flow = np.linspace(0.0, open_flow, 41)
    if chance.random() < 0.3:
        pressure = pump_pressure(flow, np.array([0.0, open_flow]), np.array([30.0, 12.0]), 4.0)
    else:
        pressure = service_pressure(flow, chance.choice([2.0, 3.5, 5.0]) * BAR, open_flow)
    wanted = Wanted(
        depth=chance.choice([8.0, 12.0]), hours=chance.choice([1.5, 3.0, 8.0]) * 3600,
        wetted_width=chance.choice([0.35, 0.45]), plantings=("single row", "twin rows"),
        most_lines=most_lines,
    )  # fmt: skip
    offers = [Offer(part, pack, roll, price, 1, "", 0.1, 0.0, 0.0)
              for part, pack, roll, price in PRICES]  # fmt: skip
    regulators = [Regulator(f"regulator {preset}", head(preset)) for preset in (0.7, 1.0)]
    buying = Buying(RULES, offers, 0.15, 0.05, time_limit=5.0)
    return Question(listed, LINES[:lines], PIPES, PIPES[:1], regulators, flow,
                    np.asarray(pressure), wanted, buying)  # fmt: skip
