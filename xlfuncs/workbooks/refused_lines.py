"""Lines of exports that are in no ledger, for a fault in them: kept in a table beside the workbook,
until their file, or a longer one, comes again without the fault.
"""

import csv
import datetime as dt
import io
import re
from collections.abc import Iterable
from contextlib import suppress
from decimal import Decimal
from pathlib import Path

from xlfuncs.workbooks.lists.ledger.importing import LedgerImport
from xlfuncs.xlsx.saving import save

HEADS = ("File", "Line", "Date", "Date of the paper", "Reference", "Item", "Amount", "Currency",
         "Reason", "What it says")  # fmt: skip
Row = dict[str, str]  # by HEADS
ENDING = ".refused.csv"  # of the table's name


def supplier_of(export: str) -> str:
    """Whose an export is, by the name of the file without its numbers."""
    return re.sub(r"[\W\d_]+", " ", Path(export).stem).strip().replace(" ", "-").lower()


def table_of(book: Path) -> Path:
    return book.with_name(f"{book.stem}{ENDING}")


def kept(book: Path) -> list[Row]:
    """The lines that are kept for a workbook."""
    path = table_of(book)
    text = path.read_text("utf-8-sig") if path.exists() else ""
    return [{head: row.get(head) or "" for head in HEADS}
            for row in csv.DictReader(io.StringIO(text))]  # fmt: skip


def keep_those_of(book: Path, read: Iterable[tuple[Path, LedgerImport]]) -> str:
    """Keeps what imports refuse too; gives what the table held before, '' where there was none."""
    path, rows = table_of(book), with_those_of(before := kept(book), read)
    old = path.read_bytes().decode() if path.exists() else ""
    if rows == before:
        return old
    out = io.StringIO()
    writer = csv.DictWriter(out, HEADS, lineterminator="\r\n")
    writer.writeheader()
    writer.writerows(rows)
    save(path, out.getvalue().encode("utf-8-sig"))
    return old


def put_back(book: Path, old: str) -> None:
    """The table as it was before an import."""
    if old:
        save(table_of(book), old.encode())
    else:
        table_of(book).unlink(missing_ok=True)


def with_those_of(rows: Iterable[Row], read: Iterable[tuple[Path, LedgerImport]]) -> list[Row]:
    """The lines kept, and those that imports refuse; what a supplier's file has, as it is there."""
    rows = list(rows)
    for path, result in read:

        def comes_again(row: Row, path: Path = path, marks: frozenset[str] = result.marks) -> bool:
            marked = (row["Reference"].lower() or row["What it says"]) in marks
            same = supplier_of(row["File"]) == supplier_of(path.name)
            return row["File"] == path.name or (marked and same)

        rows = [row for row in rows if not comes_again(row)]
        for line in result.faulty:
            said = line.said
            if line.amount or said["date"] or said["bill_date"]:
                cells = (path.name, line.line, said["date"], said["bill_date"], said["reference"],
                         said["item"], "" if line.amount is None else line.amount,
                         said["currency"], line.reason, line.text)  # fmt: skip
                rows.append(dict(zip(HEADS, map(str, cells), strict=True)))
    return rows


def in_words(rows: Iterable[Row]) -> str:
    """How much is on how many lines, by currency; '' where no line says an amount."""
    sums: dict[str, Decimal] = {}
    lines = [row for row in rows if row["Amount"] and Decimal(row["Amount"])]
    for row in lines:
        sums[row["Currency"]] = sums.get(row["Currency"], Decimal(0)) + Decimal(row["Amount"])
    money = " and ".join(f"{total:,.2f} {currency}".strip() for currency, total in sums.items())
    return f"{money} on {len(lines)} line{'s' * (len(lines) > 1)}" if lines else ""


def day_of(row: Row) -> dt.date | None:
    """The day of a line, or of its paper, where one can be read."""
    for head in ("Date", "Date of the paper"):
        with suppress(ValueError):
            return dt.date.fromisoformat(row[head])
    return None


def may_be_of(row: Row, year: int, first_month: int) -> bool:
    """Whether a line may belong to a year: to each, where its days say none."""
    if day := day_of(row):
        return day.year + (1 < first_month <= day.month) == year
    said = re.findall(r"\b(?:19|20)\d\d\b", row["Date"] or row["Date of the paper"])
    return not said or year in (int(said[0]), int(said[0]) + (first_month > 1))
