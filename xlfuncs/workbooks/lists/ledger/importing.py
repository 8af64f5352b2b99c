"""Ledger entries from the exports of water companies and shops.

Every line of the file ends up as an entry (two, where a fixed charge is split off), as a refused
line with its reason, as a blank line or above the headings; the report counts them. An entry that
equals another is kept but not counted until someone says so. Text stays text: nothing in a file
becomes a formula.
"""

import datetime as dt
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

from xlfuncs.catalogue.account_days import cents
from xlfuncs.errors import WorkbookError
from xlfuncs.tables.header_words import UnreadableError, either, flag_of
from xlfuncs.tables.money.ledger import LEDGER
from xlfuncs.tables.periods import is_day
from xlfuncs.workbooks.lists.bills.periods import OVERLAP, overlapping
from xlfuncs.workbooks.lists.bills.refusals import Refused, mark_of, refused
from xlfuncs.workbooks.lists.ledger import netting
from xlfuncs.workbooks.lists.ledger.bills import ALREADY, known_lines, replace_bills
from xlfuncs.workbooks.lists.ledger.export import Export, read_export, with_samples
from xlfuncs.workbooks.lists.ledger.kinds import columns_left, kinds_stated, kinds_taken, of_items
from xlfuncs.workbooks.lists.ledger.lines import Entry, LineReader
from xlfuncs.workbooks.lists.mapping import ListMapping, with_answer
from xlfuncs.workbooks.lists.numbers import UnsettledError
from xlfuncs.workbooks.lists.orders.sharing import with_orders_shared
from xlfuncs.workbooks.lists.orders.spreading import (
    orders_grown,
    replaced_orders,
    spread_over,
    with_use_once,
)
from xlfuncs.workbooks.lists.questions import Question
from xlfuncs.workbooks.our_tables.findings import cell_values
from xlfuncs.workbooks.our_tables.table_cells import tables_in
from xlfuncs.xlsx.contents import Contents
from xlfuncs.xlsx.package import Package

_Read = list[tuple[int, Entry]]
LEFT_OUT = ("is a total", "repeats the headings", "is a payment", "is cancelled")
_CANCELLED = either("cancelled")
_is_cancelled = re.compile(
    rf"(?:(?:order|line|item|bill|invoice) )?{_CANCELLED}(?: (?:by|on|am|le|el|op) .*)?"
    rf"|.*[(\[]{_CANCELLED}[)\]]"
).fullmatch
_BEFORE = either("of before")
# What is no bill in a statement of account: money that went the other way.
_is_payment = re.compile(
    rf"(?:{_BEFORE} )?{either('payment')}(?: {_BEFORE}| (?:by|on|thank|from|vom) .*| \S*\d\S*)?"
).fullmatch


@dataclass(frozen=True)
class LedgerImport:
    """What came of a file."""

    entries: list[Entry]
    lines: list[int]  # the line of each entry
    refused: list[Refused]
    how: list[str]  # the file was read
    noted: list[str]  # what to look at
    above_headings: int
    blank_lines: int
    replaced: list[tuple[Entry, str]]  # entries of the ledger, and by what
    marks: frozenset[str]  # of all lines, by which those are known again that were refused
    overlap: str = ""  # of most bills, with its likely cause

    @property
    def findings(self) -> list[str]:
        return [*self.how, *self.noted]

    @property
    def doubles(self) -> list[tuple[int, str]]:
        """Entries that are not counted, entered twice or replaced: line and note; those that
        `overlap` tells of are not among them."""
        pairs = zip(self.lines, self.entries, strict=True)
        found = ((line, entry["note"]) for line, entry in pairs if not entry["counted"]
                 and not (self.overlap and OVERLAP.match(entry["note"])))  # fmt: skip
        return list(dict.fromkeys(found))  # once, where a fixed charge is a row of its own

    @property
    def faulty(self) -> list[Refused]:
        """Lines that are neither known nor meant to be no entries."""
        fine = (ALREADY, netting.SPREAD, *LEFT_OUT)
        return [line for line in self.refused if not line.reason.startswith(fine)]

    @property
    def refused_whole(self) -> bool:
        """Whether no line is an entry, new or known."""
        known = (ALREADY, netting.SPREAD)
        return not self.entries and bool(self.refused) and not any(
            line.reason.startswith(known) for line in self.refused)  # fmt: skip

    @property
    def lines_read(self) -> int:
        """All lines accounted for, the headings among them."""
        found = {*self.lines, *(line.line for line in self.refused)}
        return self.above_headings + 1 + self.blank_lines + len(found)


def import_ledger(
    path: Path | str,
    system: str = "us",
    stated: ListMapping | None = None,
    existing: Iterable[Entry] = (),
) -> LedgerImport:
    """Read an export. `existing` are entries of the ledger, which are not taken in again.

    Raises UnsettledError where the file can be read in several ways: with all its questions, for
    the file is read on with the likeliest answer to each.
    """
    stated, existing = stated or ListMapping(), list(existing)
    asked: list[Question] = []
    while True:
        try:
            found = _import(Path(path), system, stated, existing)
        except UnsettledError as error:
            new = [q for q in error.questions if q.key not in {known.key for known in asked}]
            asked += new
            if not new or not all(question.choices for question in new):
                raise UnsettledError.of(asked) from None
            for question in new:
                stated = with_answer(stated, question, question.choices[0])
        else:
            if asked:
                raise UnsettledError.of(asked)
            return found


def _import(path: Path, system: str, stated: ListMapping, existing: list[Entry]) -> LedgerImport:
    export, above, how = read_export(path, stated)
    learned, units = (of_items(existing, name) for name in ("kind", "unit"))
    export, stated, kinds = kinds_stated(export, stated, learned, path.stem)
    reader = with_orders_shared(LineReader.of(export, system, stated, learned, units))
    export = reader.export
    read, out_of_it = _read_lines(reader)
    _ask_for_days(export, read, out_of_it)
    gone = _cancelled(reader, read, existing)
    out = {line.line for line in gone}
    read = [(number, entry) for number, entry in read if number not in out]
    out_of_it = gone + [line for line in out_of_it if line.line not in out]
    kinds += columns_left(reader, read)
    read = _fixed_apart(read, existing, reader.export)
    heading = export.headers["period_start"][0].text if "period_start" in export.headers else ""
    if stated.columns.keys() & {"period_start", "Previous reading date"}:
        heading = "Previous reading date"
    habit = netting.settle_periods(read, existing, stated.period_from, heading)
    reasons, netted = netting.net_credits(read, existing, stated.credits)
    for number, entry in read:
        start, end = entry["period_start"], entry["date"]
        if number not in reasons and start and start >= end:
            reasons[number] = f"the reading before, {start}, is not before {end}"
    netting.entered_twice(read := [(n, entry) for n, entry in read if n not in reasons])
    beside = {netting.order_of(entry) for _, entry in read if "beside" in entry}
    reasons |= (spread := spread_over(read) | with_use_once(read))
    of_orders = beside | {netting.order_of(entry) for number, entry in read if number in spread}
    read = [(n, entry) for n, entry in read if n not in reasons]
    known = known_lines(read, existing)
    grown = orders_grown(read, known, of_orders, existing)
    reasons |= (known := {n: why for n, why in known.items() if n not in grown})
    new = [(number, entry) for number, entry in read if number not in known]
    old = replaced_orders({netting.order_of(entry) for n, entry in new if n in grown}, existing)
    replaced, missing = replace_bills(new, existing)
    noted = [*kinds, *filter(None, [export.noted, kinds_taken(reader.taken)]),
             *dict.fromkeys(netted), *missing,
             *_without_quantity(new, reader.uncounted)]  # fmt: skip
    lines = {line.number: line for line in export.below}
    out_of_it += [
        refused(reader, lines[n], reason, None if n in known else reader.money(lines[n]))
        for n, reason in reasons.items()
    ]
    return LedgerImport(
        [entry for _, entry in new], [number for number, _ in new],
        sorted(out_of_it, key=lambda line: line.line),
        [*how, *reader.findings, *filter(None, [habit])],
        [*noted, *filter(None, [export.not_used(" ".join(noted))])],
        above, sum(line.blank for line in export.below), [*old, *replaced],
        frozenset(mark_of(reader, line) for line in export.below if not line.blank),
        "" if "date" in stated.columns else overlapping(new, export),
    )  # fmt: skip


def _read_lines(reader: LineReader) -> tuple[_Read, list[Refused]]:
    read: _Read = []
    out_of_it: list[Refused] = []
    above = Decimal(0)
    for line in (line for line in reader.export.below if not line.blank):
        try:
            read.append((line.number, entry := reader.entry(line)))
            above += Decimal(str(entry["amount"]))
        except UnreadableError as error:
            money, reason = reader.money(line), str(error)
            if reason == LEFT_OUT[0] or (reason == "has no date" and money and money == above):
                money, reason = None, LEFT_OUT[0]  # though no word may say so
            out_of_it.append(refused(reader, line, reason, money))
            above += money or 0
    if reader.odd_units:
        raise UnsettledError.of([
            Question(("words", unit), f"{kind} is counted in pieces: is {unit!r} a word for them?",
                     ("pieces",))
            for unit, kind in reader.odd_units.items()
        ])  # fmt: skip
    return read, out_of_it


def _without_quantity(new: _Read, uncounted: Mapping[int, str]) -> Iterator[str]:
    lines: dict[str, list[str]] = {}
    for n, entry in new:
        if n in uncounted:
            words = f"{uncounted[n]} is no quantity of {entry['kind']}, left out"
            lines.setdefault(words, []).append(str(n))
    for words, (*more, last) in lines.items():
        numbers = f"s {', '.join(more)} and {last}" if more else f" {last}"
        yield f"line{numbers}: {words}; the amount counts"


def _ask_for_days(export: Export, read: _Read, refused: Sequence[Refused]) -> None:
    """One question where no line has a day in the column that is called so, but in another."""
    odd = [line.reason for line in refused if line.reason.endswith("is not a date")]
    if read or len(odd) < 2 or "date" not in export.headers:
        return
    heading = export.headers["date"][0].text
    free = [*export.headings_left(is_day), *(h.text for h in export.headers.get("bill_date", ()))]
    days = [text for text in free if text != heading]
    if days:
        words = f"{heading!r} says no days: {odd[0]}. Take {' or '.join(days)} as the day?"
        error = UnsettledError("date", words, days, under="columns")
        raise with_samples(error, (export.head, *export.below))


def _cancelled(reader: LineReader, read: _Read, existing: Sequence[Entry]) -> list[Refused]:
    """Lines that say that they are cancelled; one whose money another takes back stays."""

    def of(entry: Entry) -> tuple[Any, ...]:
        return entry["date"], *(netting.text_of(entry, name) for name in ("reference", "item"))

    entries, export = dict(read), reader.export
    payments = [line for line in export.saying(_is_payment) if line.number in entries]
    gone = [(line, "is a payment of bills, no bill") for line in payments]
    cancelled = [line for line in export.saying(_is_cancelled) if line not in payments]
    known = existing if cancelled else ()
    there = {of(entry): entry.get("row", "?") for entry in known}
    back = {-entry["amount"] for entry in (*entries.values(), *known)} - {0}
    for line in cancelled:
        entry = entries.get(line.number)
        if entry is None or entry["amount"] not in back:
            row = there.get(of(entry)) if entry else None
            still = f": row {row} of the ledger counts it still" if row else ""
            gone.append((line, f"is cancelled{still}"))
    return [refused(reader, line, words, reader.money(line)) for line, words in gone]


def _fixed_apart(read: _Read, existing: Iterable[Entry], export: Export) -> _Read:
    """Fixed charges that a column states as entries of their own, which go with no quantity."""
    apart = "fixed" in export.headers
    known = {netting.key_of(entry) for entry in existing} if apart else set()
    lines: _Read = []
    for number, entry in read:
        part = entry.pop("fixed")
        lines.append((number, entry))
        if not part or (entry["date"] and netting.key_of(entry) in known):
            continue  # as a whole in a ledger of before
        fixed = {**entry, "quantity": None, "unit": "", "item": export.named("fixed")}
        for name in ("amount", "tax"):
            if entry[name] is not None:
                fixed[name] = float(cents(Fraction(str(entry[name])) * Fraction(part)))
                entry[name] = float(Decimal(str(entry[name])) - Decimal(str(fixed[name])))
        lines.append((number, fixed))
    return lines


def entries_of(workbook: Path) -> list[Entry]:
    """The entries on the sheet Ledger of a workbook, so that they are not taken in again."""
    return entries_in(Contents(Package.open(workbook)))


def entries_in(contents: Contents) -> list[Entry]:
    """The same of what a workbook holds; `row` is the row on the sheet."""
    table = tables_in(contents, cell_values(contents)).get(LEDGER.name)
    if table is None:
        raise WorkbookError(f"{contents.package.name} has no table {LEDGER.name}")
    first = dt.date(1904, 1, 1) if contents.dates_from_1904 else dt.date(1899, 12, 30)

    def day(value: Any) -> Any:
        return first + dt.timedelta(days=int(value)) if isinstance(value, float) else None

    return [
        {**row.cells, "row": row.number, "date": day(row.cells["date"]),
         "period_start": day(row.cells.get("period_start")),
         "counted": flag_of(str(row.cells.get("counted") or "")) is not False}
        for row in table.rows()
        if isinstance(row.cells.get("date"), float) and isinstance(row.cells.get("amount"), float)
    ]  # fmt: skip
