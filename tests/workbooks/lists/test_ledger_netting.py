"""Credits, replaced bills and periods of invented exports: sums by hand."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

import pytest

from xlfuncs.workbooks.lists.ledger.importing import LedgerImport, import_ledger
from xlfuncs.workbooks.lists.mapping import ListMapping
from xlfuncs.workbooks.lists.numbers import UnsettledError

HEAD = "Date,From,Usage (m3),Amount,Invoice\n"


def read(tmp_path: Path, rows: str, existing: Any = (), **said: Any) -> LedgerImport:
    path = tmp_path / "export.csv"
    headed = "Date" in rows or "Total" in rows
    path.write_text(rows if headed else HEAD + rows, encoding="utf-8")
    kind = {} if "Kind" in rows or "Category" in rows else {"kind": "water"}
    return import_ledger(path, "metric", ListMapping(values=kind, **said), existing)


def sums(result: LedgerImport) -> tuple[float, float]:
    counted = [e for e in result.entries if e["counted"]]
    used = sum(e["quantity"] or 0 for e in counted)
    return pytest.approx(used), pytest.approx(sum(e["amount"] for e in counted))


BILLS = "2024-02-29,2023-12-31,9.9,69.30,A1\n2024-04-30,2024-02-29,14,98.00,A3\n"


@pytest.mark.parametrize("credit", [
    "2024-04-30,2024-02-29,14,-98.00,A4", "2024-05-20,,,-98.00,A4", ",,,-98.00,A4",
    "2024-05-20,,-14,-98.00,A4", ",,14,(98.00),A4",
])  # fmt: skip
def test_a_cancelled_estimate_counts_its_water_once(tmp_path: Path, credit: str) -> None:
    result = read(tmp_path, f"{BILLS}{credit}\n2024-04-30,2024-02-29,12.2,85.40,A5\n")
    assert sums(result) == (9.9 + 12.2, 69.30 + 85.40)
    assert result.doubles == result.refused == []
    back = result.entries[2]
    assert (back["date"], back["period_start"]) == (dt.date(2024, 4, 30), dt.date(2024, 2, 29))
    again = read(tmp_path, f"{BILLS}{credit}\n2024-04-30,2024-02-29,12.2,85.40,A5\n",
                 result.entries)  # fmt: skip
    assert (again.entries, len(again.refused)) == ([], 4)


def test_a_bill_written_anew_with_the_same_numbers_is_not_entered_twice(tmp_path: Path) -> None:
    lines = BILLS + "2024-04-30,2024-02-29,14,-98.00,A3\n2024-04-30,2024-02-29,14,98.00,A3\n"
    assert sums(read(tmp_path, lines)) == (23.9, 167.30)
    twice = read(tmp_path, lines + "2024-04-30,2024-02-29,14,98.00,A3\n")
    assert (sums(twice), len(twice.doubles)) == ((23.9, 167.30), 1)


def test_a_replaced_bill_comes_in_uncounted_whoever_had_it_first(tmp_path: Path) -> None:
    longer = "2024-05-31,2024-02-29,12.2,60.00,A9\n"
    together = read(tmp_path, BILLS + longer)
    ((line, words),) = together.doubles
    assert (line, words) == (
        3, "replaced by line 4? 61 days, 2024-03-01 to 2024-04-30, are on line 4 too",
    )  # fmt: skip
    assert sums(together) == (22.1, 129.30)
    first = read(tmp_path, BILLS).entries
    later = read(tmp_path, longer, first, period_from="reading")
    ((entry, words),) = later.replaced
    assert (entry["reference"], entry["counted"]) == ("A3", False)
    assert "row ? of the ledger is replaced by line 2?" in words


def test_an_estimate_gives_way_and_what_nothing_settles_waits(tmp_path: Path) -> None:
    head = HEAD.strip() + ",Read type\n"
    one = "2024-02-29,2023-12-31,9.9,69.30,A1,actual\n2024-04-30,2024-02-29,{},A3,{}\n"
    wide = one.format("14,98.00", "actual") + "2024-05-31,2024-02-15,30,90.00,A4,estimated\n"
    assert sums(read(tmp_path, head + wide)) == (23.9, 167.30)
    part = one.format("14,98.00", "actual") + "2024-06-30,2024-04-15,30,90.00,A4,actual\n"
    ((_, words),) = read(tmp_path, head + part, period_from="reading").doubles
    assert words.startswith("15 days, 2024-04-16 to 2024-04-30, are on line 3 too")


def test_a_credit_takes_back_the_fixed_charge_of_the_bill_that_it_cancels(tmp_path: Path) -> None:
    head = "To,From,m³,Use,Fixed charge,Net,VAT,Total\n"
    days, rows = "2024-10-31,2024-09-01", ("131,202.03,12.44,214.47,21.45,235.92",
                                            "-190,-328.46,-12.44,-340.90,-34.09,-374.99",
                                            "190,328.46,12.44,340.90,34.09,374.99")  # fmt: skip
    path = tmp_path / "water.csv"
    path.write_text(head + "".join(f"{days},{row}\n" for row in rows), "utf-8")
    result = import_ledger(path, "metric", ListMapping(values={"kind": "water"}))
    notes = {entry["note"] for entry in result.entries if entry["amount"] < 0}
    assert (notes, len(result.entries)) == ({"takes back line 4"}, 6)
    known = [{**e, "row": row} for row, e in enumerate(result.entries)]
    known[0]["item"] = "Garden"
    path.write_text(path.read_text("utf-8").replace("To,", "Invoice no,To,").replace(
        "2024-10-31", "A7,2024-10-31"), "utf-8")  # fmt: skip
    again = import_ledger(path, "metric", ListMapping(values={"kind": "water"}), known)
    assert next(line.reason for line in again.refused if line.line == 2) == (
        "is in the ledger already, in row 0 with item Garden (the file: blank)")  # fmt: skip


def test_missing_days_are_named(tmp_path: Path) -> None:
    result = read(tmp_path, BILLS + "2024-07-31,2024-05-31,5,30.00,A4\n")
    assert "water: 31 days, 2024-05-01 to 2024-05-31, before line 4, are on no bill" in (
        result.findings
    )


def test_what_a_credit_means_is_asked_and_a_wrong_sign_refused(tmp_path: Path) -> None:
    credit = BILLS + "2024-05-10,,2,-5.00,A7\n"
    with pytest.raises(UnsettledError, match=r"Line 4: -5 for 2 m³\. Did goods"):
        read(tmp_path, credit)
    assert sums(read(tmp_path, credit, credits="goods")) == (21.9, 162.30)
    assert sums(read(tmp_path, credit, credits="money")) == (23.9, 162.30)
    wrong = read(tmp_path, BILLS + "2024-05-10,,-2,5.00,A7\n,,,-7.00,A8\n")
    assert [line.reason for line in wrong.refused] == [
        "-2 for 5: one sign is wrong", "has no date, and no line that it takes back",
    ]  # fmt: skip


def test_a_credit_that_may_be_of_two_bills_is_asked_about(tmp_path: Path) -> None:
    two = BILLS + "2024-06-30,2024-04-30,9,98.00,A5\n2024-07-05,,,-98.00,C1\n"
    with pytest.raises(UnsettledError, match="Line 5 may take back line 3 or line 4"):
        read(tmp_path, two)
    assert sums(read(tmp_path, two, credits="money")) == (32.9, 167.30)
    (line,) = read(tmp_path, two, credits="goods").refused
    assert line.reason == "may take back line 3 or line 4, and names neither"
    assert sums(read(tmp_path, two.replace("C1", "C1 for A5"))) == (23.9, 167.30)


def test_both_ways_of_stating_periods_give_the_same_days(tmp_path: Path) -> None:
    days_after = BILLS.replace("2023-12-31", "2024-01-01").replace(",2024-02-29", ",2024-03-01")
    starts = [[e["period_start"] for e in read(tmp_path, rows).entries]
              for rows in (BILLS, days_after)]  # fmt: skip
    assert starts[0] == starts[1] == [dt.date(2023, 12, 31), dt.date(2024, 2, 29)]
    with pytest.raises(UnsettledError, match=r"line 3 begins .*; but line 4 begins"):
        read(tmp_path, BILLS + "2024-06-30,2024-05-01,5,30.00,A4\n")
    with pytest.raises(UnsettledError, match="first day of a period") as asked:
        read(tmp_path, "2024-02-27,2023-12-29,9.9,69.30,A1\n")
    (question,) = asked.value.questions
    assert (question.option(), question.choices[1]) == ('--period-from "first day"', "reading")
    known = read(tmp_path, BILLS).entries
    (later,) = read(tmp_path, "2024-06-27,2024-05-01,5,30.00,A4\n", known).entries
    assert later["period_start"] == dt.date(2024, 4, 30)


FEE = "2024-04-30,2024-02-29,,18.50,A3\n"
SHOP = "Date,Kind,Item,Qty,Amount,Order no.\n2024-03-01,fittings,Elbow,10,30.00,R1\n"


@pytest.mark.parametrize(("name", "value"), [
    ("amount", 96.0), ("quantity", 13.0), ("item", "meter in the yard"), ("kind", "sewer"),
    ("date", dt.date(2024, 5, 1)), ("period_start", dt.date(2024, 3, 1)), ("reference", "A 3"),
    ("meter", "7"), ("counted", False), ("amount", 106.0),
])  # fmt: skip
def test_what_was_corrected_stays_and_does_not_come_in_again(
    tmp_path: Path, name: str, value: Any
) -> None:
    first = read(tmp_path, BILLS + FEE).entries
    first[1][name], first[1]["row"] = value, 7
    again = read(tmp_path, BILLS + FEE, first)
    assert (again.entries, again.replaced) == ([], [])
    assert first[1][name] == value
    (corrected,) = [x.reason for x in again.refused if x.line == 3]
    words = f"in row 7 with {name.replace('_', ' ')} "
    assert words in corrected or name in ("counted", "period_start")  # neither makes another entry
    longer = read(tmp_path, BILLS + FEE + "2024-06-30,2024-04-30,5,30.00,A4\n", first)
    assert [entry["reference"] for entry in longer.entries] == ["A4"]


@pytest.mark.parametrize(("name", "value"), [
    ("amount", 29.0), ("quantity", 9.0), ("item", "Bend"), ("kind", "filters"),
    ("date", dt.date(2024, 3, 2)), ("reference", "R-1"),
])  # fmt: skip
def test_so_does_a_line_of_an_order(tmp_path: Path, name: str, value: Any) -> None:
    rows = SHOP + "2024-03-01,filters,Screen,1,10.00,R1\n2024-03-08,fittings,Elbow,10,30.00,R2\n"
    first = read(tmp_path, rows).entries
    first[0][name] = value
    assert read(tmp_path, rows, first).entries == []
    more = rows + "2024-03-01,fittings,Tee,10,30.00,R1\n2024-03-15,fittings,Elbow,10,30.00,R3\n"
    assert [e["item"] for e in read(tmp_path, more, first).entries] == ["Tee", "Elbow"]


def test_a_bill_that_the_supplier_wrote_anew_is_no_correction_of_ours(tmp_path: Path) -> None:
    first = read(tmp_path, BILLS).entries
    anew = read(tmp_path, "2024-04-30,2024-02-29,12.2,85.40,A9\n", first, period_from="reading")
    assert (len(anew.entries), len(anew.replaced)) == (1, 1)
    back = "2024-04-30,2024-02-29,-14,-98.00,A8\n2024-04-30,2024-02-29,14,98.00,A9\n"
    anew = read(tmp_path, back, first, period_from="reading")
    assert sums(anew) == (0, 0)


@pytest.mark.parametrize(("heads", "estimate", "true"), [
    ("Ableseart,Bemerkung", "Schätzung,", "Ablesung,Korrektur"),
    ("Bill date", "2024-05-02", "2024-05-20"), ("Comment", "", ""),
])  # fmt: skip
def test_the_order_of_the_file_does_not_decide_which_bill_counts(
    tmp_path: Path, heads: str, estimate: str, true: str
) -> None:
    blank = "," * heads.count(",")
    rows = [f"2024-02-29,2023-12-31,9.9,69.30,A1,{blank or '2024-03-02' * (heads == 'Bill date')}",
            f"2024-04-30,2024-02-29,14,98.00,A3,{estimate}",
            f"2024-04-30,2024-02-29,12.2,85.40,A5,{true}"]  # fmt: skip
    for ordered in (rows, rows[::-1]):
        text = "\n".join([f"{HEAD.strip()},{heads}", *ordered, ""])
        assert sums(read(tmp_path, text)) == (22.1, 154.70)


def test_the_day_of_the_bill_stays_in_the_note_and_decides_later_too(tmp_path: Path) -> None:
    head = f"{HEAD.strip()},Bill date,Remark\n"
    (first,) = read(tmp_path, f"{head}2024-04-30,2024-02-29,12.2,85.40,A5,2024-05-20,true\n",
                    period_from="reading").entries  # fmt: skip
    assert first["note"] == "true; billed 2024-05-20"
    older = f"{head}2024-04-30,2024-02-29,14,98.00,A3,2024-05-02,\n"
    assert sums(read(tmp_path, older, [first], period_from="reading")) == (0, 0)
    assert first["counted"]


ORDERS = """Order date,Order no.,Type,Description,Qty,Line total incl. VAT
2024-03-11,D1,Item,Drip line,3,131.70
2024-03-11,D1,Item,Timer,1,84.00
2024-03-11,D1,Shipping,Parcel,1,14.90
2024-03-11,D1,Discount,Code SPRING,1,-12.00
2024-03-27,R1,Return,Return: Timer,-1,-84.00
"""


def test_delivery_and_discounts_are_known_by_either_word_and_never_asked_about(
    tmp_path: Path,
) -> None:
    path = tmp_path / "shop.csv"
    path.write_text(ORDERS, "utf-8")
    with pytest.raises(UnsettledError, match="'Type' says Discount, Item, Return, Shipping"):
        import_ledger(path, "metric", ListMapping())
    result = import_ledger(path, "metric", ListMapping(values={"kind": "materials"}))
    # 131.70 and 84.00 bear 14.90 - 12.00 by their part of 215.70, in cents
    assert [(e["kind"], e["amount"], e["quantity"], e["tax"]) for e in result.entries] == [
        ("materials", 133.47, 3, None), ("materials", 85.13, 1, None),
        ("materials", -84.00, -1, None),
    ]  # fmt: skip
    rows = [line.split(",") for line in ORDERS.replace("Code", "Discount code").splitlines()]
    without = "\n".join(",".join([*row[:2], *row[3:]]) for row in rows)
    path.write_text(without.replace("Parcel", "Shipping"), "utf-8")
    kind = ListMapping(values={"kind": "materials"}, credits="goods")
    assert import_ledger(path, "metric", kind).entries[0]["amount"] == 133.47


def test_a_question_about_headings_names_the_missing_one_and_those_there_are(
    tmp_path: Path,
) -> None:
    with pytest.raises(UnsettledError, match=r"Which column is the date\? On line 1") as asked:
        read(tmp_path, "Created at,Order no.,Lineitem,Total,Kind\nDate A,R1,Tape,5,tape\n")
    assert asked.value.questions[0].choices == ("Created at", "Lineitem")
    # of those left one alone holds dates, or says by its last word that it ends a bill
    made = read(tmp_path, "Created at,Order no.,Lineitem,Total,Kind\n1 May 2024,R1,Tape,5,tape\n")
    assert made.entries[0]["date"] == dt.date(2024, 5, 1)
    bills = "Made on,Billed from,Billed to,Total,Usage m3\n2024-02-05,2024-01-01,2024-01-31,9,30\n"
    (bill,) = read(tmp_path, f"{bills}\nDate".removesuffix("Date")).entries
    assert (bill["date"], bill["period_start"]) == (dt.date(2024, 1, 31), dt.date(2023, 12, 31))


@pytest.mark.parametrize(("heading", "cells"), [
    ("Abrechnungszeitraum", ("01.01.2024 - 31.01.2024", "vom 01.02.2024 bis 29.02.2024")),
    ("Service period", ("2024-01-01 to 2024-01-31", "2024-02-01 – 2024-02-29")),
    ("Period", ("1 Jan 2024 - 31 Jan 2024", "February 1, 2024 through February 29, 2024")),
    ("Days", ("01.01.2024-31.01.2024", "01.02.2024-29.02.2024")),
])  # fmt: skip
def test_a_period_in_one_cell_is_two_days(
    tmp_path: Path, heading: str, cells: tuple[str, str]
) -> None:
    for head, paper in (("", ("", "")), ("Date;", ("2024-02-09;", "2024-03-09;"))):
        rows = [f'{paper[i]}"{cells[i]}";{30 + i};{60 + i},00' for i in (0, 1)]
        result = read(tmp_path, f"{head}{heading};Usage m3;Total\n" + "\n".join(rows) + "\n")
        days = [(e["period_start"], e["date"], e["amount"]) for e in result.entries]
        assert days == [(dt.date(2023, 12, 31), dt.date(2024, 1, 31), 60),
                        (dt.date(2024, 1, 31), dt.date(2024, 2, 29), 61)]  # fmt: skip
        assert result.entries[0]["note"] == ("billed 2024-02-09" if paper[0] else "")


def test_a_day_of_the_paper_that_is_said_to_be_the_last_is_obeyed_and_told(tmp_path: Path) -> None:
    bills = ("Datum;Abrechnung von;Abrechnung bis;Usage m3;Total\n"
             "2024-02-09;2024-01-01;2024-01-31;30;60\n")  # fmt: skip
    result = read(tmp_path, bills, columns={"date": "Datum"}, period_from="first day")
    assert result.entries[0]["date"] == dt.date(2024, 2, 9)
    assert result.noted == ["'Abrechnung bis' looks like a bill's last day, not 'Datum'"]


ESTIMATE = """Supply from,Supply to,Read type,Units (m3),Unit charge,Standing charge,Paid by,Total
2024-01-01,2024-01-31,Actual,100,30.00,18.00,,48.00
2024-02-01,2024-02-29,{},150,45.00,18.00,,63.00
2024-02-01,2024-02-29,{},120,36.00,18.00,,54.00
"""


@pytest.mark.parametrize(("gone", "estimate", "actual"), [
    (3, "Estimated", "Actual"), (4, "Actual", "Estimated"), (3, "Read", "Read"),
])  # fmt: skip
@pytest.mark.parametrize("charged", [True, False])
def test_one_of_two_bills_without_a_number_counts_whole(
    tmp_path: Path, gone: int, estimate: str, actual: str, charged: bool
) -> None:
    text = ESTIMATE.format(estimate, actual)
    text = text if charged else text.replace("Standing charge", "x")
    result = read(tmp_path, text)
    stays = (120, 54.0) if gone == 3 else (150, 63.0)
    assert sums(result) == (100 + stays[0], 48 + stays[1])
    assert [line for line, _ in result.doubles] == [gone]
    assert len(result.entries) == (6 if charged else 3)


def test_the_bill_that_is_named_is_replaced_and_a_bill_in_parts_is_one(tmp_path: Path) -> None:
    numbered = "2024-04-30,2024-02-29,12,80.00,A5,\n2024-04-30,2024-02-29,14,98.00,A4,replaces A5\n"
    head = HEAD.strip() + ",Remark\n"
    turned = "\n".join(reversed(numbered.strip().split("\n")))
    for rows in (numbered, turned):
        assert sums(read(tmp_path, head + rows + "\n", period_from="reading")) == (14, 98)
    parts = "".join(f"2024-0{m}-28,2024-0{m}-01,{q},{q}.00,\n" for m in (1, 2, 3) for q in (30, 9))
    result = read(tmp_path, parts, period_from="first day")
    assert sums(result) == (117, 117) and "all count, as parts of one bill" in str(result.noted)


def test_a_column_of_papers_is_no_kind(tmp_path: Path) -> None:
    text = ("N° pièce;Date d'émission;Nature;Début période;Fin période;Conso (m³);Montant TTC\n"
            "F1;12/04/2023;Facture;01/01/2023;31/03/2023;305;695,14\n"
            "A1;16/04/2023;Avoir (fuite);01/01/2023;31/03/2023;-60;-144,75\n")  # fmt: skip
    path = tmp_path / "releves.csv"
    path.write_text(text, "utf-8")
    with pytest.raises(UnsettledError, match="No column says of what kind") as asked:
        import_ledger(path, "metric")
    assert asked.value.questions[0].choices == ("water", "sewer")
    result = import_ledger(path, "metric", ListMapping(values={"kind": "water"}))
    assert sums(result) == (245, 550.39)
    bill = result.entries[0]
    assert (bill["reference"], bill["note"]) == ("F1", "billed 2023-04-12")


PACKED = """Order No,Order Date,Article,Description,Category,Qty,Unit,VAT %,VAT EUR,Gross EUR
S1,2025-07-23,KS-25,Potash 25 kg,Fertiliser,3,sack,7,6.28,96.04
S1,2025-07-23,VL-25,Valve,Irrigation,5,pc,19,48.46,303.51
S1,2025-07-23,DELIVERY,Delivery charge,Delivery,1,pc,19,4.73,29.63
S0,2025-07-01,KS-25,Potash 25 kg,Fertiliser,1,sack,7,2.09,32.01
S1,2025-08-06,KS-25,RETURN Potash 25 kg,Fertiliser,-1,sack,7,-2.09,-32.01
"""


def test_a_return_takes_back_some_of_its_own_order_not_the_equal_amount_of_another(
    tmp_path: Path,
) -> None:
    result = read(tmp_path, PACKED)
    assert "line 6 takes back 1 of 3 of line 2" in result.findings
    assert [(e["kind"], e["item"], e["quantity"]) for e in result.entries][-1] == (
        "fertiliser", "Potash 25 kg", -1)  # fmt: skip
    # 29.63 over 96.04 and 303.51, in cents; each line says what of it is delivery
    assert [e["amount"] for e in result.entries] == [103.16, 326.02, 32.01, -32.01]
    assert result.entries[0]["note"] == "7.12 of it Delivery charge"


def test_an_order_with_a_line_that_cannot_be_read_comes_in_anew_when_it_can(
    tmp_path: Path,
) -> None:
    broken = PACKED.replace("5,pc,19,48.46,303.51", "5*,pc,19,48.46,303.51")
    part = read(tmp_path, broken)
    refused = {line.line: line.reason.split(":")[0] for line in part.refused}
    assert refused[3] == "'5*' is not a number with the decimal mark '.'"
    assert sums(part) == (3, 96.04 + 29.63)  # the delivery on what can be read; S0's took back
    for before in (part.entries, read(tmp_path, PACKED).entries[:1]):  # or rows were deleted
        ledger = [{**entry, "row": row} for row, entry in enumerate(before, 6)]
        late = read(tmp_path, PACKED, ledger)
        every = [*ledger, *late.entries]
        counted = sum(e["amount"] for e in every if e["counted"])
        assert counted == pytest.approx(429.18)
        again = read(tmp_path, PACKED, every)
        assert (again.entries, again.replaced) == ([], [])


def test_all_questions_come_at_once_with_the_options_of_this_file(tmp_path: Path) -> None:
    text = "Date,Kind,Details,Text,Qty,Unit,Total\n03/04/2024,fittings,A,B,2,Gros,5\n"
    with pytest.raises(UnsettledError) as asked:
        read(tmp_path, text)
    options = [question.option() for question in asked.value.questions]
    assert options == ['--column "item=Details"', "--date-order DMY", '--as "Gros=pieces"']


def test_a_heading_is_known_by_what_stands_below_it(tmp_path: Path) -> None:
    """The words of the papers of two invented utilities, and a rate that is no amount."""
    german = (
        "Belegnr.;Belegdatum;Belegart;Abrechnung von;Abrechnung bis;Verbrauch m³;Grundpreis EUR;"
        "Arbeitspreis EUR;Nettobetrag EUR;MwSt. %;MwSt. EUR;Bruttobetrag EUR\n"
        "R1;09.04.2023;Rechnung;01.01.2023;31.03.2023;126,0;18,60;249,48;268,08;7;18,77;286,85\n"
        "R2;09.07.2023;Rechnung;01.04.2023;30.06.2023;100,0;18,60;198,00;216,60;7;15,16;231,76\n"
    )
    result = read(tmp_path, f"Date;{german}".removeprefix("Date;"))
    water, fixed = result.entries[:2]
    assert (water["period_start"], water["date"]) == (dt.date(2022, 12, 31), dt.date(2023, 3, 31))
    # 286.85 is 268.08 and 7 %: 18.60 of it fixed, 19.90 with its tax
    assert (fixed["item"], fixed["amount"], fixed["quantity"]) == ("Grundpreis", 19.90, None)
    assert (water["amount"], water["tax"]) == (pytest.approx(266.95), pytest.approx(17.47))
    assert sums(result) == (226, 286.85 + 231.76)
    whole = [{**water, "amount": 286.85, "tax": 18.77}]  # of a ledger before
    assert [e["reference"] for e in read(tmp_path, german, whole).entries] == ["R2", "R2"]
    english = (
        "Invoice no.,Invoice date,Document,Period from,Period to,Usage (m3),VAT 7%,Total amount\n"
        "I-1,2023-02-05,Bill,2023-01-01,2023-01-31,5,1.40,21.40\n"
        "I-2,2023-03-05,Credit note,2023-02-01,2023-02-28,-2,-0.70,-10.70\n"
    )
    result = read(tmp_path, english)
    assert [(e["reference"], e["tax"]) for e in result.entries] == [("I-1", 1.4), ("I-2", -0.7)]


def test_a_credit_takes_back_the_fixed_charge_of_the_same_bill(tmp_path: Path) -> None:
    head = "Invoice,From,To,m3,Water charge,Standing charge,Total\n"
    before = "E113,2024-08-16,2024-10-15,90,200.00,18.90,218.90\n"
    estimate = "E114,2024-10-16,2024-12-15,100,220.00,18.90,238.90\n"
    old = read(tmp_path, f"{head}{before}{estimate}").entries
    new = "N117,2024-10-16,2024-12-15,80,180.00,18.90,198.90\n"
    credit = "C116,2024-10-16,2024-12-15,-100,-220.00,-18.90,-238.90\n"
    entries = read(tmp_path, f"{head}{new}{credit}", old).entries
    notes = [entry["note"] for entry in entries if entry["reference"] == "C116"]
    assert notes == ["takes back E114 of the ledger"] * 2


@pytest.mark.parametrize("turned", [False, True])
def test_a_bill_in_place_of_one_of_an_earlier_file_comes_in(tmp_path: Path, turned: bool) -> None:
    """Without numbers, and though its days are those of the estimate that the same file cancels."""
    head, year = "From,To,Usage (m3),Total\n", "2024-07-16,2024-09-15,1402,2103.00\n"
    first = read(tmp_path, f"{head}{year}2024-09-16,2024-11-15,520,780.00\n")
    lines = ["2024-09-16,2024-11-15,-520,-780.00\n", "2024-09-16,2024-11-15,447,670.50\n"]
    more = read(tmp_path, head + "".join(lines[::-1] if turned else lines), first.entries)
    assert [e["amount"] for e in more.entries] == [float(x.split(",")[3]) for x in (
        lines[::-1] if turned else lines)]  # fmt: skip
    assert sum(e["amount"] for e in (*first.entries, *more.entries) if e["counted"]) == 2773.50
    again = read(tmp_path, head + "".join(lines), [*first.entries, *more.entries])
    assert again.entries == []
