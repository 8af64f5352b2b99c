"""A heading that somebody typed: its words, its unit, and the columns that it may mean."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from difflib import get_close_matches
from functools import lru_cache

from xlfuncs.errors import UnitError
from xlfuncs.tables.columns import Column, Table
from xlfuncs.tables.header_words import content, headings, names_of, parted, plain
from xlfuncs.units import DIMENSIONS, conversion, kept_factors, spellings

FEET_AND_INCHES = "ft-in"
_FEET_AND_INCHES = {
    "ft-in", "ft/in", "ft in", "ft & in", "ft+in", "ft, in", "feet and inches", "feet/inches",
    "feet & inches", "feet inches", "ft and in", "feet-inches", "' \"", "'\"",
}  # fmt: skip
EXACT, SYNONYM, ABBREVIATED, NEAR = range(4)
_MEASURED = {"mwh", "kl", "liter", "liters", "litre", "litres", "mc", "cbm", "kubikmeter"}.union(
    *(kept_factors()[measure] for measure in ("billed_volume", "energy")))  # fmt: skip


@dataclass(frozen=True)
class Header:
    """A heading that was understood: its place in the lines, its column and its unit."""

    place: int
    text: str
    column: Column
    unit: str = ""  # as typed; "" where none is stated
    rank: int = EXACT
    odd_unit: str = ""  # what stands where a unit would, but is none of this column
    name: str = ""  # the text without its unit, plain

    @property
    def measures_something_else(self) -> bool:
        return bool(self.odd_unit) and unit_of(self.odd_unit, self.column.dimension) is None

    @property
    def says_own_name(self) -> bool:
        """`Bed name` and `Beetname` say what the column of names is called, `Plot` does not."""
        first = (words.partition(",")[0] for words in headings().get(self.column.name, {}).values())
        own = (plain(self.column.header), *first) if self.column.dimension == "text" else ()
        return any(word and word in self.name for word in own)

    def as_sure_as(self, other: "Header") -> bool:
        """Whether nothing says which of two headings of a column is meant."""
        same = self.says_own_name == other.says_own_name
        return self.rank == other.rank <= ABBREVIATED and same


def splits(text: str) -> Iterator[tuple[str, str]]:
    """A heading as name and unit, in every way it may be meant: 'Length (ft)', 'Length, ft',
    'Length in ft', 'Length ft', 'Feet from tap'; first as a whole."""
    yield text, ""
    text, rates = re.subn(r"(?<=[^\W\d])\.? \d+(?:[.,]\d+)? ?%", "", text)  # `Btw 9% (€)`
    if rates:
        yield text, ""
    if match := re.fullmatch(r"(feet|ft|met(?:er|re)s|m)\s+(from\s.+)", text, re.IGNORECASE):
        yield match[2], match[1].lower()
    if match := re.fullmatch(r"(.*?)\s*[(\[{]\s*([^()\[\]{}]*?)\s*[)\]}]\s*", text, re.DOTALL):
        yield match[1], match[2]
        return
    for pattern in (r"(.+?)\s*,\s*(\S.*)", r"(.+?)[\s_]+(?:in|en)[\s_]+(\S.*)", r"(.+)[\s_](\S+)"):
        if match := re.fullmatch(pattern, text, re.IGNORECASE):
            yield match[1], match[2]


@lru_cache(maxsize=4096)
def unit_of(text: str, dimension: str) -> str | None:
    """The unit, '' where the text is no unit at all; None where it measures something else."""
    if DIMENSIONS[dimension].kind != "number":
        return ""
    clean = text.strip().rstrip(".").strip()
    if clean.lower() in _FEET_AND_INCHES:
        return FEET_AND_INCHES if dimension in ("length", "width", "elevation") else None
    if dimension == "money" and clean.isalpha() and clean.lower() not in spellings():
        return ""  # a currency; pint, which loads slowly, would say the same
    try:
        conversion(clean, dimension)
    except UnitError as error:
        return None if "does not measure" in error.message else ""
    return clean


def of_another_kind(heading: str, column: Column) -> bool:
    """Whether the last words of a heading are a unit that measures something else: Area sq ft."""
    words = re.sub(r"[()\[\],]", " ", heading).split()
    units = (unit_of(" ".join(words[-n:]), column.dimension) for n in (3, 2, 1) if len(words) >= n)
    return next((unit is None for unit in units if unit != ""), False)


@lru_cache(maxsize=4096)
def match_header(text: str, table: Table, place: int = 0, worst: int = NEAR) -> tuple[Header, ...]:
    """All columns that a heading may mean, the surest first; none less sure than `worst`."""
    found: dict[str, Header] = {}
    bracketed = text.rstrip().endswith((")", "]", "}"))
    lengths = kept_factors()["length"].keys() | _FEET_AND_INCHES  # asked of pint, it would load
    measured = bracketed and any(unit.lower() in lengths for _, unit in splits(text))
    for name, unit_text in splits(parted(text)):
        is_whole = any(header.rank == EXACT for header in found.values()) and not bracketed
        for rank, column in _columns_named(name, table, worst):
            if is_whole or (measured and column.dimension == "text"):
                continue  # 'Tax included' is no 'Tax' in some unit, 'Tape (ft)' no name of a line
            unit = unit_of(unit_text, column.dimension) if unit_text else ""
            if unit_text == "%" and column.dimension == "money":
                continue  # a rate, no amount
            if column.dimension == "number" and re.match(
                r"[€$£¥]|(?:EUR|USD|GBP|CHF)\b", unit_text
            ):
                continue  # a sum of money, no quantity
            if unit_text and not unit and not bracketed and not _of_any(unit_text, column):
                continue  # the last word is no unit, so this way of splitting is not meant
            odd = unit_text if unit_text and not unit else ""
            if column.name not in found or rank < found[column.name].rank:
                found[column.name] = Header(place, text, column, unit or "", rank, odd, plain(name))
        if any(header.rank == EXACT and name == parted(text) for header in found.values()):
            break  # a column's own name, with no unit in it to ask for
    return tuple(sorted(found.values(), key=lambda header: header.rank))


def _of_any(text: str, column: Column) -> bool:
    """Whether a quantity of any kind, or money, may be in it: `Verbrauch m³`, `Amount EUR`."""
    if column.dimension == "money":
        taxes = ("TVA", "VAT", "IVA", "BTW", "UST", "GST", "TAX", "AMT", "DUE", "NET", "FEE")
        return bool(re.fullmatch(r"[A-Z]{3}|[€£$¥]", text)) and text not in taxes
    measures = ("billed_volume", "energy", "length") if column.dimension == "number" else ()
    return any(unit_of(text, dimension) for dimension in measures)


def stated_header(place: int, text: str, column: Column) -> Header:
    """A heading that a person said is the column's, whatever its words."""
    odd = ""
    for _, unit_text in splits(text):
        if unit_text and (unit := unit_of(unit_text, column.dimension)):
            return Header(place, text, column, unit)
        odd = unit_text if unit_text and text.rstrip().endswith((")", "]", "}")) else odd
    return Header(place, text, column, odd_unit=odd or unit_in(text) * (column.name == "quantity"))


def unit_in(text: str, *, counted: bool = False) -> str:
    """The unit of volume or energy that a heading names: `Heures creuses (kWh)`; '' of others.

    `counted`: with a number that stands before it, as in `Cons (100 gal)`.
    """
    words = [text.strip(), *re.split(r"[\s()\[\],]+", parted(text))]
    found = next((word for word in words if word.lower().rstrip(".") in _MEASURED), "")
    many = (
        re.search(rf"(?<!\w)(\d[\d,.]*\d) ?{re.escape(found)}", text) if found and counted else None
    )
    return f"{many[1].replace(',', '')} {found}" if many and found else found


def _columns_named(name: str, table: Table, worst: int) -> list[tuple[int, Column]]:
    wanted = plain(name)
    if not wanted:
        return []
    carried = content(wanted)
    found = []
    for column in table.columns:
        own, others = names_of(column)
        if wanted in own:
            found.append((EXACT, column))
        elif wanted in others:
            found.append((SYNONYM, column))
        elif carried and worst >= ABBREVIATED and _same_content(carried, column):
            found.append((ABBREVIATED, column))
    if not found and len(parts := re.split(r" [/|] ", name)) > 1:  # `Qty / Qté`, in two languages
        named = [{pair[1].name: pair for pair in _columns_named(part, table, worst)}
                 for part in parts]  # fmt: skip
        found = [pair for name, pair in named[0].items() if all(name in other for other in named)]
    if not found and worst >= NEAR and len(wanted) > 4:
        letters = set(wanted)  # of words that are 0.8 alike, at most a fifth is in one alone
        near = {word: column for word, (column, own) in _words_of(table.columns).items()
                if 5 * len(letters ^ own) <= len(word) + len(wanted)}  # fmt: skip
        found = [(NEAR, near[word]) for word in get_close_matches(wanted, near, 1, 0.8)]
    return found


@lru_cache(maxsize=64)
def _words_of(columns: tuple[Column, ...]) -> dict[str, tuple[Column, frozenset[str]]]:
    """Each word for a column, with the column and the letters of the word."""
    return {word: (column, frozenset(word))
            for column in columns for part in names_of(column) for word in part}  # fmt: skip


def _same_content(carried: frozenset[str], column: Column) -> bool:
    """Whether the words mean the column; what is counted may be called the number of it."""
    counted = frozenset({"number"}) if column.dimension == "count" else frozenset()
    return (carried - counted or carried) in _contents(column)


@lru_cache(maxsize=1024)
def _contents(column: Column) -> frozenset[frozenset[str]]:
    own, others = names_of(column)
    counted = frozenset({"number"}) if column.dimension == "count" else frozenset()
    return frozenset(content(word) - counted or content(word) for word in own | others)
