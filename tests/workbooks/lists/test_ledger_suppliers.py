"""Exports of an invented farm in m³ and kWh, as suppliers write them: headings that are but a unit,
months for periods, lines that were cancelled. Sums by hand."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from xlfuncs.workbooks.ledger_books import system_of
from xlfuncs.workbooks.lists.ledger_import import LedgerImport, import_ledger
from xlfuncs.workbooks.lists.mapping import ListMapping

WATER = (
    "Document no.;Date;Billing period;Previous reading;Current reading;{unit};Water charge;"
    "Standing charge;VAT 7 %;Amount due\n"
    "W1;09.04.2023;01.01.2023 - 31.03.2023;14207;14295;88;188,32;31,50;15,39;235,21\n"
    "W2;10.07.2023;01.04.2023 - 30.06.2023;14295;14707;412;881,68;31,50;63,92;977,10\n"
)


def read(
    folder: Path, text: str, name: str = "water_documents.csv", existing: Any = (), **said: Any
) -> LedgerImport:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return import_ledger(path, "metric", ListMapping(**said), existing)


@pytest.mark.parametrize(("heading", "factor"), [
    ("m³", 1), ("m3", 1), ("m³ used", 1), ("Used (m3)", 1), ("litres", 0.001),
    ("kgal", 3.785411784), ("gal", 0.003785411784),
])  # fmt: skip
def test_a_heading_that_is_but_a_unit_is_the_quantity(
    tmp_path: Path, heading: str, factor: float
) -> None:
    """US gallon: 231 in³ exactly (NIST Handbook 44, Appendix C)."""
    result = read(tmp_path, WATER.format(unit=heading))
    used = [entry for entry in result.entries if entry["quantity"] is not None]
    assert [entry["quantity"] for entry in used] == pytest.approx([88 * factor, 412 * factor])
    assert {entry["kind"] for entry in result.entries} == {"water"}
    path = tmp_path / "water_documents.csv"
    metric = heading not in ("kgal", "gal")
    assert system_of([(path, ListMapping())]) == ("metric" if metric else "us")


def test_a_rate_of_tax_with_a_space_is_tax_and_the_fixed_charge_is_apart(tmp_path: Path) -> None:
    first, fixed = read(tmp_path, WATER.format(unit="m³")).entries[:2]
    assert (first["tax"] + fixed["tax"], fixed["item"]) == (pytest.approx(15.39), "Standing charge")
    assert (first["amount"], fixed["amount"]) == (201.50, 33.71)  # 31.50 and its 7 % of tax


def test_a_quantity_that_is_not_found_is_said(tmp_path: Path) -> None:
    text = WATER.format(unit="Menge lt. Uhr")
    (words,) = [w for w in read(tmp_path, text, values={"kind": "water"}).noted if "quantity" in w]
    assert "no quantity of water, amounts only" in words
    assert "'Menge lt. Uhr'" in words
    given = read(tmp_path, text, values={"kind": "water", "unit": "m3"},
                 columns={"quantity": "Menge lt. Uhr"})  # fmt: skip
    assert not any("no quantity" in words for words in given.noted)
