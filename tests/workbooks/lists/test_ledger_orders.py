"""Exports of shops: which day counts, orders whose sums stand on their lines, what is taken off.
Sums by hand."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest

from xlfuncs.tables.header_words import words_of
from xlfuncs.workbooks.lists.ledger.importing import LedgerImport, import_ledger
from xlfuncs.workbooks.lists.ledger.lines import Entry
from xlfuncs.workbooks.lists.mapping import ListMapping
from xlfuncs.workbooks.lists.numbers import UnsettledError


def read(folder: Path, text: str, known: Sequence[Entry] = (), **said: Any) -> LedgerImport:
    path = folder / "orders.csv"
    path.write_text(text, encoding="utf-8")
    return import_ledger(path, "metric", ListMapping(**said), known)


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


@pytest.mark.parametrize("count", ["-1", "1", ""])
def test_a_voucher_is_spread_whatever_its_quantity(tmp_path: Path, count: str) -> None:
    rows = "Order,Date,Item,Qty,Category,Total\nB1,2025-02-21,Tape,2,tape rolls,75.00\n"
    rows += f"B1,2025-02-21,Tee,10,fittings,25.00\nB1,2025-02-21,Voucher,{count},,-20.00\n"
    lone = f"V2,2025-03-01,Voucher,{count},,-5.00\n"
    whole = [("tape rolls", 2, 60.00), ("fittings", 10, 20.00), ("discount", None, -5.00)]
    result = read(tmp_path, rows + lone)
    assert [(e["kind"], e["quantity"], e["amount"]) for e in result.entries] == whole


def test_words_of_an_article_stand_for_a_kind_where_no_column_says_it(tmp_path: Path) -> None:
    rows = "Order,Date,Item,Qty,Unit,Total\nB1,2025-02-21,Dripper line 16 mm,20,m,75.00\n"
    rows += "B1,2025-02-21,Tee 16 mm,10,pc,25.00\nB1,2025-02-21,Rake,1,sack,9.00\n"
    rows += "B1,2025-02-21,Valve for dripper line,2,pc,5.00\n"
    said = {"dripper line": "drip line", "Tee": "fittings", "sack": "pieces", "Rake": "pieces"}
    result = read(tmp_path, rows, words=said)
    assert [(e["kind"], e["quantity"], e["unit"]) for e in result.entries] == [
        ("drip line", 20, "m"), ("fittings", 10, ""), ("material", 1, ""),
        ("material", 2, "")]  # fmt: skip


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


# Order 7: 20.00 + 4.00 with 6.00 of delivery, 2.00 off and 5.60 of tax is 33.60; order 8: 15.00
# with 3.00 of tax. By 20 of 24: 33.60 is 28.00 and 5.60, its tax 4.67 and 0.93.
ORDERS = (
    ("Order ID,Order Date,Item Name,Item Qty,Item Subtotal,Order Shipping,Order Discount,Order Tax,"
     "Order Total",
     "7,2024-04-20,Tape,10,20.00,6.00,-2.00,5.60,33.60\n"
     "7,2024-04-20,Stake,4,4.00,6.00,-2.00,5.60,33.60\n8,2024-05-03,Tee,5,10.00,0,0,3.00,18.00\n"
     "8,2024-05-03,Cap,5,5.00,0,0,3.00,18.00\n"),
    ("Invoice,Date,Part,Qty Ord,Qty Shp,Extended,Shipping,Discount,Tax,Invoice Total",
     "7,2024-04-20,TAPE ROLL,11,10,20.00,6.00,2.00,5.60,33.60\n7,,STAKES,4,4,4.00,,,,\n"
     "8,2024-05-03,TEE 16 MM,5,5,10.00,,,3.00,18.00\n8,,CAP 16 MM,5,5,5.00,,,,\n"),
    ("Name,Paid at,Subtotal,Shipping,Taxes,Total,Discount Amount,Lineitem quantity,Lineitem name,"
     "Lineitem price",
     "#7,2024-04-20,22.00,6.00,5.60,33.60,2.00,10,Drip tape,2.00\n#7,,,,,,,4,Small stake,1.00\n"
     "#8,2024-05-03,15.00,0.00,3.00,18.00,0.00,5,Barbed tee,2.00\n#8,,,,,,,5,End cap,1.00\n"),
    ("Order,Date,Item,Qty,Line Total,Shipping,Discount,Tax,Order Total",
     "7,2024-04-20,Tape,10,20.00,6.00,-2.00,5.60,33.60\n"
     "7,2024-04-20,Stake,4,4.00,6.00,-2.00,5.60,33.60\n8,2024-05-03,Tee,5,10.00,0,0,3.00,18.00\n"
     "8,2024-05-03,Cap,5,5.00,0,0,3.00,18.00\n"),
)  # fmt: skip


@pytest.mark.parametrize(("heads", "lines"), ORDERS)
def test_what_an_order_comes_to_is_shared_over_its_lines(
    tmp_path: Path, heads: str, lines: str
) -> None:
    result = read(tmp_path, f"{heads}\n{lines}")
    assert [e["quantity"] for e in result.entries] == [10, 4, 5, 5]
    assert paid(result) == [(28.00, 4.67), (5.60, 0.93), (12.00, 2.00), (6.00, 1.00)]
    assert {str(entry["date"]) for entry in result.entries} == {"2024-04-20", "2024-05-03"}
    assert any("of whole orders, shared over their lines" in words for words in result.noted)
    assert not any("not added" in words or "not taken:" in words for words in result.noted)


def test_an_order_that_its_lines_do_not_make_is_named(tmp_path: Path) -> None:
    lines = "".join(f"{n},2024-04-0{n},Tape,1,10.00,13.00\n{n},2024-04-0{n},Tee,1,3.00,13.00\n"
                    for n in range(1, 10))  # fmt: skip
    result = read(tmp_path, f"Order,Date,Item,Qty,Net item,Order Total\n{lines}"
                  "10,2024-05-03,Tee,1,10.00,14.50\n10,2024-05-03,Cap,1,3.00,14.50\n")  # fmt: skip
    assert sum(amount for amount, _ in paid(result)) == pytest.approx(9 * 13 + 14.50)
    assert any("they do not make it on line 20" in words for words in result.noted)


def test_a_sum_on_each_line_counts_once_though_nothing_makes_it(tmp_path: Path) -> None:
    result = read(tmp_path, "Order,Date,Item,Qty,Goods,Order Total\n"
        "7,2024-04-20,Tape,10,20.00,31.00\n7,2024-04-20,Stake,4,5.00,31.00\n"
        "8,2024-05-03,Tee,5,10.00,13.10\n8,2024-05-03,Cap,5,2.00,13.10\n")  # fmt: skip
    assert [amount for amount, _ in paid(result)] == [24.80, 6.20, 10.92, 2.18]
    assert any("though these do not make it" in words for words in result.noted)


def test_equal_lines_of_one_order_are_no_sum_of_it(tmp_path: Path) -> None:
    result = read(tmp_path, "Order,Date,Item,Qty,Total\n7,2024-04-20,Tape,1,20.00\n"
        "7,2024-04-20,Stake,4,20.00\n8,2024-05-03,Tee,5,10.00\n8,2024-05-03,Cap,5,9.00\n",
    )  # fmt: skip
    assert [amount for amount, _ in paid(result)] == [20.00, 20.00, 10.00, 9.00]


@pytest.mark.parametrize("heads", [
    "Qty Ordered,Qty Shipped,Qty B/O", "Bestellmenge,Liefermenge geliefert,Rückstand",
    "Quantité commandée,Quantité livrée,Stock", "Aantal besteld,Aantal geleverd,Backorder",
])  # fmt: skip
def test_what_came_counts_rather_than_what_was_ordered(tmp_path: Path, heads: str) -> None:
    result = read(tmp_path, f"Date,Item,{heads},Total\n2024-04-20,Tape,12,10,2,20.00\n"
        "2024-05-03,Stake,40,40,0,8.00\n")  # fmt: skip
    assert [entry["quantity"] for entry in result.entries] == [10, 40]


@pytest.mark.parametrize("heading", ["Uds.", "Stk", "Item Qty", "Lineitem quantity", "Q.tà"])
def test_how_many_by_any_of_its_names(tmp_path: Path, heading: str) -> None:
    result = read(tmp_path, f"Date;Item;{heading};Total\n2024-04-20;Tape;10;20.00\n")
    assert result.entries[0]["quantity"] == 10


@pytest.mark.parametrize("heading", [
    "Gutschein", "Voucher", "Coupon", "Remise", "Korting", "Descuento", "Sconto", "Promotion",
])  # fmt: skip
def test_what_is_taken_off_an_order_in_a_column(tmp_path: Path, heading: str) -> None:
    result = read(tmp_path, f"Order,Date,Item,Qty,Price,Line total,{heading}\n"
        "7,2024-04-20,Tape,10,1.50,15.00,-5.00\n7,2024-04-20,Stake,5,1.00,5.00,\n"
        "8,2024-05-03,Tee,4,2.00,8.00,\n8,2024-05-03,Cap,2,1.00,2.00,\n")  # fmt: skip
    assert [amount for amount, _ in paid(result)] == [11.25, 3.75, 8.00, 2.00]
    assert f"{heading!r}, -5.00 in all, is spread over its orders' lines" in result.noted


@pytest.mark.parametrize("lines", [
    "Qty,Price,Discount,Line total\n7,2024-04-20,Tape,10,1.50,5.00,10.00\n"
    "7,2024-04-20,Stake,5,1.00,,5.00\n8,2024-05-03,Tee,4,2.00,,8.00\n",
    "Qty,Price,Discount,Net,VAT,Total\n7,2024-04-20,Tape,10,1.50,-5.00,10.00,2.00,12.00\n"
    "7,2024-04-20,Stake,5,1.00,,5.00,1.00,6.00\n8,2024-05-03,Tee,4,2.00,,8.00,1.60,9.60\n",
    "Qty,Price,Discount,Line total\n7,2024-04-20,Tape,10,1.50,20,12.00\n"
    "7,2024-04-20,Stake,5,1.00,0,5.00\n8,2024-05-03,Tee,4,2.00,10,7.20\n",
])  # fmt: skip
def test_what_is_in_the_amounts_is_not_taken_off_again(tmp_path: Path, lines: str) -> None:
    result = read(tmp_path, f"Order,Date,Item,{lines}")
    amounts = [float(line.rpartition(",")[2]) for line in lines.splitlines()[1:]]
    assert [amount for amount, _ in paid(result)] == amounts
    taken = [words for words in result.noted if not words.startswith("headings not used")]
    assert not any("Discount" in words for words in taken)


def test_debit_less_credit_is_what_was_paid(tmp_path: Path) -> None:
    for heads in ("Debit,Credit,Balance", "Soll,Haben,Saldo", "Debe,Haber,Saldo"):
        result = read(tmp_path, f"Posted,Type,Ref,Memo,{heads}\n"
            "2024-04-13,Invoice,61,Hose clamps,10.50,,10.50\n"
            "2024-04-13,Invoice,61,Drip tape,10.80,,21.30\n"
            "2024-05-08,Payment,K4,Check,,21.30,0.00\n"
            "2024-06-06,Credit memo,66,Broken clamps,,1.24,-1.24\n", columns={"date": "Posted"},
        )  # fmt: skip
        assert [entry["amount"] for entry in result.entries] == [10.50, 10.80, -1.24]
        assert [line.reason for line in result.refused] == ["is a payment of bills, no bill"]


def test_headings_written_together_and_numbers_of_papers(tmp_path: Path) -> None:
    result = read(tmp_path, "InvoiceDate,InvoiceNumber,Description,Quantity,UnitAmount,LineAmount,"
        "TaxType,TaxAmount\n2023-03-02,INV-220,Hose clamp 20 mm,20,0.45,9.00,GST,0.90\n"
        "2023-03-02,INV-220,Regulator 15 psi,1,18.50,18.50,GST,1.85\n")  # fmt: skip
    assert paid(result) == [(9.90, 0.90), (20.35, 1.85)]
    assert {entry["reference"] for entry in result.entries} == {"INV-220"}
    with pytest.raises(UnsettledError) as asked:
        read(tmp_path, "Day,Paper,Thing,Sum one,Sum two\n2023-03-02,INV-220,Clamp A,9.00,8.10\n"
             "2023-03-05,INV-221,Clamp B,7.00,6.30\n")  # fmt: skip
    assert not any("Paper" in q.choices for q in asked.value.questions if q.key[-1] == "amount")


def test_headings_in_two_languages(tmp_path: Path) -> None:
    result = read(tmp_path, "Date,Item / Article,Qty / Qté,Price / Unit,Total\n"
        "2023-03-02,Clamp,20,0.45,9.00\n")  # fmt: skip
    assert [(e["item"], e["quantity"], e["unit"]) for e in result.entries] == [("Clamp", 20, "")]


@pytest.mark.parametrize(("heads", "unit", "article", "read_as"), [
    ("Un.", "m", "Tape 16 mm", "m"), ("", "m", "Tape 16 mm", "m"),
    ("Pack", "per metre", "Tape 16 mm", "metre"), ("Einh.", "lfm", "Tropfrohr 16 mm", "lfm"),
    ("SKU", "D1", "Drip line 16 mm (per m)", "m"), ("SKU", "D1", "Tuyau 20 mm (au mètre)", "metre"),
    ("SKU", "D1", "Druppelslang 16 mm (je m)", "m"), ("SKU", "D1", "Tape, per ft", "ft"),
    ("SKU", "D1", "Drip line 4 emitters per m", ""), ("SKU", "D1", "Drip line - 50 m roll", ""),
    ("SKU", "D1", "Hose clamp 20 mm", ""),
])  # fmt: skip
def test_what_is_sold_by_length_is_no_piece(
    tmp_path: Path, heads: str, unit: str, article: str, read_as: str
) -> None:
    other = "each" if unit != "D1" else "D2"
    result = read(tmp_path, f'Date;Item;Qty;{heads};Total\n2023-03-02;"{article}";50;{unit};30.00\n'
        f"2023-03-09;Elbow 16 mm;4;{other};5.00\n")  # fmt: skip
    assert [entry["unit"] for entry in result.entries] == [read_as, ""]


@pytest.mark.parametrize("words", [
    "Carriage", "Livraison", "Frais de port", "Delivery", "Verzending", "Versand", "Porto",
    "Spese di spedizione", "Gastos de envío", "Vracht", "Lieferung",
])  # fmt: skip
@pytest.mark.parametrize("number", ["No commande", "Ordernr", "Tax invoice", "Number"])
def test_delivery_of_an_order_is_no_piece(tmp_path: Path, words: str, number: str) -> None:
    result = read(tmp_path, f"Our shop\n{number},Date,Item,Qty,Total\nC-1,2023-03-02,Tape,4,30.00\n"
        f"C-1,2023-03-02,{words},1,6.00\nC-2,2023-03-09,Tee,4,5.00\n")  # fmt: skip
    assert [(e["quantity"], e["amount"]) for e in result.entries] == [(4, 36.00), (4, 5.00)]


def test_a_tax_as_a_line_is_tax(tmp_path: Path) -> None:
    result = read(tmp_path, "Order,Date,Item,Qty,Total\n7,2023-03-02,Tape,4,30.00\n"
        "7,2023-03-02,Tee,4,10.00\n7,2023-03-02,Sales tax 5%,1,2.00\n")  # fmt: skip
    assert paid(result) == [(31.50, 1.50), (10.50, 0.50)]
    result = read(tmp_path, "Bill Date,Service Period,Charge,Units (HCF),Amount\n"
        "2023-03-02,2023-01-01 - 2023-02-28,Water use,4,30.00\n"
        "2023-03-02,2023-01-01 - 2023-02-28,Utility users tax 5%,,1.50\n",
        values={"kind": "water"})  # fmt: skip
    assert paid(result) == [(30.00, None), (1.50, 1.50)]


@pytest.mark.parametrize("article", ["Steuergerät 8 Stationen", "Steuerkabel", "Steuerventil"])
def test_what_controls_water_is_no_tax(tmp_path: Path, article: str) -> None:
    text = f"Beleg;Datum;Artikel;Menge;Gesamtpreis\nL1;29.12.2023;{article};1;189,00\n"
    entries = read(tmp_path, text + "L1;29.12.2023;Regner;12;178,80\n").entries
    assert [(e["item"], e["amount"]) for e in entries] == [(article, 189.0), ("Regner", 178.8)]


def test_codes_of_papers_are_no_kinds(tmp_path: Path) -> None:
    result = read(tmp_path, "Date,Type,Number,Item,Qty,Total\n2023-03-02,INV,300,Timer,1,77.50\n"
                  "2023-03-09,CN,900,Timer,-1,-77.50\n")  # fmt: skip
    assert {entry["kind"] for entry in result.entries} == {"material"}


# 20.00 and 4.00 with 18 % of tax on each line are 28.32; an invoice of whole rupees is 28.00.
@pytest.mark.parametrize(("heads", "lines", "sums"), [
    ("Invoice No,Invoice Date,Item,Qty,UQC,Taxable Value,CGST,SGST,Round Off,Invoice Value",
     "7,2024-04-20,Tape,10,MTR,20.00,1.80,1.80,-0.32,28.00\n"
     "7,2024-04-20,Stake,4,NOS,4.00,0.36,0.36,-0.32,28.00\n"
     "8,2024-05-03,Tee,5,NOS,10.00,0.90,0.90,0.10,17.80\n"
     "8,2024-05-03,Cap,5,NOS,5.00,0.45,0.45,0.10,17.80\n",
     [(23.33, 3.60), (4.67, 0.72), (11.87, 1.80), (5.93, 0.90)]),
    ("Bestellnr.,Bestellt am,Artikelbezeichnung,Stk.,Einheit,Summe,Gutschein,Versand,davon MwSt.,"
     "Bestellsumme",
     "7,2024-04-20,Rohr,10,m,20.00,-4.00,4.00,4.00,24.00\n"
     "7,2024-04-20,Bogen,4,Stk,4.00,-4.00,4.00,4.00,24.00\n"
     "8,2024-05-03,Kappe,5,Stk,10.00,0.00,3.00,3.00,18.00\n"
     "8,2024-05-03,Winkel,5,Stk,5.00,0.00,3.00,3.00,18.00\n",
     [(20.00, 3.33), (4.00, 0.67), (12.00, 2.00), (6.00, 1.00)]),
    ("OrderNumber,OrderDate,ProductName,QtyOrdered,QtySupplied,LineTotalExGst,GstAmount,"
     "OrderTotalInclGst",
     "7,2024-04-20,Tape,11,10,20.00,3.60,27.60\n7,2024-04-20,Stake,4,4,4.00,3.60,27.60\n"
     "8,2024-05-03,Tee,5,5,10.00,2.25,17.25\n8,2024-05-03,Cap,5,5,5.00,2.25,17.25\n",
     [(23.00, 3.00), (4.60, 0.60), (11.50, 1.50), (5.75, 0.75)]),
])  # fmt: skip
def test_orders_of_other_regions(
    tmp_path: Path, heads: str, lines: str, sums: list[tuple[float, float]]
) -> None:
    columns = {"amount": "LineTotalExGst"} if "Gst" in heads else {}  # the first choice offered
    result = read(tmp_path, f"{heads}\n{lines}", columns=columns)
    assert paid(result) == sums
    assert [e["quantity"] for e in result.entries] == [10, 4, 5, 5]


def test_a_shop_that_sells_all_by_length_is_read(tmp_path: Path) -> None:
    result = read(tmp_path, "Date,Item,Qty,Unit,Total\n2023-03-02,Tape,50,m,30.00\n"
                  "2023-03-09,Tube,20,lfm,25.00\n")  # fmt: skip
    assert [(e["kind"], e["quantity"], e["unit"]) for e in result.entries] == [
        ("material", 50, "m"), ("material", 20, "lfm")]  # fmt: skip


@pytest.mark.parametrize("text", [
    "Nr zamówienia;Data sprzedaży;Nazwa towaru;Ilość;J.m.;Wartość netto;Kwota VAT;Wartość brutto\n"
    "7;2023-03-08;Linia kroplująca;400;m;740,00;170,20;910,20\n"
    "7;2023-03-08;Dostawa kurierem;1;usł.;24,39;5,61;30,00\n"
    "7;2023-03-08;Rabat stały;1;szt.;-25,00;-5,75;-30,75\n",
    "Nº encomenda;Data da fatura;Designação;Quantidade;Un.;Valor sem IVA;IVA;Valor com IVA\n"
    "7;2023-03-08;Fita de rega;400;m;740,00;170,20;910,20\n"
    "7;2023-03-08;Portes;1;un;24,39;5,61;30,00\n"
    "7;2023-03-08;Desconto;1;un;-25,00;-5,75;-30,75\n",
    "Ordrenr;Ordredato;Leveringsdato;Vare;Antal;Enhed;Beløb ekskl. moms;Moms;Beløb inkl. moms\n"
    "7;2023-03-05;2023-03-08;Drypslange;400;m;740,00;170,20;910,20\n"
    "7;2023-03-05;2023-03-08;Fragt;1;stk;24,39;5,61;30,00\n"
    "7;2023-03-05;2023-03-08;Rabat;1;stk;-25,00;-5,75;-30,75\n",
    "Ordernr;Orderdatum;Leveransdatum;Vara;Antal;Enhet;Belopp exkl. moms;Moms;Belopp inkl. moms\n"
    "7;2023-03-05;2023-03-08;Droppslang;400;m;740,00;170,20;910,20\n"
    "7;2023-03-05;2023-03-08;Frakt;1;st;24,39;5,61;30,00\n"
    "7;2023-03-05;2023-03-08;Rabatt;1;st;-25,00;-5,75;-30,75\n",
    "Ordrenr;Ordredato;Leveringsdato;Varenavn;Antall;Enhet;Beløp eks. mva;Mva;Beløp inkl. mva\n"
    "7;2023-03-05;2023-03-08;Dryppslange;400;m;740,00;170,20;910,20\n"
    "7;2023-03-05;2023-03-08;Frakt;1;stk;24,39;5,61;30,00\n"
    "7;2023-03-05;2023-03-08;Rabatt;1;stk;-25,00;-5,75;-30,75\n",
])  # fmt: skip
def test_shops_in_other_languages(tmp_path: Path, text: str) -> None:
    result = read(tmp_path, text)
    entries = [(str(e["date"]), e["quantity"], e["unit"], e["reference"]) for e in result.entries]
    assert entries == [("2023-03-08", 400, "m", "7")]
    assert paid(result) == [(909.45, 170.06)]


def test_a_polish_water_bill(tmp_path: Path) -> None:
    result = read(tmp_path, "Nr faktury;Data wystawienia;Okres rozliczeniowy od;"
        "Okres rozliczeniowy do;Nr wodomierza;Zużycie [m3];Wartość netto;Kwota VAT;"
        "Do zapłaty brutto\n"
        "FV/1/2023;20.01.2023;16.11.2022;15.01.2023;WM-7;22;126,44;10,12;136,56\n"
        "FV/2/2023;20.03.2023;16.01.2023;15.03.2023;WM-7;18;107,96;8,64;116,60\n",
        values={"kind": "water"})  # fmt: skip
    assert [(str(e["date"]), e["quantity"], e["amount"], e["tax"]) for e in result.entries] == [
        ("2023-01-15", 22, 136.56, 10.12), ("2023-03-15", 18, 116.60, 8.64)]  # fmt: skip


def test_what_is_said_to_be_paid_back_is_told(tmp_path: Path) -> None:
    result = read(tmp_path, "Ordernr;Datum;Product;Aantal;Subtotaal;Status\n"
        "7;12-03-2023;Tape;4;24,00;Voltooid\n8;13-03-2023;Klem;2;3,00;Terugbetaald\n")  # fmt: skip
    assert "said to be paid back, counted as they stand: line 3" in result.noted


@pytest.mark.parametrize(
    ("heading", "words"),
    [
        ("Document type", ("Invoice", "Invoice", "Credit note")),
        ("Tipo documento", ("Fattura", "Fattura", "Nota di credito")),
        ("Tipo documento", ("TD01", "TD01", "TD04")),
        ("Belegart", ("Rechnung", "Rechnung", "Gutschrift")),
        ("S/H", ("S", "S", "H")),
    ],
)
def test_a_credit_note_is_taken_off_though_its_amount_has_no_sign(
    heading: str, words: tuple[str, ...], tmp_path: Path
) -> None:
    rows = zip(words, ("2025-02-03", "2025-03-04", "2025-04-05"), (80.5, 20.25, 30.0), strict=True)
    text = f"{heading},Date,Item,Quantity,Total\n"
    text += "".join(f"{word},{day},valve,2,{total}\n" for word, day, total in rows)
    (tmp_path / "shop.csv").write_text(text)
    found = import_ledger(tmp_path / "shop.csv", "us", ListMapping(values={"kind": "material"}))
    assert [entry["amount"] for entry in found.entries] == [80.5, 20.25, -30.0]
    assert found.entries[-1]["quantity"] == -2
    assert any("credit notes by" in words and "taken off: 1" in words for words in found.noted)


def test_a_credit_note_is_a_paper() -> None:
    assert words_of("credit note") <= words_of("paper")


def test_a_credit_note_with_a_sign_is_as_it_was(tmp_path: Path) -> None:
    text = "Document type,Date,Item,Quantity,Total\nInvoice,2025-02-03,valve,2,80.5\n"
    (tmp_path / "shop.csv").write_text(text + "Credit note,2025-03-04,valve,-1,-40.25\n")
    found = import_ledger(tmp_path / "shop.csv", "us", ListMapping(values={"kind": "material"}))
    assert [entry["amount"] for entry in found.entries] == [80.5, -40.25]
    assert not any("credit notes by" in words for words in found.noted)


@pytest.mark.parametrize("total", ["Prezzo totale", "Importo IVA incl.", "Importo IVA compresa"])
def test_the_number_of_a_line_is_no_sum_of_money(tmp_path: Path, total: str) -> None:
    result = read(tmp_path, f"Nr. documento;Data;Riga;Descrizione;Q.tà;Prezzo unit.;{total}\n"
        "D-1;02/03/2024;1;Ala gocciolante;4;20,00;€ 80,00\n"
        "D-1;02/03/2024;2;Valvola;2;6,20;€ 12,40\n"
        "D-2;22/03/2024;1;Ala gocciolante;1;20,00;€ 20,00\n")  # fmt: skip
    assert [(e["reference"], e["amount"]) for e in result.entries] == [
        ("D-1", 80.00), ("D-1", 12.40), ("D-2", 20.00)]  # fmt: skip


def test_a_kind_corrected_in_the_ledger_keeps_what_its_article_is_sold_by(tmp_path: Path) -> None:
    """A roll is no length: the next one is counted as the ledger counts it, and none is lost."""
    first = "Order,Date,Description,Qty,Unit,Total\nB1,2025-02-21,Dripper line 100 m roll,6,rl,90\n"
    first += "B1,2025-02-21,Tee,10,pc,10\nB1,2025-02-21,Shipping,1,,10\n"
    known = read(tmp_path, first).entries
    known[0]["kind"] = "drip line"
    more = "B2,2025-11-14,Dripper line 100 m roll,30,rl,1300\nB2,2025-11-14,Tee,2,pc,2\n"
    later = read(tmp_path, first + more, known)
    assert [line.reason for line in later.refused if "spread" not in line.reason] == [
        "is in the ledger already", "is in the ledger already"]  # fmt: skip
    assert [(e["kind"], e["quantity"], e["unit"], e["amount"]) for e in later.entries] == [
        ("drip line", 30, "rl", 1300), ("material", 2, "", 2)]  # fmt: skip
    pallets = read(tmp_path, first + more.replace("30,rl", "3,pallet"), known)
    assert [(e["quantity"], e["amount"]) for e in pallets.entries] == [(None, 1300), (2, 2)]
    assert pallets.entries[0]["note"] == "3 pallet"
    assert any(words.startswith("line 5: 3 pallet is no quantity of drip line")
               for words in pallets.noted)  # fmt: skip
