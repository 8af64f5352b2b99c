"""Exports of water and power companies in forms of their own. All invented; what each line says of
days, use and money is the truth."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from xlfuncs.workbooks.lists.ledger.importing import LedgerImport, import_ledger
from xlfuncs.workbooks.lists.mapping import ListMapping
from xlfuncs.workbooks.lists.numbers import UnsettledError


def read(folder: Path, text: str, system: str = "metric", **said: Any) -> LedgerImport:
    path = folder / "bills.csv"
    path.write_text(text, encoding="utf-8")
    return import_ledger(path, system, ListMapping(**said))


def workbook(folder: Path, *sheets: list[tuple[Any, ...]], merged: str = "") -> Path:
    book = openpyxl.Workbook()
    book.remove(book.active)
    for number, rows in enumerate(sheets):
        sheet = book.create_sheet(str(2023 + number))
        for row in rows:
            sheet.append(row)
        for cells in merged.split():
            sheet.merge_cells(cells)
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


TARIFFS = [
    ("Desde", "Hasta", "Consumo (kWh)", None, None, "Energía", "Total"),
    (None, None, "P1", "P2", "P3", "€", "€"),
    (day("2024-01-01"), day("2024-01-31"), 29, 30, 40, 14.84, 33.66),
    (day("2024-02-01"), day("2024-02-29"), 30, 31, 41, 15.31, 32.92),
]


@pytest.mark.parametrize("merged", ["C1:E1", ""])
def test_all_columns_under_one_heading_are_the_quantity(tmp_path: Path, merged: str) -> None:
    result = import_ledger(workbook(tmp_path, TARIFFS, merged=merged), "metric")
    assert [entry["quantity"] for entry in result.entries] == [99, 102]
    (words,) = [words for words in result.noted if "added up" in words]
    assert "'Consumo (kWh) P1', 'Consumo (kWh) P2', 'Consumo (kWh) P3' are added up" in words


@pytest.mark.parametrize("heads", [
    "Day Units,Night Units", "Verbrauch HT,Verbrauch NT", "Consommation HP,Consommation HC",
    "Verbruik normaal,Verbruik dal", "Peak usage,Off-peak usage", "Consumo F1,Consumo F2",
])  # fmt: skip
def test_quantities_by_tariffs_are_kwh_and_added_up(tmp_path: Path, heads: str) -> None:
    result = read(
        tmp_path,
        f"From,To,{heads},Energy,Total\n"
        "2024-01-01,2024-01-31,200,86,87.48,99.1\n"
        "2024-02-01,2024-02-29,120,43,47.11,58.9\n",
    )
    found = [(entry["kind"], entry["quantity"], entry["unit"]) for entry in result.entries]
    assert found == [("electricity", 286, "kWh"), ("electricity", 163, "kWh")]


@pytest.mark.parametrize(("heads", "days"), [
    ("Bill no,Billing Start Date,Billing End Date", ["2024-01-01", "2024-01-31"]),
    ("Bill date,Prior read date,Current read date", ["2024-02-05,2024-01-01", "2024-01-31"]),
    ("Rechnungsdatum,Vorheriges Ablesedatum,Aktuelles Ablesedatum",
     ["2024-02-05,2024-01-01", "2024-01-31"]),
    ("Date facture,Début de relevé,Fin de relevé", ["2024-02-05,2024-01-01", "2024-01-31"]),
    ("Month,Year", ["January", "2024"]),
    ("Year,Month", ["2024", "1"]), ("Jahr,Monat", ["2024", "01"]),
])  # fmt: skip
def test_the_days_of_a_bill_by_the_words_of_their_headings(
    tmp_path: Path, heads: str, days: list[str]
) -> None:
    first, last = days
    first = f"B7,{first}" if heads.startswith("Bill no") else first
    result = read(tmp_path, f"{heads},Usage (kWh),Total\n{first},{last},200,99.10\n")
    (entry,) = result.entries
    assert (str(entry["period_start"]), str(entry["date"])) in [
        (start, "2024-01-31") for start in ("2023-12-31", "2024-01-01")]  # fmt: skip


_BILLED = [("2024-02-06", "2024-01-01", "2024-01-31"), ("2024-03-06", "2024-02-01", "2024-02-29"),
           ("2024-04-06", "2024-03-01", "2024-03-31"), ("2024-05-06", "2024-04-01", "2024-04-30"),
           ("2024-06-06", "2024-05-01", "2024-05-31")]  # fmt: skip


def bills(heads: str, last: int = 2) -> str:
    lines = [";".join([*days[:2], days[last], "10", "5"]) for days in _BILLED]
    return "\n".join([f"Factuurdatum;{heads};Verbruik (kWh);Bedrag", *lines])


@pytest.mark.parametrize("heads", [
    "Periode van;Periode tot en met", "Ingang periode;Facturatieperiode t/m",
    "Zeitraum ab;Periode bis einschließlich", "Abrechnung vom;Abrechnungszeitraum bis zum",
    "Période du;Période jusqu'au", "Facturé depuis;Facturé jusqu'au", "Periodo da;Periodo a",
    "Consumi dal;Consumi fino al", "Periodo del;Hasta fecha", "Período de;Fim do período",
    "Usage since;Up to and including", "Billed from;Bill period ending",
    "Fra og med;Til og med", "Kwam;Ging",  # told by periods that follow each other
])  # fmt: skip
def test_from_and_through_stand_before_or_behind_a_noun_or_the_periods_tell(
    tmp_path: Path, heads: str
) -> None:
    result = read(tmp_path, bills(heads))
    assert [str(entry["date"]) for entry in result.entries] == [last for *_, last in _BILLED]
    assert all(entry["counted"] for entry in result.entries)


@pytest.mark.parametrize("heads", [
    "Facture du;Facturé depuis;Facturé jusqu'au", "Fattura del;Consumi da;Consumi fino al",
    "Factura del;Periodo del;Periodo al", "Fatura de;Consumo a partir de;Fim do período",
])  # fmt: skip
def test_the_day_of_the_paper_is_no_first_day(tmp_path: Path, heads: str) -> None:
    text = bills("").replace("Factuurdatum;;", f"{heads};").replace("Bedrag", "Total")
    result = read(tmp_path, text, values={"kind": "electricity"})
    assert [str(e["date"]) for e in result.entries] == [last for *_, last in _BILLED]
    assert all(e["counted"] and e["note"].startswith("billed") for e in result.entries)


def test_where_most_bills_overlap_the_likely_cause_is_told_once(tmp_path: Path) -> None:
    text = bills("Periode van;Ging", last=1)
    result = read(tmp_path, text, period_from="first day")
    assert "4 of 5 bills" in result.overlap and "'Factuurdatum'" in result.overlap
    assert "'Ging'" in result.overlap and not result.doubles
    stated = read(tmp_path, text, period_from="first day", columns={"date": "Factuurdatum"})
    assert not stated.overlap and len(stated.doubles) == 4


@pytest.mark.parametrize("word", ["n.n.b.", "n.v.t.", "onbekend", "n/a", "unbekannt", "-"])
def test_a_word_for_a_quantity_leaves_it_open_and_its_money_counts(
    tmp_path: Path, word: str
) -> None:
    text = bills("Periode van;Periode tot en met").replace(";10;5", f";{word};5", 1)
    result = read(tmp_path, text)
    assert [e["quantity"] for e in result.entries] == [None, 10, 10, 10, 10]
    assert sum(e["amount"] for e in result.entries) == 25 and not result.faulty
    words = f"line 2: {word} is no quantity of electricity, left out; the amount counts"
    assert words in result.noted
    (line,) = read(tmp_path, text.replace(f"{word};5", f"10;{word}")).faulty
    assert line.reason in (f"{word!r} is not a number", "has no amount")


def test_a_fixed_charge_is_parted_where_use_times_price_and_it_make_the_amount(
    tmp_path: Path,
) -> None:
    rows = [(38, 16.40), (317, 24.60), (208, 24.60), (129, 24.60)]  # at 1.12, and 9 % tax
    lines = ["Periode van;Periode t/m;Verbruik (m³);Tarief per m³;Vastrecht;Bedrag excl. btw;"
             "Btw bedrag;Bedrag incl. btw"]  # fmt: skip
    for month, (use, fixed) in enumerate(rows, 1):
        net = round(use * 1.12 + fixed, 2)
        cells = [f"2024-0{month}-01", f"2024-0{month}-28", use, 1.12, fixed, net]
        tax = round(net * 0.09, 2)
        lines.append(";".join(map(str, [*cells, tax, round(net + tax, 2)])))
    result = read(tmp_path, "\n".join(lines), values={"kind": "water", "currency": "EUR"},
                  period_from="first day")  # fmt: skip
    apart = [e["amount"] - e["tax"] for e in result.entries if e["quantity"] is None]
    assert apart == pytest.approx([fixed for _, fixed in rows], abs=0.01)
    assert not any("not parted" in words for words in result.findings)


def test_a_day_of_reading_goes_before_the_month_that_names_it(tmp_path: Path) -> None:
    result = read(
        tmp_path,
        "Month,Year,Read Date,kWh,Temp,Billed $\n"
        "January,2024,2024-01-19,152,40,40.12\nFebruary,2024,2024-02-18,146,46,39.62\n",
    )
    assert [str(entry["date"]) for entry in result.entries] == ["2024-01-19", "2024-02-18"]


def test_a_year_and_its_quarter_stand_in_columns_of_their_own(tmp_path: Path) -> None:
    result = read(tmp_path, "Year,Quarter,Usage (m3),Total\n2023,4,30,61.5\n2024,1,12,30.3\n",
                  values={"kind": "water"})  # fmt: skip
    found = [(str(entry["period_start"]), str(entry["date"])) for entry in result.entries]
    assert found == [("2023-09-30", "2023-12-31"), ("2023-12-31", "2024-03-31")]
    result = read(tmp_path, "Year,Usage (m3),Total\n2023,30,61.5\n2024,12,30.3\n",
                  values={"kind": "water"})  # fmt: skip
    found = [(str(entry["period_start"]), str(entry["date"])) for entry in result.entries]
    assert found == [("2022-12-31", "2023-12-31"), ("2023-12-31", "2024-12-31")]


def test_a_heading_of_money_over_words_is_no_amount(tmp_path: Path) -> None:
    result = read(tmp_path, "Bill ref,Bill from,Bill to,Charge,kWh,p/kWh,£\n"
                  "S1,01-Jan-2024,31-Mar-2024,Day units,251,28.90,72.54\n"
                  "S1,01-Jan-2024,31-Mar-2024,Standing charge,,,49.10\n"
                  "S1,01-Jan-2024,31-Mar-2024,VAT @ 5%,,,6.08\n")  # fmt: skip
    found = [(e["item"], e["quantity"], e["amount"], e["tax"]) for e in result.entries]
    assert found == [("Day units", 251, 72.54, None), ("Standing charge", None, 49.10, None),
                     ("VAT @ 5%", None, 6.08, 6.08)]  # fmt: skip
    assert {(entry["kind"], entry["currency"]) for entry in result.entries} == {
        ("electricity", "GBP")}  # fmt: skip


def test_money_before_tax_in_a_heading_is_no_unit_and_a_levy_no_tax(tmp_path: Path) -> None:
    result = read(tmp_path, "Début de période;Fin de période;Heures pleines (kWh);"
                  "Heures creuses (kWh);Consommation (€ HT);Taxe communale (€);TVA à 20 % (€);"
                  "Montant TTC (€)\n01/01/2024;29/02/2024;156;87;36,72;9,47;9,24;55,43\n"
                  "01/03/2024;30/04/2024;307;172;72,36;14,78;17,43;104,57\n")  # fmt: skip
    found = [(e["quantity"], e["amount"], e["tax"]) for e in result.entries]
    assert found == [(243, 55.43, 9.24), (479, 104.57, 17.43)]


def kinds(result: LedgerImport) -> list[tuple[str, float | None, float]]:
    return [(entry["kind"], entry["quantity"], entry["amount"]) for entry in result.entries]


def test_a_column_over_kinds_tells_them(tmp_path: Path) -> None:
    result = read(tmp_path, "Account,Bill Date,Service,From,To,Usage,UOM,Charge\n"
                  "9,02/14/2024,Water,01/01/2024,01/31/2024,2,m3,20.20\n"
                  "9,02/14/2024,Sewer,01/01/2024,01/31/2024,2,m3,24.40\n"
                  "9,02/14/2024,Storm Drain,01/01/2024,01/31/2024,,,7.35\n")  # fmt: skip
    assert kinds(result) == [("water", 2, 20.2), ("sewer", 2, 24.4), ("storm drain", None, 7.35)]


def test_lines_of_sewer_are_no_water(tmp_path: Path) -> None:
    result = read(tmp_path, "Rechnungsdatum;Von;Bis;Leistung;Menge (m³);Betrag\n"
                  "14.02.2024;01.01.2024;31.01.2024;Trinkwasser;20;40,20\n"
                  "14.02.2024;01.01.2024;31.01.2024;Abwassergebühr;20;54,40\n"
                  "14.02.2024;01.01.2024;31.01.2024;Grundpreis;;7,35\n")  # fmt: skip
    assert kinds(result) == [("water", 20, 40.2), ("sewer", 20, 54.4), ("water", None, 7.35)]


def test_power_by_lines_whose_items_name_the_unit(tmp_path: Path) -> None:
    result = read(tmp_path, "Date,Description,Units,Rate (c),Amount\n"
                  "31 Jan 2024,Day units (kWh),487,27.4,133.44\n"
                  "31 Jan 2024,Night units (kWh),209,16.1,33.65\n"
                  "31 Jan 2024,Daily fixed charge,31,90,27.90\n"
                  "31 Jan 2024,Prompt payment discount 5%,,,-9.75\n")  # fmt: skip
    assert kinds(result) == [
        ("electricity", 487, 133.44), ("electricity", 209, 33.65), ("electricity", None, 27.9),
        ("electricity", None, -9.75)]  # fmt: skip


def test_every_heading_that_nothing_is_read_from_is_told(tmp_path: Path) -> None:
    result = read(tmp_path, "Bill date,Jakso alku,Jakso loppu,Tariff,Usage (kWh),Total\n"
                  "2024-02-03,2024-01-01,2024-01-31,C11,200,99.10\n")  # fmt: skip
    assert result.noted[-1] == ("headings not used: 'Jakso alku', 'Jakso loppu', 'Tariff'; "
                                "'Jakso alku' and 'Jakso loppu' hold days")  # fmt: skip


def test_figures_with_their_unit_and_the_side_of_an_account(tmp_path: Path) -> None:
    result = read(tmp_path, "Belegdatum;AbrZeitr.von;AbrZeitr.bis;Sparte;Verbrauch;"
                  "Bruttobetrag;S/H\n"
                  "14.01.2024;20230701;20231231;Wasser;95,000 m³;240,48 EUR;S\n"
                  "14.07.2024;20240101;20240630;Wasser;105,000 m³;262,42 EUR;S\n"
                  "14.07.2024;20240101;20240630;Wasser;105,000 m³;262,42 EUR;H\n"
                  "14.07.2024;20240101;20240630;Wasser;85,000 m³;218,55 EUR;S\n")  # fmt: skip
    counted = [entry for entry in result.entries if entry["counted"]]
    assert sum(entry["quantity"] for entry in counted) == 180
    assert round(sum(entry["amount"] for entry in counted), 2) == 459.03
    assert str(counted[0]["date"]) == "2023-12-31"


def test_days_of_reading_go_before_a_month_and_money_may_be_in_rand(tmp_path: Path) -> None:
    result = read(tmp_path, "Account Month,Reading From,Reading To,Consumption (kl),Total Due\n"
                  "2023/12,2023-11-14,2023-12-13,30,R 1 046.50\n"
                  "2024/01,2023-12-14,2024-01-13,41,R 1 414.50\n",
                  values={"kind": "water"})  # fmt: skip
    found = [(str(entry["date"]), entry["quantity"], entry["amount"]) for entry in result.entries]
    assert found == [("2023-12-13", 30, 1046.5), ("2024-01-13", 41, 1414.5)]


def test_polish_letters_are_read_and_a_charge_by_the_month_has_no_quantity(tmp_path: Path) -> None:
    path = tmp_path / "bills.csv"
    path.write_bytes("Data;Pozycja;Ilość;J.m.;Do zapłaty\n2024-01-31;Energia;200;kWh;150,40\n"
                     "2024-01-31;Opłata stała;1;miesiąc;12,30\n".encode("cp1250"))  # fmt: skip
    said = ListMapping(values={"kind": "electricity"}, columns={
        "date": "Data", "item": "Pozycja", "quantity": "Ilość", "unit": "J.m.",
        "amount": "Do zapłaty"})  # fmt: skip
    result = import_ledger(path, "metric", said)
    assert kinds(result) == [("electricity", 200, 150.4), ("electricity", None, 12.3)]


@pytest.mark.parametrize(("second", "used"), [("Network use", 500), ("Tier 2", 1000)])
def test_in_one_bill_alone_a_use_that_charges_share_counts_once(
    second: str, used: float, tmp_path: Path
) -> None:
    path = tmp_path / "power.csv"
    head = "Invoice,From,To,Description,kWh,Amount\nE1,2025-01-01,2025-01-31,"
    path.write_text(f"{head}Energy,500,100.00\nE1,2025-01-01,2025-01-31,{second},500,40.00\n")
    entries = import_ledger(path, "metric", ListMapping(values={"kind": "electricity"})).entries
    assert sum(entry["quantity"] for entry in entries) == used
    assert sum(entry["amount"] for entry in entries) == 140
