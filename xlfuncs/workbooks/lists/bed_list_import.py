"""Bed lists as their owners keep them: every bed right, or a question; nothing in silence."""

import re
from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from xlfuncs.tables.garden.beds import BEDS
from xlfuncs.tables.header_words import RESTING, crop_of, flag_of, nearest_crops, plain
from xlfuncs.workbooks.lists.doubts import ListRow, Reading
from xlfuncs.workbooks.lists.headers import Wanted
from xlfuncs.workbooks.lists.mapping import ListMapping
from xlfuncs.workbooks.lists.missing import NUMBERED, ask_missing
from xlfuncs.workbooks.lists.questions import Question
from xlfuncs.workbooks.lists.reader import read_list

# Sizes (m) within which beds usually are; outside, a heading without a unit is asked about.
USUAL = {"strip_width": (0.2, 2.5), "bed_top_width": (0.25, 3.0), "length": (1.5, 300.0)}
BED_LIST = Wanted(BEDS, usual=USUAL)
STRAIGHT_OFF_MAIN = "none"  # as a manifold pipe
_SLOPE = re.compile(r"\b(slop|steep|(up|down)hill|(fall|rise|drop)s?( by)? \d)", re.IGNORECASE)
_RANGE = re.compile(r"(.*?)(\d+)\s*(?:-|–|to|bis|à|a|tot)\s*(\d+)", re.IGNORECASE)


@dataclass(frozen=True)
class BedListReading:
    """Rows by column name in default units (text as typed where it could not be read), questions
    for the owner, a report line by line, a mapping file to answer in, what stands beside each bed
    in the columns that are not read, and what the report says of rows that are left out."""

    rows: tuple[Mapping[str, Any], ...]
    questions: tuple[Question, ...]
    report: tuple[str, ...]
    mapping: str
    beside: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    left_out: tuple[str, ...] = ()


def read_bed_list(
    path: Path, system: str, mapping: ListMapping | None = None,
    names: Mapping[str, Sequence[str]] | None = None,
) -> BedListReading:  # fmt: skip
    """The beds of a CSV, TXT or XLSX; `system` (us or metric) is that of the workbook to be.

    `names` are the lines and pipes of that workbook, by column: one of them is asked for where the
    list does not say which.
    """
    reading = read_list(path, replace(BED_LIST, names=names or {}), system, mapping)
    beds = finish_beds(reading)
    for bed in beds:
        if bed.values.get("manifold_pipe") == STRAIGHT_OFF_MAIN:
            del bed.values["manifold_pipe"]
    rows = tuple(bed.values for bed in beds)
    questions, report = tuple(reading.questions), tuple(reading.report)
    beside = {text: tuple(str(bed.line.cell(place) or "").strip() for bed in beds)
              for place, text in reading.unused.items()}  # fmt: skip
    left_out = tuple(reading.left_out)
    return BedListReading(rows, questions, report, reading.to_answer, beside, left_out)


def stated_system(path: Path) -> str:
    """us or metric, as most units in the headings of a list; us where none is stated."""
    return read_list(path, BED_LIST, "", None).system or "us"


def finish_beds(reading: Reading) -> list[ListRow]:
    """The beds of a reading, one a row, each with a name of its own; asks what is missing."""
    if reading.head is not None and not reading.rows:
        reading.ask(("sheet",), "No line below the headers is a bed. Is it the right sheet?")
    if reading.mapping.columns.get("bed") == NUMBERED:
        for number, row in enumerate(reading.rows, 1):
            row.values["bed"] = str(number)
    beds = _split(reading)
    ask_missing(reading, len(beds))
    ask_about_flags(reading)
    _tell_apart(reading, beds)
    return beds


def slopes_told(rows: Sequence[Mapping[str, Any]]) -> list[str]:
    """How slopes were taken, and which beds have one only in their notes, a line each."""
    lines, beds = [], defaultdict[str, list[str]](list)
    sloping = [row for row in rows if isinstance(row.get("slope"), float) and row["slope"]]
    if sloping:
        first = ", ".join(f"{row['bed']} {row['slope']:+g}%" for row in sloping[:3])
        lines.append(f"Slope: + rises from the bed's inlet, - falls: {first}, as in the list")
    for row in rows:
        if not row.get("slope") and _SLOPE.search(str(row.get("notes", ""))):
            beds[str(row["notes"])].append(str(row["bed"]))
    if found := "; ".join(f"{', '.join(named)} ({notes})" for notes, named in beds.items()):
        lines.append("Slope in notes does not count; type it on Beds in %, falling as minus"
                     f" (3 in 40: -7.5): {found}")  # fmt: skip
    return lines


def _split(reading: Reading) -> list[ListRow]:
    """Rows that stand for several beds, such as 1-4, as that many, if so it was answered."""
    beds: list[ListRow] = []
    several = []
    taken = {str(row.values.get("bed")) for row in reading.rows}
    for row in reading.rows:
        match = _RANGE.fullmatch(str(row.values.get("bed", "")))
        first, last = (int(match[2]), int(match[3])) if match else (0, 0)
        names = [
            f"{match[1] if match else ''}{n}" for n in range(first, min(last, first + 200) + 1)
        ]
        if not match or len(names) < 2 or taken & set(names) or match[1].rstrip().endswith("-"):
            beds.append(row)
            continue
        several.append(f"row {row.line.number}: {row.values['bed']}")
        if reading.mapping.several_beds == "split":
            beds += [replace(row, values={**row.values, "bed": name}) for name in names]
        else:
            beds.append(row)
    if several and not reading.mapping.several_beds:
        words = f"Does a row stand for several beds ({'; '.join(several)}), each of this size?"
        reading.ask(("several_beds",), words, ("split", "one"))
    elif several:
        reading.report.append(f"Several beds in one row ({reading.mapping.several_beds}):"
                              f" {'; '.join(several)}.")  # fmt: skip
    return beds


def _tell_apart(reading: Reading, beds: list[ListRow]) -> None:
    """Beds of one name get that of their block before it, or of a column beside it, or are asked
    about."""
    if _all_differ([_name(bed) for bed in beds]):
        return
    ways: list[tuple[str, list[str]]] = [("the line above them", [bed.block for bed in beds])]
    for place, text in reading.unused.items():
        ways.append((f"column {text!r}", _filled_down(reading, beds, place)))
    for words, before in ways:
        names = [f"{b} {_name(bed)}".strip() for b, bed in zip(before, beds, strict=True)]
        if any(before) and _all_differ(names):
            for bed, name in zip(beds, names, strict=True):
                bed.values["bed"] = name
            reading.report.append(f"Beds of one name are told apart by {words}, as {names[0]!r}.")
            return
    if reading.mapping.same_names:
        counts: Counter[str] = Counter()
        for bed in beds:
            counts[_name(bed).casefold()] += 1
            bed.values["bed"] = f"{_name(bed)} ({counts[_name(bed).casefold()]})"
        return
    seen: dict[str, ListRow] = {}
    for bed in beds:
        first = seen.setdefault(_name(bed).casefold(), bed)
        if first is not bed and _name(bed):
            words = f"Lines {first.line.number} and {bed.line.number} both name the bed"
            reading.ask(("same_names",), f"{words} {_name(bed)!r}. Which is it?", ("number",))


def _name(bed: ListRow) -> str:
    return str(bed.values.get("bed", ""))


def _all_differ(names: list[str]) -> bool:
    filled = [name.casefold() for name in names if name]
    return len(set(filled)) == len(filled)


def _filled_down(reading: Reading, beds: list[ListRow], place: int) -> list[str]:
    """The words of a column, also those that stand once for their block."""
    found, last = [], ""
    for bed in beds:
        cell = bed.line.cell(place)
        cell = reading.file.down.get((bed.line.number, place)) if cell is None else cell
        last = cell if isinstance(cell, str) else last if cell is None else ""
        found.append(last)
    return found


def ask_about_flags(reading: Reading) -> None:
    """Asks whether a column of yes and no that is not used says which rows count."""
    known = {plain(text) for text in reading.mapping.not_used}
    if (
        "on" in reading.headers
        or "on" in {**reading.mapping.values, **reading.mapping.columns}
        or "on" not in reading.wanted.table.names
        or not reading.wanted.is_read("on")
    ):
        return
    for place, text in reading.unused.items():
        cells = [row.line.cell(place) for row in reading.rows]
        flags = [flag_of(str(cell)) for cell in cells if isinstance(cell, (str, bool))]
        full = len(flags) == len(cells) and None not in flags
        if plain(text) not in known and full and False in flags:
            words = f"Column {text!r} holds yes and no. Does it say which beds are watered?"
            reading.ask(("columns", "on"), words + " (If not, name it in not_used.)", (text,))
        elif plain(text) not in known:
            reading.report += [
                f"Column {text!r} says {row.line.cell(place)!r} in row {row.line.number}: the bed"
                " counts as watered, unless a column On says no."
                for row in reading.rows if plain(str(row.line.cell(place))) in RESTING
            ]  # fmt: skip


@dataclass(frozen=True)
class NamedCrops:
    """The heading of a column that names crops, the crop of each bed (as typed where it is not
    known, '' where nothing stands), which words were taken for the nearest crop, and those that are
    not known, with what they may mean."""

    heading: str
    crops: tuple[str, ...]
    nearest: Mapping[str, str]
    unknown: Mapping[str, Sequence[str]]


def named_crops(beside: Mapping[str, Sequence[str]], known: Sequence[str]) -> NamedCrops | None:
    """The column, of those that nothing else is read from, whose words mostly are crops."""
    best: NamedCrops | None = None
    most = 0
    for heading, typed in beside.items():
        found = [crop_of(word, known) for word in typed]
        count = sum(1 for crop in found if crop)
        if count > most and 2 * count >= sum(1 for word in typed if word):
            other = dict.fromkeys(w for w, c in zip(typed, found, strict=True) if w and not c)
            near = {word: nearest_crops(word, known) for word in other}
            taken = {word: crops[0] for word, crops in near.items() if len(crops) == 1}
            crops = tuple(c or taken.get(w, w) for c, w in zip(found, typed, strict=True))
            unknown = {word: crops for word, crops in near.items() if word not in taken}
            best, most = NamedCrops(heading, crops, taken, unknown), count
    return best
