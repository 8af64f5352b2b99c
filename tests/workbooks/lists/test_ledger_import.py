"""Messy invented exports of three years: what is read, what is refused, what is asked."""

from __future__ import annotations

import csv
import datetime as dt
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import xlfuncs
from tests.made_once import made_once
from workbook_template.build import demo_inputs
from xlfuncs.command_line.main import commands
from xlfuncs.errors import WorkbookError
from xlfuncs.tables.money.ledger import LEDGER
from xlfuncs.workbooks.ledger_report import write_import
from xlfuncs.workbooks.lists.ledger.importing import LedgerImport, entries_of, import_ledger
from xlfuncs.workbooks.lists.mapping import ListMapping, with_answer
from xlfuncs.workbooks.lists.numbers import UnsettledError, read_number

EXPORTS = Path(__file__).parents[3] / "examples" / "us" / "exports"


def stated(
    words: dict[str, str] | None = None, columns: dict[str, str] | None = None,
    date_order: str = "", decimal: str = "", **values: str,
) -> ListMapping:  # fmt: skip
    """What a person says of an export, in the keys of the one mapping file."""
    return ListMapping(columns=columns or {}, values=values, words=words or {},
                       date_order=date_order, decimal=decimal)  # fmt: skip


WATER = stated(kind="water")
HEADINGS_2025 = {
    "date": "Datum des Belegs", "reference": "Beleg", "kind": "Warengruppe",
    "item": "Bezeichnung", "quantity": "Menge", "unit": "Einheit", "amount": "Betrag",
}  # fmt: skip
Write = Callable[..., Path]


@pytest.fixture
def write(tmp_path: Path) -> Write:
    def to_file(text: str | bytes, name: str = "export.csv") -> Path:
        path = tmp_path / name
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return path

    return to_file


def reasons(result: LedgerImport) -> dict[int, str]:
    return {line.line: line.reason for line in result.refused}


def total(result: LedgerImport, counted: bool = True) -> Decimal:
    return sum(
        (Decimal(str(e["amount"])) for e in result.entries if e["counted"] == counted), Decimal(0)
    )


def test_water_bills_of_2023() -> None:
    result = import_ledger(EXPORTS / "water_2023.csv", "us", WATER)
    assert len(result.entries) == 12
    assert reasons(result) == {11: "repeats the headings", 18: "is a total"}
    assert total(result) == Decimal("203.35")  # the total that the file itself prints on line 18
    assert sum(e["quantity"] or 0 for e in result.entries) == pytest.approx(21.5)
    first = result.entries[0]
    assert (first["date"], first["period_start"]) == (dt.date(2023, 2, 27), dt.date(2022, 12, 29))
    assert (first["unit"], first["note"], first["kind"]) == ("kgal", "Estimated", "water")
    assert "date_order MDY, because line 5 has '02/27/2023'" in result.findings


def test_water_bills_of_2024() -> None:
    said = stated(kind="water", columns={"item": "Charge type"})
    result = import_ledger(EXPORTS / "water_2024.csv", "us", said)
    assert len(result.entries) == 14
    assert reasons(result) == {16: "'2024-11-31' is not a day of the calendar, read as YMD"}
    assert result.doubles == [(10, "same as line 8: entered twice?")]
    assert result.entries[-1]["amount"] == -12.5
    # a cubic foot is 1728/231 = 7.480519 US gallons (NIST Handbook 44, Appendix C)
    assert result.entries[0]["quantity"] == pytest.approx(0.668 * 0.7480519, rel=1e-6)
    assert "currency $, the only one in the file" in result.findings


def test_water_bills_of_2025_in_a_workbook() -> None:
    result = import_ledger(EXPORTS / "water_2025.xlsx", "us", WATER)
    assert len(result.entries) == 12
    assert reasons(result) == {
        16: "'pending' is not a date",
        17: "has no amount",  # a formula that no spreadsheet program has calculated
        18: "is a total",
    }
    assert sum(e["quantity"] or 0 for e in result.entries) == pytest.approx(24.9)


def test_shop_of_2023() -> None:
    said = stated(words={"Drip tape": "tape"}, currency="USD")
    result = import_ledger(EXPORTS / "shop_2023.csv", "us", said)
    assert reasons(result) == {10: "has no amount", 11: "is a total"}
    assert result.lines == [2, 3, 4, 5, 7, 8, 9]  # the entry of line 5 spans line 6
    assert total(result) == Decimal("204.14")  # as the file prints
    assert (result.entries[6]["quantity"], result.entries[6]["note"]) == (None, "100 kg")
    assert any("100 kg is no quantity of tubing" in words for words in result.noted)
    assert [e["kind"] for e in result.entries][:3] == ["tape", "fittings", "filters"]
    assert result.entries[5]["quantity"] == -4


def test_shop_of_2024() -> None:
    with pytest.raises(UnsettledError, match="CAD and USD"):
        import_ledger(EXPORTS / "shop_2024.csv", "us", stated(unit="ft"))
    result = import_ledger(EXPORTS / "shop_2024.csv", "us", stated(unit="ft", currency="USD"))
    assert reasons(result) == {
        6: "is in CAD, while the ledger is in USD",
        7: "net 11.00 and tax 0.88 do not make the amount 12.88",
        10: "'n/a' is not a number",
        11: "'09-Eyl-2024' names no month",
    }
    assert result.doubles == [(9, "same as line 8: entered twice?")]
    assert (total(result), total(result, counted=False)) == (Decimal("58.5"), Decimal("15.5"))
    assert result.entries[0]["tax"] == 2.44


def test_shop_of_2025() -> None:
    with pytest.raises(UnsettledError, match=r"line 2 has '71,00' .* line 7 has '3.00'"):
        import_ledger(EXPORTS / "shop_2025.csv", "us", stated(columns=HEADINGS_2025))
    said = stated(columns=HEADINGS_2025, decimal=",")
    result = import_ledger(EXPORTS / "shop_2025.csv", "us", said)
    assert reasons(result) == {
        6: "'30.02.2025' is not a day of the calendar, read as DMY",
        7: "has 8 cells under 7 headings",
        8: "'3.0.0' is not a number with the decimal mark ','",
    }
    assert [e["quantity"] for e in result.entries] == [1000, 12, 1, None]
    assert (result.entries[1]["item"], result.entries[3]["amount"]) == ("Schlauchstück ½ in", -2.1)
    assert any("encoding cp1252" in words for words in result.findings)


@pytest.mark.parametrize("name", ["water_2023.csv", "water_2024.csv", "water_2025.xlsx"])
def test_every_line_is_accounted_for_and_comes_in_once(name: str) -> None:
    path = EXPORTS / name
    if path.suffix == ".xlsx":
        count = openpyxl.load_workbook(path).worksheets[0].max_row
    else:
        with path.open(encoding="utf-8-sig", newline="") as file:
            count = sum(1 for _ in csv.reader(file))
    first = import_ledger(path, "us", WATER)
    assert first.lines_read == count
    again = import_ledger(path, "us", WATER, existing=first.entries)
    assert again.entries == []
    assert again.lines_read == count
    ours = [reason for reason in reasons(again).values() if reason == "is in the ledger already"]
    assert len(ours) == len(first.entries)


def test_the_example_ledger_holds_what_the_exports_hold() -> None:
    with (EXPORTS.parent / "ledger.csv").open(encoding="utf-8", newline="") as file:
        ledger = list(csv.DictReader(file))
    water = [r for r in ledger if r["Kind"] == "water" and r["Counted"] == "yes"]
    in_2023 = sum(Decimal(r["Amount"]) for r in water if r["Date"] < "2024")
    assert in_2023 == Decimal("203.35")
    own = import_ledger(EXPORTS.parent / "ledger.csv", "us")
    assert len(own.entries) == len(ledger)
    assert own.refused == []
    assert [e["counted"] for e in own.entries] == [r["Counted"] == "yes" for r in ledger]


def test_what_the_file_does_not_settle_is_asked(write: Write) -> None:
    heads = "Date,Quantity (kgal),Amount\n"
    with pytest.raises(UnsettledError, match="Does the day or the month come first"):
        import_ledger(write(heads + "03/04/2024,1,2.50\n05/05/2024,1,2.50\n"), "us", WATER)
    with pytest.raises(UnsettledError, match=r"line 2 has '13/04/2024' \(DMY\) but line 3"):
        import_ledger(write(heads + "13/04/2024,1,2.50\n04/13/2024,1,2.50\n"), "us", WATER)
    with pytest.raises(UnsettledError, match="decimal mark"):
        import_ledger(write(heads + '2024-04-03,1,"1,234"\n'), "us", WATER)
    with pytest.raises(UnsettledError, match="No column says of what kind"):
        import_ledger(write(heads + "2024-04-03,1,2.50\n"), "us")
    with pytest.raises(UnsettledError, match="in what is the water measured"):
        import_ledger(write("Date,Quantity,Amount\n2024-04-03,1,2.50\n"), "us", WATER)
    with pytest.raises(UnsettledError, match="'Amount' and 'Total' may both be the amount"):
        import_ledger(write("Date,Amount,Total\n2024-04-03,1,2.50\n"), "us", WATER)
    with pytest.raises(UnsettledError, match="no line of headings"):
        import_ledger(write("2024-04-03,1,2.50\n"), "us", WATER)
    with pytest.raises(UnsettledError, match="comma or semicolon"):
        import_ledger(write("Date,Amount\n2024-04-03,2\nDate;Amount\n2024-04-03;2\n"), "us", WATER)
    with pytest.raises(WorkbookError, match="not a readable zip"):
        import_ledger(write("no zip", "bills.xlsx"), "us", WATER)


def test_what_is_stated_settles_it(write: Write) -> None:
    path = write("Date,Quantity (kgal),Amount\n03/04/2024,1,2.50\n")
    for order, day in (("DMY", dt.date(2024, 4, 3)), ("MDY", dt.date(2024, 3, 4))):
        result = import_ledger(path, "us", stated(kind="water", date_order=order))
        assert result.entries[0]["date"] == day
        assert f"date_order {order}, as stated" in result.findings
    headed = write("Date (mm/dd/yyyy),Quantity (kgal),Amount\n03/04/2024,1,2.50\n")
    assert import_ledger(headed, "us", WATER).entries[0]["date"] == dt.date(2024, 3, 4)


def test_headings_are_stated_by_the_ledgers_names_and_none_is_passed_over(write: Write) -> None:
    path = write("Datum,Seit,Menge (m3),Betrag,Zimmer\n2024-04-03,2024-02-01,1,2.50,7\n")
    heads = {"date": "Datum", "amount": "Betrag", "quantity": "Menge"}
    result = import_ledger(path, "metric", stated(kind="water", columns=heads))
    assert "headings not used: 'Seit', 'Zimmer'" in result.findings
    said = stated(kind="water", columns=heads | {"Previous reading date": "Seit"})
    assert import_ledger(path, "metric", said).entries[0]["period_start"] == dt.date(2024, 2, 1)
    columns = {"last day": "Datum", "first day": "Seit", "total": "Betrag"}
    said = replace(stated(kind="water", unit="m3", columns=columns), period_from="reading")
    assert import_ledger(path, "metric", said).entries[0]["period_start"] == dt.date(2024, 2, 1)
    for columns, words in (
        (heads | {"begins": "Seit"}, r"no column 'begins'; it has date \(last day\), period_"),
        (heads | {"item": "Text"}, "no heading 'Text' for item"),
    ):
        with pytest.raises(UnsettledError, match=words):
            import_ledger(path, "metric", stated(kind="water", columns=columns))


def test_a_word_may_stand_for_a_kind_or_a_unit(write: Write) -> None:
    path = write("Date,Kind,Quantity,Unit,Amount\n2024-04-03,Verbinder,4,Gros,2.50\n")
    with pytest.raises(UnsettledError, match="counted in pieces: is 'Gros' a word") as asked:
        import_ledger(path, "us", stated(words={"verbinder": "fittings"}))
    assert [q.option() for q in asked.value.questions] == ['--as "Gros=pieces"']
    said = stated(words={"verbinder": "fittings", "Gros": "pieces"})
    (entry,) = import_ledger(path, "us", said).entries
    assert (entry["kind"], entry["quantity"]) == ("fittings", 4.0)


def test_what_a_workbooks_ledger_holds_does_not_come_in_again(tmp_path: Path) -> None:
    """The invented farm's ledger was made of these exports."""
    made_once(tmp_path / "farm.xlsx", "us", demo_inputs("us"))
    existing = entries_of(tmp_path / "farm.xlsx")
    first = import_ledger(EXPORTS / "water_2023.csv", "us", WATER)
    again = import_ledger(EXPORTS / "water_2023.csv", "us", WATER, existing)
    assert len(first.entries) == 12
    assert again.entries == []
    assert list(reasons(again).values()).count("is in the ledger already") == 12


def test_units_become_the_ledgers_own(write: Write) -> None:
    path = write("Date,Quantity,Unit,Amount\n2024-04-03,2,m3,9\n2024-05-03,2000,L,9\n")
    assert [e["quantity"] for e in import_ledger(path, "metric", WATER).entries] == [2.0, 2.0]
    in_gallons = import_ledger(path, "us", WATER).entries[0]
    # 1 US gallon is 3.785411784 L exactly (NIST Handbook 44, Appendix C)
    assert in_gallons["quantity"] == pytest.approx(2 / 3.785411784, rel=1e-12)
    assert in_gallons["unit"] == "kgal"


@pytest.mark.parametrize(
    ("text", "mark", "value"),
    [
        ("1,234.56", ".", "1234.56"),
        ("1.234,56", ",", "1234.56"),
        ("1'234.50", ".", "1234.50"),
        ("1\u00a0234,5", ",", "1234.5"),
        ("(12.50)", ".", "-12.50"),
        ("12.50-", ".", "-12.50"),
        ("\u221212.50", ".", "-12.50"),
        ("12.50 CR", ".", "-12.50"),
        ("$ 1,000", ".", "1000"),
        ("EUR 3,00", ",", "3.00"),
    ],
)
def test_numbers_as_exports_write_them(text: str, mark: str, value: str) -> None:
    assert read_number(text, mark) == Decimal(value)


@given(st.decimals(-(10**9), 10**9, places=2), st.sampled_from(".,"))
def test_a_number_printed_is_the_number_read(value: Decimal, mark: str) -> None:
    swap = str.maketrans(",.", ".,")
    printed = f"{value:,}" if mark == "." else f"{value:,}".translate(swap)
    assert read_number(printed, mark) == value


CELLS = st.sampled_from(
    ["", "2024-05-01", "31.12.2024", "01/02/2024", "Total", "12.50", "1,5", "(3)", "=1+1", "#N/A",
     "5 EUR", "$4", "tape", "two\nlines", 'a "quoted" word', "1,234,567.8", "kgal", "ft"]
)  # fmt: skip


@given(rows=st.lists(st.lists(CELLS, max_size=8), max_size=12))
@settings(deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_whatever_stands_in_a_file_every_line_is_accounted_for(
    rows: list[list[str]], tmp_path: Path
) -> None:
    path = tmp_path / "export.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        lines = [["Date", "Kind", "Quantity", "Unit", "Amount", "Item"], *rows]
        csv.writer(file).writerows(lines)
    said = stated(unit="kgal", kind="water", currency="EUR", date_order="DMY", decimal=".")
    try:
        result = import_ledger(path, "us", said)
    except UnsettledError as error:  # words for pieces: all at once
        for question in error.questions:
            said = with_answer(said, question, question.choices[0])
        result = import_ledger(path, "us", said)
    assert result.lines_read == len(lines)
    assert len({*result.lines, *(r.line for r in result.refused)}) == len(result.lines) + len(
        result.refused
    )
    for entry in result.entries:
        assert isinstance(entry["date"], dt.date)
        assert isinstance(entry["amount"], float)


def test_text_never_becomes_a_formula(tmp_path: Path) -> None:
    said = stated(words={"Drip tape": "tape"})
    result = import_ledger(EXPORTS / "shop_2023.csv", "us", said)
    write_import(result, tmp_path / "report.xlsx")
    sheet = openpyxl.load_workbook(tmp_path / "report.xlsx")["Ledger"]
    cells = [cell for row in sheet.iter_rows() for cell in row]
    (offer,) = [cell for cell in cells if cell.value == "=1+1 special offer"]
    assert offer.data_type == "s"
    assert all(cell.data_type != "f" for cell in cells)
    assert [cell.value for cell in sheet[1]][:-1] == [c.heading("us") for c in LEDGER.columns]


def test_the_command(tmp_path: Path) -> None:
    report = tmp_path / "report.xlsx"
    call = ["import-ledger", str(EXPORTS / "water_2024.csv"), str(report), "--kind", "water",
            "--column", "item=Charge type"]  # fmt: skip
    run = CliRunner().invoke(commands, call)
    assert run.exit_code == 0, run.output
    assert "line 16 refused" in run.output
    assert "line 10 is not counted" in run.output
    book = openpyxl.load_workbook(report)
    assert book.sheetnames == ["Ledger", "Refused", "How it was read"]
    again = CliRunner().invoke(commands, call)
    assert again.exit_code == 2
    assert "is there already" in again.output
    call[1] = str(EXPORTS / "shop_2024.csv")
    asked = CliRunner().invoke(commands, [*call[:3], "--force"])
    assert "--unit" in str(asked.exception)  # the question comes with the option that answers it


def test_no_heading_means_two_columns() -> None:
    names = [
        name.lower() for column in LEDGER.columns for name in (column.header, *column.synonyms)
    ]
    assert len(names) == len(set(names))


def test_metric_bills_with_decimal_commas() -> None:
    path = EXPORTS.parents[1] / "metric" / "exports" / "water_2024.csv"
    columns = {"period_start": "Ablesung davor", "quantity": "Menge", "amount": "Betrag",
               "date": "Datum", "reference": "Rechnung"}  # fmt: skip
    result = import_ledger(path, "metric", stated(kind="water", columns=columns))
    assert result.refused == []
    assert sum(e["quantity"] or 0 for e in result.entries) == pytest.approx(113)
    assert result.entries[-1]["amount"] == 1004.25
    assert {
        "date_order DMY, because line 3 has '27.02.2024'",
        "currency EUR, the only one in the file",
    } <= set(result.findings)


def test_imported_bills_give_the_readings_use() -> None:
    # Two ways to the use of 2023 to 2025: the meter's readings, and the bills.
    with (EXPORTS.parent / "readings.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    use = xlfuncs.meter_use(
        [r["Date"] for r in rows], [float(r["Reading (kgal)"]) for r in rows],
        [r["Estimated"] for r in rows], register=1000.0,
    )["use"]  # fmt: skip
    assert float(use.sum()) == pytest.approx(21.5 + 30.6 + 24.9)
