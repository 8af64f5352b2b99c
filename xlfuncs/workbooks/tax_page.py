"""A year of the ledger for the tax adviser: entries by kind with their receipts, sums, what is out.

The same rows as a table to read by machine (CSV) and as a page (a workbook that is printed).
"""

import csv
import datetime as dt
import io
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

import numpy as np
import xlsxwriter

from xlfuncs.catalogue.account_days import fiscal_years, year_span
from xlfuncs.errors import WorkbookError
from xlfuncs.tables.money.ledger import LEDGER
from xlfuncs.workbooks.lists.ledger.bills import billed
from xlfuncs.workbooks.lists.ledger.importing import entries_in
from xlfuncs.workbooks.our_tables.findings import cell_values
from xlfuncs.workbooks.our_tables.read_inputs import read_inputs
from xlfuncs.workbooks.our_tables.table_cells import tables_in
from xlfuncs.workbooks.refused_lines import Row, day_of, may_be_of
from xlfuncs.xlsx.contents import Contents

HEADS = ("Kind", "Date", "Reference", "Item", "Quantity", "Unit", "Amount", "Tax included",
         "Recoverable tax", "Before tax", "Tax rate", "Date of the paper", "In the sums",
         "Note, or why not")  # fmt: skip
_SUMMED = ("amount", "tax", "back", "net")
_WIDTHS = (14, 11, 18, 34, 10, 8, 12, 11, 12, 12, 8, 12, 8, 44)
_SHARE = re.compile(r"(-?\d+\.\d\d) of it ")  # of delivery or a discount, in a note


@dataclass(frozen=True)
class TaxPage:
    """The entries of a year, by kind and date; `left_out` each with its reason."""

    farm: str
    year: int
    days: str
    currency: str
    entries: list[Mapping[str, Any]]
    left_out: list[Mapping[str, Any]]
    by_paper: bool = False

    def sums(self, kind: str | None = None) -> list[Decimal | None]:
        """Amount, the tax in it, the part of that which comes back and what is before tax, of a
        kind or of all; None where no entry says what tax is in it, and before tax where one does
        not."""
        of_kind = [e for e in self.entries if kind in (None, e["kind"])]
        known = [[e[name] for e in of_kind if e[name] is not None] for name in _SUMMED]
        known[-1] = known[-1] if len(known[-1]) == len(of_kind) else []
        return [sum(values, Decimal(0)) if values else None for values in known]

    @property
    def basis(self) -> str:
        """What puts an entry into the year, and what the tax is not known of."""
        words = "By the last day of service: of a bill by meter the last day that it is for, of a"
        words += " receipt its own date; Setup, Tax page by, may say: paper date."
        if self.by_paper:
            undated = sum(not entry["billed"] for entry in self.entries)
            words = "By the date of the paper, as Setup says (Tax page by)"
            words += f"; {undated} bills without one by their last day." if undated else "."
        words += " Years spreads a bill by meter over its days, so that its sums differ."
        unknown = sum(entry["tax"] is None for entry in self.entries)
        words += f" Tax is not stated on {unknown} entries: blank." if unknown else ""
        spread = [Decimal(part) for entry in self.entries for part in _SHARE.findall(entry["note"])]
        if spread:
            words += f" Delivery and discounts, {sum(spread):,.2f} in all, are in the amounts of"
            words += " their orders, with their own tax: a rate may lie between two."
        return words

    def rows(self) -> Iterator[list[Any]]:
        for entry in (*self.entries, *self.left_out):
            cells = [entry[n] for n in ("kind", "date", "reference", "item", "quantity", "unit")]
            reason = entry["reason"]
            known = entry["net"]
            rate = (entry["tax"] / known).quantize(Decimal("0.001")) if known else None
            yield [*cells, *(entry[n] for n in _SUMMED), rate, entry["billed"],
                   "no" if reason else "yes", reason or entry["note"]]  # fmt: skip

    def as_csv(self) -> bytes:
        out = io.StringIO()
        writer = csv.writer(out, lineterminator="\r\n")
        writer.writerows([HEADS, *self.rows()])
        return out.getvalue().encode("utf-8-sig")

    def as_workbook(self) -> bytes:
        """The page to print; text stays text, whatever sign it begins with."""
        out = io.BytesIO()
        options = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}
        with xlsxwriter.Workbook(out, options) as book:
            sheet = book.add_worksheet("Year")
            strong = book.add_format({"bold": True})
            top = {"valign": "top"}  # beside texts that take several lines
            beside = {**top, "align": "left", "indent": 1}
            wrapped = book.add_format({**top, "text_wrap": True})
            money = book.add_format({**top, "num_format": "#,##0.00"})
            date = book.add_format({**top, "num_format": "yyyy-mm-dd", "align": "left"})
            formats = {
                **dict.fromkeys((0, 2, 3, 13), wrapped),
                1: date,
                4: book.add_format(top),
                **dict.fromkeys((5, 11, 12), book.add_format(beside)),
                **dict.fromkeys(range(6, 10), money),
                10: book.add_format({**top, "num_format": "0.0%"}),
            }
            sums = book.add_format({"bold": True, "num_format": "#,##0.00", "top": 1})
            title = ", ".join(
                filter(None, (self.farm, f"Costs of {self.year}, {self.days}", self.currency))
            )
            sheet.write(0, 0, title, strong)
            sheet.set_landscape()
            sheet.set_paper(9)
            sheet.fit_to_pages(1, 0)
            sheet.repeat_rows(2)
            name = title.replace("&", "&&")
            sheet.set_footer(f"&L{name}, made {dt.date.today()}&RPage &P of &N")
            for column, width in enumerate(_WIDTHS):
                sheet.set_column(column, column, width)
            sheet.merge_range(1, 0, 1, len(HEADS) - 1, self.basis, wrapped)
            sheet.set_row(1, 32)
            sheet.write_row(2, 0, HEADS, book.add_format({"bold": True, "text_wrap": True}))
            line = 3
            for cells, is_sum in self._printed():
                for column, value in enumerate(cells):
                    shown = float(value) if isinstance(value, Decimal) else value
                    write = sheet.write_datetime if column == 1 and shown else sheet.write
                    write(line, column, shown, sums if is_sum else formats.get(column))
                line += 1
        return out.getvalue()

    def _printed(self) -> Iterator[tuple[list[Any], bool]]:
        rows = list(self.rows())
        for kind in dict.fromkeys(entry["kind"] for entry in self.entries):
            yield from ((row, False) for row in rows if row[0] == kind and row[12] == "yes")
            yield [f"Sum of {kind}", None, "", "", "", "", *self.sums(kind)], True
        yield ["Sum", None, "", "", "", "", *self.sums()], True
        if self.left_out:
            yield ["Left out of the sums"], True
            yield from ((row, False) for row in rows if row[12] == "no")


def tax_page(contents: Contents, year: int, refused: Iterable[Row] = ()) -> TaxPage:
    """The page of a year, named as on Setup by the one it ends in, from the stored values, and
    what is kept of lines that imports refused.

    Raises WorkbookError where the workbook has no ledger, no values, or nothing in that year.
    """
    settings = read_inputs(contents).inputs.settings
    first_month = int(settings.get("first_month") or 1)
    by_paper = settings.get("tax_page_by") == "paper date"
    known = entries_in(contents)
    table = tables_in(contents, cell_values(contents))[LEDGER.name]
    if known and not any(table.other("In the sums", entry["row"]) for entry in known):
        raise WorkbookError(f"{contents.package.name}: the file holds no values (another program"
                            " saved it); recalculate it first")  # fmt: skip
    found: list[dict[str, Any]] = []
    for entry in known:
        paper = billed([entry]) or entry["date"].isoformat() * (not entry["period_start"])
        day = np.array([(by_paper and paper) or entry["date"]], dtype="datetime64[D]")
        if int(fiscal_years(day, first_month)[0]) != year:
            continue
        check = str(table.other("Check", entry["row"]) or "")
        summed = str(table.other("In the sums", entry["row"]) or "") == "yes"
        amount, tax, part = (Decimal(str(entry.get(name) or 0)) + Decimal("0.00")
                             for name in ("amount", "tax", "recoverable"))  # fmt: skip
        texts = ("kind", "reference", "item", "unit", "note")
        row = {name: str(entry.get(name) or "") for name in texts} | {"date": entry["date"]}
        reason = "" if summed else "; ".join(filter(None, (check, row["note"])))
        stated, quantity = entry.get("tax") is not None, entry.get("quantity")
        found.append(row | {
            "quantity": None if quantity is None else float(f"{quantity:.6g}"),
            "amount": amount,
            "tax": tax if stated else None,
            "back": (tax * part).quantize(Decimal("0.01")) if stated else None,
            "net": amount - tax if stated else None,
            "billed": paper,
            "reason": reason or ("" if summed else "not computed yet"),
        })  # fmt: skip
    if not found:
        raise WorkbookError(f"{contents.package.name}: the ledger has no entry in {year}")
    found.sort(key=lambda e: (e["kind"].lower(), (by_paper and e["billed"]) or str(e["date"])))
    start, end = year_span(year, first_month)
    days = "calendar year" if first_month == 1 else f"{start} to the day before {end}"
    return TaxPage(
        str(settings.get("farm") or ""), year, days, str(settings.get("currency") or ""),
        [e for e in found if not e["reason"]],
        [*(e for e in found if e["reason"]),
         *(_refused(row) for row in refused if may_be_of(row, year, first_month))], by_paper,
    )  # fmt: skip


def _refused(row: Row) -> dict[str, Any]:
    """A line that an import refused, as what is left out."""
    reason = f"refused, {row['Currency']}: {row['Reason']}; line {row['Line']} of {row['File']}"
    cells = {name: row[name.capitalize()] for name in ("reference", "item")}
    return cells | {
        "kind": "", "date": day_of(row), "quantity": None, "unit": "", "tax": None, "back": None,
        "amount": Decimal(row["Amount"]) if row["Amount"] else None, "net": None,
        "billed": row["Date of the paper"], "note": "", "reason": reason,
    }  # fmt: skip
