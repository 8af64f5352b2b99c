"""What a line below the headers of a typed list is: a row, a note, a sum, a repeated header."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from enum import Enum
from typing import Any

from xlfuncs.errors import InputError
from xlfuncs.units import DIMENSIONS
from xlfuncs.workbooks.lists.files import Line
from xlfuncs.workbooks.lists.headers import Header, normal
from xlfuncs.workbooks.lists.values import ValueReader

_SUM_WORDS = re.compile(
    r"(sub ?|grand )?totals?( [\w ]*)?|sums?|averages?|avg|mean|[\w ]+ totals?|count of .*", re.I
)


class Kind(Enum):
    """The value is how the report calls it."""

    ROW = "a row"
    BLANK = "blank"
    REPEATED = "the headers again"
    TOTAL = "a total"
    NOTE = "a note: no number in it"
    NAMELESS = "values without a name"


def kind_of_line(
    line: Line,
    headers: Mapping[str, tuple[Header, ...]],
    header_line: Line,
    key: str,
    rows: Sequence[Mapping[str, Any]],
    reader: ValueReader,
) -> Kind:
    """What the line is; `rows` are those read so far, `key` the column that names a row."""
    if line.blank:
        return Kind.BLANK
    if [normal(c) for c in line.filled] == [normal(c) for c in header_line.filled]:
        return Kind.REPEATED
    name = _cell(line, headers.get(key))
    if any(isinstance(c, str) and _is_sum_word(c) for c in (name, *line.filled[:1])):
        return Kind.TOTAL
    if not _has_number(line, headers):
        return Kind.NOTE
    if name is not None or key not in headers:
        return Kind.ROW
    return Kind.TOTAL if _adds_up(line, headers, rows, reader) else Kind.NAMELESS


def _is_sum_word(text: str) -> bool:
    return bool(_SUM_WORDS.fullmatch(text.strip(" :=").strip()))


def _cell(line: Line, found: tuple[Header, ...] | None) -> Any:
    if not found or found[0].place >= len(line.cells):
        return None
    return line.cells[found[0].place]


def _number_cells(line: Line, headers: Mapping[str, tuple[Header, ...]]) -> dict[str, Any]:
    return {
        name: cell
        for name, found in headers.items()
        if DIMENSIONS[found[0].column.dimension].kind in ("number", "date")
        and (cell := _cell(line, found)) is not None
    }


def _has_number(line: Line, headers: Mapping[str, tuple[Header, ...]]) -> bool:
    """Whether a column of numbers holds a digit; words there are a note that ran over."""
    return any(
        not isinstance(cell, str) or any(ch.isdigit() for ch in cell[:12])
        for cell in _number_cells(line, headers).values()
    )


def _adds_up(
    line: Line,
    headers: Mapping[str, tuple[Header, ...]],
    rows: Sequence[Mapping[str, Any]],
    reader: ValueReader,
) -> bool:
    """Whether every number of a nameless line is the sum of its column so far."""
    found = []
    for name in _number_cells(line, headers):
        values = [row[name] for row in rows if isinstance(row.get(name), (int, float))]
        try:
            total = reader.read(headers[name], line.cells)
        except InputError:  # a sum may well be over the limit of a single bed
            return False
        found.append(len(values) > 1 and abs(total - sum(values)) <= 0.005 * abs(sum(values)))
    return bool(found) and all(found)
