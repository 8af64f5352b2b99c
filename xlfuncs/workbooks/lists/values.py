"""Cells of a typed list as values of a table's columns, in the default units of the system."""

import datetime as dt
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from xlfuncs.catalogue.arguments import as_argument, read_one
from xlfuncs.errors import InputError
from xlfuncs.tables.columns import Column
from xlfuncs.tables.garden.beds import BEDS
from xlfuncs.tables.garden.crops import published_soils
from xlfuncs.tables.header_words import COVERS, UnreadableError, flag_of, names_of, plain, read_date
from xlfuncs.tables.headers import FEET_AND_INCHES, Header
from xlfuncs.units import DIMENSIONS, display, from_base
from xlfuncs.workbooks.lists.lines import FileLine, Measured
from xlfuncs.workbooks.lists.numbers import spelt_out, with_points

_PLAIN = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+|\d+\s+\d+/\d+|\d+/\d+|\d*\s*[½¼¾⅛⅜⅝])")
_COUNT = re.compile(r"(\d+)\s*([^\W\d_][^\d]*?)\.?")
_PIECES = frozenset(("x", "pc", "pcs", "st", "stk", "stuck", "pz", "drip line", "drip lines"))
_EVERY = re.compile(r"every\s+(.+)", re.IGNORECASE)
BLANK_SIGNS = ("-", "–", "—", "n/a", "N/A", "?")


class UnknownWord(InputError):  # noqa: N818 - a question rather than an error
    """A word for yes, no or a choice that nobody has told us of."""

    def __init__(self, column: Column, word: str, choices: tuple[str, ...]) -> None:
        self.word = word
        self.choices = choices
        super().__init__(column.header, f"{word!r} is none of {', '.join(choices)}")


@dataclass(frozen=True)
class ValueReader:
    """Reads cells; `mark` is the decimal mark, `units` are stated by column name, `words` say
    what words of this list mean."""

    system: str
    mark: str
    order: str
    units: Mapping[str, str]
    words: Mapping[str, str]

    def read(self, headers: tuple[Header, ...], line: FileLine) -> Any:
        """The value of one column from its cell (or feet and inches from two); None for a blank.

        InputError says what is wrong.
        """
        column = headers[0].column
        parts = [(h, line.cell(h.place)) for h in headers]
        parts = [(h, cell) for h, cell in parts if cell is not None and cell not in BLANK_SIGNS]
        if not parts:
            return None
        kind = DIMENSIONS[column.dimension].kind
        if kind == "number":
            base = self._base(*parts[0]) if len(parts) == 1 else self._sum(column, parts)
            return float(f"{from_base(base, column.dimension, self.system):.12g}")
        return self._other(column, kind, parts[0][1])

    def _sum(self, column: Column, parts: list[tuple[Header, Any]]) -> float:
        """Feet in one cell and inches in the next; the limits hold for their sum."""
        lengths = [self._base(header, cell, limited=False) for header, cell in parts]
        total: float = read_one(as_argument(column), f"{sum(lengths)!r} m", self.system)
        return total

    def _base(self, header: Header, cell: Any, *, limited: bool = True) -> float:
        argument = as_argument(header.column)
        if not limited:
            argument = replace(argument, above=None, maximum=None, minimum=0)
        base: float = read_one(argument, self.text(header, cell), self.system)
        return base

    def text(self, header: Header, cell: Any) -> Any:
        """A number cell as an argument takes it: with its unit and a decimal point."""
        unit = self.units.get(header.column.name) or header.unit
        if isinstance(cell, Measured):
            return str(cell)
        if isinstance(cell, str):
            cell = spelt_out(with_points(cell.strip(), self.mark), unit)
            if header.column.dimension == "count":
                cell = _without_word(cell, header.column)
        elif isinstance(cell, (int, float)) and not isinstance(cell, bool):
            cell = f"{cell:.15g}"
        if isinstance(cell, str) and unit and _PLAIN.fullmatch(cell):
            in_both = unit == FEET_AND_INCHES
            cell = _in_feet_and_inches(header, cell) if in_both else f"{cell} {unit}"
        return cell

    def _other(self, column: Column, kind: str, cell: Any) -> Any:
        word = f"{cell:.15g}" if isinstance(cell, float) else str(cell).strip()
        meant = next((ours for theirs, ours in self.words.items() if plain(theirs) == plain(word)),
                     None)  # fmt: skip
        if kind == "flag":
            flag = flag_of(meant or word)
            if flag is None:
                raise UnknownWord(column, word, ("yes", "no"))
            return flag
        if kind == "date":
            return cell if isinstance(cell, dt.date) else _date(column, cell, self.order)
        if column.choices:
            choice = meant or COVERS.get(plain(word), word)
            choice = choice if choice in column.choices else meant or word
            if choice.casefold() not in map(str.casefold, column.choices):
                raise UnknownWord(column, word, column.choices)
            word = choice
        return read_one(as_argument(column), word, self.system)


def lines_by_width(
    reader: ValueReader, typed: str, beds: Iterable[Mapping[str, Any]]
) -> list[tuple[int, float]]:
    """Lines of each bed and its width by "every 18 in", at least one; none where no such rule is
    typed. InputError says what is wrong."""
    width, rule, found = BEDS["strip_width"], _EVERY.fullmatch(typed.strip()), []
    spacing = replace(width, name="spacing", header="Distance between lines")
    cells = FileLine(0, (rule and rule[1],))
    for bed in beds if rule else ():
        apart = reader.read((Header(0, spacing.name, spacing),), cells)
        wide = bed.get("bed_top_width") or bed.get(width.name)
        if not isinstance(wide, float) or not apart:
            raise InputError("laterals", f"{typed!r} needs each bed's {width.header.lower()}")
        wide *= 1 if bed.get("bed_top_width") else bed.get("strips") or 1
        found.append((max(1, int(wide / apart + 0.5 + 1e-9)), wide))
    return found


def wetted_widths(system: str, soil: str) -> str:
    """What a line wets of a soil, or of the usual ones, in words."""
    widths = _wetted(system)
    named = (soil,) if soil in widths else ("sand", "loam", "clay")
    return "A line wets " + ", ".join(f"{widths[s]} of {s}" for s in named)


def lines_proposed(system: str, soil: str, fault: Callable[[str], str]) -> dict[str, str]:
    """The lines by what one wets, and why, where the soil and the widths of the beds are known."""
    widths = _wetted(system)
    every = f"every {widths.get(soil, '')}"
    if soil not in widths or fault(every):
        return {}
    return {"default": every, "proposed": f"which a line wets of {soil}"}


def _wetted(system: str) -> dict[str, str]:
    return {str(row["soil"]): display(float(row["wetted_width"] or 0), "width", system, 2)
            for row in published_soils()}  # fmt: skip


def _in_feet_and_inches(header: Header, number: str) -> str:
    if "." in number:
        raise InputError(
            header.column.header,
            f"{number} under feet and inches may be {number} ft or feet and inches; write"
            " it as 22 ft 9 in",
        )
    return f"{number} ft"


def _without_word(text: str, column: Column) -> str:
    """`3 lines` -> `3`, where the word behind the number is one for the column."""
    match = _COUNT.fullmatch(text)
    known = frozenset().union(_PIECES, *names_of(column)) if match else frozenset()
    singular = {word.removesuffix("s") for word in known}
    return match[1] if match and plain(match[2]) in known | singular else text


def _date(column: Column, cell: Any, order: str) -> dt.date:
    try:
        return read_date(str(cell), order)
    except UnreadableError as error:
        raise InputError(column.header, str(error)) from None
