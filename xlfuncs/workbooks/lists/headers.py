"""Headers that people type, matched with the columns of a table: words, abbreviations, units."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from difflib import get_close_matches
from typing import Any

from xlfuncs.errors import UnitError
from xlfuncs.tables.columns import Column, Table
from xlfuncs.units import DIMENSIONS, conversion
from xlfuncs.workbooks.lists.files import Line

FEET_AND_INCHES = "ft-in"
_FEET_AND_INCHES = {
    "ft-in", "ft/in", "ft in", "ft & in", "ft+in", "ft, in", "feet and inches", "feet/inches",
    "feet & inches", "feet inches", "ft and in", "feet-inches", "' \"", "'\"",
}  # fmt: skip
_ABBREVIATIONS = {
    "len": "length", "lgth": "length", "lth": "length", "wid": "width", "wdth": "width",
    "dist": "distance", "elev": "elevation", "no": "number", "nr": "number", "num": "number",
    "qty": "number", "ct": "count", "typ": "type", "ln": "line", "lns": "lines", "lat": "lateral",
    "lats": "laterals", "str": "strip", "bd": "bed", "l": "length", "w": "width",
}  # fmt: skip
_SMALL_WORDS = {"of", "the", "a", "to", "per", "for", "each", "in"}
_EXACT, _SYNONYM, _ABBREVIATED, _NEAR = range(4)
_SEARCHED_LINES = 40


@dataclass(frozen=True)
class Header:
    """A header that was understood: its place in the lines, its column and its unit."""

    place: int
    text: str
    column: Column
    unit: str = ""  # as typed; "" where none is stated
    sure: bool = True
    odd_unit: str = ""  # what stands where a unit would, but is none
    name: str = ""  # the text without its unit, in lower case

    @property
    def plain_unit(self) -> str:
        return "ft" if self.unit == FEET_AND_INCHES else self.unit


@dataclass(frozen=True)
class Wrong:
    """A header whose unit measures something else."""

    text: str
    words: str


def normal(text: Any) -> str:
    """Lower case, without marks and double spaces."""
    words = re.sub(r"[_\-./:*?]+", " ", str(text).lower().replace("#", " number "))
    return " ".join(words.split())


def splits(text: str) -> Iterator[tuple[str, str]]:
    """A header as name and unit, in every way it may be meant: 'Length (ft)', 'Length, ft',
    'Length in ft', 'Length ft'; first as a whole."""
    yield text, ""
    if match := re.fullmatch(r"(.*?)\s*[(\[{]\s*([^()\[\]{}]*?)\s*[)\]}]\s*", text):
        yield match[1], match[2]
        return
    for pattern in (r"(.+?)\s*,\s*(\S.*)", r"(.+?)[\s_]+in[\s_]+(\S.*)", r"(.+)[\s_](\S+)"):
        if match := re.fullmatch(pattern, text, re.IGNORECASE):
            yield match[1], match[2]


def unit_of(text: str, dimension: str) -> str | None:
    """The unit, '' where the text is no unit at all; None where it measures something else."""
    if DIMENSIONS[dimension].kind != "number":
        return ""
    clean = text.strip().rstrip(".").strip()
    if clean.lower() in _FEET_AND_INCHES:
        return FEET_AND_INCHES if dimension in ("length", "width", "elevation") else None
    try:
        conversion(clean, dimension)
    except UnitError as error:
        return None if "does not measure" in error.message else ""
    return clean


def match_header(text: str, table: Table, place: int) -> list[tuple[int, Header]]:
    """All columns that a header may mean, each with its rank (less is surer)."""
    found: dict[str, tuple[int, Header]] = {}
    for name, unit_text in splits(text):
        for rank, column in _columns_named(name, table):
            unit = unit_of(unit_text, column.dimension) if unit_text else ""
            bracketed = text.rstrip().endswith((")", "]", "}"))
            if unit_text and not unit and not bracketed:
                continue  # the last word is no unit, so this way of splitting is not meant
            odd = unit_text if unit_text and not unit else ""
            header = Header(place, text, column, unit or "", rank < _NEAR, odd, normal(name))
            if column.name not in found or rank < found[column.name][0]:
                found[column.name] = (rank, header)
    return sorted(found.values(), key=lambda item: item[0])


def _columns_named(name: str, table: Table) -> list[tuple[int, Column]]:
    wanted = normal(name)
    if not wanted:
        return []
    spelt = " ".join(_ABBREVIATIONS.get(word, word) for word in wanted.split())
    found = []
    near: dict[str, Column] = {}
    for column in table.columns:
        own = {normal(column.header), normal(column.name)}
        others = {normal(synonym) for synonym in column.synonyms}
        if wanted in own:
            found.append((_EXACT, column))
        elif wanted in others:
            found.append((_SYNONYM, column))
        elif _content(spelt) and _content(spelt) in map(_content, own | others):
            found.append((_ABBREVIATED, column))
        near.update(dict.fromkeys(own | others, column))
    if not found and len(spelt) > 4:
        close = get_close_matches(spelt, near, n=1, cutoff=0.8)
        found = [(_NEAR, near[word]) for word in close]
    return found


def _content(text: str) -> frozenset[str]:
    """The words that carry the meaning, whatever their order."""
    return frozenset(text.split()) - _SMALL_WORDS


def find_header_line(lines: Sequence[Line], table: Table) -> int | None:
    """The place of the line that names the most columns, at least two; None where none does."""
    best, place = 1, None
    for i, line in enumerate(lines[:_SEARCHED_LINES]):
        names = {
            matches[0][1].column.name
            for cell in line.cells
            if isinstance(cell, str) and (matches := match_header(cell, table, 0))
        }
        if len(names) > best:
            best, place = len(names), i
    return place


@dataclass(frozen=True)
class HeaderReading:
    """Which place gives which column; two places where feet and inches stand apart."""

    headers: Mapping[str, tuple[Header, ...]]
    unused: tuple[str, ...]
    rivals: Mapping[str, tuple[str, ...]]  # column name: headers that might all be meant
    wrong: tuple[Wrong, ...]


def read_headers(
    line: Line, table: Table, units: Line | None, stated: Mapping[str, str]
) -> HeaderReading:
    """Matches a header line; `stated` says for column names which header gives them."""
    taken: dict[str, list[Header]] = {}
    unused, candidates = [], []
    for place, cell in enumerate(line.cells):
        if cell is None:
            continue
        text = str(cell)
        own = [name for name, header in stated.items() if normal(header) == normal(text)]
        if own:
            taken[own[0]] = [_stated_header(place, text, table[own[0]])]
            continue
        matches = [(rank, h) for rank, h in match_header(text, table, place)
                   if h.column.name not in stated]  # fmt: skip
        if matches:
            candidates.append(matches)
        else:
            unused.append(text)
    rivals = _assign(candidates, taken, unused)
    headers = {name: tuple(_with_units(h, units) for h in found) for name, found in taken.items()}
    return HeaderReading(headers, tuple(unused), rivals, _wrong_units(line, headers, units))


def _stated_header(place: int, text: str, column: Column) -> Header:
    for _, unit_text in splits(text):
        if unit_text and (unit := unit_of(unit_text, column.dimension)):
            return Header(place, text, column, unit)
    return Header(place, text, column)


def _assign(
    candidates: list[list[tuple[int, Header]]], taken: dict[str, list[Header]], unused: list[str]
) -> dict[str, tuple[str, ...]]:
    """Gives each header its surest column; returns the columns that several claim alike."""
    rivals: dict[str, tuple[str, ...]] = {}
    claims = sorted(
        ((rank, number, header) for number, m in enumerate(candidates) for rank, header in m),
        key=lambda claim: (claim[0], not claim[2].column.required, claim[1]),
    )
    settled: set[int] = set()
    ranks: dict[str, int] = {}
    for rank, number, header in claims:
        name = header.column.name
        if number in settled:
            continue
        if name not in taken:
            taken[name], ranks[name] = [header], rank
            settled.add(number)
        elif _feet_beside_inches([*taken[name], header]):
            taken[name].append(header)
            settled.add(number)
        elif ranks.get(name) == rank and len(candidates[number]) == 1:
            rivals[name] = (*rivals.get(name, (taken[name][0].text,)), header.text)
            settled.add(number)
    for number, matches in enumerate(candidates):
        if number not in settled:
            unused.append(matches[0][1].text)
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


def is_unit_line(line: Line, headers: Mapping[str, tuple[Header, ...]]) -> bool:
    """Whether the line below the headers says the units: '(ft)', 'in', ..."""
    said = 0
    by_place = {h.place: h for found in headers.values() for h in found}
    for place, cell in enumerate(line.cells):
        if cell is None:
            continue
        if not isinstance(cell, str):
            return False
        text = cell.strip("()[]{} ")
        header = by_place.get(place)
        if header is not None and text and unit_of(text, header.column.dimension):
            said += 1
        elif normal(text) not in ("", "number", "yes no", "text", "name"):
            return False
    return said > 0


def _with_units(header: Header, units: Line | None) -> Header:
    cell = units.cells[header.place] if units and header.place < len(units.cells) else None
    if cell is None or header.unit:
        return header
    unit = unit_of(str(cell).strip("()[]{} "), header.column.dimension)
    return replace(header, unit=unit or "")


def _wrong_units(
    line: Line, headers: Mapping[str, tuple[Header, ...]], units: Line | None
) -> tuple[Wrong, ...]:
    wrong = []
    for found in headers.values():
        for h in found:
            if h.odd_unit and unit_of(h.odd_unit, h.column.dimension) is None:
                wrong.append(
                    Wrong(
                        h.text,
                        f"{h.odd_unit!r} does not measure {h.column.dimension.replace('_', ' ')}",
                    )
                )
    return tuple(wrong)
