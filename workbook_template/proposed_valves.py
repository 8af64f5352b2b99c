"""Valves for beds that have none: what opens together, within what tap, parts and timer take."""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import count
from math import ceil
from typing import Any

from workbook_template.build import Built, results, write
from workbook_template.kit.inputs import Inputs
from workbook_template.sheets.garden.supply_pressure import CURVE
from workbook_template.sheets.water.pressure import LIMITS_ELSEWHERE
from xlfuncs.hosts.cells import call_from_cells
from xlfuncs.tables.columns import Table, table
from xlfuncs.tables.garden.beds import BEDS
from xlfuncs.tables.garden.head_assembly import LIMITS
from xlfuncs.tables.garden.lines import LINES, PIPES
from xlfuncs.workbooks.plan_changes import shown

ALIKE = 0.1  # beds whose minutes differ by no more may share a valve, as on Valves
TRIES, LESS = 3, 0.8  # of flow on a valve, where pressure asks for it
SPARE = 8  # sets beyond twice the fewest that are looked at where the timer sets no limit
SEARCHES = ("DESIGNS", "PRESSURE_SETS")  # which take long, and say nothing of what beds draw
START_OF_MAIN = table("StartOfMain")
Cost = tuple[float, ...]


@dataclass(frozen=True)
class _Bed:
    row: int
    minutes: float
    flow: float


def with_valves(inputs: Inputs, system: str, edition: str) -> tuple[Inputs, int, list[str]]:
    """Beds without valves on few that the tap can feed, of beds whose minutes are alike: at most as
    many as the timer has stations, none with less flow than the parts before the main need.

    Also the number of valves, 0 where the flow of the tap is not known, and what could not be kept.
    """
    built = results(write(system, inputs, edition=edition), but=SEARCHES)
    most, fits, least = (
        flow if isinstance(flow := built.named(name), float) else 0.0
        for name in ("design_flow", "head_greatest_flow", "head_least_flow")
    )
    beds = _in_classes(built.rows(BEDS.name))
    if not most or not beds:
        return inputs, 0, []
    stations, cap = inputs.settings.get("stations"), min(most, fits or most)
    wanted = sum(bed.flow for bed in beds)
    fewest = 2 * ceil(wanted / cap) + SPARE
    kept = _kept(inputs, beds, int(stations or fewest))
    beds = [bed for bed in beds if bed.row not in kept]
    found: list[tuple[int, list[list[_Bed]]]] = []
    for step in range(TRIES):
        limit = cap * LESS**step
        sets = _parted(beds, limit, least, int(stations or fewest) - len(set(kept.values())))
        if sets is None and found:
            break
        sets = sets or _parted(beds, limit, least, len(beds)) or []
        found.append((_faults(built, system, _by_row(sets, kept)), sets))
        if not found[-1][0]:
            break
    valves = _by_row(min(found, key=lambda pair: pair[0])[1], kept)
    number = len(set(valves.values()))
    rows = [{**row, "valve": valves.get(i)} for i, row in enumerate(inputs.tables[BEDS.name])]
    words = []
    if stations and number > stations:
        unit = START_OF_MAIN["flow"].unit(system)
        words.append(f"The beds take {wanted:.3g} {unit} together, at most {cap:.3g} at once:"
                     f" more sets than the timer has stations, {stations:g}; open the others by"
                     " hand, get a timer with more, or give the garden more flow.")  # fmt: skip
    return replace(inputs, tables={**inputs.tables, BEDS.name: rows}), number, words


def _kept(inputs: Inputs, beds: Sequence[_Bed], most: int) -> dict[int, str]:
    """The valves that stand on some beds, by row, where others have none and stations are left."""
    rows = inputs.tables[BEDS.name]
    typed = {i: shown(row["valve"]) for i, row in enumerate(rows) if row.get("valve")}
    some = any(bed.row not in typed for bed in beds) and len(set(typed.values())) < most
    return typed if some else {}


def moved_beds(before: Sequence[Mapping[str, Any]], inputs: Inputs) -> list[str]:
    """In a line, the beds that another valve opens than before."""
    pairs = zip(before, inputs.tables[BEDS.name], strict=True)
    moved = [f"{new['bed']} {shown(old['valve'])} -> {shown(new.get('valve'))}"
             for old, new in pairs
             if old.get("valve") and shown(old["valve"]) != shown(new.get("valve"))]  # fmt: skip
    return ["another valve than before: " + ", ".join(moved)] if moved else []


def beds_by_valve(inputs: Inputs) -> list[str]:
    """In a line each, the beds that open together."""
    together: dict[str, list[str]] = {}
    for row in inputs.tables[BEDS.name]:
        if row.get("valve"):
            together.setdefault(shown(row["valve"]), []).append(str(row.get("bed")))
    return [f"valve {valve}: beds {', '.join(beds)}" for valve, beds in together.items()]


def _in_classes(rows: Sequence[Mapping[str, Any]]) -> list[_Bed]:
    """The beds that are watered: those whose minutes are alike together, by their minutes; in the
    order of the list among them."""
    classes: list[list[_Bed]] = []
    for i, row in enumerate(rows):
        if isinstance(minutes := row["minutes"], float) and minutes > 0 and (flow := _flow(row)):
            alike = (c for c in classes if abs(minutes - c[0].minutes) <= ALIKE * c[0].minutes)
            if (of := next(alike, None)) is None:
                classes.append(of := [])
            of.append(_Bed(i, minutes, flow))
    return [bed for of in sorted(classes, key=lambda c: c[0].minutes) for bed in of]


def _flow(row: Mapping[str, Any]) -> float:
    """What a bed takes when it opens alone, which is the most; else its nominal flow."""
    flows = (row.get("delivered_flow"), row["nominal_flow"])
    return next((flow for flow in flows if isinstance(flow, float) and flow > 0), 0.0)


def _parted(beds: Sequence[_Bed], cap: float, least: float, most: int) -> list[list[_Bed]] | None:
    """The beds, in their order, in at most so many sets, none over `cap` but a bed alone: first
    none under the `least` flow, then minutes that suit the beds, then few sets, then even ones."""
    number = len(beds)
    sets = {end: [*_ending(beds, end, cap, least)] for end in range(1, number + 1)}
    layers: list[dict[int, tuple[Cost, int]]] = [{0: ((0.0,) * 4, 0)}]  # by sets: to which bed
    for _ in range(min(most, number)):
        before, layer = layers[-1], {}
        for end, ending in sets.items():
            costs = [(tuple(map(sum, zip(before[first][0], cost, strict=True))), first)
                     for first, cost in ending if first in before]  # fmt: skip
            if costs:
                layer[end] = min(costs)
        layers.append(layer)
    whole = [(layer[number][0], k) for k, layer in enumerate(layers) if number in layer]
    if not whole:
        return None
    found: list[list[_Bed]] = []
    for layer in layers[min(whole)[1] : 0 : -1]:
        first = layer[number][1]
        found.insert(0, [*beds[first:number]])
        number = first
    return found


def _ending(beds: Sequence[_Bed], end: int, cap: float, least: float) -> Iterator[tuple[int, Cost]]:
    """Sets that end with a bed, by their first: what speaks against each."""
    flow = passed = 0.0
    for first in range(end - 1, -1, -1):
        flow += beds[first].flow
        passed += beds[first].flow * beds[first].minutes
        if flow > cap and first < end - 1:
            return
        off = (abs(passed / flow / bed.minutes - 1) for bed in beds[first:end])
        yield first, (flow < least, sum(max(0.0, x - ALIKE) ** 2 for x in off), 1, flow**2)


def _by_row(sets: Sequence[Sequence[_Bed]], kept: Mapping[int, str]) -> dict[int, str]:
    """The valve of each bed, by its row: numbers in the order of the list, as sets run, called as
    those that are there: V4 beside V1 to V3."""
    by_first = sorted(sets, key=lambda beds: min(bed.row for bed in beds))
    called = {match[1] if (match := re.fullmatch(r"(.*?)\d+", valve)) else None
              for valve in kept.values()}  # fmt: skip
    prefix = (called.pop() or "") if len(called) == 1 else ""
    free = (valve for n in count(1) if (valve := f"{prefix}{n}") not in kept.values())
    return {bed.row: n for n, beds in zip(free, by_first, strict=False) for bed in beds} | {**kept}


def _faults(built: Built, system: str, valves: Mapping[int, str]) -> int:
    """How many things DESIGN_CHECKS finds where the beds of a valve open together."""
    rows = built.rows(BEDS.name)
    sources = ((name, LIMITS_ELSEWHERE.get(name, name)) for name in LIMITS.names)
    limits = [[LIMITS[name].header, built.named(at)] for name, at in sources if at in built.names]
    found = call_from_cells("DESIGN_CHECKS", [
        _cells(BEDS, rows, system),
        [[START_OF_MAIN[name].heading(system) for name in START_OF_MAIN.names],
         *([row["flow"], row["behind"]] for row in built.block(CURVE))],
        *(_cells(t, built.inputs.tables[t.name], system) for t in (LINES, PIPES)),
        [[row["solved"]] for row in rows], [[valves.get(i, "")] for i in range(len(rows))],
        limits, system,
    ])  # fmt: skip
    return sum(row[0] != "" or row[2] != "nothing found" for row in found)


def _cells(of: Table, rows: Sequence[Mapping[str, Any]], system: str) -> list[list[Any]]:
    return [[of[name].heading(system) for name in of.names],
            *([row.get(name) for name in of.names] for row in rows)]  # fmt: skip
