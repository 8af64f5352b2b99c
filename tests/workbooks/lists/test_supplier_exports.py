"""Exports of invented utilities and shops, laid out as real ones are, read without an option.

The truth is what the bills and orders were before they were written down, summed up in pandas by
the year of a bill's last day: neither the reader nor its arithmetic has a part in it.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import random
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import openpyxl
import pandas as pd
import pytest

from xlfuncs.workbooks.lists.ledger.importing import import_ledger

DAY = dt.timedelta(days=1)


def marks(thousands: str, decimal: str) -> Callable[[float], str]:
    def shown(value: float) -> str:
        return f"{value:,.2f}".translate(str.maketrans(",.", thousands + decimal))

    return shown


de, us, ch = marks(".", ","), marks(",", "."), marks("'", ".")


@dataclass
class Bill:
    first: dt.date
    last: dt.date
    number: int
    night: int  # what is used, in two tariffs
    used: int
    charge: float  # for what is used
    fixed: float
    rate: float  # of the tax, which comes on top

    @property
    def net(self) -> float:
        return round(self.charge + self.fixed, 2)

    @property
    def tax(self) -> float:
        return round(self.net * self.rate, 2)

    @property
    def paid(self) -> float:
        return round(self.net + self.tax, 2)


def bills(months: int, rate: float, *, seed: int) -> list[Bill]:
    chance, made = random.Random(seed), []
    for number in range(36 // months):
        month = number * months
        first = dt.date(2023 + month // 12, month % 12 + 1, 1)
        last = pd.Timestamp(first) + pd.offsets.MonthEnd(months)
        used = chance.randrange(200, 2400)
        made.append(Bill(first, last.date(), number, used // 3, used, round(used * 0.2137, 2), 11.5,
                         rate))  # fmt: skip
    return made


def heads(text: str) -> list[list[str]]:
    return [[cell.strip() for cell in line.split("|")] for line in text.splitlines()]


NL_MONTHS = ["januari", "februari", "maart", "april", "mei", "juni", "juli", "augustus",
             "september", "oktober", "november", "december"]  # fmt: skip
Cells = Callable[[Bill], Sequence[Any]]
UTILITIES: dict[str, tuple[int, float, str, Cells]] = {
    # file: months a bill, rate of tax, headings, a bill's cells
    "wasser zweckverband.csv": (3, 0.07, "Kundennummer 4711\nRechnungs-|Zeitraum||Zählerstand|"
        "|Verbrauch|Arbeitspreis|Grundpreis|Netto|MwSt.|Brutto\nNr.|von|bis|alt|neu|m³|EUR|EUR|EUR"
        "|7 %|EUR", lambda b: (b.number, f"{b.first:%d.%m.%Y}", f"{b.last:%d.%m.%Y}", 18000,
        18000 + b.used, b.used, de(b.charge), de(b.fixed), de(b.net), de(b.tax), de(b.paid))),
    "electric-history.xlsx": (1, 0, "Billing History\nBill Month|Days|kWh|Avg kWh/Day|Previous"
        " Balance|Payments|Current Charges|Amount Due", lambda b: (f"{b.first:%b %Y}", 30, b.used,
        round(b.used / 30, 1), 88.2, -80.0, b.paid, round(b.paid + 8.2, 2))),
    "électricité.csv": (1, 0.2, "Mois|Date de facture|Heures creuses (kWh)|Heures pleines (kWh)"
        "|Consommation totale (kWh)|Abonnement|Montant HT|TVA|Montant TTC (€)", lambda b:
        (f"{b.first:%m/%Y}", f"{b.last + 4 * DAY:%d/%m/%Y}", b.night, b.used - b.night, b.used,
         de(b.fixed), de(b.net), de(b.tax), de(b.paid))),
    "luz.xlsx": (1, 0.21, "Factura|Fecha emisión|Fecha inicio|Fecha fin|Energía (kWh)|Potencia (€)"
        "|Energía (€)|IVA (€)|Importe total (€)", lambda b: (f"L{b.number}", b.last + 3 * DAY,
        b.first, b.last, b.used, b.fixed, b.charge, b.tax, b.paid)),
    "elektriciteit.csv": (1, 0, "Periode|Verbruik normaal (kWh)|Verbruik dal (kWh)|Injectie (kWh)"
        "|Totaal (€)", lambda b: (f"{NL_MONTHS[b.first.month - 1]} {b.first.year}",
        b.used - b.night, b.night, 40, f"€ {de(b.paid)}")),
    "bollette acqua.xlsx": (3, 0.1, "Utenza 55\nNumero fattura|Data fattura|Periodo||Consumo|Quota"
        " fissa|Quota variabile|IVA 10%|Importo totale\n||dal|al|mc|€|€|€|€", lambda b:
        (b.number, b.last + 12 * DAY, b.first, b.last, b.used, b.fixed, b.charge, b.tax, b.paid)),
    "power bills.txt": (1, 0.07, "Service Period|Usage (kWh)|Electric Charges|Customer Charge|Taxes"
        " & Fees|Bill Amount", lambda b: (f"{b.first:%m/%d/%Y} - {b.last:%m/%d/%Y}", b.used,
        f"${us(b.charge)}", f"${us(b.fixed)}", f"${us(b.tax)}", f"${us(b.paid)}")),
    "wasserversorgung.csv": (6, 0, "Rechnungs-Nr.|Belegart|Rechnungsdatum|Periode von|Periode bis"
        "|Bezug m3|Grundgebühr CHF|Verbrauchsgebühr CHF|Total CHF inkl. MWST", lambda b:
        (b.number, "Rechnung", f"{b.last + 15 * DAY:%d.%m.%y}", f"{b.first:%d.%m.%y}",
         f"{b.last:%d.%m.%y}", ch(b.used)[:-3], ch(b.fixed), ch(b.charge), ch(b.paid))),
    "business water.csv": (6, 0, "Period|Water used m³|Water charge|Standing charge|Balance brought"
        " forward|Bill total", lambda b: (f"{b.first.day} {b.first:%b %Y} to {b.last.day}"
        f" {b.last:%b %Y}", b.used, f"£{us(b.charge)}", f"£{b.fixed}", "£0.00",
        f"£{us(b.paid)}")),
    "rural water.csv": (1, 0, "Acct|Read Dt|Prior Rd|Pres Rd|Cons (100 gal)|Wtr Amt|Misc|Tot Amt"
        " Due|Pymt Dt", lambda b: ("44-1", f"{b.last:%m/%d/%Y}", 1000, 1000 + b.used, b.used * 10,
        us(b.charge), us(b.fixed), us(b.paid), f"{b.last + 20 * DAY:%m/%d/%Y}")),
    "electricidad.xlsx": (1, 0.27, "Mes facturado|Consumo punta kWh|Consumo valle kWh|Término fijo"
        "|Término variable|Impuestos|Total a pagar", lambda b: (b.first, b.used - b.night, b.night,
        b.fixed, b.charge, b.tax, b.paid)),
    "factures energie.xlsx": (3, 0.2, "Facture n°|Date|Période de consommation|kWh facturés|Montant"
        " HT (EUR)|TVA (EUR)|Montant TTC (EUR)", lambda b: (b.number, b.last + 6 * DAY,
        f"du {b.first:%d/%m/%Y} au {b.last:%d/%m/%Y}", b.used, b.net, b.tax, b.paid)),
}  # fmt: skip


@dataclass
class Bought:
    day: dt.date
    order: int
    item: str
    count: int
    price: float
    rate: float
    delivery: float  # of the order, on its first line
    status: int = 0  # 1: cancelled, 2: in part

    @property
    def net(self) -> float:
        return round(self.count * self.price, 2)

    @property
    def tax(self) -> float:
        return round(self.net * self.rate, 2)


def orders(rate: float, *, seed: int, lines: int = 2) -> Iterator[Bought]:
    chance = random.Random(seed)
    goods = [("Drip tape 16 mm", 38.9), ("Filter 120 mesh", 18.75), ("Timer 9 V", 74.5)]
    for order in range(14):
        day = dt.date(2023, 2, 3) + order * 76 * DAY
        for i, (item, price) in enumerate(chance.sample(goods, lines)):
            yield Bought(day, order, item, chance.randrange(1, 12), price, rate,
                         9.95 if i == 0 and order % 3 else 0.0,
                         {5: 1, 8: 2}.get(order, 0))  # fmt: skip


Sold = Callable[[Bought], Sequence[Any]]
SHOPS: dict[str, tuple[float, int, str, Sold]] = {  # rate of tax, lines an order, headings, cells
    "gartenshop.xlsx": (0, 2, "Bestellnr.|Bestelldatum|Artikelnr.|Artikelbezeichnung|Menge|VE"
        "|Einzelpreis|Gesamtpreis|Versandkosten|Status", lambda x: (f"B{x.order}", x.day, "T-16",
        x.item, x.count, "Rolle", x.price, x.net, x.delivery or None,
        ("geliefert", "storniert", "Teilstorno")[x.status])),
    "supply_orders.csv": (0.06, 2, "Order Date|Order #|Status|Description|Qty|Unit Price|Extended"
        "|Shipping|Sales Tax", lambda x: (f"{x.day:%m/%d/%y}", f"1{x.order}", ("Complete",
        "Cancelled", "Partially Cancelled")[x.status], x.item, x.count, f"${x.price:.2f}",
        f"${us(x.net)}", f"${x.delivery:.2f}", f"${x.tax:.2f}")),
    "commandes.csv": (0.2, 2, "Commande|Date commande|Désignation|Qté|P.U. HT|Montant HT|Taux TVA"
        "|Montant TVA|Montant TTC|Frais de port TTC|Statut", lambda x: (f"C-{x.order}",
        f"{x.day:%d/%m/%Y}", x.item, x.count, de(x.price), de(x.net), "20 %", de(x.tax),
        de(x.net + x.tax), de(x.delivery), ("Expédiée", "Annulée", "")[x.status])),
    "hose shop.csv": (0.2, 1, "Order no|Order date|Product|Quantity|Price each|Goods total|Postage"
        "|VAT|Order value|State", lambda x: (f"W{x.order}", f"{x.day:%d/%m/%Y}", x.item, x.count,
        us(x.price), us(x.net), us(x.delivery), us(x.tax), us(x.net + x.tax + x.delivery),
        ("Sent", "Cancelled", "")[x.status])),
    "webwinkel.xlsx": (0, 2, "Bestelnummer|Besteldatum|Omschrijving|Aantal|Stukprijs|Totaalprijs"
        "|Verzendkosten|Bestelstatus", lambda x: (f"2{x.order:04}", x.day, x.item, x.count, x.price,
        x.net, x.delivery or None, ("Verzonden", "Geannuleerd", "")[x.status])),
    "tienda.csv": (0.21, 1, "Albarán|Fecha albarán|Concepto|Cant.|Precio ud.|Base imponible|IVA 21%"
        "|Total con IVA|Portes|Estado", lambda x: (f"A{x.order}", f"{x.day:%d/%m/%Y}", x.item,
        x.count, de(x.price), de(x.net), de(x.tax), de(x.net + x.tax), de(x.delivery),
        ("Enviado", "Anulado", "")[x.status])),
}  # fmt: skip


def write(path: Path, lines: Sequence[Sequence[Any]]) -> Path:
    if path.suffix == ".xlsx":
        book = openpyxl.Workbook()
        for line in lines:
            book.active.append([None if cell == "" else cell for cell in line])
        book.save(path)
        return path
    out = io.StringIO()
    csv.writer(out, delimiter="\t" if path.suffix == ".txt" else ";").writerows(lines)
    latin = "€" not in out.getvalue()
    path.write_bytes(out.getvalue().encode("latin-1" if latin else "utf-8-sig"))
    return path


def by_year(rows: Sequence[tuple[dt.date, float, float]]) -> dict[int, tuple[float, float]]:
    table = pd.DataFrame(rows, columns=["day", "paid", "count"])
    sums = table.groupby(pd.to_datetime(table.day).dt.year)[["paid", "count"]].sum()
    return {year: (round(row.paid, 2), round(row["count"], 3)) for year, row in sums.iterrows()}


def read(path: Path, unit: float = 1) -> dict[int, tuple[float, float]]:
    """By year, with no option and no question."""
    entries = import_ledger(path, "us" if unit != 1 else "metric").entries
    assert all(entry["counted"] for entry in entries)
    return by_year([(e["date"], e["amount"], e["quantity"] or 0) for e in entries])


@pytest.mark.parametrize("file", UTILITIES)
def test_a_utility_is_read_without_an_option(tmp_path: Path, file: str) -> None:
    months, rate, headings, cells = UTILITIES[file]
    made = bills(months, rate, seed=len(file))
    path = write(tmp_path / file, [*heads(headings), *map(cells, made)])
    found = read(path, 0.1 if "gal" in headings else 1)
    true = by_year([(bill.last, bill.paid, bill.used) for bill in made])
    assert found == {year: pytest.approx(sums, abs=0.005) for year, sums in true.items()}


@pytest.mark.parametrize("file", SHOPS)
def test_a_shop_is_read_without_an_option(tmp_path: Path, file: str) -> None:
    rate, lines, headings, cells = SHOPS[file]
    made = [*orders(rate, seed=len(file), lines=lines)]
    path = write(tmp_path / file, [*heads(headings), *map(cells, made)])
    true = by_year([(x.day, x.net + x.tax + x.delivery, x.count) for x in made if x.status != 1])
    assert read(path) == {year: pytest.approx(sums, abs=0.005) for year, sums in true.items()}


@pytest.mark.parametrize("file", [name for name, made in UTILITIES.items()
                                  if made[1] and "Impuestos" not in made[2]])  # fmt: skip
def test_the_tax_that_a_utility_states_is_the_ledgers(tmp_path: Path, file: str) -> None:
    months, rate, headings, cells = UTILITIES[file]
    made = bills(months, rate, seed=len(file))
    entries = import_ledger(write(tmp_path / file, [*heads(headings), *map(cells, made)])).entries
    assert sum(entry["tax"] or 0 for entry in entries) == pytest.approx(sum(b.tax for b in made))


def test_a_longer_export_under_another_name_brings_in_what_is_new(tmp_path: Path) -> None:
    _, lines, headings, cells = SHOPS["webwinkel.xlsx"]
    made = [*orders(0, seed=3, lines=lines)]
    first = write(tmp_path / "orders.csv", [*heads(headings), *map(cells, made[:20])])
    ledger = import_ledger(first, "metric").entries
    longer = write(tmp_path / "orders_new.csv", [*heads(headings), *map(cells, made)])
    result = import_ledger(longer, "metric", existing=ledger)
    true = sum(x.net + x.delivery for x in made if x.status != 1)
    assert sum(e["amount"] for e in [*ledger, *result.entries]) == pytest.approx(true)
    assert {entry["kind"] for entry in result.entries} == {"material"}


def test_a_statement_of_account_with_pages_and_payments(tmp_path: Path) -> None:
    head = ["Date", "Type", "Num", "Item", "Qty", "Rate", "Amount", "Balance"]
    lines: list[list[Any]] = [["Farm supply"], head]
    rows, balance = [], 0.0
    for i, x in enumerate(orders(0, seed=4, lines=1)):
        if i == 7:
            lines += [["Carried forward", *[""] * 6, us(balance)], ["Page 2 of 2"], head,
                      ["Brought forward", *[""] * 6, us(balance)]]  # fmt: skip
        if i % 5 == 4:
            paid = ["Payment", f"CHK{i}", "", "", "", us(-balance), "0.00"]
            lines.append([f"{x.day:%m/%d/%Y}", *paid])
            balance = 0
        balance += x.net
        lines.append([f"{x.day:%m/%d/%Y}", "Invoice", 100 + i, x.item, x.count, x.price, us(x.net),
                      us(balance)])  # fmt: skip
        rows.append((x.day, x.net, x.count))
    assert read(write(tmp_path / "account.csv", lines)) == by_year(rows)
