"""Exports of an invented farm in m³ and kWh, as suppliers write them: headings that are but a unit,
months for periods, lines that were cancelled. Sums by hand."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from xlfuncs.workbooks.ledger_books import system_of
from xlfuncs.workbooks.lists.ledger.importing import LedgerImport, import_ledger
from xlfuncs.workbooks.lists.mapping import ListMapping
from xlfuncs.workbooks.lists.numbers import UnsettledError

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


ORDERS = (
    "Order,Placed on,Product,Qty,Unit price,Line total,Status\n"
    "A1,2025-02-18,Drip tape 16 mm,5,84.50,422.50,Shipped\n"
    "A1,2025-02-18,Tape off-take,40,1.25,50.00,Shipped\n"
    "A1,2025-02-18,Solenoid valve 24 V,2,36.90,73.80,{status}\n"
    "A1,2025-02-18,Delivery pallet,1,47.25,47.25,Shipped\n"
)


@pytest.mark.parametrize("status", [
    "Cancelled", "CANCELED", "void", "storniert", "Annulé", "annullato", "Cancelado",
    "geannuleerd", "Cancelled by customer", "Order cancelled",
])  # fmt: skip
def test_a_cancelled_line_is_left_out_with_its_amount(tmp_path: Path, status: str) -> None:
    result = read(tmp_path, ORDERS.format(status=status), "orders.csv")
    # delivery over the two that came: 47.25 of 472.50 is a tenth
    assert [entry["amount"] for entry in result.entries] == [464.75, 55.00]
    gone = next(line for line in result.refused if line.line == 4)
    assert (gone.reason, gone.amount) == ("is cancelled", Decimal("73.80"))
    again = read(tmp_path, ORDERS.format(status=status), "orders.csv", result.entries,
                 values={"kind": "material"})  # fmt: skip
    assert (again.entries, len(again.refused)) == ([], 4)


def test_a_line_that_is_cancelled_later_is_named_in_the_ledger(tmp_path: Path) -> None:
    before = read(tmp_path, ORDERS.format(status="Open"), "orders.csv").entries
    existing = [{**entry, "row": row} for row, entry in enumerate(before, 6)]
    later = read(tmp_path, ORDERS.format(status="Cancelled"), "orders.csv", existing)
    assert later.entries == []
    (gone,) = [line.reason for line in later.refused if "cancelled" in line.reason]
    assert gone == "is cancelled: row 8 of the ledger counts it still"


@pytest.mark.parametrize("status", ["Shipped", "not cancelled", "replaces cancelled A0"])
def test_other_lines_count(tmp_path: Path, status: str) -> None:
    assert len(read(tmp_path, ORDERS.format(status=status), "orders.csv").entries) == 3


def test_a_cancelled_line_whose_money_another_takes_back_stays(tmp_path: Path) -> None:
    back = "R1,2025-02-20,Solenoid valve 24 V,-2,36.90,-73.80,Refunded\n"
    entries = read(tmp_path, ORDERS.format(status="Cancelled") + back, "orders.csv").entries
    assert len(entries) == 4
    assert sum(entry["amount"] for entry in entries) == pytest.approx(519.75)


POWER = (
    "Invoice,Issued,{heading},{unit},Total\n"
    "7001,2023-02-04,{first},392,156.89\n"
    "7002,2023-03-04,{second},381,153.11\n"
)
MONTHS = [("Jan 2023", "Feb 2023"), ("2023-01", "2023-02"), ("01/2023", "02/2023"),
          ("Januar 2023", "Februar 2023"), ("janv. 2023", "févr. 2023"),
          ("01.2023", "02.2023")]  # fmt: skip


@pytest.mark.parametrize(("first", "second"), MONTHS)
def test_a_month_is_its_first_and_last_day(tmp_path: Path, first: str, second: str) -> None:
    text = POWER.format(heading="Month", unit="kWh", first=first, second=second)
    january, february = read(tmp_path, text, "power.csv").entries
    assert (january["kind"], january["quantity"]) == ("electricity", 392)
    assert january["date"] == dt.date(2023, 1, 31)
    assert january["period_start"] == dt.date(2022, 12, 31)  # the reading before
    assert february["date"] == dt.date(2023, 2, 28)
    assert february["note"] == "billed 2023-03-04"


def test_numbers_like_months_stay_numbers(tmp_path: Path) -> None:
    text = "Date,Invoice,kWh,Total\n2023-02-04,2023-01,392,156.89\n2023-03-04,2023-02,381,153.11\n"
    result = read(tmp_path, text, "power.csv")
    assert [entry["reference"] for entry in result.entries] == ["2023-01", "2023-02"]
    assert result.entries[0]["date"] == dt.date(2023, 2, 4)


def test_one_question_where_another_column_has_the_days(tmp_path: Path) -> None:
    text = POWER.format(heading="Month", unit="Consumption", first="early 2023", second="spring")
    with pytest.raises(UnsettledError) as caught:
        read(tmp_path, text, "power.csv", values={"kind": "electricity", "unit": "kWh"})
    (question,) = caught.value.questions
    assert question.choices == ("Issued",)
    assert question.option() == '--column "date=Issued"'
    given = read(tmp_path, text, "power.csv", columns={"date": "Issued"},
                 values={"kind": "electricity", "unit": "kWh"})  # fmt: skip
    assert [entry["date"].month for entry in given.entries] == [2, 3]


def test_a_question_names_the_item_and_no_answer_twice(tmp_path: Path) -> None:
    line = "A1,2025-02-18,Loyalty points redeemed,2,-10.00,-20.00,Shipped\n"
    with pytest.raises(UnsettledError, match=r"Line 6, Loyalty points redeemed: -20 for 2\. Did "
                       r"goods come back, or only money\?"):  # fmt: skip
        read(tmp_path, ORDERS.format(status="Shipped") + line, "orders.csv")
    power = POWER.format(heading="Date", unit="Consumption", first="2023-01-31",
                         second="2023-02-28")  # fmt: skip
    with pytest.raises(UnsettledError) as caught:
        read(tmp_path, power, "power.csv", values={"kind": "electricity"})
    assert caught.value.questions[0].choices == ("kWh",)


def test_a_file_without_items_or_quantities_is_not_said_to_be_material(tmp_path: Path) -> None:
    with pytest.raises(UnsettledError, match="of what kind") as caught:
        read(tmp_path, "Date,Invoice,Total\n2023-02-04,A1,156.89\n", "invoices.csv")
    assert caught.value.questions[0].choices == ("water", "electricity", "material")


@pytest.mark.parametrize("heading", ["Amount Billed", "Amount", "Total Charges ($)"])
def test_a_first_bill_that_is_paid_is_no_second_line_of_headings(
    tmp_path: Path, heading: str
) -> None:
    text = f"""Lake Water District

Bill Date,Service From,Service To,Usage (kgal),{heading},Status
"Dec 13, 2025",09/09/2025,12/07/2025,48,$294.34,Paid
"Sep 15, 2025",06/08/2025,09/09/2025,232,"$1,275.06",Paid
"Jun 14, 2025",03/10/2025,06/08/2025,109,$619.47,Paid
"""
    result = read(tmp_path, text, "bills.csv", date_order="MDY", values={"kind": "water"})
    assert [entry["amount"] for entry in result.entries] == [294.34, 1275.06, 619.47]
    assert not result.refused


@pytest.mark.parametrize(("heading", "currency"), [
    ("Gesamt EUR (brutto)", "EUR"), ("BILL AMT", ""), ("Total (incl. VAT)", ""),
    ("Amount ($)", "$"), ("Total CHF inkl. MWST", "CHF"),
])  # fmt: skip
def test_a_word_in_a_heading_of_money_is_no_currency(
    tmp_path: Path, heading: str, currency: str
) -> None:
    text = f"Date;kWh;{heading}\n2024-02-29;9;20.50\n2024-03-31;8;18.50\n"
    (found,) = {entry["currency"] for entry in read(tmp_path, text).entries}
    assert found == currency


@pytest.mark.parametrize(("heads", "row", "paid", "tax"), [
    ("MwSt %;Gesamt brutto", "19;11,90", 11.90, 1.90),
    ("MwSt-Satz;Gesamt brutto", "7 %;10,70", 10.70, 0.70),
    ("USt %;Netto", "19;10,00", 11.90, 1.90), ("Btw 9% (€);Totaal", "0,90;10,90", 10.90, 0.90),
    ("BTW 21%;Totaal EUR", "2,10;12,10", 12.10, 2.10), ("IVA %;Importe", ";12,10", 12.10, None),
])  # fmt: skip
def test_tax_may_be_stated_by_its_rate(
    tmp_path: Path, heads: str, row: str, paid: float, tax: float | None
) -> None:
    (entry,) = read(tmp_path, f"Datum;Artikel;Menge;{heads}\n2024-02-29;Vlies;1;{row}\n").entries
    assert (entry["amount"], entry["tax"]) == (paid, tax)


def test_fixed_charges_are_parted_where_several_sums_make_up_the_bill(tmp_path: Path) -> None:
    text = ("Periode van;Periode t/m;Verbruik (m³);Vastrecht (€);Water (€);Heffing (€);Btw 9% (€);"
            "Totaal (€)\n01-01-2023;31-03-2023;41;18,60;37,39;16,20;6,50;78,69\n"
            "01-04-2023;30-06-2023;312;18,60;284,54;123,24;38,37;464,75\n")  # fmt: skip
    fixed = [e for e in read(tmp_path, text).entries if e["quantity"] is None]
    assert [e["amount"] - e["tax"] for e in fixed] == pytest.approx([18.60, 18.60])


SHOP = (
    "Order #,Order Date,Type,Item,Qty,Unit Price,Line Total,{heading}\n"
    "R1,2023-03-08,Sale,Drip tape 5/8 in,2,$198.00,$396.00,46.80\n"
    "R1,2023-03-08,Sale,Lay-flat fitting,100,$1.15,$115.00,\n"
    "R2,2023-06-02,Return,Tape coupler,-2,$0.95,-$1.90,\n"
)


@pytest.mark.parametrize("heading", ["Shipping", "Delivery", "Freight", "Postage", "Versand",
                                     "Porto", "Frais de port", "Handling ($)"])  # fmt: skip
def test_a_column_of_delivery_is_spread_over_the_lines_of_its_order(
    tmp_path: Path, heading: str
) -> None:
    text = SHOP.format(heading=heading)
    result = read(tmp_path, text, "orders.csv", credits="returned", values={"kind": "material"})
    # 46.80 of 511.00: 36.27 and 10.53 to the cent
    assert [entry["amount"] for entry in result.entries] == [432.27, 125.53, -1.90]
    assert any(f"{heading!r}, 46.80 in all" in words for words in result.noted)
    again = read(tmp_path, text, "orders.csv", result.entries, credits="returned")
    assert (again.entries, again.replaced) == ([], [])


def test_delivery_that_is_in_the_amount_is_not_counted_twice(tmp_path: Path) -> None:
    text = ("Order #,Order Date,Item,Qty,Goods,Shipping,Tax,Amount\n"
            "R1,2023-03-08,Drip tape,2,100.00,9.00,6.54,115.54\n"
            "R2,2023-04-08,Drip tape,1,50.00,9.00,3.54,62.54\n")  # fmt: skip
    result = read(tmp_path, text, "orders.csv")
    assert [entry["amount"] for entry in result.entries] == [115.54, 62.54]


def test_delivery_that_each_line_repeats_counts_once_an_order(tmp_path: Path) -> None:
    text = ("Order #,Order Date,Item,Qty,Amount,Shipping\n"
            "R1,2023-03-08,Drip tape,2,100.00,9.00\nR1,2023-03-08,Filter,1,50.00,9.00\n"
            "R2,2023-04-08,Drip tape,1,50.00,\nR2,2023-04-08,Filter,1,50.00,\n")  # fmt: skip
    result = read(tmp_path, text, "orders.csv")
    assert [entry["amount"] for entry in result.entries] == [106.0, 53.0, 50.0, 50.0]


def test_an_order_that_grew_comes_in_anew_and_its_rows_are_not_counted(tmp_path: Path) -> None:
    before = read(tmp_path, SHOP.format(heading="Remark").replace("46.80", ""), "orders.csv",
                  credits="money").entries  # fmt: skip
    existing = [{**entry, "row": row} for row, entry in enumerate(before, 6)]
    grown = SHOP.format(heading="Shipping")
    later = read(tmp_path, grown, "orders.csv", existing, credits="money")
    assert [entry["amount"] for entry in later.entries] == [432.27, 125.53]  # R2 is as it was
    assert [entry["row"] for entry, _ in later.replaced] == [6, 7]
    assert [entry["counted"] for entry in existing] == [False, False, True]
    every = [*existing, *later.entries]
    again = read(tmp_path, grown, "orders.csv", every, credits="money")
    assert (again.entries, again.replaced) == ([], [])


@pytest.mark.parametrize(("heading", "cell"), [
    ("Delivery no.", "4711"), ("Delivery date", "2023-03-10"), ("Shipping", "0.00"),
    ("Shipping weight", "12.5"), ("Balance ($)", "511.00"),
])  # fmt: skip
def test_what_is_no_sum_of_money_is_not_said_to_be_left_out(
    tmp_path: Path, heading: str, cell: str
) -> None:
    text = SHOP.replace("46.80", cell).format(heading=heading)
    noted = read(tmp_path, text, "orders.csv", credits="returned", values={"kind": "material"})
    assert not [words for words in noted.noted if words.startswith("not taken")]


def test_parts_that_make_up_the_amount_are_not_said_to_be_left_out(tmp_path: Path) -> None:
    text = ("Bill date,Usage (kgal),Water charge ($),Sewer charge ($),Amount due\n"
            "2025-06-14,109,$500.00,$119.47,$619.47\n")  # fmt: skip
    noted = read(tmp_path, text, "bills.csv", values={"kind": "water"}).noted
    assert not [words for words in noted if words.startswith("not taken")]


def test_sale_and_return_are_no_kinds_of_things(tmp_path: Path) -> None:
    result = read(tmp_path, SHOP.format(heading="Remark"), "orders.csv", credits="returned")
    assert {entry["kind"] for entry in result.entries} == {"material"}
    assert any("taken as material" in words for words in result.noted)
