"""Ledger entries from the exports of water companies and shops.

Every line of the file ends up as an entry, as a refused line with its reason, as a blank line or
above the headings; the report counts them. An entry that equals another is kept but not counted
until someone says so. Text stays text: nothing in a file becomes a formula.
"""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from xlfuncs.errors import WorkbookError
from xlfuncs.tables.columns import Column, Table
from xlfuncs.tables.date_words import UnreadableError
from xlfuncs.tables.headers import SYNONYM
from xlfuncs.tables.money.ledger import LEDGER
from xlfuncs.workbooks.lists.files import read_list_file
from xlfuncs.workbooks.lists.headers import HeadingLines, Wanted, find_headings, read_headers
from xlfuncs.workbooks.lists.ledger_lines import Entry, Export, LineReader
from xlfuncs.workbooks.lists.lines import ListFile
from xlfuncs.workbooks.lists.mapping import ListMapping
from xlfuncs.workbooks.lists.numbers import UnsettledError
from xlfuncs.workbooks.our_tables.findings import cell_values
from xlfuncs.workbooks.our_tables.table_cells import tables_in
from xlfuncs.xlsx.contents import Contents
from xlfuncs.xlsx.package import Package

# Amounts before tax: not a column of the ledger, which keeps the amount paid and the tax in it.
_OTHERS = ("net amount", "subtotal", "amount excl tax", "amount before tax")
_NET = Column("net", "Net", "money", "Amount before tax", synonyms=_OTHERS)
_TABLE = Table(LEDGER.name, LEDGER.help, (*LEDGER.columns, _NET))
_WANTED = Wanted(_TABLE, worst=SYNONYM, needed=(("date",), ("amount", "net")), strict=True)


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

    @property
    def doubles(self) -> list[tuple[int, str]]:
        """Entries that are not counted, since they look entered twice: line and note."""
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
    existing: Iterable[Mapping[str, Any]] = (),
) -> LedgerImport:
    """Read an export. `existing` are entries of the ledger, which are not taken in again.

    Raises UnsettledError, which says what to state, where the file can be read in two ways.
    """
    stated = stated or ListMapping()
    export, above, findings = _export(Path(path), stated)
    reader = LineReader.of(export, system, stated)
    entries: list[Entry] = []
    lines: list[int] = []
    refused: list[Refused] = []
    blank = 0
    known = Counter(_key(entry) for entry in existing)
    seen: dict[tuple[Any, ...], int] = {}
    for line in export.below:
        if line.blank:
            blank += 1
            continue
        try:
            entry = reader.entry(line)
            key = _key(entry)
            if known[key]:
                known[key] -= 1
                raise UnreadableError("is in the ledger already")
        except UnreadableError as error:
            refused.append(Refused(line.number, str(error), line.text))
            continue
        first = seen.setdefault(key, line.number)
        if first != line.number:
            entry["counted"] = False
            entry["note"] = f"same as line {first}: entered twice? {entry['note']}".strip()
        entries.append(entry)
        lines.append(line.number)
    return LedgerImport(entries, lines, refused, [*findings, *reader.findings], above, blank)


def _export(path: Path, stated: ListMapping) -> tuple[Export, int, list[str]]:
    """The export, how many lines stand above its headings, and how it was read."""
    columns = _by_name(stated.columns)
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
        words = "date, amount or net; which are they?"
        raise UnsettledError("columns", f"{path.name} has no line of headings with {words}")
    found = read_headers(head.line, wanted)
    for name, texts in found.rivals.items():
        both = " and ".join(map(repr, texts))
        words = f"Line {head.line.number}: {both} may both be the {name}."
        raise UnsettledError("columns", words)
    for name, text in columns.items():
        if name not in found.headers:
            raise UnsettledError("columns", f"There is no heading {text!r} for {name}.")
    names = ", ".join(f"{n} from {h[0].text!r}" for n, h in found.headers.items())
    findings = [*headed[0].remarks, f"headings on line {head.line.number}: {names}"]
    if found.unused:
        findings.append(f"headings not used: {', '.join(map(repr, found.unused.values()))}")
    lines = headed[0].lines[head.last + 1 :]
    return Export(head.line, found.headers, lines), head.last, findings


def entries_of(workbook: Path) -> list[Entry]:
    """The entries on the sheet Ledger of a workbook, so that they are not taken in again."""
    contents = Contents(Package.open(workbook))
    table = tables_in(contents, cell_values(contents)).get(LEDGER.name)
    if table is None:
        raise WorkbookError(f"{workbook.name} has no table {LEDGER.name}")
    first = dt.date(1904, 1, 1) if contents.dates_from_1904 else dt.date(1899, 12, 30)
    entries = []
    for row in table.rows():
        entry = dict(row.cells)
        day = entry.get("date")
        if isinstance(day, float) and isinstance(entry.get("amount"), float):
            entries.append(entry | {"date": first + dt.timedelta(days=int(day))})
    return entries


def _by_name(columns: Mapping[str, str]) -> dict[str, str]:
    """Stated headings by the names of the ledger's columns, which may be said as on its sheet."""
    names = {column.header.lower(): column.name for column in LEDGER.columns}
    names |= {name: name for name in _TABLE.names}
    for said in columns:
        if said.lower() not in names:
            known = ", ".join(_TABLE.names)
            raise UnsettledError("columns", f"The ledger has no column {said!r}; it has {known}.")
    return {names[said.lower()]: heading for said, heading in columns.items()}


def _key(entry: Mapping[str, Any]) -> tuple[Any, ...]:
    """What makes two entries the same. Numbers are compared as they are written."""
    quantity = entry.get("quantity")
    return (
        str(entry["date"])[:10],
        str(entry.get("kind") or "").strip().lower(),
        str(entry.get("item") or "").strip().lower(),
        None if quantity is None else round(float(quantity), 6),
        round(float(entry["amount"]), 6),
        str(entry.get("reference") or "").strip().lower(),
    )
