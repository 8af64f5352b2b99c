"""What came of an import as a workbook: entries to paste into the ledger, refusals, findings."""

import datetime as dt
import io
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import xlsxwriter

from xlfuncs.tables.money.ledger import LEDGER
from xlfuncs.workbooks.lists.ledger_import import LedgerImport
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
