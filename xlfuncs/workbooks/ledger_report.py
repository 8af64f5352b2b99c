"""What came of an import, in words and as a workbook: entries, refusals, findings."""

import datetime as dt
import io
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from pathlib import Path
from typing import Any

import xlsxwriter

from xlfuncs.errors import XlfuncsError
from xlfuncs.tables.money.ledger import LEDGER
from xlfuncs.workbooks.lists.bills.refusals import Refused
from xlfuncs.workbooks.lists.ledger.bills import ALREADY
from xlfuncs.workbooks.lists.ledger.importing import LEFT_OUT, LedgerImport
from xlfuncs.workbooks.lists.ledger.lines import Entry
from xlfuncs.workbooks.lists.ledger.netting import SAME_USE, SPREAD
from xlfuncs.workbooks.our_tables.table_cells import cell_value, named_cells
from xlfuncs.workbooks.refused_lines import in_words, with_those_of
from xlfuncs.xlsx.contents import Contents
from xlfuncs.xlsx.saving import save

_NAMED = 12  # lines that are named one by one; --verbose names all


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
    """What a person must know of a file: which lines do not count, and why; `verbose` adds how it
    was read, and each line as it stands."""
    left = [x for x in result.refused if x.reason.startswith(LEFT_OUT)]
    spread = [x for x in result.refused if x.reason.startswith(SPREAD)]
    return [
        *(result.how if verbose else ()),
        *(sums(result.entries) if verbose else ()),
        *(_over_orders(spread) if result.entries and not verbose else ()),
        *(f"line {x.line} {x.reason}" for x in spread if verbose),
        *(result.noted if result.entries or verbose else ()),
        *(f"line {x.line} {x.reason}; it stays as it is" for x in result.refused
          if x.reason.startswith(f"{ALREADY},")),
        *_by_reason(left),
        *((f"line {x.line} refused: {x.reason}: {x.text}" for x in result.faulty) if verbose
          else _by_reason(result.faulty)),
        *filter(None, [result.overlap]),
        *(f"line {number} is not counted: {note}" for number, note in result.doubles[:_NAMED]),
        *(f"{len(more)} more are not counted" for more in (result.doubles[_NAMED:],) if more),
        *(f"in the ledger: {words}" for _, words in result.replaced),
    ]  # fmt: skip


def _by_reason(refused: Sequence[Refused]) -> Iterator[str]:
    reasons: dict[tuple[str, str], list[Refused]] = {}  # and currencies, as sums have one
    for line in refused:
        reasons.setdefault((line.reason, line.said["currency"]), []).append(line)
    for (reason, _), lines in reasons.items():
        numbers = ", ".join(str(line.line) for line in lines[:_NAMED])
        numbers += f" and {len(lines) - _NAMED} more" if len(lines) > _NAMED else ""
        amounts = [line.amount for line in lines if line.amount is not None]
        money = f" ({sum(amounts):,.2f})" if any(amounts) else ""
        if reason.startswith(LEFT_OUT):
            several = f"lines {numbers} left out: each {reason}{money}"
            yield several if len(lines) > 1 else f"line {numbers} {reason}, left out{money}"
        else:
            yield f"line{'s' * (len(lines) > 1)} {numbers} refused: {reason}{money}"


def refuse_money_lost(read: Iterable[tuple[Path, LedgerImport]]) -> None:
    """Raises XlfuncsError where lines that are no entries, for a fault in them, have an amount."""
    if words := in_words(with_those_of((), read)):
        raise XlfuncsError(f"Not in the ledger: {words} refused, see above")


def _over_orders(spread: Sequence[Refused]) -> Iterator[str]:
    """What delivery and discounts come to in the sums, and charges beside a use."""
    for words, of_use in (("delivery and discounts", False), ("charges for the same use", True)):
        amounts = [x.amount or 0 for x in spread if (SAME_USE in x.reason) == of_use]
        if amounts:
            lines = f"{len(amounts)} line{'s' * (len(amounts) > 1)}"
            yield f"{words}: {lines}, {sum(amounts):,.2f}, spread over the other lines"


def year_in_words(contents: Contents) -> str:
    """The year explained beside the year before, and the effects of all kinds, from sheet Years."""
    names = named_cells(contents)
    places = [names[name] for name in ("compared_year", "year_before_total", "year_total",
                                       "year_change") if name in names]  # fmt: skip
    values = [v for place in places if isinstance(v := cell_value(contents, place), float)]
    if len(values) < 4:
        return ""
    year, before, this, change = values
    sheet, row, column = places[-1]
    cells = {(cell.row, cell.column): contents.value(cell)
             for cell in contents.scan(contents.sheet(sheet)).cells}  # fmt: skip
    head = max(r for (r, c), value in cells.items() if c == column and value == "Change")
    found = {str(cells[head, c]).lower(): value
             for (r, c), value in cells.items() if r == row and c > column}  # fmt: skip
    within = [name for name in ("area", "weather") if not isinstance(found.get(name), float)]
    use = {"use": " with ".join(filter(None, ["use", " and ".join(within)]))}
    effects = ", ".join(f"{use.get(name, name)} {v:+,.2f}" for name, v in found.items()
                        if isinstance(v, float) and v)  # fmt: skip
    first = min(c for _, c in cells)
    why = str(cells.get((places[0][1], places[0][2] + 1)) or "")
    why = f"; {year:.0f} is {why}" if why.startswith("the last whole") else ""
    kinds = [f"{cells[r, first]} {v:+,.2f}" for r in range(head + 1, row)
             if isinstance(v := cells.get((r, column)), float) and v]  # fmt: skip
    below = cells.get((row + 1, first))  # how the water was split
    how = f"; {below[:1].lower()}{below[1:]}" if isinstance(below, str) and below else ""
    return (
        f"{year:.0f} beside {year - 1:.0f}, bills by their days, on the days known of both (Year"
        f" detail): {before:,.2f} -> {this:,.2f}, {change:+,.2f} ({effects}); by kind:"
        f" {', '.join(kinds)} (sheet {sheet}){how}{why}"
    )


def sums(entries: Iterable[Entry], heading: str = "") -> list[str]:
    """What counts of each kind by the year of its date, to compare with the paper: a table."""
    totals: dict[tuple[str, int], Decimal] = {}
    for entry in entries:
        for kind in (entry["kind"], "") if entry["counted"] else ():  # and of all kinds
            place = kind, entry["date"].year
            totals[place] = totals.get(place, Decimal(0)) + Decimal(str(entry["amount"]))
    years = sorted({year for _, year in totals})
    kinds = sorted({kind for kind, _ in totals})
    rows = [[f"{heading} by last day".strip(), *map(str, years)]]
    for kind in [*kinds[1:], ""][: 1 if len(kinds) == 2 else None]:
        amounts = (f"{total:,.2f}" if (total := totals.get((kind, year))) is not None else ""
                   for year in years)  # fmt: skip
        rows.append([kind or "all", *amounts])
    wide = [max(map(len, column)) for column in zip(*rows, strict=True)]
    return ["  ".join([kind.ljust(wide[0]), *map(str.rjust, cells, wide[1:])])
            for kind, *cells in rows if totals]  # fmt: skip
