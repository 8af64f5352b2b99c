"""What came of an import, in words and as a workbook: entries, refusals, findings."""

import datetime as dt
import io
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from pathlib import Path
from typing import Any

import numpy as np
import xlsxwriter

from xlfuncs.catalogue.account_days import fiscal_years, year_span
from xlfuncs.tables.money.ledger import LEDGER
from xlfuncs.workbooks.lists.ledger_bills import ALREADY
from xlfuncs.workbooks.lists.ledger_import import LedgerImport, Refused
from xlfuncs.workbooks.lists.ledger_lines import Entry
from xlfuncs.workbooks.lists.ledger_netting import METERED, SPREAD
from xlfuncs.workbooks.our_tables.table_cells import cell_value, named_cells
from xlfuncs.xlsx.contents import Contents
from xlfuncs.xlsx.saving import save


def write_import(result: LedgerImport, path: Path, system: str = "us") -> None:
    """Write the three sheets, whole or not at all; text as text, whatever sign it begins with."""
    # Without these options a cell such as =cmd() would turn into a formula, or a link.
    options = {"strings_to_formulas": False, "strings_to_urls": False}
    out = io.BytesIO()
    with xlsxwriter.Workbook(out, {**options, "in_memory": True}) as book:
        date = book.add_format({"num_format": "yyyy-mm-dd"})
        headings = [column.heading(system) for column in LEDGER.columns]
        rows = (
            [*(_shown(entry[name]) for name in LEDGER.names), line]
            for entry, line in zip(result.entries, result.lines, strict=True)
        )
        _sheet(book, "Ledger", [*headings, "Line of the file"], rows, date)
        refused = ([r.line, r.reason, r.text] for r in result.refused)
        _sheet(book, "Refused", ["Line of the file", "Reason", "What it says"], refused, date)
        read = [*result.findings, f"{result.lines_read} lines in all"]
        _sheet(book, "How it was read", ["Finding"], ([words] for words in read), date)
    save(path, out.getvalue())


def _shown(value: Any) -> Any:
    return {True: "yes", False: "no"}[value] if isinstance(value, bool) else value


def _sheet(book: Any, name: str, headings: list[str], rows: Iterable[list[Any]], date: Any) -> None:
    sheet = book.add_worksheet(name)
    bold = book.add_format({"bold": True, "text_wrap": True})
    sheet.write_row(0, 0, headings, bold)
    sheet.freeze_panes(1, 0)
    for number, row in enumerate(rows, start=1):
        for column, value in enumerate(row):
            if isinstance(value, dt.date):
                sheet.write_datetime(number, column, value, date)
            else:
                sheet.write(number, column, value)
    sheet.autofit()


# --- in words ---


def told(result: LedgerImport, *, verbose: bool = False) -> list[str]:
    """Every line that does not count, with its reason, and the sums; `verbose` adds how the file
    was read, and each line as it stands."""
    refused = [x for x in result.refused if not x.reason.startswith((ALREADY, SPREAD))]
    spread = [x for x in result.refused if x.reason.startswith(SPREAD)]
    return [
        *(result.how if verbose else ()),
        *_sums(result.entries),
        *(_over_orders(spread) if result.entries and not verbose else ()),
        *(f"line {x.line} {x.reason}" for x in spread if verbose),
        *result.noted,
        *(f"line {x.line} {x.reason}; it stays as it is" for x in result.refused
          if x.reason.startswith(f"{ALREADY},")),
        *((f"line {x.line} refused: {x.reason}: {x.text}" for x in refused) if verbose
          else _by_reason(refused)),
        *(f"line {number} is not counted: {note}" for number, note in result.doubles),
        *(f"in the ledger: {words}" for _, words in result.replaced),
    ]  # fmt: skip


def _by_reason(refused: Sequence[Refused]) -> Iterator[str]:
    reasons: dict[str, list[Refused]] = {}
    for line in refused:
        reasons.setdefault(line.reason, []).append(line)
    for reason, lines in reasons.items():
        numbers = ", ".join(str(line.line) for line in lines)
        amounts = [line.amount for line in lines if line.amount is not None]
        money = f" ({sum(amounts):,.2f})" if any(amounts) else ""
        yield f"line{'s' * (len(lines) > 1)} {numbers} refused: {reason}{money}"


def _over_orders(spread: Sequence[Refused]) -> Iterator[str]:
    """What delivery and discounts come to in the sums."""
    amounts = [x.amount for x in spread if x.amount is not None]
    if amounts:
        yield (f"delivery and discounts, {len(amounts)} lines, {sum(amounts):,.2f}, are in these"
               " sums, spread over the lines of their orders")  # fmt: skip


def over_new_year(result: LedgerImport, first_month: int) -> Iterator[str]:
    """The bills whose days lie in two years, and how Years parts them."""
    seen = set()
    for line, entry in zip(result.lines, result.entries, strict=True):
        start, end = entry["period_start"], entry["date"]
        if line in seen or not start or not entry["counted"] or entry["kind"] not in METERED:
            continue
        first = start + dt.timedelta(days=1)
        years = fiscal_years(np.array([first, end], dtype="datetime64[D]"), first_month).tolist()
        if years[0] != years[1]:
            seen.add(line)
            turn = year_span(years[1], first_month)[0]
            yield (f"line {line}, {first} to {end}, runs over New Year: Years parts it by days,"
                   f" {(turn - first).days} to {years[0]} and {(end - turn).days + 1} to"
                   f" {years[1]}")  # fmt: skip


def years_in_words(contents: Contents) -> list[str]:
    """The year explained beside the year before, by kind, with the effects, from sheet Years."""
    place = named_cells(contents).get("compared_year")
    year = cell_value(contents, place) if place else None
    if place is None or not isinstance(year, float):
        return []
    rows: dict[int, dict[int, Any]] = {}
    for cell in contents.scan(contents.sheet(place[0])).cells:
        if cell.row > place[1] and (value := contents.value(cell)) not in (None, ""):
            rows.setdefault(cell.row, {})[cell.column] = value
    head = next((r for r, cells in rows.items() if {"Kind", "Change"} <= {*cells.values()}), None)
    heads = rows.pop(head) if head else {}
    lines = [f"Years: {year:.0f} beside {year - 1:.0f}"]
    for number, cells in rows.items():
        values = {heads[c]: v for c, v in cells.items() if c in heads}
        kind, money = values.pop("Kind", ""), {k: v for k, v in values.items() if k != "Kind"}
        if head and number > head and isinstance(money.get("Change"), float):
            before, this, change = (money.pop(next(iter(money))) for _ in range(3))
            if not (before or this):
                continue
            effects = ", ".join(f"{name.lower()} {value:+,.2f}" for name, value in money.items()
                                if value)  # fmt: skip
            lines.append(f"  {kind}: {before:,.2f} -> {this:,.2f}, {change:+,.2f}"
                         + (f": {effects}" if effects else ""))  # fmt: skip
        elif head and number > head + 1 and len(lines) > 1:
            break
    return lines[: 2 if len(lines) == 3 else None] if len(lines) > 1 else []  # one kind: no sum


def _sums(entries: Iterable[Entry]) -> Iterator[str]:
    """What counts of each kind, in all and by the year of its date: to compare with the paper."""
    by_kind: dict[str, dict[int, list[Decimal]]] = {}
    for entry in entries:
        if entry["counted"]:
            years = by_kind.setdefault(entry["kind"], {})
            years.setdefault(entry["date"].year, []).append(Decimal(str(entry["amount"])))
    for kind, years in sorted(by_kind.items()):
        listed = ", ".join(f"{year} {sum(a):,.2f}" for year, a in sorted(years.items()))
        amounts = [amount for of_year in years.values() for amount in of_year]
        lines = "1 line" if len(amounts) == 1 else f"{len(amounts)} lines"
        yield f"{kind}: {lines}, {sum(amounts):,.2f} by date: {listed}"
