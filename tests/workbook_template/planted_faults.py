"""Faults to plant in the filled workbook, and what is to be said of each.

An edit is (table, row from 0, column, value) or (setting, value); a value may be made from the one
that is there. Those of one batch do not touch each other.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from workbook_template.build import Built
from workbook_template.kit.inputs import Inputs
from xlfuncs.catalogue.findings.given import DOUBTFUL, KINDS, NOTE, WRONG

Value = Any | Callable[[Any], Any]
Edit = tuple[str, int, str, Value] | tuple[str, Value]


@dataclass(frozen=True)
class Fault:
    """Edits, and what the list says then: a kind, the sheet, and words in it."""

    edits: tuple[Edit, ...]
    sheet: str
    words: str
    kind: str = WRONG


def bed(row: int, column: str, value: Value, words: str, kind: str = WRONG) -> Fault:
    return Fault((("Beds", row, column, value),), "Beds", words, kind)


def line(row: int, column: str, value: Value, words: str, kind: str = WRONG) -> Fault:
    return Fault((("Lines", row, column, value),), "Lines", words, kind)


def gone(table: str, row: int, columns: Sequence[str]) -> tuple[Edit, ...]:
    return tuple((table, row, column, None) for column in columns)


def times(factor: float) -> Callable[[Any], Any]:
    return lambda value: value * factor


def in_other_unit(temperature: float) -> float:
    """A warm day's °F typed as °C, or its °C as °F."""
    return (temperature - 32) / 1.8 if temperature > 40 else temperature * 1.8 + 32


HEAD = ("part", "kind", "loss", "loss_flow", "dirty_loss", "opening_loss", "mesh", "preset",
        "least_flow", "greatest_flow", "least_inlet", "note")  # fmt: skip
HOLDING = object()  # the compensating line of the example, whatever its name

# fmt: off
BATCHES: tuple[tuple[Fault, ...], ...] = (
    (
        bed(0, "length", "20 gal", "does not measure length"),
        bed(1, "length", -3, "Length: must be above"),
        bed(2, "length", "20 furlongz", "furlongz"),
        bed(3, "length", None, "Length is blank"),
        bed(4, "laterals", 2.5, "whole number"),
        bed(5, "inset", "3 m", "more than half the bed"),
        bed(6, "cover", "glass", "Cover: must be one of"),
        bed(7, "on", "maybe", "On: "),
        bed(8, "line", "tape 9 in", "Line 'tape 9 in' is not in the table Lines"),
        bed(9, "main_pipe", "no pipe", "Main pipe 'no pipe' is not in the table Pipes"),
        bed(11, "manifold_pipe", "no pipe", "Manifold pipe 'no pipe' is not in the table"),
        bed(12, "slope", 80, "Slope: must be at most"),
        bed(13, "elevation", "high", "Elevation: "),
    ),
    (
        bed(1, "bed", "North 1", "another row has this name too"),
        bed(2, "strip_width", None, "Strip width is blank"),
        bed(3, "laterals", None, "Lines per bed is blank"),
        bed(4, "distance", None, "Distance is blank"),
        bed(5, "branch", -1, "Branch: must be at least"),
        bed(7, "strip_width", "12 m", "wider than the bed top"),
        bed(8, "distance", times(0.1), "Likely slip: the decimal point", DOUBTFUL),
        bed(0, "length", times(10), "Likely slip: the decimal point", DOUBTFUL),
        bed(11, "on", "no", "is off but has a crop", DOUBTFUL),
    ),
    (bed(1, "bed", None, "Bed is blank"),),
    (
        Fault(tuple(("Beds", row, column, value) for row in range(14)
                    for column, value in (("distance", 20), ("branch", 0), ("branch_start", 0))),
              "Beds", "all beds are fed from one place: 14 beds, Distance 20 ", DOUBTFUL),
    ),
    (
        line(0, "emitter_flow", "1 gph", "is not what the flow per length gives"),
        line(1, "kind", "hose", "Kind: must be one of"),
        line(2, "emitter_flow", "0.004 gph", "very little for an emitter", DOUBTFUL),
        line(3, "inside_diameter", "1/2 in", "nominal size", DOUBTFUL),
    ),
    (
        line(1, "emitter_spacing", None, "Emitter spacing is blank"),
        line(2, "rated_pressure", None, "Rated pressure is blank"),
        line(3, "exponent", 3, "Exponent: must be at most"),
        Fault((("Lines", 0, "flow_per_length", None),), "Lines",
              "neither the emitter flow nor the flow per length"),
        Fault((("Pipes", 0, "inside_diameter", "3/4 in"),), "Lines", "nominal size", DOUBTFUL),
        Fault((("Pipes", 1, "inside_diameter", None),), "Lines", "Inside diameter is blank"),
    ),
    (
        line(0, "rated_pressure", "20 psi", "not between the least and the greatest", DOUBTFUL),
        Fault((("Beds", 13, "line", HOLDING), ("Lines", 3, "min_pressure", None)), "Lines",
              "Minimum pressure: not given"),
    ),
    (
        Fault((("BedPlan", 0, "end", date(2025, 1, 1)),), "Plan", "is before the first day"),
        Fault((("BedPlan", 2, "bed", "Nowhere"),), "Plan", "Bed 'Nowhere' is not in the table"),
        Fault((("BedPlan", 3, "crop", "no crop"),), "Plan", "Crop 'no crop' is not in the table"),
        Fault((("BedPlan", 4, "start", "spring"),), "Plan", "From: "),
        Fault((("BedPlan", 6, "start", date(2026, 6, 1)),), "Plan", "overlaps", DOUBTFUL),
        Fault((("latitude", 120),), "Setup", "Latitude: must be at most"),
        Fault((("efficiency", 1.5),), "Setup", "Efficiency: must be at most"),
        Fault((("weekly_depth", "3 gal"),), "Setup", "Net depth per week: "),
        Fault((("plan_date", "soon"),), "Setup", "Plan date: "),
    ),
    (
        Fault((("static_pressure", None),), "Setup", "Static pressure is blank"),
        Fault((("bucket_seconds", None),), "Setup", "Seconds it took is blank"),
        Fault((("weekly_depth", None),), "Setup", "Net depth per week is blank"),
        Fault((("soil", None),), "Setup", "Soil is blank", NOTE),
        Fault((("timer_month", 14),), "Timer", "must be at most"),
        Fault((("wanted_share", 3),), "Pressure", "must be at most"),
    ),
    (Fault(gone("HeadParts", 1, HEAD), "Supply", "no backflow preventer is among the parts"),),
    (Fault(gone("HeadParts", 4, HEAD), "Supply", "no regulator is among the parts"),),
    (Fault(gone("HeadParts", 3, HEAD), "Supply", "no filter is among the parts", DOUBTFUL),),
    (
        Fault((("HeadParts", 3, "mesh", 40),), "Supply", "is coarse for the passages", DOUBTFUL),
        Fault((("HeadParts", 4, "preset", "30 psi"),), "Supply", "may burst"),
        Fault((("HeadParts", 0, "kind", "gadget"),), "Supply", "Kind: must be one of"),
        Fault((("injection", "yes"),), "Connections", "injecting fertili"),
        Fault((("back_pressure", "yes"),), "Connections", "stops back-siphonage only"),
        Fault((("Supplies", 0, "open_flow", "100 gpm"),), "Supply", "the bucket test", DOUBTFUL),
    ),
    (
        Fault((("preventer", "hose vacuum breaker"),), "Connections", "no shut-off may stand"),
        Fault((("preventer", "hose vacuum breaker"), ("pressure_hours", 20)), "Connections",
              "not stay under pressure"),
        Fault((("preventer_height", "0 m"),), "Connections", "it must stand at least"),
        Fault((("supply_used", "the moon"),), "Supply", "is not among the Supplies"),
    ),
    (Fault((("supply_used", "creek pump"),), "Supply", "a pump can push back", DOUBTFUL),),
    (
        Fault((("supply_used", "creek pump"),
               *(edit for i in range(4) for edit in gone("PumpCurves", i, ("supply", "flow",
                                                                           "head")))),
              "Supply", "needs two points"),
    ),
    (
        Fault((("Prices", 0, "price", "dear"),), "Prices", "Price: "),
        Fault((("Prices", 4, "date", date(2020, 1, 1)),), "Prices", "the price is old", DOUBTFUL),
        Fault((("Prices", 5, "part", None),), "Prices", "Part is blank"),
        Fault((("Parts", 1, "inlet", "compression 0.70 in"),), "Connections",
              "an adapter is needed", DOUBTFUL),
        Fault((("MonthlyWeather", 0, "rain", None),), "Weather", "Rain is blank"),
        Fault((("WeatherLog", -1, "min_temperature", "38 °C"),), "This week", "are they swapped?"),
        Fault((("WeatherLog", 2, "max_temperature", in_other_unit),), "This week", "°C for °F"),
        Fault((("BedNotes", 0, "bed", "Nrth 3"),), "This week", "'Nrth 3' is not in the table"),
        Fault((("Tiers", 0, "price", None),), "Tariffs", "is blank"),
        Fault((("Ledger", 2, "amount", "much"),), "Ledger", "left out of the sums"),
        Fault((("FieldChecks", 0, "bed", "Nowhere"),), "Field check", "bed not", DOUBTFUL),
    ),
    (
        Fault((("Beds", 13, "elevation", "8 m"),), "Pressure", "is left dry"),
    ),
    (
        Fault((("Pipes", 0, "inside_diameter", "0.2 in"),), "Pressure", "in the manifold",
              DOUBTFUL),
    ),
    (
        Fault((("Beds", 13, "line", HOLDING), ("Lines", 3, "min_pressure", "11 psi")),
              "Pressure", "under the line's least"),
    ),
    (
        Fault((("bucket_seconds", 2.8),), "Supply", "the bucket test on Setup gives", DOUBTFUL),
        Fault((("cut_line_1", "tape 9 in"),), "Cut list", "is not among the Lines"),
        Fault((("efficiency", 0.09),), "Setup", "Efficiency: very low", DOUBTFUL),
        Fault((("markup", 35.0),), "Quoting", "is it a percentage?", DOUBTFUL),
        line(0, "emitter_spacing", times(0.1), "Emitter spacing: ", DOUBTFUL),
        Fault((("Ledger", 2, "date", date(2063, 2, 1)),), "Ledger", "is it the year?", DOUBTFUL),
        Fault((("Ledger", 4, "kind", "watr"),), "Ledger", "is in no sum of 'water'", DOUBTFUL),
        Fault((("BedPlan", 0, "start", date(2036, 3, 16)),
               ("BedPlan", 0, "end", date(2036, 5, 23))), "Plan", "is it the year?", DOUBTFUL),
        Fault((("Prices", 0, "price", times(100)),), "Prices", "of this part; is it", DOUBTFUL),
    ),
    (
        Fault((("Lines", 0, "passage", "0.4 mm"),), "Supply", "more than a quarter", DOUBTFUL),
        Fault((("CountingRules", 19, "counted_by", "system"), ("Beds", 13, "distance", "400 ft")),
              "Lines", "no counting rule counts its couplers", DOUBTFUL),
        Fault((("WeatherLog", -1, "date", date(2026, 6, 26)),), "This week",
              "another row has this day", DOUBTFUL),
        Fault((("longest_run", 2),), "Timer", "is it in hours?", DOUBTFUL),
        Fault((("CountingRules", 21, "counted_by", "main length"),), "Counting rules",
              "is bought by the main length, but Main pipe on Beds says"),
    ),
    (
        Fault((("allowed_to", "04:50"),), "Timer",
              "do not fit between 04:30 and 04:50: no water for"),
    ),
    (
        Fault((("soil", "silty"),), "Setup", "is not among the Soils"),
        Fault((("static_pressure", "5 psi"),), "Supply", "is above the"),
    ),
    (
        Fault((("HeadParts", 4, "preset", "12 psi"),), "Supply", "the shopping list buys"),
    ),
    (
        Fault((("Beds", 7, "laterals", 1), ("Beds", 7, "strip_width", times(4 / 3)),
               ("soil", "sand")), "Beds", "1 wet 30% of the", DOUBTFUL),
        Fault((("HeadParts", 4, "least_inlet", "48 psi"),), "Pressure", "work up to"),
    ),
)
# An error in a computed cell, which no input can be blamed for: typed over one by one only.
COMPUTED = (
    Fault((("Beds", 0, "area", "=1/0"),), "Beds", "of the table show an error"),
    Fault((("Beds", 2, "minutes_delivered", "=NA()"),), "Beds", "of the table show an error"),
    Fault((("Prices", 1, "age", "=1/0"),), "Prices", "of the table show an error"),
)
# fmt: on
SYSTEMS = ("us", "metric")
ALL = bool(os.environ.get("XLFUNCS_FAULTS"))


def one_at_a_time(system: str, every: int) -> list[Fault]:
    """All faults, or some of them where XLFUNCS_FAULTS does not ask for all; errors are among."""
    faults = [fault for batch in BATCHES for fault in batch]
    if ALL:
        return [*faults, *COMPUTED]
    return [*faults[SYSTEMS.index(system) * every // 2 :: every], COMPUTED[0]]


def typed(built: Built, fault: Fault) -> list[tuple[str, int, int, Any]]:
    """Where a fault is typed: sheet, row and column from 0, and the value as a cell has it."""
    found = []
    for table, row, column, value in cells(built.inputs, [fault]):
        if row is None:
            at = built.names[table]
        else:
            place = built.places[table]
            at = place.sheet, place.first + row, place.columns[column]
        if isinstance(value, date):
            value = (value - date(1899, 12, 30)).days
        found.append((*at, value))
    return found


Shown = Mapping[str, Mapping[tuple[int, int], Any]]  # cells of sheets, rows and columns from 1


def read(built: Built) -> dict[str, tuple[int, tuple[int, ...]]]:
    """Of each sheet that says what is wrong: how many rows, and which columns (from 1)."""
    last = max(row for row, _ in built.values["Checks"])
    return {"Checks": (last, (2, 3, 4, 6, 7, 9)), "Start": (70, (2, 4)),
            "Beds": (40, (built.places["Beds"].columns["check"] + 1,))}  # fmt: skip


def rows_of(shown: Shown, kind: int, sheet: int, words: int) -> list[tuple[str, str, str]]:
    """Rows on Checks by the columns of their kind, their sheet and their words."""
    cells = shown["Checks"]
    rows = sorted({row for row, column in cells if column == kind})
    found = [tuple(str(cells.get((row, at))) for at in (kind, sheet, words)) for row in rows]
    return [(k, where.strip("#'").split(", ")[0].split("'!")[0], what)
            for k, where, what in found if k in KINDS]  # fmt: skip


def behind(shown: Shown) -> list[tuple[str, str, str]]:
    """All that is found, more than the list has room for: kind, sheet, words."""
    return rows_of(shown, 6, 9, 7)


def unsaid(built: Built, fault: Fault, shown: Shown) -> list[str]:
    """The places that do not say a fault that was planted alone."""
    said = [words for kind, sheet, words in behind(shown)
            if (kind, sheet) == (fault.kind, fault.sheet) and fault.words in words]  # fmt: skip
    missing = [] if said else ["behind Checks"]
    if not {words for *_, words in rows_of(shown, 2, 3, 4)} >= set(said):
        missing.append("Checks")
    start = shown["Start"]
    states = {name: str(start.get((row, 4))) for (row, column), name in start.items()
              if column == 2}  # fmt: skip
    state = states.get(fault.sheet, states["Checks"])  # a sheet that is no step is counted there
    blank = "is blank" in fault.words
    counted = ("may wait" if fault.kind == NOTE else "missing") if blank else fault.kind
    if counted not in state or "ready" in state:
        missing.append(f"Start: {state}")
    if fault.sheet == "Beds" and fault.edits[0] not in [edit for f in COMPUTED for edit in f.edits]:
        place = built.places["Beds"]
        row, column = place.first + fault.edits[0][1] + 1, place.columns["check"] + 1
        check = str(shown["Beds"].get((row, column)) or "")
        if not check or not any(words.endswith(check) for words in said):
            missing.append(f"Check on Beds: {check!r}")
    return missing


def planted(inputs: Inputs, faults: Sequence[Fault]) -> Inputs:
    """The inputs with the faults in them."""
    tables = {name: [dict(row) for row in rows] for name, rows in inputs.tables.items()}
    settings = dict(inputs.settings)
    for table, row, column, value in cells(inputs, faults):
        if row is None:
            settings[table] = value
            continue
        if value is None:
            tables[table][row].pop(column, None)
        else:
            tables[table][row][column] = value
    settings = {name: value for name, value in settings.items() if value is not None}
    return replace(inputs, tables=tables, settings=settings)


def cells(inputs: Inputs, faults: Sequence[Fault]) -> list[tuple[str, int | None, str, Any]]:
    """Every edit as table, row, column and value; a setting has no row."""
    found: list[tuple[str, int | None, str, Any]] = []
    for edit in (edit for fault in faults for edit in fault.edits):
        if len(edit) == 2:
            found.append((edit[0], None, "", edit[1]))
            continue
        table, row, column, value = edit
        if value is HOLDING:
            value = inputs.tables["Lines"][3]["line"]
        elif callable(value):
            value = value(_there(inputs.tables[table][row], column))
        found.append((table, row % len(inputs.tables[table]), column, value))
    return found


def _there(row: Mapping[str, Any], column: str) -> Any:
    return row[column]
