"""Declarations: parts counted, ends that fit, backflow in words."""

import re
from typing import Any

import numpy as np

from xlfuncs.calculations.arrays import records
from xlfuncs.calculations.buying import parts_count as counting
from xlfuncs.calculations.supply import backflow, connections
from xlfuncs.catalogue.declaration import UNITS, Arg, Result, table, worksheet_function
from xlfuncs.catalogue.sources import COMMON_PRACTICE, DEFINITION, Source
from xlfuncs.catalogue.topics.pressure.bed_tables import COUNTED, LINE_TABLE
from xlfuncs.errors import CellError, InputError
from xlfuncs.tables.garden.beds import BEDS
from xlfuncs.tables.money import parts
from xlfuncs.units import parse

CONDITIONS_OF_USE = Source(
    "City of Paris, Texas, irrigation rules; Grand Junction Parks and Recreation, Pressure Vacuum"
    " Breaker Assembly"
)

_PATH = "path"


@worksheet_function(
    "PARTS_COUNT",
    help="How many of each part the beds need, by the counting rules: one row a rule. A length"
    " that is bought as such comes with its trimming.",
    args=(
        table("beds", "The beds that are laid, a row each", BEDS,
            "laterals",
            "line_lengths: length, >=0, <=3000, column length: Length of one of its lines, as it"
            " is cut",
            "distance branch branch_start",
            "[manifold_lengths=0]: length, >=0, <=100, column manifold_length: Manifold across the"
            " bed's head (default 0: none)",
            "valve",
            "[line=]: text: Name of the bed's drip line",
            "[kind=]: text, from lines.line.kind: Kind of the bed's drip line: tape, drip line,"
            " compensating",
            COUNTED),
        table("rules", "The counting rules, a row each", parts.COUNTING_RULES,
            "part=parts counted_by each every"
            " only_line spare_share least_spares"),
        LINE_TABLE,
        "[trimming=0.05]: ratio, >=0, <=1: Added to lengths that are bought as such (default 5 %,"
        " common practice)",
        UNITS,
        "[turns=0]: count, >=0, whole: Corners of the mains",
        "[joins=0]: count, >=0, whole: Couplers that the purchase of rolls needs",
        "[stations=0]: count, >=0, whole: Stations of the timer, each for a valve in the order of"
        " the list; the others are opened by hand",
    ),
    source=DEFINITION.at("counts times rules; the usual rules are common practice"),
    rows="rules",
    examples=("PARTS_COUNT(A1:H15, Rules!A1:G40, Lines!A1:H6)",),
)  # fmt: skip
def parts_count(
    laterals: Any, line_lengths: Any, distance: Any, parts: Any, counted_by: Any, each: Any,
    every: Any, only_line: Any, spare_share: Any, least_spares: Any, branch: Any,
    branch_start: Any, manifold_lengths: Any, valve: Any, line: Any, trimming: Any,
    turns: Any, joins: Any, kind: Any, stations: Any,
) -> Any:  # fmt: skip
    beds = records(counting.FedBed, laterals, line_lengths, distance, branch, branch_start,
                   manifold_lengths, valve, line, kind)  # fmt: skip
    rules = records(counting.Rule, parts, counted_by, each, np.nan_to_num(every), spare_share,
                    least_spares, only_line)  # fmt: skip
    counts = counting.parts_count(beds, rules, trimming, int(turns), int(joins), int(stations))
    return [(part, count.number, count.spares, count.length, count.words)
            for part, count in zip(parts, counts, strict=True)]  # fmt: skip


def _connection(argument: str, text: str, row: int) -> connections.Connection | None:
    """An end as it is written: hose thread 3/4 in male, barb 0.6 in, tube 0.70 in x 0.60 in."""

    def refused(words: str) -> InputError:
        return InputError(argument, words, row=row, cell_error=CellError.VALUE)

    if not text:
        return None
    kinds = "|".join(connections.KINDS)
    match = re.fullmatch(rf"({kinds}) (.+?)(?: (male|female))?", " ".join(text.lower().split()))
    gender = match[3] or "" if match else ""
    if not match or (match[1] in connections.THREADS) != bool(gender):
        raise refused(
            f"cannot read {text!r}; write for example 'hose thread 3/4 in male', 'pipe thread 1/2"
            " in female', 'barb 0.6 in', 'compression 16 mm', 'tube 16 mm x 13.4 mm'"
        )
    sizes = match[2].split(" x ")
    if len(sizes) != (2 if match[1] == connections.TUBE else 1):
        wanted = "outside x inside diameter" if match[1] == connections.TUBE else "one size"
        raise refused(f"{text!r} needs {wanted}")
    for size in sizes:
        if not re.search(r"[a-z\"]", size):
            raise refused(f"{size!r} in {text!r} needs its unit, in or mm")
    diameters = [parse(size, "diameter") for size in sizes]
    inside = diameters[1] if len(diameters) > 1 else 0.0
    return connections.Connection(match[1], diameters[0], gender, inside, text)


@worksheet_function(
    "CONNECTION_CHECK",
    help="Whether parts in the order in which the water meets them fit together: for each part the"
    " reason why it does not fit the one before it, or nothing.",
    args=(
        f"parts: text, of {_PATH}: Parts in their order, from the tap on",
        f"[inlets=]: text, of {_PATH}: Inlet of each, such as hose thread 3/4 in female",
        f"[outlets=]: text, of {_PATH}: Outlet of each, such as compression 0.70 in",
    ),
    results=(Result("fault", "text", "Why it does not fit; nothing where it fits"),),
    source=COMMON_PRACTICE.at("hose and pipe threads by ASME B1.20.7 and B1.20.1"),
    rows=_PATH,
    examples=("CONNECTION_CHECK(A2:A20, B2:B20, C2:C20)",),
)
def connection_check(parts: Any, inlets: Any, outlets: Any) -> Any:
    path = [
        connections.Part(
            name, _connection("inlets", inlet, row), _connection("outlets", outlet, row)
        )
        for row, (name, inlet, outlet) in enumerate(zip(parts, inlets, outlets, strict=True))
    ]
    return connections.path_faults(path)


@worksheet_function(
    "BACKFLOW_NOTES",
    help="What speaks against a kind of backflow preventer in the way the system is built and run,"
    " and which kinds would suit. A first look: the local authority decides.",
    args=(
        Arg("preventer", "text", "Kind of backflow preventer", choices=tuple(backflow.PREVENTERS)),
        "valves_after: flag: Whether a shut-off or timer stands after it",
        "under_pressure: hours, >=0, <=24 h: Hours a day that it stands under pressure",
        "height: elevation, >=-100, <=100: Its height above the highest outlet; below it negative",
        "[injection=no]: flag: Whether fertilizer is injected after it",
        "[back_pressure=no]: flag: Whether a pump or a tank uphill can push back",
    ),
    results=(Result("note", "text", "A note"),),
    source=CONDITIONS_OF_USE.at("heights, valves, hours, fertilizer"),
    elementwise=False,
    examples=('BACKFLOW_NOTES("hose vacuum breaker", TRUE, 2, 1)',),
)
def backflow_notes(preventer: Any, under_pressure: Any, **built: Any) -> Any:
    use = backflow.Use(time_under_pressure=under_pressure, **built)
    return backflow.backflow_notes(preventer, use)
