"""Bills whose periods follow each other, which tells the last day, and bills that overlap."""

import datetime as dt
import re
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from typing import Any

from xlfuncs.tables.header_words import DATE_ORDERS, UnreadableError, read_date
from xlfuncs.workbooks.lists.headers import Found
from xlfuncs.workbooks.lists.lines import FileLine, is_date

OVERLAP = re.compile(r"\d[^;]*, are on [^;]* too")  # in a note
_DAY = dt.timedelta(days=1)
_LEAST, _MOST = 3, 200  # bills that follow another; lines that are looked at


def by_chain(
    headers: Found, below: Sequence[FileLine], days: Mapping[int, str], ends: dict[str, list[str]]
) -> dict[str, list[str]]:
    """The headings of first and last days, where no word says the last: by periods that follow each
    other. `days` are headings of dates that nothing is read from."""
    firsts = [h.place for h in headers.get("period_start", ())]
    firsts = firsts or [p for p, text in days.items() if text in ends["period_start"]] or [*days]
    lasts = *days, *(h.place for h in headers.get("date", ()))
    pairs = [(first, last) for first in firsts for last in lasts
             if first != last and _follow(below[:_MOST], first, last)]  # fmt: skip
    if len(pairs) != 1 or pairs[0][1] not in days:
        return ends
    return {name: [days[place]] if place in days else []
            for name, place in zip(ends, pairs[0], strict=True)}  # fmt: skip


def _follow(below: Sequence[FileLine], first: int, last: int) -> bool:
    """Whether most bills begin on the day that another ends, or on the next."""
    cells = [(line.cell(first), line.cell(last)) for line in below]
    for order in DATE_ORDERS[:2]:
        periods = {*_read(cells, order)}
        starts = {start for start, _ in periods}
        ends = [end for _, end in periods if end < max(starts)]
        after = sum(not starts.isdisjoint((end, end + _DAY)) for end in ends)
        if (all(start < end for start, end in periods)
                and after >= _LEAST and after * 4 >= len(ends) * 3):  # fmt: skip
            return True
    return False


def _read(cells: Sequence[tuple[Any, Any]], order: str) -> Iterator[tuple[dt.date, dt.date]]:
    for pair in cells:
        with suppress(UnreadableError):
            start, end = (cell if isinstance(cell, dt.date) else read_date(str(cell), order)
                          for cell in pair)  # fmt: skip
            yield start, end


def overlapping(new: Sequence[tuple[int, Mapping[str, Any]]], export: Any) -> str:
    """Words on the likely cause, where most bills of a file overlap others and none shows why."""
    bills = {line for line, entry in new if entry["period_start"]}
    over = {n for n, entry in new if not entry["counted"] and OVERLAP.match(entry["note"])}
    if len(over) < _LEAST or len(over) * 2 <= len(bills):
        return ""
    last = next(export.headers[name][0].text for name in ("date", "bill_date")
                if name in export.headers)  # fmt: skip
    others = " or ".join(map(repr, export.headings_left(is_date)))
    first = export.headers["period_start"][0].text
    other = f", or is it {others}" if others else ""
    return (f"{len(over)} of {len(bills)} bills are not counted, for their days overlap: is"
            f" {last!r} their last day, and {first!r} the first{other}? --column \"last day=...\""
            " says it, also if all is right")  # fmt: skip
