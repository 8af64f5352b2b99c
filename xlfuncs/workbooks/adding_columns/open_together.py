"""Which beds are open together, and how far they lie from the tap, where the list does not say."""

import re
from collections.abc import Collection
from typing import Any

from xlfuncs.catalogue.arguments import as_argument, read_one
from xlfuncs.errors import InputError
from xlfuncs.tables.garden.beds import BEDS
from xlfuncs.tables.header_words import plain
from xlfuncs.units import DIMENSIONS, from_base
from xlfuncs.workbooks.adding_columns import basis
from xlfuncs.workbooks.adding_columns.settings_sheet import Settings, lay_out
from xlfuncs.workbooks.lists.doubts import Reading
from xlfuncs.workbooks.lists.missing import spare_headings
from xlfuncs.workbooks.lists.questions import Question
from xlfuncs.workbooks.lists.sheets import Grid
from xlfuncs.workbooks.our_tables.read_inputs import SETTINGS_SHEET
from xlfuncs.xlsx.contents import Contents

TOGETHER, DISTANCE = ("settings", "open_together"), ("settings", "distance")
_BARE = re.compile(r"(?<![^\s,;])\d+(?:[.,]\d+)?(?:\s*(?:ft|m))?(?![^\s,;])")  # in their order
_OF_GROUP = re.compile(r"\s*(.+?)\s*[:=]?\s+(\d+(?:[.,]\d+)?)\s*(ft|m)?\s*", re.IGNORECASE)


def stated_columns(grid: Grid, together: str, distance: Any) -> dict[str, str]:
    """The headings of the list among what is said of valve and distance."""
    given = {"valve": together, "distance": str(distance or "")}
    texts = {str(grid.value(*place)).strip() for place in grid.cells}
    return {name: text for name, text in given.items() if text and text in texts}


def known_together(reading: Reading) -> str:
    """What the list says of the beds that are open together: a heading, or one valve for all."""
    heading = reading.headers["valve"][0].text if "valve" in reading.headers else ""
    return str(heading or reading.mapping.values.get("valve") or "")


def known_on_sheet(contents: Contents) -> str:
    """What the sheet of settings says of the beds that are open together."""
    there = lay_out(contents, (), "us", {})
    known = there.values(basis.SUPPLY).get("open_together") if there.there else ""
    return str(known or "")


def groups_of(reading: Reading) -> list[str]:
    """What the list says of valves, each once."""
    named = dict.fromkeys(row.values.get("valve") for row in reading.rows)
    return [str(name) for name in named if name not in (None, "")]


def question_of_valves(reading: Reading, wrong: str = "") -> Question:
    """`wrong` is an answer that is no column of the list."""
    rows, columns = reading.rows, []
    for place, text in reading.unused.items():
        cells = [str(cell) for row in rows if (cell := row.line.cell(place)) is not None]
        if len(cells) == len(rows) and 1 < len(set(cells)) <= len(rows) / 2:
            columns.append(text)
    choices = (*columns, basis.ALL_OPEN, basis.EACH_ALONE)
    known = {*choices, *reading.unused.values()}

    def fault(answer: str) -> str:
        return "" if answer in known else f"{answer!r} is no column of the list."

    words = f"{fault(wrong)} " if wrong else ""
    words += "Which beds open together (one valve)? By a column:"
    return Question(TOGETHER, words, choices, later=not wrong, fault=fault)


def question_of_distances(reading: Reading, wrong: str = "") -> Question:
    unit, groups = BEDS["distance"].unit(reading.system), groups_of(reading)
    words = f"{wrong} Distance along the pipe from tap to beds ({unit}): one for all"
    if groups:
        some = " ".join(str(40 * i) for i in range(1, len(groups) + 1))
        words += f", or of {', '.join(groups)}, as {some}"
    spare = spare_headings(reading, BEDS["distance"])
    words += ", or a column:" if spare else "."

    def fault(answer: str) -> str:
        return distances(answer, reading, ("distance",) if answer in spare else ())[1]

    return Question(
        DISTANCE, words.strip(), tuple(spare), later=not wrong, number=True, fault=fault
    )


def distances(
    answer: Any, reading: Reading, stated: Collection[str]
) -> tuple[list[dict[str, Any]], str]:
    """The rows of the settings, by valve, or one for all; and what is wrong with an answer."""
    groups, system = groups_of(reading), reading.system
    names = groups if 0 < len(groups) <= basis.DISTANCES.rows else [basis.ALL_OPEN]
    text = str(answer or "").strip()
    if not text or "distance" in stated:
        return [{"beds": name} for name in names], ""
    try:
        return [{"beds": basis.ALL_OPEN, "distance": _length(text, system)}], ""
    except InputError:
        pass
    found: dict[str, float] = {}
    if len(bare := _BARE.findall(text)) == len(names) and not _BARE.sub("", text).strip(" ,;"):
        text = "; ".join(f"{name} {number}" for name, number in zip(names, bare, strict=True))
    for part in re.split(r"[,;]\s+|;", text):
        match = _OF_GROUP.fullmatch(part)
        name = next((n for n in names if match and plain(n) == plain(match[1])), "")
        if not match or not name:
            return [{"beds": name} for name in names], f"{part!r} names no valve and a length."
        found[name] = _length(f"{match[2]} {match[3] or ''}".strip(), system)
    return [{"beds": name, "distance": found.get(name)} for name in names], ""


def _length(text: str, system: str) -> float:
    column = BEDS["distance"]
    base = read_one(as_argument(column), text.replace(",", "."), system)
    return float(f"{from_base(base, column.dimension, system):.12g}")


def notes(
    settings: Settings, sections: Collection[basis.Section], *, minutes: bool, level: bool
) -> list[str]:
    """What the computed columns rest on, for the report: whether they have `minutes` to use, and
    whether the ground is taken as `level`."""
    found = []
    if not settings.values(basis.SUPPLY)["open_together"]:
        found.append("Which beds open together is not said, so each counts as open alone: say it on"
                     f" {SETTINGS_SHEET}.")  # fmt: skip
    if basis.DISTANCES in sections:
        known = settings.table(basis.DISTANCES).values()
        one = [r["distance"] for r in known if r["beds"] == basis.ALL_OPEN and r.get("distance")]
        found += [f"Every bed is taken as {far:g} from the tap." for far in one]
    words = f"Assumed, on {SETTINGS_SHEET}: the tap gives no more than the bucket got"
    if basis.TARGET in sections:
        target, unit = settings.values(basis.TARGET), DIMENSIONS["depth"].unit(settings.system)
        depth, times = (float(target[n] or 0) for n in ("weekly_depth", "waterings_a_week"))
        if minutes:
            told = "Use 'Minutes to water'"
            found.append(f"{told} {times:g} times a week: one time for all beds of a valve.")
        words += f", {depth:g} {unit} of water a week, {target['efficiency'] or 0:.0%} efficiency"
    return [*found, f"{words}{', level ground' if level else ''}."]
