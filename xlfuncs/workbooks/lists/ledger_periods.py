"""A period in one cell, `01.01.2023 - 31.03.2023` or `Jan 2023`, as two columns: from and to."""

import datetime as dt
import re
from dataclasses import replace
from typing import Any

from xlfuncs.tables.header_words import month_of, plain
from xlfuncs.tables.headers import measured_in
from xlfuncs.workbooks.lists.lines import FileLine, ListFile, shown

_DAY = (r"(\d{1,4}[./-]\d{1,2}[./-]\d{1,4}|\d{1,2}\.? [^\W\d]+\.? \d{4}"
        r"|[^\W\d]+\.? \d{1,2},? \d{4})")  # fmt: skip
_PERIOD = re.compile(
    rf"(?:[^\W\d]+ )?{_DAY}(?: ?[–—] ?| (?:-|to|through|bis|au|al|tot|hasta|a) |-(?=\d+[./])){_DAY}"
)
_MONTH = re.compile(r"([^\W\d]{3,})\.?[ -]\d{4}|(\d{1,2})[./]\d{4}|\d{4}[-/](\d{1,2})")
_MONTHS = frozenset(("month", "monat", "mois", "mes", "mese", "maand", "period", "periode",
                     "periodo", "zeitraum", "abrechnungsmonat"))  # fmt: skip


def is_day(cell: Any) -> bool:
    return isinstance(cell, dt.date) or bool(re.fullmatch(_DAY, shown(cell).lower()))


def _ends(cell: str) -> tuple[str, str] | None:
    """First and last day of a period, or of a month."""
    if match := _PERIOD.fullmatch(cell):
        return match[1], match[2]
    if not (match := _MONTH.fullmatch(cell)):
        return None
    name, *numbers = match.groups()
    month = month_of(name) if name else int(next(filter(None, numbers)))
    if month is None or not 0 < month < 13:
        return None
    first = dt.date(int(re.findall(r"\d{4}", cell)[0]), month, 1)
    after = (first + dt.timedelta(days=31)).replace(day=1)
    return first.isoformat(), (after - dt.timedelta(days=1)).isoformat()


def _by_months(head: FileLine, place: int, line: FileLine) -> bool:
    """Whether months are what bills are for: the heading says so, and the line has no other day, or
    the headings name a unit of what is used."""
    others = (cell for i, cell in enumerate(line.cells) if i != place)
    words = re.split(r"[\s()\[\],/]+", " ".join(map(shown, head.cells)))
    return bool({*plain(shown(head.cell(place))).split()} & _MONTHS) and (
        any(map(measured_in, words)) or not any(map(is_day, others))
    )


def with_periods_parted(file: ListFile) -> ListFile:
    """The list with two columns for one whose cells mostly are periods: its last days in place,
    its first days behind the others."""
    lines = list(file.lines)
    for place in range(max((len(line.cells) for line in lines), default=0)):
        if not any(_ends(shown(line.cell(place)).lower()) for line in lines[:100]):
            continue
        cells = [(i, str(line.cell(place))) for i, line in enumerate(lines) if line.cell(place)]
        found = {i: ends for i, cell in cells if (ends := _ends(cell.lower()))}
        head = next((i for i, _ in reversed(cells) if found and i < min(found)), None)
        if head is None or len(found) * 2 <= sum(i > head for i, _ in cells):
            continue
        if not _PERIOD.fullmatch(str(lines[min(found)].cell(place)).lower()) and not _by_months(
            lines[head], place, lines[min(found)]
        ):
            continue
        heading, width = str(lines[head].cell(place)), len(lines[head].cells)
        for i, ends in found.items():
            lines[i] = _parted(lines[i], place, width, *ends)
        lines[head] = _parted(lines[head], place, width, f"{heading} – from", f"{heading} – to")
    return replace(file, lines=tuple(lines))


def _parted(line: FileLine, place: int, width: int, first: str, last: str) -> FileLine:
    cells = [*line.cells, *[None] * (width - len(line.cells))]
    cells[place] = last
    return replace(line, cells=(*cells[:width], first, *cells[width:]))
