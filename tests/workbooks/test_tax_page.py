"""The page for the tax adviser beside plain arithmetic on the example's ledger."""

from __future__ import annotations

import csv
import datetime as dt
import io
from decimal import Decimal
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner

from tests.made_once import made_once
from workbook_template.build import demo_inputs
from workbook_template.kit.inputs import Inputs
from xlfuncs.command_line.main import commands
from xlfuncs.errors import WorkbookError
from xlfuncs.workbooks.tax_page import TaxPage, tax_page
from xlfuncs.xlsx.contents import Contents
from xlfuncs.xlsx.package import Package

LEDGER = Path(__file__).parents[2] / "examples" / "us" / "ledger.csv"


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("tax") / "books.xlsx"
    made_once(path, "us", demo_inputs("us"), edition="bookkeeper")
    return path


def test_sums_are_those_of_the_ledger_and_what_is_out_says_why(book: Path) -> None:
    with LEDGER.open(encoding="utf-8", newline="") as file:
        ledger = [row for row in csv.DictReader(file) if row["Date"].startswith("2024")]
    page = tax_page(Contents(Package.open(book)), 2024)
    for kind in {row["Kind"] for row in ledger}:
        own = [r for r in ledger if r["Kind"] == kind and r["Counted"] == "yes"]
        amounts, taxes, back, net = page.sums(kind)
        stated = all(row["Tax included"] for row in own)
        assert net == (amounts - taxes if stated else None)
        assert amounts == sum(Decimal(row["Amount"]) for row in own)
        assert taxes == sum(Decimal(row["Tax included"] or 0) for row in own)
        assert back == sum(
            Decimal(row["Tax included"] or 0) * Decimal(row["Recoverable tax"] or 0)
            for row in own
        )  # fmt: skip
    out = [row for row in ledger if row["Counted"] == "no"]
    assert len(page.left_out) == len(out) > 0
    assert all(entry["reason"].startswith("left out") for entry in page.left_out)
    rows = list(csv.DictReader(io.StringIO(page.as_csv().decode("utf-8-sig"))))
    assert len(rows) == len(ledger)
    assert sum(Decimal(r["Amount"]) for r in rows if r["In the sums"] == "yes") == page.sums()[0]
    printed = openpyxl.load_workbook(io.BytesIO(page.as_workbook())).active
    sums = {row[0].value: row[6].value for row in printed.iter_rows()}
    assert sums["Sum"] == pytest.approx(float(page.sums()[0]))
    with pytest.raises(WorkbookError, match="no entry in 1999"):
        tax_page(Contents(Package.open(book)), 1999)


def test_a_setting_takes_an_entry_by_the_date_of_its_paper(tmp_path: Path) -> None:
    water = {"kind": "water", "quantity": 10.0}
    rows = [  # last day of service, amount, note
        (dt.date(2024, 12, 15), 100.0, "takes back a bill of the ledger, dated 2025-03-01"),
        (dt.date(2024, 12, 31), 200.0, "billed 2025-01-09"),
        (dt.date(2025, 12, 31), 400.0, "billed 2026-01-09"),
        (dt.date(2025, 11, 15), 800.0, ""),
    ]
    ledger = [
        water
        | {"date": day, "period_start": day - dt.timedelta(50), "amount": amount, "note": note}
        for day, amount, note in rows
    ]
    demo = demo_inputs("us")
    found = {}
    for way in ("", "paper date"):
        inputs = Inputs(demo.settings | {"tax_page_by": way}, demo.tables | {"Ledger": ledger})
        made_once(tmp_path / f"{way}.xlsx", "us", inputs, edition="bookkeeper")
        page = tax_page(Contents(Package.open(tmp_path / f"{way}.xlsx")), 2025)
        every = (*page.entries, *page.left_out)
        found[way] = sum(e["amount"] for e in every), page.basis.partition(":")[0]
    assert found == {
        "": (1200, "By the last day of service"),
        "paper date": (1100, page.basis.partition(":")[0]),
    }
    assert page.basis.startswith("By the date of the paper, as Setup says (Tax page by); 1 bills")


@pytest.mark.libreoffice
def test_the_command_writes_both(book: Path, tmp_path: Path) -> None:
    call = ["render", str(book), "--tax-page", "2024", "--output", str(tmp_path)]
    done = CliRunner().invoke(commands, call)
    assert done.exit_code == 0, done.output
    assert {path.name for path in tmp_path.iterdir()} == {"books-2024.csv", "books-2024.pdf"}
    assert (tmp_path / "books-2024.pdf").read_bytes().startswith(b"%PDF")


def test_before_tax_rate_and_delivery_stand_beside_each_entry() -> None:
    entry = {"kind": "fertiliser", "date": dt.date(2025, 7, 23), "reference": "S1", "unit": "",
             "item": "Potash", "quantity": 3.0, "amount": Decimal("103.16"), "tax": Decimal("7.42"),
             "back": Decimal("0.00"), "net": Decimal("95.74"), "billed": "2025-07-23",
             "note": "7.12 of it Delivery charge", "reason": ""}  # fmt: skip
    page = TaxPage("Farm", 2025, "calendar year", "EUR", [entry], [])
    (row,) = csv.DictReader(io.StringIO(page.as_csv().decode("utf-8-sig")))
    # 7.42 of 95.74 is 7.8 %: goods at 7 % and their delivery at 19 %
    assert (row["Before tax"], row["Tax rate"]) == ("95.74", "0.078")
    assert (row["Date of the paper"], row["Note, or why not"]) == ("2025-07-23", entry["note"])
    cells = openpyxl.load_workbook(io.BytesIO(page.as_workbook())).active[4]
    assert all(cells[column].alignment.wrap_text for column in (0, 2, 3, 13))  # none is cut
    assert "Delivery and discounts, 7.12 in all, are in the amounts" in page.basis


def test_a_workbook_without_values_is_refused_with_what_to_do(book: Path, tmp_path: Path) -> None:
    saved = tmp_path / "saved.xlsx"
    openpyxl.load_workbook(book).save(saved)
    with pytest.raises(WorkbookError, match=r"holds no values.*recalculate it first"):
        tax_page(Contents(Package.open(saved)), 2024)
