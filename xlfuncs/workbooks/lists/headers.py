"""Which line of a list holds its headings, and which heading gives which column."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from xlfuncs.tables.columns import Column, Table
from xlfuncs.tables.header_words import plain
from xlfuncs.tables.headers import (
    NEAR,
    Header,
    match_header,
    splits,
    stated_header,
    unit_in,
    unit_of,
)
from xlfuncs.units import DIMENSIONS, conversion
from xlfuncs.workbooks.lists.lines import FileLine, ListFile, is_date
from xlfuncs.xlsx.cell_references import column_letters, column_number

SEARCHED_LINES = 40
_is_number = re.compile(r"(?:[A-Z]{3})?\W*\d[\d\W]*(?:[A-Z]{3})?").fullmatch
Found = Mapping[str, tuple[Header, ...]]  # two headers where feet and inches stand apart


@dataclass(frozen=True)
class Wanted:
    """What a use of the reader looks for."""

    table: Table
    worst: int = NEAR  # the least sure way of naming a column that will do
    needed: tuple[tuple[str, ...], ...] = ()  # of each group one must be in the line of headings
    strict: bool = False  # two headings of one column are always asked about
    several: frozenset[str] = frozenset()  # columns whose headings are all read
    usual: Mapping[str, tuple[float, float]] = field(default_factory=dict)  # sizes (m) by column
    reads: frozenset[str] = frozenset()  # the columns whose cells are read; none: all
    follows: bool = False  # formulas will follow the cells, so none needs a value yet
    stated: Mapping[str, str] = field(default_factory=dict)  # headings or letters that were named
    names: Mapping[str, Sequence[str]] = field(default_factory=dict)  # to choose from, by column

    def is_read(self, name: str) -> bool:
        return not self.reads or name in self.reads

    def match(self, text: str, place: int = 0) -> list[Header]:
        """The columns that a heading may mean; those whose heading was named are not among them."""
        found = match_header(text, self.table, place, self.worst)
        return [header for header in found if header.column.name not in self.stated]

    def named(self, line: FileLine) -> set[str]:
        """The columns that a line names, each heading by its surest reading."""
        found = {name for name, text in self.stated.items() if places_of(line, text)}
        for cell in {*line.cells} - {*self.stated.values()}:
            if isinstance(cell, str) and (matches := self.match(cell)):
                found.add(matches[0].column.name)
        return found


@dataclass(frozen=True)
class HeadingLines:
    """The headings as one line, the line of the file that they end in, and how many they name."""

    line: FileLine
    last: int  # place in the lines of the file
    score: int


def find_headings(file: ListFile, wanted: Wanted, at: int | None = None) -> HeadingLines | None:
    """The line, or pair of lines, that names the most columns, at least two of them.

    `at` is the number of the line that a person named.
    """
    best: HeadingLines | None = None
    alone: list[HeadingLines] = []  # lines of words that name one column
    for i, line in enumerate(file.lines if at else file.lines[:SEARCHED_LINES]):
        if at and line.number != at:
            continue
        for candidate in _candidates(file, i, wanted):
            named = wanted.named(candidate.line)
            if not all(any(name in named for name in group) for group in wanted.needed):
                continue
            score = len(named) + (min(candidate.score // 2, 2) if wanted.strict else 0)
            if score > (best.score if best else -1 if at else 1):
                best = replace(candidate, score=score)
            filled = candidate.line.filled
            if score == 1 and len(filled) > 1 and all(isinstance(c, str) for c in filled):
                alone.append(replace(candidate, score=1))
    return best or (alone[0] if wanted.follows and len(alone) == 1 else None)


def _candidates(file: ListFile, i: int, wanted: Wanted) -> list[HeadingLines]:
    """A line alone, and with the particulars that stand in the line below it: words, for a line
    with a date or a number is the first of the list."""
    upper = file.lines[i]
    found = [HeadingLines(upper, i, 0)]
    lower = file.lines[i + 1] if i + 1 < len(file.lines) else None
    words = lower is not None and all(
        isinstance(cell, str) and not is_date(cell)
        and (cell.endswith("%") or not _is_number(cell)) for cell in lower.filled
    )  # fmt: skip
    if lower is None or not (upper.filled and lower.filled and words):
        return found
    cells, joined = list[Any](), 0
    for place in range(max(len(upper.cells), len(lower.cells))):
        above, below = upper.cell(place), lower.cell(place)
        named, own = (cell is not None and wanted.match(str(cell)) for cell in (below, above))
        lower_one = above is None or (named and ((upper.number, place) in file.across or not own))
        lower_one = lower_one or (below is not None and len(upper.filled) == 1 and not own)  # title
        if wanted.strict and below and (over := _over(file, i, place, named=bool(named))):
            joined += 2
            cells.append(f"{over} {below}")
            continue
        joined += (is_joined := isinstance(above, str) and bool(_is_particular(str(below or ""))))
        if is_joined or str(above or "").endswith("-"):
            cells.append(f"{above}{below or ''}" if not is_joined else f"{above} ({below})")
        else:
            cells.append(below if lower_one else above)
    return [*found, HeadingLines(replace(lower, cells=tuple(cells)), i + 1, joined)]


def _over(file: ListFile, i: int, place: int, *, named: bool) -> str:
    """The heading over several columns, of which the one at a place is none by itself (`P2`), or is
    in the unit of them all. In a text its unit tells, and the blanks beside it."""
    upper, lower = file.lines[i : i + 2]
    start = next((p for p in range(place, -1, -1) if upper.cell(p) is not None), -1)
    above = str(upper.cell(start)) if start >= 0 and len(upper.filled) > 2 else ""
    parts = [lower.cell(p) for p in range(start, max(place, start + 1) + 1)]
    spans = unit_in(above) or not named
    if (upper.number, place) not in file.across:
        several = upper.cell(start + 1) is None and None not in parts
        spans = bool(unit_in(above)) and not named and several
    return above if spans and not _is_particular(str(lower.cell(place))) else ""


def _is_particular(text: str) -> bool:
    """Whether a word below a heading is its unit, its currency or its rate."""
    sign = re.fullmatch(r"[A-Z]{3}|[€£$]|\d+([.,]\d+)? ?%", text)
    return bool(sign) or unit_in(text) == text != ""


def side_by_side(file: ListFile, head: HeadingLines, wanted: Wanted) -> list[range]:
    """The places of each list that stands beside others, parted by columns without anything."""
    below = file.lines[head.last :]
    width = max((len(line.cells) for line in below), default=0)
    empty = [all(line.cell(place) is None for line in below) for place in range(width)]
    parts, start = [], None
    for place in range(width + 1):
        gap = place == width or (empty[place] and head.line.cell(place) is None)
        if not gap and start is None:
            start = place
        elif gap and start is not None:
            parts.append(range(start, place))
            start = None
    return [part for part in parts if len(wanted.named(cut(head.line, part))) > 1]


def cut(line: FileLine, part: range) -> FileLine:
    """The line without the cells outside of a part of its places."""
    cells = tuple(cell if place in part else None for place, cell in enumerate(line.cells))
    formulas = {place: text for place, text in line.formulas.items() if place in part}
    return replace(line, cells=cells, formulas=formulas)


@dataclass(frozen=True)
class HeaderReading:
    """Which place gives which column, what is left over, and which headings might all be meant."""

    headers: Found
    unused: Mapping[int, str]
    rivals: Mapping[str, tuple[str, ...]]


def read_headers(line: FileLine, wanted: Wanted, units: FileLine | None = None) -> HeaderReading:
    """Matches a line of headings with the columns."""
    taken: dict[str, list[Header]] = {}
    unused: dict[int, str] = {}
    candidates: list[list[Header]] = []
    places = {place: name for name, text in wanted.stated.items()
              for place in places_of(line, text, letters=True)}  # fmt: skip
    for place in sorted({*places, *range(len(line.cells))}):
        text = str(line.cell(place) or "")
        if place in places:
            name = places[place]
            taken.setdefault(name, []).append(stated_header(place, text, wanted.table[name]))
        elif text:
            free = [m for m in wanted.match(text, place) if m.column.name not in wanted.stated]
            if free:
                candidates.append(free)
            else:
                unused[place] = text
    rivals = _assign(candidates, taken, unused, wanted)
    headers = {name: tuple(_with_unit(h, units) for h in found) for name, found in taken.items()}
    return HeaderReading(headers, unused, rivals)


def places_of(line: FileLine, text: str, *, letters: bool = False) -> list[int]:
    """The place of a heading that was named, or of those that were, parted by ` + `; none where one
    of them is not there."""
    whole = _place_of(line, text, letters=letters)
    named = [text] if whole is not None else text.split(" + ")
    places = [_place_of(line, part, letters=letters) for part in named]
    return [] if None in places else [place for place in places if place is not None]


def _place_of(line: FileLine, text: str, *, letters: bool = False) -> int | None:
    """The place of a heading that was named as typed, without its unit, or by its letters."""
    cells = [(i, cell) for i, cell in enumerate(line.cells) if text and isinstance(cell, str)]
    for same in (
        lambda cell: cell.strip() == text.strip(),
        lambda cell: plain(text) in (plain(name) for name, _ in splits(cell)),
    ):
        places = [i for i, cell in cells if same(cell)]
        if places:
            return places[0]
    is_letters = letters and text.isalpha() and text.isupper() and len(text) <= 3
    place = column_number(text) - 1 if is_letters else len(line.cells)
    return place if place < len(line.cells) else None


def _assign(
    candidates: list[list[Header]], taken: dict[str, list[Header]], unused: dict[int, str],
    wanted: Wanted,
) -> dict[str, tuple[str, ...]]:  # fmt: skip
    """Gives each heading its surest column; returns the columns that several claim alike."""
    rivals: dict[str, tuple[str, ...]] = {}
    claims = sorted(
        ((number, header) for number, m in enumerate(candidates) for header in m),
        key=lambda claim: (claim[1].rank, not claim[1].column.required,
                           not (wanted.strict or claim[1].says_own_name), claim[0]),
    )  # fmt: skip
    settled: set[int] = set()
    for number, header in claims:
        name = header.column.name
        if number in settled:
            continue
        before = taken.setdefault(name, [])
        if not before or name in wanted.several or _feet_beside_inches([*before, header]):
            before.append(header)
        elif len(candidates[number]) == 1 and (wanted.strict or header.as_sure_as(before[0])):
            rivals[name] = (*rivals.get(name, (before[0].text,)), header.text)
        else:
            continue
        settled.add(number)
    for number, matches in enumerate(candidates):
        if number not in settled:
            unused[matches[0].place] = matches[0].text
    for name in rivals:
        taken.pop(name)
    return rivals


def _feet_beside_inches(headers: list[Header]) -> bool:
    """'Length ft' beside 'Length in'."""
    if len(headers) != 2 or headers[0].column.dimension not in ("length", "width", "elevation"):
        return False
    if headers[0].name != headers[1].name:
        return False
    factors = sorted(conversion(h.unit, "length")[0] for h in headers if h.unit)
    return factors == [0.0254, 0.3048]


def is_unit_line(line: FileLine, headers: Found) -> bool:
    """Whether the line below the headings says the units: '(ft)', 'in', ..."""
    by_place = {h.place: h for found in headers.values() for h in found}
    said = 0
    for place, cell in enumerate(line.cells):
        if cell is None:
            continue
        if not isinstance(cell, str):
            return False
        header = by_place.get(place)
        if header is not None and unit_of(_bare(cell), header.column.dimension):
            said += 1
        elif plain(_bare(cell)) not in ("", "number", "yes no", "text", "name"):
            return False
    return said > 0


def _with_unit(header: Header, units: FileLine | None) -> Header:
    cell = units.cell(header.place) if units else None
    if cell is None or header.unit:
        return header
    return replace(header, unit=unit_of(_bare(str(cell)), header.column.dimension) or "")


def _bare(text: str) -> str:
    return text.strip("()[]{} ")


def is_number(column: Column) -> bool:
    return DIMENSIONS[column.dimension].kind == "number"


def shown_place(file: ListFile, place: int, text: Any) -> str:
    """A heading as a question names it, with its letter where the list is a sheet."""
    return f"{text!r} ({column_letters(place + 1)})" if file.sheet else repr(str(text))
