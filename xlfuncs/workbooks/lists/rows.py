"""What a line below the headings of a list is: a row, a note, a sum, the headings again."""

import re
from collections.abc import Sequence
from enum import Enum
from typing import Any

from xlfuncs.errors import CellError
from xlfuncs.tables.header_words import is_total, plain
from xlfuncs.units import DIMENSIONS
from xlfuncs.workbooks.lists.headers import Found, Wanted
from xlfuncs.workbooks.lists.lines import FileLine, Measured

_SUMMING = re.compile(r"\b(?:SUM|SUBTOTAL|AVERAGE|AGGREGATE)\s*\(([^()]*)\)", re.IGNORECASE)
_RULE = re.compile(r"[-=_:]{2,}")  # of a table drawn with marks
_ROW = re.compile(r"[A-Z]\$?(\d+)")


class Kind(Enum):
    """The value is how the report calls it."""

    ROW = "a row"
    BLANK = "blank"
    REPEATED = "the headers again"
    TOTAL = "a total"
    NOTE = "a note: no number in it"
    NAMELESS = "values without a name"
    HEADINGS = "the headings of another list"


def kind_of_line(
    line: FileLine,
    headers: Found,
    head: FileLine,
    wanted: Wanted,
    rows: Sequence[Sequence[float | None]],
) -> Kind:
    """What the line is; `rows` are the numbers of those before it, by column."""
    if line.blank or all(isinstance(c, str) and _RULE.fullmatch(c) for c in line.filled):
        return Kind.BLANK
    if list(map(_same, line.filled)) == list(map(_same, head.filled)):
        return Kind.REPEATED
    named = headers.get(wanted.table.columns[0].name)
    name = line.cell(named[0].place) if named else None
    if any(isinstance(c, str) and is_total(c) for c in (name, *line.filled[:1])):
        return Kind.TOTAL
    numbers = numbers_of(line, headers)
    if _sums_rows(line, headers) or (any(n is None for n in numbers) and _adds_up(numbers, rows)):
        return Kind.TOTAL
    if not _has_number(line, headers):
        return Kind.HEADINGS if _is_headings(line, headers, wanted) else Kind.NOTE
    if name is None and named:
        return Kind.TOTAL if _adds_up(numbers, rows) else Kind.NAMELESS
    return Kind.ROW


def _same(cell: Any) -> str:
    return plain(str(cell))


def numbers_of(line: FileLine, headers: Found) -> list[float | None]:
    """The numbers of a line as they stand, None for what is none; feet and inches as feet."""
    found: list[float | None] = []
    for parts in headers.values():
        if DIMENSIONS[parts[0].column.dimension].kind == "number":
            values = [_as_number(line.cell(header.place)) for header in parts]
            kept = [value for value in values if value is not None]
            found.append(kept[0] + sum(kept[1:]) / 12 if kept else None)
    return found


def _as_number(cell: Any) -> float | None:
    if isinstance(cell, Measured):
        return cell.value
    if isinstance(cell, str):
        match = re.match(r"\s*(\d+(?:[.,]\d+)?)(?![\d.,])", cell)
        return float(match[1].replace(",", ".")) if match else None
    return float(cell) if isinstance(cell, (int, float)) and not isinstance(cell, bool) else None


def _adds_up(numbers: Sequence[float | None], rows: Sequence[Sequence[float | None]]) -> bool:
    """Whether every number of the line is the sum of its column, of all rows or of the last."""
    told = [i for i, number in enumerate(numbers) if number is not None]
    sums = [0.0] * len(numbers)
    for count, row in enumerate(reversed(rows), 1):
        sums = [total + (row[i] or 0) for i, total in enumerate(sums)]
        if count > 1 and told and all(
            abs((numbers[i] or 0) - sums[i]) <= 0.005 * abs(sums[i]) and sums[i] for i in told
        ):  # fmt: skip
            return True
    return False


def _sums_rows(line: FileLine, headers: Found) -> bool:
    """Whether a number of the line is the sum of cells above it, by its formula."""
    places = {header.place for found in headers.values() for header in found}
    for place, formula in line.formulas.items():
        for match in _SUMMING.finditer(formula if place in places else ""):
            if any(int(row) != line.number for row in _ROW.findall(match[1].upper())):
                return True
    return False


def number_cells(line: FileLine, headers: Found) -> list[Any]:
    """What stands in the columns of numbers and dates."""
    cells = [line.cell(h.place) for found in headers.values() for h in found
             if DIMENSIONS[h.column.dimension].kind in ("number", "date")]  # fmt: skip
    return [cell for cell in cells if cell is not None]


def _has_number(line: FileLine, headers: Found) -> bool:
    """Whether a column of numbers holds a digit; words there are a note that ran over."""
    places = {h.place for found in headers.values() for h in found}
    return any(place in places for place in line.formulas) or any(
        not isinstance(cell, str) or any(c.isdigit() or c in "½¼¾" for c in cell[:12])
        for cell in number_cells(line, headers)
        if not isinstance(cell, CellError)
    )


def _is_headings(line: FileLine, headers: Found, wanted: Wanted) -> bool:
    """Whether words stand where the numbers are, as many as a list has headings."""
    words = [cell for cell in number_cells(line, headers) if isinstance(cell, str)]
    short = all(len(str(cell)) <= 40 for cell in line.filled)
    return short and (len(words) > 1 or len(wanted.named(line)) > 1)
