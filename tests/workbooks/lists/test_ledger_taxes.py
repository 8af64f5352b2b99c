"""Several taxes, each in a column of its own, in the amount or on top of it. Sums by hand: Canada's
GST 5 % and Quebec's QST 9.975 % are both of the price before tax (Revenu Québec)."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from xlfuncs.workbooks.lists.ledger.importing import LedgerImport, import_ledger
from xlfuncs.workbooks.lists.mapping import ListMapping
from xlfuncs.workbooks.lists.numbers import UnsettledError

WATER = {"values": {"kind": "water"}}


def read(folder: Path, text: str, **said: Any) -> LedgerImport:
    path = folder / "bills.csv"
    path.write_text(text, encoding="utf-8")
    return import_ledger(path, "metric", ListMapping(**said))


def money(result: LedgerImport) -> list[tuple[float, float]]:
    return [(entry["amount"], entry["tax"]) for entry in result.entries]


# 1840 kWh at 0.1220 are 224.48, with a fixed charge 254.48; GST 11.22 or 12.72, QST 22.39 or 25.38
@pytest.mark.parametrize(("heads", "first", "second", "said"), [
    ("Rate ($/kWh),GST,QST,Total", "0.1220,11.22,22.39,258.09", "0.1220,9.24,18.44,212.51",
     "'Total': it adds up"),
    ("Energy,Service,GST,QST,Amount", "224.48,30.00,12.72,25.38,292.58",
     "184.83,30.00,10.74,21.43,247.00", "'Amount': it adds up"),
    ("Subtotal,GST,QST,Total", "224.48,11.22,22.39,258.09", "184.83,9.24,18.44,212.51", ""),
    ("Subtotal,GST,QST", "224.48,11.22,22.39", "184.83,9.24,18.44", ""),
    ("Subtotal,GST,QST,Total tax", "224.48,11.22,22.39,33.61", "184.83,9.24,18.44,27.68", ""),
    ("Amount due,GST,QST", "258.09,11.22,22.39", "212.51,9.24,18.44", "in 'Amount due': by"),
    ("Amount,GST (5%),QST (9.975%)", "224.48,11.22,22.39", "184.83,9.24,18.44",
     "on top of 'Amount': by its rate"),
    ("Energy,Service,Total,GST,QST", "224.48,30.00,254.48,12.72,25.38",
     "184.83,30.00,214.83,10.74,21.43", "on top of 'Total'"),
])  # fmt: skip
def test_taxes_in_columns_of_their_own_add_up(
    tmp_path: Path, heads: str, first: str, second: str, said: str
) -> None:
    result = read(tmp_path, f"Bill date,From,To,Usage (kWh),{heads}\n"
        f"2025-02-05,2024-12-05,2025-02-03,1840,{first}\n"
        f"2025-04-06,2025-02-03,2025-04-04,1515,{second}\n")  # fmt: skip
    fixed = "Service" in heads
    paid = [(292.58, 38.10), (247.00, 32.17)] if fixed else [(258.09, 33.61), (212.51, 27.68)]
    assert money(result) == [pytest.approx(pair) for pair in paid]
    (words,) = [words for words in result.noted if "tax: " in words]
    assert said in words
    assert not any("not added" in words for words in result.noted)


def test_a_deposit_and_a_levy_are_in_the_amount_and_not_in_the_tax(tmp_path: Path) -> None:
    result = read(tmp_path, "Date,Item,Qty,Net,GST,PST,HST,Deposit,Eco fee,Total\n"
        "2025-03-02,Drip tape,2,200.00,10.00,14.00,,,1.50,225.50\n"
        "2025-04-12,Elbows,40,88.00,,,11.44,,,99.44\n"
        "2025-05-17,Barrel,1,60.00,3.00,4.20,,5.00,0.80,73.00\n")  # fmt: skip
    assert money(result) == [pytest.approx(pair) for pair in
                             [(225.50, 24.00), (99.44, 11.44), (73.00, 7.20)]]  # fmt: skip


@pytest.mark.parametrize("heads", [
    "Netto;MwSt 7 %;MwSt 19 %;Brutto", "HT;TVA 5,5 %;TVA 20 %;TTC", "Net;7% VAT;19% VAT;Gross",
])  # fmt: skip
def test_a_column_for_each_rate_of_a_tax(tmp_path: Path, heads: str) -> None:
    heads = heads.replace("HT", "Montant HT").replace("TTC", "Montant TTC")
    result = read(tmp_path, f"Datum;Artikel;Menge;{heads}\n02.03.2025;Saat;2;20,00;1,40;;21,40\n"
        "12.04.2025;Rohr;40;88,00;;16,72;104,72\n17.05.2025;Paket;1;60,00;1,40;7,60;69,00\n",
    )  # fmt: skip
    assert money(result) == [pytest.approx(pair) for pair in
                             [(21.40, 1.40), (104.72, 16.72), (69.00, 9.00)]]  # fmt: skip


def test_where_nothing_tells_it_is_asked(tmp_path: Path) -> None:
    text = "Date,Item,Qty,Amount,GST\n2025-03-02,Tape,2,217.35,9.30\n2025-04-12,Net,4,88.13,4.12\n"
    with pytest.raises(UnsettledError, match="'GST', included in 'Amount', or does it") as asked:
        read(tmp_path, text)
    (question,) = asked.value.questions
    assert question.option("on top") == '--tax "on top"'
    assert money(read(tmp_path, text, values={"tax": "on top"}))[0] == (226.65, 9.30)
    assert money(read(tmp_path, text, values={"tax": "included"}))[0] == (217.35, 9.30)


def test_a_line_total_goes_before_tax_where_a_larger_total_has_it(tmp_path: Path) -> None:
    result = read(tmp_path, "Date,Item,Qty,Unit price,Line total,5% GST,7% PST,Grand total\n"
        "2025-03-02,Tape,2,100.00,200.00,10.00,14.00,224.00\n"
        "2025-04-12,Elbows,40,2.20,88.00,4.40,6.16,98.56\n")  # fmt: skip
    assert money(result) == [pytest.approx((224.00, 24.00)), pytest.approx((98.56, 10.56))]


@pytest.mark.parametrize("heading", [
    "Fixed service charge ($)", "Basic charge", "Customer charge", "Service fee", "Standing charge",
    "Daily supply charge", "Meter rental", "Abonnement", "Redevance fixe ($)", "Terme fixe",
    "Frais d'accès au réseau", "Grundpreis", "Vastrecht", "Vaste vergoeding", "Canone",
    "Quota fissa", "Término fijo", "Wastewater fixed", "Standing charges",
])  # fmt: skip
def test_a_fixed_charge_by_any_of_its_names_becomes_a_row(tmp_path: Path, heading: str) -> None:
    result = read(tmp_path, f"From,To,Usage (kWh),Energy,{heading},Amount due\n"
        "2024-12-06,2025-02-05,1840,224.48,30.00,254.48\n"
        "2025-02-06,2025-04-06,1515,184.83,30.00,214.83\n")  # fmt: skip
    fixed = [entry for entry in result.entries if entry["quantity"] is None]
    assert [entry["amount"] for entry in fixed] == [30.00, 30.00]


def test_several_headings_may_be_named_for_one_column(tmp_path: Path) -> None:
    text = "Date,Item,Qty,Subtotal,Levy,Duty\n2025-03-02,Tape,2,234.08,11.70,23.35\n"
    result = read(tmp_path, text, columns={"tax": "Levy + Duty"})
    assert money(result) == [(269.13, 35.05)]
    with pytest.raises(UnsettledError, match=r"no heading 'Levy \+ Toll' for tax"):
        read(tmp_path, text, columns={"tax": "Levy + Toll"})


def test_what_is_taken_off_a_charge_makes_what_is_payable(tmp_path: Path) -> None:
    result = read(tmp_path, "From,To,Usage (kWh),Charges,Concession,Amount payable\n"
        "2024-12-06,2025-02-05,1840,224.48,-18.20,206.28\n"
        "2025-02-06,2025-04-06,1515,184.83,-18.20,166.63\n")  # fmt: skip
    assert [entry["amount"] for entry in result.entries] == [206.28, 166.63]


def test_payments_of_instalments_are_no_bills(tmp_path: Path) -> None:
    result = read(tmp_path, "Datum;Vorgang;Zeitraum;Menge m³;Brutto;Saldo\n"
        "15.02.2024;Zahlung Abschlag;;;40,00-;40,00-\n"
        "15.04.2024;Zahlung Abschlag;;;40,00-;80,00-\n"
        "14.01.2025;Jahresrechnung;01.01.2024-31.12.2024;146;365,43;285,43\n", **WATER)  # fmt: skip
    assert [entry["amount"] for entry in result.entries] == [365.43]
    assert {line.reason for line in result.refused} == {"is a payment of bills, no bill"}


def test_a_bill_of_less_than_nothing_is_a_bill(tmp_path: Path) -> None:
    result = read(tmp_path, "Maand;kWh;Te betalen\n01-2024;100;2,00\n02-2024;96;-0,77\n")
    assert [(e["quantity"], e["amount"]) for e in result.entries] == [(100, 2.0), (96, -0.77)]


def test_a_reading_before_is_no_day(tmp_path: Path) -> None:
    result = read(tmp_path, "Periodo;Lectura anterior;Lectura actual;Consumo m3;Total factura\n"
        "01/01/2023-28/02/2023;90;110;20;33,44\n01/03/2023-30/04/2023;110;148;38;62,55\n",
        **WATER)  # fmt: skip
    assert [f"{entry['date']}" for entry in result.entries] == ["2023-02-28", "2023-04-30"]


def test_a_rounding_column_refuses_no_bill(tmp_path: Path) -> None:
    result = read(tmp_path, "Periodo dal;Periodo al;Consumo (mc);Imponibile;IVA 10%;"
        "Arrotondamento;Totale bolletta\n01/01/2023;31/03/2023;23;59,93;5,99;0,02-;65,90\n"
        "01/04/2023;30/06/2023;63;148,33;14,83;0,04;163,20\n", **WATER)  # fmt: skip
    assert money(result) == [pytest.approx((65.90, 5.99)), pytest.approx((163.20, 14.83))]


def test_a_price_with_its_tax_and_a_charge_before_it_are_no_taxes(tmp_path: Path) -> None:
    shop = read(tmp_path, "Ordernr;Datum;Product;Aantal;Prijs incl. btw;Subtotaal\n"
        "2201;12-03-2024;Druppeltape;4;6,00;24,00\n2202;13-03-2024;Klem;2;1,50;3,00\n")  # fmt: skip
    assert [paid for paid, _ in money(shop)] == [24.00, 3.00]
    power = read(tmp_path, "Invoice date,From,To,kWh,Usage ex GST,Supply charge ex GST,GST,"
        "Total inc GST\n2024-04-05,2024-01-01,2024-03-31,1137,491.68,94.50,58.62,644.80\n"
        "2024-07-05,2024-04-01,2024-06-30,225,97.24,95.55,19.28,212.07\n")  # fmt: skip
    assert sum(e["tax"] for e in power.entries) == pytest.approx(58.62 + 19.28)
    assert sum(e["amount"] for e in power.entries) == pytest.approx(644.80 + 212.07)


@pytest.mark.parametrize(("price", "said", "paid", "words"), [
    ("Prezzo", {}, 122.00, "tax: by 'Aliquota IVA', in 'Importo' (else --tax \"on top\")"),
    ("Prezzo", {"tax": "on top"}, 148.84, "tax: by 'Aliquota IVA', on top of 'Importo'"),
    ("Prezzo imponibile", {}, 148.84, "tax: by 'Aliquota IVA', on top of 'Importo'"),
    ("Prezzo ivato", {}, 122.00, "tax: by 'Aliquota IVA', in 'Importo'"),
])  # fmt: skip
def test_a_rate_without_a_tax_says_what_it_is_of(
    tmp_path: Path, price: str, said: dict[str, Any], paid: float, words: str
) -> None:
    result = read(tmp_path, f"Data;Descrizione;Quantità;{price};Importo;Aliquota IVA\n"
                  "11/04/2023;Filtro a dischi;2;61,00;122,00;22%\n", values=said)  # fmt: skip
    assert money(result) == [(paid, pytest.approx(paid - paid / 1.22, abs=0.005))]
    assert words in [said for noted in result.noted for said in noted.split("; ")]


# 200 + 110 kWh are 310 by the meter, whatever else is charged for them
def test_the_use_that_charges_of_a_bill_share_counts_once(tmp_path: Path) -> None:
    def bill(n: int, first: str, last: str, day: int, night: int) -> str:
        lines = (("Day energy", day, 40), ("Night energy", night, 11), ("Network", day + night, 30))
        return "".join(f"B{n},{first},{last},{item},{use},kWh,{paid}.00\n"
                       for item, use, paid in lines)  # fmt: skip

    text = ("Invoice,From,To,Item,Qty,Unit,Total\n" + bill(1, "2024-01-01", "2024-02-29", 200, 110)
            + bill(2, "2024-03-01", "2024-04-30", 150, 150))  # fmt: skip
    result = read(tmp_path, text)
    assert [e["quantity"] for e in result.entries] == [200, 110, 150, 150]
    assert sum(e["amount"] for e in result.entries) == pytest.approx(162.00)
    assert "line 2, 3, for the same use: Network" in result.refused[0].reason
    one = read(tmp_path, "Invoice,From,To,Item,Qty,Unit,Total\n"
               + bill(1, "2024-01-01", "2024-02-29", 200, 110))  # fmt: skip
    assert len(one.entries) == 2  # of one bill too


@pytest.mark.parametrize("column", [
    ("Recoverable VAT", "20.00", "5.00"), ("Recoverable", "100%", "50%"),
    ("Abziehbare Vorsteuer", "20,00", "5,00"),
])  # fmt: skip
def test_recoverable_tax_is_a_part_of_the_tax_or_money(
    column: tuple[str, str, str], tmp_path: Path
) -> None:
    path = tmp_path / "shop.csv"
    rows = zip(column, ("Date;Item;VAT;Total", "2025-03-01;Tape;20.00;120.00",
                        "2025-04-01;Gloves;10.00;60.00"), strict=True)  # fmt: skip
    text = "\n".join(f"{row};{back}" for back, row in rows)
    path.write_text(text.replace(".", ",") if "," in column[1] else text, "utf-8")
    stated = ListMapping(values={"kind": "fittings"})
    assert [e["recoverable"] for e in import_ledger(path, "metric", stated).entries] == [1, 0.5]


@pytest.mark.parametrize("heads", [
    "Ex VAT,VAT,Inc VAT,Paid,Outstanding", "Net,Tax,Gross,Amount paid,Owing",
    "Net,VAT,Incl VAT,Paid,Remaining",
])  # fmt: skip
def test_an_invoice_paid_in_part_counts_whole(heads: str, tmp_path: Path) -> None:
    result = read(
        tmp_path,
        f"Date,Item,Qty,{heads}\n2025-03-01,Tape,10,100.00,20.00,120.00,50.00,70.00\n"
        "2025-04-01,Elbow,4,20.55,4.11,24.66,24.66,0.00\n",
        values={"kind": "fittings"},
    )
    assert money(result) == [(120, 20), (24.66, pytest.approx(4.11))]
