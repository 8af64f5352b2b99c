"""Declarations: layouts side by side."""

from __future__ import annotations

from typing import Any

from xlfuncs.calculations.buying.layout_choices import (
    Bed,
    Choice,
    Demands,
    LineType,
    layout_choices,
)
from xlfuncs.calculations.quantity_words import length_words
from xlfuncs.catalogue.declaration import UNITS, Arg, Result, worksheet_function
from xlfuncs.catalogue.sources import DEFINITION
from xlfuncs.errors import CellError, InputError

_BEDS, _LINES, _ROLLS, _LATERALS = "beds", "lines", "rolls", "laterals"


@worksheet_function(
    "LAYOUT_CHOICES",
    topic="buying",
    help="Every drip line with every number of lines a bed: cost of rolls and line fittings,"
    " coverage, flow, watering day, left-over. The cheapest that passes the checks coverage, flow,"
    " time, emitters (at least one in each line) and roll length is marked.",
    args=(
        Arg("lengths", "length", "Length of each bed", above=0, maximum=3000, group=_BEDS),
        Arg("widths", "width", "Width of each bed top", above=0, maximum=30, group=_BEDS),
        Arg("areas", "area", "Planted area of each bed", above=0, group=_BEDS),
        Arg("lines", "text", "Drip lines to compare", group=_LINES),
        Arg("emitter_spacing", "width", "Emitter spacing of each", above=0, maximum=5,
            group=_LINES),
        Arg("emitter_flow", "emitter_flow", "Flow of one emitter of each", above=0, group=_LINES),
        Arg("roll_lines", "text", "Rolls on sale: of which line", group=_ROLLS),
        Arg("roll_lengths", "length", "Rolls on sale: length", above=0, maximum=10000,
            group=_ROLLS),
        Arg("roll_prices", "money", "Rolls on sale: price", above=0, group=_ROLLS),
        Arg("laterals", "count", "Numbers of lines a bed to compare", minimum=1, maximum=100,
            whole=True, group=_LATERALS),
        Arg("depth", "depth", "Gross depth of one watering", above=0, maximum=300),
        Arg("supply_flow", "flow", "Measured flow of the supply", above=0),
        Arg("farthest", "width", "Check coverage: a point may lie so far from a line at most",
            above=0, maximum=15),
        Arg("counted", "flag", "Whether the bed is counted (default yes)", default=True,
            group=_BEDS, selects=True),
        Arg("share", "ratio", "Check flow: share of the supply that a bed may use (default 0.75)",
            default=0.75, above=0, maximum=1),
        Arg("longest_day", "hours", "Check time: hours for all beds one after another (default 12,"
            " common practice)", default="12 h", above=0, maximum="24 h"),
        Arg("line_parts", "money", "Fittings of one line: connector and end (default 0)",
            default=0, minimum=0),
        Arg("end_allowance", "length", "Added to each line for its ends (default 0)", default=0,
            minimum=0, maximum=10),
        UNITS,
        Arg("time_limit", "seconds", "Longest search for all purchases together (default 10 s)",
            default="10 s", above=0, maximum="60 s"),
    ),
    results=(
        Result("line", "text", "The drip line"),
        Result("laterals", "count", "Lines in each bed"),
        Result("roll_purchase", "text", "Rolls to buy, as number x length"),
        Result("cost", "money", "Rolls and line fittings"),
        Result("cost_per_area", "money_per_area", "The same per planted area"),
        Result("farthest", "width", "Farthest point of a bed from its nearest line"),
        Result("flow", "flow", "Flow of the largest bed"),
        Result("supply_share", "ratio", "Share of the supply that this is"),
        Result("minutes", "time", "Longest run of a bed"),
        Result("day", "hours", "All beds, set after set"),
        Result("left_over", "length", "Left over on the rolls"),
        Result("left_over_value", "money", "What that left-over cost"),
        Result("fails", "text", "Checks that it does not pass"),
        Result("mark", "text", "cheapest that passes, another is better (no worse in"
               " anything), rolls unproven"),
    ),
    source=DEFINITION.at("one purchase of rolls a choice; lines evenly across the bed"),
    elementwise=False,
    examples=("LAYOUT_CHOICES(A2:A15, B2:B15, C2:C15, E2:E5, F2:F5, G2:G5, I2:I12, J2:J12,"
              " K2:K12, M2:M5, 0.4, 9, 8)",),
)  # fmt: skip
def choices_of_layout(
    lengths: Any, widths: Any, areas: Any, lines: Any, emitter_spacing: Any, emitter_flow: Any,
    roll_lines: Any, roll_lengths: Any, roll_prices: Any, laterals: Any, depth: Any,
    supply_flow: Any, farthest: Any, share: Any, longest_day: Any, line_parts: Any,
    end_allowance: Any, time_limit: Any,
) -> Any:  # fmt: skip
    rolls: dict[str, list[int]] = {name: [] for name in lines}
    for row, name in enumerate(roll_lines):
        if name in rolls:
            rolls[name].append(row)
    kinds = [
        LineType(
            name, spacing, flow,
            tuple(float(roll_lengths[row]) for row in _rolls_of(name, rolls, place)),
            tuple(float(roll_prices[row]) for row in rolls[name]),
        )
        for place, (name, spacing, flow) in enumerate(
            zip(lines, emitter_spacing, emitter_flow, strict=True)
        )
    ]  # fmt: skip
    beds = [Bed(*row) for row in zip(lengths, widths, areas, strict=True)]
    demands = Demands(depth, supply_flow, share, farthest, longest_day, line_parts, end_allowance)
    found = layout_choices(beds, kinds, [int(n) for n in laterals], demands, time_limit)
    return (
        [c.line for c in found],
        [c.laterals for c in found],
        [" + ".join(f"{number} x {length_words(length)}" for length, number in c.rolls)
         for c in found],
        [c.cost for c in found],
        [c.cost_per_area for c in found],
        [c.farthest for c in found],
        [c.flow for c in found],
        [c.flow / supply_flow for c in found],
        [c.minutes for c in found],
        [c.day for c in found],
        [c.left_over for c in found],
        [c.left_over_value for c in found],
        [", ".join(c.fails) for c in found],
        [_mark(c) for c in found],
    )  # fmt: skip


def _mark(choice: Choice) -> str:
    marks = {
        "cheapest that passes": choice.cheapest,
        "another is better": choice.dominated,
        "rolls unproven": not choice.proven,
    }
    return ", ".join(words for words, holds in marks.items() if holds)


def _rolls_of(name: str, rolls: dict[str, list[int]], row: int) -> list[int]:
    if not rolls[name]:
        raise InputError(
            "lines", f"'{name}' has no roll on sale: add its roll and price", row=row,
            cell_error=CellError.NOT_AVAILABLE,
        )  # fmt: skip
    return rolls[name]
