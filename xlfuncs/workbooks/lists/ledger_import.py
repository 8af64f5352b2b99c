"""Ledger entries from the exports of water companies and shops.

Every line of the file ends up as an entry, as a refused line with its reason, as a blank line or
above the headings; the report counts them. An entry that equals another is kept but not counted
until someone says so. Text stays text: nothing in a file becomes a formula.
"""

import datetime as dt
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from xlfuncs.errors import WorkbookError
from xlfuncs.tables.columns import Column, Table
from xlfuncs.tables.header_words import UnreadableError, flag_of, plain
from xlfuncs.tables.headers import SYNONYM
from xlfuncs.tables.money.ledger import LEDGER
from xlfuncs.workbooks.lists import ledger_netting as netting
from xlfuncs.workbooks.lists.files import read_list_file
from xlfuncs.workbooks.lists.headers import HeadingLines, Wanted, find_headings, read_headers
from xlfuncs.workbooks.lists.ledger_bills import known_lines, replace_bills
from xlfuncs.workbooks.lists.ledger_export import Export
from xlfuncs.workbooks.lists.ledger_lines import Entry, LineReader, is_kind
from xlfuncs.workbooks.lists.lines import FileLine, ListFile, shown
from xlfuncs.workbooks.lists.mapping import ListMapping
from xlfuncs.workbooks.lists.numbers import UnsettledError
from xlfuncs.workbooks.our_tables.findings import cell_values
from xlfuncs.workbooks.our_tables.table_cells import tables_in
from xlfuncs.xlsx.contents import Contents
from xlfuncs.xlsx.package import Package

# What an export has beside the ledger's columns: amounts before tax, for the ledger keeps what was
# paid and the tax in it; the day of the paper, where the days of the water are others.
_NET = Column("net", "Net", "money", "Amount before tax", synonyms=(
    "net amount", "subtotal", "amount excl tax", "amount before tax"))  # fmt: skip
_BILL_DATE = Column("bill_date", "Bill date", "date", "Day of the bill, where no reading is given",
    synonyms=("invoice date", "transaction date", "posting date", "order date",
              "date of purchase", "receipt date"))  # fmt: skip
_DATE = re.compile(r"\d\D+\d+\D+\d")
EXPORTED = Table(LEDGER.name, LEDGER.help, (*LEDGER.columns, _NET, _BILL_DATE))
# What one cell may say for all the lines beside it.
_MERGED = ("date", "bill_date", "period_start", "kind", "reference", "meter")
_WANTED = Wanted(EXPORTED, worst=SYNONYM, needed=(("date", "bill_date"), ("amount", "net")),
                 strict=True, several=frozenset({"note"}))  # fmt: skip


@dataclass(frozen=True)
class Refused:
    """A line that is no entry, and why."""

    line: int
    reason: str
    text: str


@dataclass(frozen=True)
class LedgerImport:
    """What came of a file."""

    entries: list[Entry]
    lines: list[int]  # the line of each entry
    refused: list[Refused]
    findings: list[str]  # how the file was read
    above_headings: int
    blank_lines: int
    replaced: list[tuple[Entry, str]]  # entries of the ledger, and by what

    @property
    def doubles(self) -> list[tuple[int, str]]:
        """Entries that are not counted, entered twice or replaced: line and note."""
        return [
            (line, entry["note"])
            for line, entry in zip(self.lines, self.entries, strict=True)
            if not entry["counted"]
        ]

    @property
    def lines_read(self) -> int:
        """All lines accounted for, the headings among them."""
        found = len(self.entries) + len(self.refused)
        return self.above_headings + 1 + self.blank_lines + found


def import_ledger(
    path: Path | str,
    system: str = "us",
    stated: ListMapping | None = None,
    existing: Iterable[Entry] = (),
) -> LedgerImport:
    """Read an export. `existing` are entries of the ledger, which are not taken in again.

    Raises UnsettledError, which says what to state, where the file can be read in two ways.
    """
    stated, existing = stated or ListMapping(), list(existing)
    export, above, findings = _export(Path(path), stated)
    learned = _kinds_of_items(existing)
    stated, kinds = _kinds_stated(export, stated, learned)
    reader = LineReader.of(export, system, stated, learned)
    read: list[tuple[int, Entry]] = []
    refused: list[Refused] = []
    texts = {line.number: line.text for line in export.below}
    for line in export.below:
        if not line.blank:
            try:
                read.append((line.number, reader.entry(line)))
            except UnreadableError as error:
                refused.append(Refused(line.number, str(error), line.text))
    heading = export.headers["period_start"][0].text if "period_start" in export.headers else ""
    if stated.columns.keys() & {"period_start", "Previous reading date"}:
        heading = "Previous reading date"
    habit = netting.settle_periods(read, existing, stated.period_from, heading)
    reasons, netted = netting.net_credits(read, existing, stated.credits)
    for number, entry in read:
        if (
            number not in reasons
            and entry["period_start"]
            and entry["period_start"] >= entry["date"]
        ):
            reasons[number] = (
                f"the reading before, {entry['period_start']}, is not before {entry['date']}"
            )
    netting.entered_twice(read := [(n, entry) for n, entry in read if n not in reasons])
    reasons |= netting.spread(read)
    read = [(n, entry) for n, entry in read if n not in reasons]
    reasons |= (known := known_lines(read, existing))
    new = [(number, entry) for number, entry in read if number not in known]
    replaced, missing = replace_bills(new, existing)
    refused += [Refused(number, reason, texts[number]) for number, reason in reasons.items()]
    return LedgerImport(
        [entry for _, entry in new], [number for number, _ in new],
        sorted(refused, key=lambda line: line.line),
        [*findings, *kinds, *reader.findings, *filter(None, (_kinds_taken(reader.taken), habit)),
         *netted, *missing],
        above, sum(line.blank for line in export.below), replaced,
    )  # fmt: skip


def _kinds_stated(
    export: Export, stated: ListMapping, learned: Mapping[str, str]
) -> tuple[ListMapping, list[str]]:
    """A kind that is stated stands for the words of a column that names none, as Item, Shipping."""
    if "kind" not in export.headers:
        return stated, []
    words = {text for line in export.below if (text := shown(export.cell(line, "kind")).strip())}
    given = {word.strip().lower() for word in stated.words}
    known = {word for word in words if word.lower() in given or is_kind(word)
             or word.lower() in learned.values()}  # fmt: skip
    said = f"{export.headers['kind'][0].text!r} says {', '.join(sorted(words)[:6])}"
    kind = str(stated.values.get("kind", ""))
    if known or not words:
        beside = f"kind {kind} only where {export.headers['kind'][0].text!r} is blank"
        return stated, [beside] if kind and words else []
    if kind:
        meant = {**dict.fromkeys(words, kind), **stated.words}
        return replace(stated, words=meant), [f"kind {kind}, as stated: {said}"]
    if any(netting.OVER_ALL.search(plain(word)) for word in words):
        raise UnsettledError("kind", f"{said}: what kind of thing are these?")
    return stated, []


def _kinds_of_items(existing: Iterable[Entry]) -> dict[str, str]:
    """What the ledger says of items that came in before."""
    return {
        str(entry["item"]).strip().lower(): str(entry["kind"]).strip().lower()
        for entry in existing
        if entry.get("item") and entry.get("kind")
    }


def _kinds_taken(taken: Mapping[str, str]) -> str:
    """Which kinds lines took from the ledger, in words; they are changed by changing them there."""
    listed = "; ".join(f"{item}: {kind}" for item, kind in sorted(taken.items()))
    return listed and f"kinds as the ledger has them of such items (its last row): {listed}"


def _export(path: Path, stated: ListMapping) -> tuple[Export, int, list[str]]:
    """The export, how many lines stand above its headings, and how it was read."""
    columns = names_of_columns(stated.columns)
    wanted = replace(_WANTED, stated=columns)

    def heads(file: ListFile) -> HeadingLines | None:
        return find_headings(file, wanted, stated.header_row)

    files = read_list_file(path, wanted, stated)
    headed = [file for file in files if heads(file)]
    if len(headed) > 1:
        raise UnsettledError("sheet", f"{path.name} has {', '.join(f.sheet for f in headed)}.")
    for question in headed[0].questions if headed else ():
        if question.key == ("delimiter",):
            raise UnsettledError("delimiter", question.words)
    head = heads(headed[0]) if headed else None
    if head is None:
        raise UnsettledError("columns", _no_headings(path, files, wanted))
    found = read_headers(head.line, wanted)
    below = headed[0].lines[head.last + 1 :]
    dated = {}
    for name, texts in found.rivals.items():
        days = [text for text in texts if _holds_dates(head.line, text, below)]
        if EXPORTED[name].dimension == "date" and len(days) == 1:
            dated[name] = days[0]
    if dated:  # "Lectura anterior" may be the day of a reading, or what the register showed
        found = read_headers(head.line, replace(wanted, stated={**columns, **dated}))
    if rivals := [f"{' and '.join(map(repr, texts))} may both be the {name}"
                  for name, texts in found.rivals.items()]:  # fmt: skip
        raise UnsettledError("columns", f"Line {head.line.number}: {'; '.join(rivals)}.")
    for name, text in columns.items():
        if name not in found.headers:
            raise UnsettledError("columns", f"There is no heading {text!r} for {name}.")
    names = ", ".join(f"{name} from {' and '.join(repr(h.text) for h in heads)}"
                      for name, heads in found.headers.items())  # fmt: skip
    findings = [*headed[0].remarks, f"headings on line {head.line.number}: {names}"]
    if found.unused:
        findings.append(f"headings not used: {', '.join(map(repr, found.unused.values()))}")
    of_all = {found.headers[name][0].place for name in _MERGED if name in found.headers}
    down = {place: value for place, value in headed[0].down.items() if place[1] in of_all}
    lines = [_filled_down(line, down) for line in below]
    return Export(head.line, found.headers, lines), head.last, findings


def _holds_dates(head: FileLine, heading: str, below: Sequence[FileLine]) -> bool:
    place = next(i for i, cell in enumerate(head.cells) if str(cell) == heading)
    cells = (line.cell(place) for line in below)
    return any(isinstance(cell, dt.date) or _DATE.search(str(cell)) for cell in cells)


def _no_headings(path: Path, files: Sequence[ListFile], wanted: Wanted) -> str:
    """What is missing in the line that names the most columns, and which headings it has."""
    lines = [line for file in files for line in file.lines[:100] if wanted.named(line)]
    if not lines:
        return f"{path.name} has no line of headings: a date and an amount, or net, are needed."
    best = max(lines, key=lambda line: len(wanted.named(line)))
    found = read_headers(best, wanted)
    missing = [" or ".join(group) for group in wanted.needed if not {*group} & {*found.headers}]
    named = ", ".join(f"{name} {h[0].text!r}" for name, h in found.headers.items())
    left = ", ".join(map(repr, found.unused.values()))
    return (
        f"{path.name}, line {best.number} looks like the headings ({named}), but names no"
        f" {', and no '.join(missing) or 'date'}. Headings left: {left or 'none'}."
    )


def _filled_down(line: FileLine, down: Mapping[tuple[int, int], Any]) -> FileLine:
    """The line with what stands in cells that were merged down to it."""
    held = (down.get((line.number, i)) if cell is None else cell
            for i, cell in enumerate(line.cells))  # fmt: skip
    return line if line.blank or not down else replace(line, cells=tuple(held))


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


def names_of_columns(columns: Mapping[str, str]) -> dict[str, str]:
    """Stated headings by the names of the ledger's columns, which may be said as on its sheet."""
    names = {column.header.lower(): column.name for column in LEDGER.columns}
    names |= {name: name for name in EXPORTED.names}
    for said in columns:
        if said.lower() not in names:
            known = ", ".join(EXPORTED.names)
            raise UnsettledError("columns", f"The ledger has no column {said!r}; it has {known}.")
    return {names[said.lower()]: heading for said, heading in columns.items()}
