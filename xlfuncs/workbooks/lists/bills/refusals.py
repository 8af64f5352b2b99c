"""A line of an export that is no entry: why, and what it says all the same."""

from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from decimal import Decimal

from xlfuncs.tables.header_words import UnreadableError, read_date
from xlfuncs.workbooks.lists.ledger.lines import LineReader
from xlfuncs.workbooks.lists.lines import FileLine, shown

_SAID = ("date", "bill_date", "reference", "item")


@dataclass(frozen=True)
class Refused:
    """A line that is no entry, and why."""

    line: int
    reason: str
    text: str
    amount: Decimal | None = None  # what it says was paid, where that can be read
    said: Mapping[str, str] = field(default_factory=dict)  # days as they stand, if unreadable


def refused(reader: LineReader, line: FileLine, reason: str, amount: Decimal | None) -> Refused:
    said = {name: _said(reader, line, name) for name in _SAID}
    own = reader.currencies.get(line.number, "") or reader.currency
    return Refused(line.number, reason, line.text, amount, {**said, "currency": own})


def mark_of(reader: LineReader, line: FileLine) -> str:
    """By what a line is known again, though it was corrected: its number, else all it says."""
    return _said(reader, line, "reference").lower() or line.text


def _said(reader: LineReader, line: FileLine, name: str) -> str:
    text = shown(cell).strip() if (cell := reader.export.cell(line, name)) is not None else ""
    if "date" in name:
        with suppress(UnreadableError):
            return str(read_date(text, reader.order))
    return text
