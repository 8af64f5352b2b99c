"""Exports of water and power companies in forms of their own. All invented; what each line says of
days, use and money is the truth."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from xlfuncs.workbooks.lists.ledger_import import LedgerImport, import_ledger
from xlfuncs.workbooks.lists.mapping import ListMapping
from xlfuncs.workbooks.lists.numbers import UnsettledError


def read(folder: Path, text: str, system: str = "metric", **said: Any) -> LedgerImport:
    path = folder / "bills.csv"
    path.write_text(text, encoding="utf-8")
    return import_ledger(path, system, ListMapping(**said))


def workbook(folder: Path, *sheets: list[tuple[Any, ...]]) -> Path:
    book = openpyxl.Workbook()
    book.remove(book.active)
    for number, rows in enumerate(sheets):
        sheet = book.create_sheet(str(2023 + number))
        for row in rows:
            sheet.append(row)
    book.save(folder / "bills.xlsx")
    return folder / "bills.xlsx"


def day(text: str) -> dt.date:
    return dt.date.fromisoformat(text)


HEADS = ("Bill no", "From", "To", "Use (m³)", "Total")


def test_sheets_with_the_same_headings_are_one_list(tmp_path: Path) -> None:
    path = workbook(
        tmp_path,
        [HEADS, ("A1", day("2023-01-01"), day("2023-06-30"), 40, 90.0),
         ("A2", day("2023-07-01"), day("2023-12-31"), 60, 130.0)],
        [("Water bills",), HEADS, ("A3", day("2024-01-01"), day("2024-12-31"), 95, 210.0)],
        [HEADS],
    )  # fmt: skip
    result = import_ledger(path, "metric", ListMapping(values={"kind": "water"}))
    assert [(e["date"].year, e["quantity"]) for e in result.entries] == [
        (2023, 40), (2023, 60), (2024, 95)]  # fmt: skip
    assert "sheet 2023 is read and, under it, 2024 from line 4 on" in result.noted
    assert (result.lines, result.lines_read) == ([2, 3, 4], 4)
    one = import_ledger(path, "metric", ListMapping(values={"kind": "water"}, sheet="2024"))
    assert [entry["reference"] for entry in one.entries] == ["A3"]
    path = workbook(tmp_path, [HEADS, ("A1", *HEADS[1:])], [(*HEADS, "Tax"), ("A1", *HEADS[1:], 1)])
    with pytest.raises(UnsettledError, match="has 2023, 2024"):
        import_ledger(path)
