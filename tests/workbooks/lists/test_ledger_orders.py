"""Exports of shops: which day counts, orders whose sums stand on their lines, what is taken off.
Sums by hand."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from xlfuncs.workbooks.lists.ledger_import import LedgerImport, import_ledger
from xlfuncs.workbooks.lists.mapping import ListMapping


def read(folder: Path, text: str, **said: Any) -> LedgerImport:
    path = folder / "orders.csv"
    path.write_text(text, encoding="utf-8")
    return import_ledger(path, "metric", ListMapping(**said))


def paid(result: LedgerImport) -> list[tuple[float, float]]:
    return [(entry["amount"], entry["tax"]) for entry in result.entries]


@pytest.mark.parametrize(("heads", "taken"), [
    ("Order date,Ship date", "Ship date"), ("Order date,Invoice date", "Invoice date"),
    ("Besteldatum,Leverdatum", "Leverdatum"), ("Commandé le,Livré le", "Livré le"),
    ("Ordered,Despatched", "Despatched"), ("Fecha pedido,Fecha entrega", "Fecha entrega"),
    ("Data ordine,Data consegna", "Data consegna"), ("Bestellt am,Geliefert am", "Geliefert am"),
])  # fmt: skip
def test_an_order_counts_in_the_year_in_which_it_came(
    tmp_path: Path, heads: str, taken: str
) -> None:
    result = read(tmp_path, f"Order,{heads},Item,Qty,Total\n"
        "B-1,2024-12-20,2024-12-28,Stakes,10,4.20\nB-2,2024-12-30,2025-01-06,Tape,2,30.00\n"
        "B-3,2025-01-07,,Valve,1,12.40\n")  # fmt: skip
    days = [str(entry["date"]) for entry in result.entries]
    assert days == ["2024-12-28", "2025-01-06", "2025-01-07"]
    assert any(f"dated by {taken!r}" in words or f"{taken!r} is taken as the day" in words
               for words in result.noted)  # fmt: skip
    assert result.entries[1]["note"].endswith("ed 2024-12-30")


def test_the_day_that_a_parcel_was_due_is_no_day_of_delivery(tmp_path: Path) -> None:
    result = read(tmp_path, "Order,Order date,Expected delivery,Item,Qty,Total\n"
        "B-2,2024-12-30,2025-01-06,Tape,2,30.00\n")  # fmt: skip
    assert str(result.entries[0]["date"]) == "2024-12-30"


def test_the_number_of_an_order_goes_before_that_of_an_article(tmp_path: Path) -> None:
    result = read(tmp_path, "Référence;Commande;Date;Libellé;Quantité;Total TTC\n"
        "A1;C1;02/03/2024;Tuyau;2;20,00\nP9;C1;02/03/2024;Frais de port;1;6,00\n"
        "A1;C2;22/03/2024;Tuyau;1;10,00\nP9;C2;22/03/2024;Frais de port;1;6,00\n")  # fmt: skip
    assert [(e["reference"], e["quantity"], e["amount"]) for e in result.entries] == [
        ("C1", 2, 26.00), ("C2", 1, 16.00)]  # fmt: skip
