"""What the bed list, the bed plan, the lines and pipes say against each other."""

from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np

from xlfuncs.calculations.water.season_so_far import odd_weeks
from xlfuncs.calculations.water.soil_water import wetted_fraction
from xlfuncs.calculations.water.this_week import odd_week
from xlfuncs.catalogue.findings.given import (
    BLANK,
    DOUBTFUL,
    NOTE,
    WRONG,
    Given,
    GivenTable,
    Row,
    Said,
)
from xlfuncs.tables.garden.beds import BED_PLAN, BEDS
from xlfuncs.tables.garden.crops import CROPS, SOILS
from xlfuncs.tables.garden.lines import LINES, PIPES
from xlfuncs.tables.garden.this_week import BED_NOTES, MONTHLY_WEATHER, WEATHER_LOG
from xlfuncs.tables.money.parts import COUNTING_RULES, MAIN_JOIN, PIPES_COUNTED
from xlfuncs.tables.money.prices import PRICES
from xlfuncs.units import display

Tables = Mapping[str, GivenTable]
_SLACK = 1e-6  # m
_PLACE = ("distance", "branch", "branch_start")
# Share of the planted width that lines wet at least: a third even where crops stand far apart, and
# nearly all where they stand close (NEH 623 chapter 7, from memory).
_WETTED = 1 / 3
_ONE_PLACE = 3  # beds from which one place of all is a doubt: two may lie across from each other

# Column, in which table its names are listed, and the column there.
_LISTED = (
    (BEDS.name, "line", LINES.name, "line"), (BEDS.name, "main_pipe", PIPES.name, "pipe"),
    (BEDS.name, "manifold_pipe", PIPES.name, "pipe"), (BED_PLAN.name, "bed", BEDS.name, "bed"),
    (BED_PLAN.name, "crop", CROPS.name, "crop"), (BED_NOTES.name, "bed", BEDS.name, "bed"),
)  # fmt: skip
_NAMED_ONCE = ((BEDS.name, "bed"), (LINES.name, "line"), (PIPES.name, "pipe"), (CROPS.name, "crop"))


def check_garden(given: Given) -> Iterator[Said]:
    """All checks that look at more than one cell."""
    tables = given.tables
    yield from _dry_strips(given)
    for table, column in _NAMED_ONCE:
        if table in tables and column in tables[table].places:
            yield from _named_once(tables[table], column)
    for table, column, other, key in _LISTED:
        if table in tables and column in tables[table].places and other in tables:
            yield from _listed(tables[table], column, tables[other], key)
    for check, *needed in _CHECKS:
        if all(table.name in tables for table in needed):
            yield from check(*(tables[table.name] for table in needed))


def _named_once(table: GivenTable, column: str) -> Iterator[Said]:
    seen: dict[str, Row] = {}
    for row in table.rows():
        name = row.text(column)
        first = seen.setdefault(name.casefold(), row)
        if name and first is not row:
            yield _at(
                table, row, column, f"{table.table[column].header}: another row has this name too"
            )


def _days_once(log: GivenTable) -> Iterator[Said]:
    """Days that stand in the log twice."""
    seen = set()
    for row in log.rows():
        day = log.base(row, "date")
        if day is not None and day in seen:
            yield _at(log, row, "date", "Date: another row has this day too", DOUBTFUL)
        seen.add(day)


def _listed(table: GivenTable, column: str, other: GivenTable, key: str) -> Iterator[Said]:
    known = {row.text(key).casefold() for row in other.rows()}
    for row in table.rows():
        name = row.text(column)
        if name and name.casefold() not in known:
            words = f"{table.table[column].header} {name!r} is not in the table {other.table.name}"
            yield _at(table, row, column, words)


def _fed(beds: GivenTable, pipes: GivenTable) -> Iterator[Said]:
    """Beds to which no pipe leads: nothing can be said of their pressure."""
    if "main_pipe" not in beds.places:
        return
    for row in beds.rows():
        if row.text("bed") and not row.text("main_pipe") and beds.base(row, "on"):
            words = "Main pipe is blank: what arrives at the bed cannot be computed; choose one"
            yield _at(beds, row, "main_pipe", words)


def _alone(beds: GivenTable) -> Iterator[Said]:
    """Beds without a valve beside others that have one: each would open alone, as one more set."""
    rows = [row for row in beds.rows() if row.text("bed") and beds.base(row, "on")]
    without = [row for row in rows if not row.text("valve")]
    for row in without if len(without) < len(rows) else ():
        yield _at(beds, row, "valve", f"Valve (other beds have one){BLANK}")


def _fed_from_one_place(beds: GivenTable) -> Iterator[Said]:
    """One distance for a whole list: the map draws its beds on each other, and tees are missing."""
    rows = [row for row in beds.rows() if row.text("bed")]
    places = {tuple(beds.base(row, name) for name in _PLACE) for row in rows}
    if len(rows) < _ONE_PLACE or len(places) > 1 or (way := places.pop()[0]) is None:
        return
    words = (
        f"all beds are fed from one place: {len(rows)} beds, Distance"
        f" {display(way, 'length', beds.system, 3)}; fill in the distance of each"
    )
    yield _at(beds, rows[0], "distance", words, DOUBTFUL)


def _joined(
    beds: GivenTable, pipes: GivenTable, rules: GivenTable, prices: GivenTable
) -> Iterator[Said]:
    """Mains that are longer than the rolls that are offered, whose couplers nothing counts."""
    if any(rules.base(row, "counted_by") == MAIN_JOIN for row in rules.rows()):
        return
    for row in pipes.rows():
        name = row.text("pipe")
        rolls = _of(prices, "part", name, "roll_length")
        way = max(_of(beds, "main_pipe", name, "distance"), default=0.0)
        if rolls and way > max(rolls):
            words = (
                f"{name}: {display(way, 'length', pipes.system, 3)} is longer than a roll, but no"
                " counting rule counts its couplers: add one that is counted by main join"
            )
            yield _at(pipes, row, "pipe", words, DOUBTFUL)


def _bought_as_laid(beds: GivenTable, pipes: GivenTable, rules: GivenTable) -> Iterator[Said]:
    """Pipes that counting rules buy by their length, and that no bed is fed by."""
    known = {row.text("pipe").casefold() for row in pipes.rows()}
    for row in rules.rows():
        column, part = PIPES_COUNTED.get(row.text("counted_by")), row.text("part")
        if column is None or part.casefold() not in known or column not in beds.places:
            continue
        laid = {name for bed in beds.rows() if (name := bed.text(column)).casefold() in known}
        if laid and part.casefold() not in {name.casefold() for name in laid}:
            words = (
                f"{part} is bought by the {row.text('counted_by')}, but {BEDS[column].header} on"
                f" Beds says {', '.join(sorted(laid))}: name the same pipe in both, or renew, which"
                " does where Counting rules is no sheet of the workbook"
            )
            yield _at(rules, row, "part", words)


def _of(table: GivenTable, key: str, name: str, column: str) -> list[float]:
    """The numbers of a column in the rows of a name."""
    rows = (row for row in table.rows() if row.text(key).casefold() == name.casefold())
    return [value for row in rows if isinstance(value := table.base(row, column), float)]


def _widths(beds: GivenTable) -> Iterator[Said]:
    for row in beds.rows():
        strips, width, top, inset = (
            beds.base(row, name) for name in ("strips", "strip_width", "bed_top_width", "inset")
        )
        if width is None or strips is None:
            continue
        across = strips * width if top is None else top
        in_all = _width(across, beds.system)
        if strips * width > across + _SLACK:
            words = f"{strips:g} strips of {_width(width, beds.system)} are wider than the bed top"
            yield _at(beds, row, "strip_width", f"{words} of {in_all}")
        if inset is not None and inset > across / 2 + _SLACK:
            words = f"an inset of {_width(inset, beds.system)} is more than half the bed of"
            yield _at(beds, row, "inset", f"{words} {in_all}")


def _dry_strips(given: Given) -> Iterator[Said]:
    """Beds that lie dry between their lines, by the width that a line wets in the soil."""
    soil = str(given.settings.get("soil") or "")
    found = (table.base(row, "wetted_width") for table, row in given.rows(SOILS.name)
             if row.text("soil").casefold() == soil.casefold())  # fmt: skip
    if not (wets := next(found, None)):
        return
    for beds, row in given.rows(BEDS.name):
        lines, strips, width = (beds.base(row, n) for n in ("laterals", "strips", "strip_width"))
        if not (lines and strips and width and beds.base(row, "on")):
            continue
        if (share := float(wetted_fraction(lines, wets, planted := strips * width))) < _WETTED:
            words = (
                f"Lines per bed: {lines:g} wet {share:.0%} of the {_width(planted, given.system)}"
                f" planted, {_width(wets, given.system)} each in {soil}, and strips stay dry;"
                f" {np.ceil(planted * _WETTED / wets):.0f} wet a third,"
                f" {np.ceil(planted / wets):.0f} all of it"
            )
            yield _at(beds, row, "laterals", words, DOUBTFUL)


def _width(metres: float, system: str) -> str:
    return display(metres, "width", system, 4)


def _flow_said_once(lines: GivenTable) -> Iterator[Said]:
    """A line's flow is given per emitter or per length; both must agree."""
    for row in lines.rows():
        flow, per_length, spacing = (
            lines.base(row, name) for name in ("emitter_flow", "flow_per_length", "emitter_spacing")
        )
        if flow is None and per_length is None:
            if not (row.text("emitter_flow") or row.text("flow_per_length")):
                words = "neither the emitter flow nor the flow per length is given"
                yield _at(lines, row, "line", words)
        elif None not in (flow, per_length, spacing):
            by_length = per_length * spacing
            if abs(by_length - flow) > 0.03 * flow:
                said, given = (
                    display(f, "emitter_flow", lines.system, 3) for f in (flow, by_length)
                )
                words = f"the emitter flow {said} is not what the flow per length gives, {given}"
                yield _at(lines, row, "emitter_flow", words)


def _swapped(weather: GivenTable) -> Iterator[Said]:
    """Minimum temperatures above the greatest of their row: the balance refuses them."""
    for row in weather.rows():
        least, greatest = (weather.base(row, f"{end}_temperature") for end in ("min", "max"))
        if least is not None and greatest is not None and least > greatest:
            words = "Minimum temperature is above maximum temperature: are they swapped?"
            yield _at(weather, row, "min_temperature", words)


def _other_unit(log: GivenTable, climate: GivenTable) -> Iterator[Said]:
    """Weeks of the log that no such month has: a temperature of them is in another unit."""
    dated = [(row, day) for row in log.rows() if (day := log.base(row, "date")) is not None]
    days = np.array([day for _, day in dated], dtype="datetime64[D]")
    for name in ("max_temperature", "min_temperature"):
        typed = np.array([log.base(row, name) for row, _ in dated], dtype=float)
        usual = {climate.base(row, "month"): climate.base(row, name) for row in climate.rows()}
        monthly = np.array([usual.get(month) for month in range(1, 13)], dtype=float)
        for place, beyond in odd_weeks(days, typed, monthly):
            words = f"{MONTHLY_WEATHER[name].header} is {odd_week(beyond)}"
            yield _at(log, dated[place][0], name, words)


def _periods(plan: GivenTable) -> Iterator[Said]:
    """Periods that end before they start, and crops that overlap in one bed."""
    by_bed: dict[str, list[tuple[Any, Any, Row]]] = {}
    for row in plan.rows():
        start, end = (plan.base(row, name) for name in ("start", "end"))
        if start is None or end is None:
            continue
        if end < start:
            yield _at(plan, row, "end", f"the last day {end} is before the first day {start}")
            continue
        by_bed.setdefault(row.text("bed").casefold(), []).append((start, end, row))
    for periods in by_bed.values():
        periods.sort(key=lambda period: (period[0], period[2].number))
        longest = periods[0]
        for period in periods[1:]:
            if period[0] <= longest[1]:
                words = (
                    f"{period[2].text('bed')}: {period[2].text('crop')} from {period[0]} overlaps"
                    f" {longest[2].text('crop')} until {longest[1]}"
                )
                yield _at(plan, period[2], "start", words, DOUBTFUL)
            longest = max(longest, period, key=lambda p: p[1])


def _fallow(beds: GivenTable, plan: GivenTable) -> Iterator[Said]:
    """Beds that are on but have no crop in the plan, and the other way round."""
    planted = {row.text("bed").casefold() for row in plan.rows()}
    if not planted:
        return
    for row in beds.rows():
        name = row.text("bed")
        on = beds.base(row, "on")
        if on and name and name.casefold() not in planted:
            words = f"{name} is on but has no crop in the bed plan: it counts as fallow"
            yield _at(beds, row, "bed", words, NOTE)
        elif on is False and name.casefold() in planted:
            words = f"{name} is off but has a crop in the bed plan: it gets no water"
            yield _at(beds, row, "bed", words, DOUBTFUL)


def _at(table: GivenTable, row: Row, column: str, words: str, kind: str = WRONG) -> Said:
    return Said(kind, table.table.name, row, column, words)


# What is looked for where all its tables are given.
_CHECKS: tuple[Any, ...] = (
    (_widths, BEDS), (_fed, BEDS, PIPES), (_alone, BEDS), (_fed_from_one_place, BEDS),
    (_joined, BEDS, PIPES, COUNTING_RULES, PRICES),
    (_bought_as_laid, BEDS, PIPES, COUNTING_RULES), (_flow_said_once, LINES),
    (_swapped, WEATHER_LOG), (_swapped, MONTHLY_WEATHER), (_days_once, WEATHER_LOG),
    (_other_unit, WEATHER_LOG, MONTHLY_WEATHER), (_periods, BED_PLAN), (_fallow, BEDS, BED_PLAN),
)  # fmt: skip
