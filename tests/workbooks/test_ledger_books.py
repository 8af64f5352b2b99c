"""Exports into a workbook's own ledger: what comes in, what stays as it is, and the way back."""

from __future__ import annotations

import csv
import re
from decimal import Decimal
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from click.testing import CliRunner

from workbook_template.build import build, starting_inputs
from workbook_template.kit.inputs import Inputs
from xlfuncs.command_line.main import commands
from xlfuncs.errors import WorkbookError
from xlfuncs.workbooks.checking.input_checks import check
from xlfuncs.workbooks.ledger_books import planned, system_of, undo
from xlfuncs.workbooks.lists.ledger.importing import entries_of
from xlfuncs.workbooks.lists.mapping import ListMapping
from xlfuncs.workbooks.our_tables.read_inputs import read_inputs
from xlfuncs.workbooks.recalculating.with_libreoffice import evaluate_with_libreoffice
from xlfuncs.workbooks.refused_lines import kept
from xlfuncs.workbooks.tax_page import tax_page
from xlfuncs.xlsx.contents import Contents
from xlfuncs.xlsx.package import Package

EXPORTS = Path(__file__).parents[2] / "examples" / "us" / "exports"
WATER = ListMapping(values={"kind": "water"})


@pytest.fixture(scope="module")
def empty(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    path = tmp_path_factory.mktemp("books") / "books.xlsx"
    start = starting_inputs("us")
    build(path, "us", Inputs({"currency": "USD"}, start.tables), edition="bookkeeper")
    return path.read_bytes()


@pytest.fixture
def book(empty: bytes, tmp_path: Path) -> Path:
    path = tmp_path / "books.xlsx"
    path.write_bytes(empty)
    return path


def run(*arguments: str | Path, code: int = 0) -> str:
    call = ["import-ledger", *map(str, arguments), "--yes"]
    done = CliRunner().invoke(commands, call)
    assert done.exit_code == code, f"{done.output}{done.exception}"
    return done.output


def shop(path: Path, rows: list[list[Any]]) -> Path:
    with path.open("w", encoding="utf-8", newline="") as file:
        heads = ["Order date", "Order", "Category", "Product", "Qty", "Line total"]
        csv.writer(file).writerows([heads, *rows])
    return path


def many(count: int) -> list[list[Any]]:
    return [[f"2024-{i % 12 + 1:02}-{i % 28 + 1:02}", f"R{i}", "fittings", f"Part {i}", 2, 1.25]
            for i in range(count)]  # fmt: skip


def test_several_exports_come_in_once_and_only_what_is_new_later(
    book: Path, empty: bytes, tmp_path: Path
) -> None:
    first = tmp_path / "water_2023.csv"
    lines = (EXPORTS / "water_2023.csv").read_text("utf-8").splitlines(keepends=True)
    first.write_text("".join(lines[:8]), "utf-8")
    told = run(first, EXPORTS / "water_2025.xlsx", "--into", book, "--kind", "water")
    assert "water_2023.csv: 4 new\n" in told
    assert "line 18 is a total, left out" in told
    assert "Written; --undo takes it back (backup: books.backup-" in told
    assert (tmp_path / "water.import.toml").read_text("utf-8").count('kind = "water"') == 1
    # the longer file a year later, and nothing to be said again
    assert "8 new, 4 known already" in run(EXPORTS / "water_2023.csv", "--into", book)
    everything = ["--into", book, EXPORTS / "water_2023.csv", EXPORTS / "water_2025.xlsx"]
    before = book.read_bytes()
    assert "Nothing is new" in run(*everything)
    assert book.read_bytes() == before
    of_2023 = [e["amount"] for e in entries_of(book) if e["date"].year == 2023]
    assert sum(of_2023) == pytest.approx(203.35)  # the total that the file itself prints
    assert len(planned(book, [(EXPORTS / "water_2024.csv", WATER)]).entries) == 14


def test_what_a_file_was_taken_as_is_kept_for_its_longer_one(book: Path, tmp_path: Path) -> None:
    lines = ["Order,Placed on,Product,Qty,Line total\n", "A1,2024-03-04,Drip tape,4,300.00\n",
             "A1,2024-03-04,Delivery pallet,1,30.00\n", "A2,2025-03-04,Off-take,60,60.00\n",
             "A2,2025-03-04,Delivery pallet,1,30.00\n"]  # fmt: skip
    file = tmp_path / "orders.csv"
    file.write_text("".join(lines[:3]), "utf-8")
    dry = run(file, "--into", book, "--dry-run")
    assert dry.endswith("\nNothing was written.\n")  # no word of answers, for none was given
    assert "  delivery and discounts: 1 line, 30.00, spread over the other lines\n" in dry
    for count, told in ((3, "1 new\n"), (3, "0 new, 1 known"), (5, "1 new, 1 known")):
        file.write_text("".join(lines[:count]), "utf-8")
        assert f"orders.csv: {told}" in run(file, "--into", book)
    assert [entry["amount"] for entry in entries_of(book)] == [330.0, 90.0]


def test_a_check_of_a_ledger_finds_nothing_of_a_plan(book: Path) -> None:
    run(EXPORTS / "water_2023.csv", "--into", book, "--kind", "water")
    assert check(book) == []


def test_an_import_is_taken_back_to_the_byte_and_not_once_it_was_saved_since(
    book: Path, empty: bytes
) -> None:
    run(EXPORTS / "water_2023.csv", "--into", book, "--kind", "water")
    assert book.read_bytes() != empty
    undo(book)
    assert book.read_bytes() == empty
    with pytest.raises(WorkbookError, match="no import is known"):
        undo(book)
    run(EXPORTS / "water_2023.csv", "--into", book)
    book.write_bytes(book.read_bytes() + b"\0")
    with pytest.raises(WorkbookError, match="saved since"):
        undo(book)


def test_a_trial_writes_nothing(book: Path, empty: bytes) -> None:
    told = run(EXPORTS / "water_2023.csv", "--into", book, "--kind", "water", "--dry-run")
    assert "To Ledger, rows 6 to 17" in told
    assert book.read_bytes() == empty
    assert [path.name for path in book.parent.iterdir()] == ["books.xlsx"]


def test_only_what_must_change_does(book: Path, empty: bytes, tmp_path: Path) -> None:
    run(shop(tmp_path / "shop.csv", many(200)), "--into", book)
    old, new = Package(empty), Package.open(book)
    assert old.names() == new.names()
    changed = {part for part in old.names() if old.read(part) != new.read(part)}
    kinds = {re.sub(r"\d", "", part) for part in changed}
    assert kinds <= {"xl/worksheets/sheet.xml", "xl/tables/table.xml"}
    value = re.compile(rb'<v>[^<]*</v>| t="(?:str|e|b|n)"')
    ledger = Contents(old).sheet("Ledger").part
    for part in changed - {ledger}:
        if "worksheets" in part:  # but for computed values all is as it was
            assert value.sub(b"", old.read(part)) == value.sub(b"", new.read(part))
        else:
            assert old.read(part).replace(b":", b"") != new.read(part)
    for path, count in (("table", 1), ("drawing", 0)):
        assert sum(path in part for part in changed) == count


def test_a_table_that_is_full_grows_with_all_that_is_in_it(book: Path, tmp_path: Path) -> None:
    run(shop(tmp_path / "shop.csv", many(200)), "--into", book)
    run(shop(tmp_path / "shop_2.csv", many(215)), "--into", book)
    page = openpyxl.load_workbook(book)["Ledger"]
    table, top = page.tables["Ledger"], 5
    assert table.ref.endswith(str(top + 215))
    heads = {page.cell(top, column).value: column for column in range(1, page.max_column + 1)}
    for name, column in heads.items():
        first, last = (page.cell(row, column) for row in (top + 1, top + 215))
        assert first.number_format == last.number_format, name
        if isinstance(first.value, str) and first.value.startswith("="):
            assert first.value == last.value, name
    areas = {str(area) for v in page.data_validations.dataValidation for area in v.sqref.ranges}
    assert f"G{top + 1}:G{top + 215}" in areas
    shown = openpyxl.load_workbook(book, data_only=True)
    for row in (top + 1, top + 130, top + 215):
        cells = {name: shown["Ledger"].cell(row, column).value for name, column in heads.items()}
        assert (cells["Check"], cells["In the sums"]) == ("ok", "yes")
        assert cells["Cost to the garden"] == 1.25
    assert 215 * 1.25 in [cell.value for row in shown["Year detail"].iter_rows() for cell in row]


def test_what_stands_below_a_full_table_is_not_written_over(book: Path, tmp_path: Path) -> None:
    old = openpyxl.load_workbook(book)
    old["Ledger"]["A140"] = "mine"
    old.save(book)
    export = shop(tmp_path / "shop.csv", many(200))
    call = ["import-ledger", str(export), "--into", str(book), "--yes"]
    done = CliRunner().invoke(commands, call)
    assert "something stands below it" in str(done.exception)
    assert openpyxl.load_workbook(book)["Ledger"]["A140"].value == "mine"


def test_a_bill_of_the_ledger_that_is_replaced_counts_no_more(book: Path, tmp_path: Path) -> None:
    head = "Date,From,Kind,Usage (kgal),Amount,Invoice\n"
    bills = (
        "2024-02-29,2023-12-31,water,9.9,69.30,A1\n2024-04-30,2024-02-29,water,14,98.00,A2\n",
        "2024-05-31,2024-02-29,water,12.2,60.00,A3\n",
    )
    for number, rows in enumerate(bills):
        (tmp_path / f"water_{number}.csv").write_text(head + rows, "utf-8")
        told = run(tmp_path / f"water_{number}.csv", "--into", book)
    assert "row 7 of the ledger would be Counted: no" in told
    assert "row 7 of the ledger is replaced by line 2? 61 days" in told
    counted = [entry for entry in entries_of(book) if entry["counted"]]
    assert sum(entry["quantity"] for entry in counted) == pytest.approx(22.1)
    assert "Nothing is new" in run(
        tmp_path / "water_0.csv", tmp_path / "water_1.csv", "--into", book
    )


def test_kinds_are_learned_and_delivery_is_spread(book: Path, tmp_path: Path) -> None:
    rows = [["2024-03-01", "R1", "fittings", "Elbow", 10, "30.00"],
            ["2024-03-01", "R1", "filters", "Screen", 1, "10.00"],
            ["2024-03-01", "R1", "fittings", "Delivery", "", "6.01"],
            ["2024-03-01", "R1", "fittings", "Discount 5 %", "", "-2.00"]]  # fmt: skip
    told = run(shop(tmp_path / "shop.csv", rows), "--into", book, "--verbose")
    assert "line 4 is spread over line 2, 3 of R1: 6.01, Delivery" in told
    assert re.search(r"^USD by last day +2024\nfilters +11\.00\nfittings +33\.01\nall +44\.01$",
                     told, re.MULTILINE)  # fmt: skip
    assert [e["amount"] for e in entries_of(book)] == pytest.approx([33.01, 11.00])  # 44.01 in all
    assert "Nothing is new" in run(tmp_path / "shop.csv", "--into", book)
    later = tmp_path / "shop_2.csv"
    later.write_text("Date,Item,Qty,Amount\n2025-03-01,screen,2,20\n2025-03-01,Valve,1,9\n")
    told = run(later, "--into", book)
    assert "new items are taken as material (else --kind WORD)" in told
    assert "kinds as the ledger has them of such items (its last row): screen: filters" in told
    assert [entry["kind"] for entry in entries_of(book)[-2:]] == ["filters", "material"]


@pytest.mark.libreoffice
def test_calc_computes_the_same_from_it_and_keeps_its_charts(book: Path, tmp_path: Path) -> None:
    run(*EXPORTS.glob("water_20*"), "--into", book, "--kind", "water")
    run(shop(tmp_path / "shop.csv", many(200)), "--into", book)
    contents = Contents(Package.open(book))
    assert sum("charts/chart" in part for part in contents.package.names()) == 4
    found = evaluate_with_libreoffice(contents, book.read_bytes()).values["Years"]
    for place, value in found.items():
        cell = contents.cell_at("Years", *place)
        assert cell is not None
        stored = contents.value(cell)
        assert stored == (pytest.approx(value) if isinstance(value, float) else value)


def test_a_file_in_another_currency_than_the_one_before_it_is_refused(tmp_path: Path) -> None:
    for name, money in (("a", "EUR"), ("b", "CHF")):
        text = f"Date;Item;Quantity;Amount {money}\n2024-02-29;Fleece;9;20.00\n"
        (tmp_path / f"{name}.csv").write_text(text, "utf-8")
    book = tmp_path / "books.xlsx"
    told = run(tmp_path / "a.csv", tmp_path / "b.csv", "--into", book, code=1)
    assert "line 2 refused: is in CHF, while the ledger is in EUR" in told
    assert [entry["currency"] for entry in entries_of(book)] == ["EUR"]


def test_refused_money_ends_as_failed_and_a_total_does_not(tmp_path: Path) -> None:
    head, book = "Date,Item,Qty,Total\n2025-03-01,Rake,1,9.50\n", tmp_path / "books.xlsx"
    rows = tmp_path / "rows.csv"
    rows.write_text(head + "2025-31-02,Spade,1,20.00\n,,,29.50\n", "utf-8")
    told = run(rows, "--into", book, code=1)
    assert "line 4 is a total, left out" in told and "Written" in told
    (tmp_path / "rows.csv").write_text(head + "Total,,,9.50\n,,,9.50\n", "utf-8")
    assert "lines 3, 4 left out: each is a total" in run(rows, "--into", book)


def refused_of(book: Path) -> list[tuple[str, str, str, str]]:
    return [(row["File"], row["Line"], row["Amount"], row["Currency"]) for row in kept(book)]


def test_what_an_import_refuses_is_kept_till_it_comes_in_and_stands_on_the_tax_page(
    book: Path, tmp_path: Path
) -> None:
    head = "Invoice,Date,Item,Qty,Total,Currency\nA1,2025-03-01,Rake,1,9.50,USD\n"
    odd = "A2,2025-31-02,Spade,1,20.00,USD\nA3,2025-04-01,Pump,1,310.00,EUR\n"
    shop = tmp_path / "shop (1).csv"
    shop.write_text(head + odd, "utf-8")
    call = CliRunner().invoke(commands, ["import-ledger", str(shop), "--into", str(book), "--yes",
                                         "--kind", "tools", "--currency", "USD"])  # fmt: skip
    assert "20.00 USD and 310.00 EUR on 2 lines refused" in str(call.exception)
    lines = [(shop.name, "3", "20.00", "USD"), (shop.name, "4", "310.00", "EUR")]
    assert refused_of(book) == lines
    page = tax_page(Contents(Package.open(book)), 2025, kept(book))
    assert [(e["reference"], e["amount"]) for e in page.left_out] == [("A2", 20), ("A3", 310)]
    assert (
        "EUR" in page.left_out[1]["reason"] and "line 4 of shop (1).csv" in page.as_csv().decode()
    )
    assert page.sums()[0] == Decimal("9.50")
    checked = CliRunner().invoke(commands, ["check", str(book)]).output
    assert "not in the ledger: 20.00 USD and 310.00 EUR on 2 lines" in checked

    longer = tmp_path / "shop_2025.csv"  # of the same supplier; one of its lines was corrected
    longer.write_text(head + odd.replace("2025-31-02", "2025-02-28"), "utf-8")
    run(longer, "--into", book, code=1)
    assert refused_of(book) == [(longer.name, "4", "310.00", "EUR")]
    other = tmp_path / "other.csv"  # another's number 3
    other.write_text(head.replace("A1", "A3"), "utf-8")
    run(other, "--into", book)
    assert refused_of(book) == [(longer.name, "4", "310.00", "EUR")]
    longer.write_text(head, "utf-8")  # nothing new, and the line is gone
    run(longer, "--into", book)
    assert not refused_of(book)


def test_undo_takes_the_refused_lines_back_too(book: Path, tmp_path: Path) -> None:
    rows = tmp_path / "rows.csv"
    rows.write_text("Date,Item,Qty,Total\n2025-03-01,Rake,1,9.50\n2025-31-02,Fork,1,20.00\n")
    run(rows, "--into", book, "--kind", "tools", code=1)
    before = kept(book)
    run(tmp_path / "books.refused.csv", "--into", book, code=2)  # which is no export
    rows.write_text("Date,Item,Qty,Total\n2025-03-01,Rake,1,9.50\n2025-03-02,Fork,1,20.00\n")
    run(rows, "--into", book, "--kind", "tools")
    assert before and not kept(book)
    undo(book)
    assert kept(book) == before


def test_bills_that_mostly_overlap_are_not_written_unasked(book: Path, tmp_path: Path) -> None:
    lines = [f"2024-0{month + 1}-06,2024-0{month}-01,10,5" for month in range(1, 5)]
    (tmp_path / "power.csv").write_text("\n".join(["Invoice date,From,kWh,Amount", *lines]))
    before = book.read_bytes()
    call = [tmp_path / "power.csv", "--into", book, "--yes", "--period-from", "first day"]
    assert "3 of 4 bills are not counted" in run(*call, code=1)
    assert book.read_bytes() == before
    run(*call, "--column", "last day=Invoice date")  # which says that it is right
    assert book.read_bytes() != before


def test_where_nobody_can_say_yes_nothing_is_written(book: Path, empty: bytes) -> None:
    call = ["import-ledger", str(EXPORTS / "water_2023.csv"), "--into", str(book)]
    told = CliRunner().invoke(commands, call)
    assert (told.exit_code, book.read_bytes() == empty) == (2, True)
    assert "water_2023.csv: 12 new" in told.output
    assert "add --yes" in told.output


@pytest.mark.parametrize(("file", "unit", "item", "kind"), [
    ("water", "kgal", "Usage", "water"),
    ("bills", "m3", "Trinkwasser", "water"),
    ("bills", "kWh", "Usage", "electricity"),
    ("bills", "", "Fleece", "material"),
    ("bills", "m3", "Usage", "? water or sewer"),  # gas is measured so too
    ("water", "m3", "Abwasser", "? water or sewer"),
])  # fmt: skip
def test_a_kind_that_no_column_says_is_taken_from_the_file_and_told_or_asked_for(
    book: Path, tmp_path: Path, file: str, unit: str, item: str, kind: str
) -> None:
    run(shop(tmp_path / "shop.csv", many(3)), "--into", book)
    path = tmp_path / f"{file}.csv"
    path.write_text(f"Date,Item,Quantity,Unit,Amount\n2024-02-29,{item},9,{unit},20.00\n", "utf-8")
    done = CliRunner().invoke(commands, ["import-ledger", str(path), "--into", str(book), "--yes"])
    if kind.startswith("?"):
        assert kind[2:].replace(" or ", " or --kind ") in str(done.exception)
        assert len(entries_of(book)) == 3
    else:
        assert f"taken as {kind} (else --kind WORD)" in done.output
        assert entries_of(book)[-1]["kind"] == kind


def test_a_workbook_is_made_where_there_is_none_in_the_units_of_the_files(tmp_path: Path) -> None:
    book, export = tmp_path / "new.xlsx", tmp_path / "water.csv"
    export.write_text("Date,Usage (m3),Amount\n2024-02-29,9.5,20.00\n", "utf-8")
    assert "new.xlsx is new, in metric units" in run(export, "--into", book, "--dry-run")
    assert not book.exists()
    run(export, "--into", book)
    assert [entry["quantity"] for entry in entries_of(book)] == [9.5]
    undo(book)
    assert entries_of(book) == []
    told = run(EXPORTS / "water_2023.csv", "--into", tmp_path / "other.xlsx", "--currency", "USD")
    assert "other.xlsx is new, in us units" in told


@pytest.mark.parametrize(("text", "system"), [
    ("Fecha;Artículo;Cantidad;Importe\n14-03-24;Codo;4;12,50\n", "metric"),
    ("Datum;Artikel;Menge;Betrag\n03.04.2024;Bogen;4;12,50\n", "metric"),
    ("Date,Item,Qty,Amount\n03/14/2024,Elbow,4,12.50\n", "us"),
    ("Date,Water used (kL),Amount ($)\n14/03/2024,4,12.50\n", "metric"),
])  # fmt: skip
def test_a_new_workbook_is_metric_where_commas_or_days_first_are_written(
    tmp_path: Path, text: str, system: str
) -> None:
    (tmp_path / "export.csv").write_text(text, "utf-8")
    assert system_of([(tmp_path / "export.csv", ListMapping())]) == system


def test_the_currency_of_the_first_import_goes_to_setup_and_years_says_why(
    tmp_path: Path,
) -> None:
    book, export = tmp_path / "new.xlsx", tmp_path / "water.csv"
    build(book, "metric", starting_inputs("metric"), edition="bookkeeper")
    head = "From,To,Usage (m3),Standing charge,Water,Total,Currency\n"
    rows = ["2023-12-31,2024-12-31,100,20,200,220,EUR", "2024-12-31,2025-11-30,90,20,225,245,EUR",
            "2025-11-30,2026-01-31,20,5,50,55,EUR"]  # fmt: skip
    export.write_text(head + "\n".join(rows), "utf-8")
    told = run(export, "--into", book, "--kind", "water")
    assert "EUR to Setup" in told
    # half of the last bill is 2025: 100 of 250, so dearer by 0.5 a unit, as much water, 2.50 fixed
    words = "days known of both (Year detail): 220.00 -> 272.50, +52.50 (price +50.00, fixed"
    assert f"{words} +2.50)" in told
    assert "; by kind: water +52.50 (sheet Years)" in told
    inputs = read_inputs(Contents(Package.open(book))).inputs
    assert inputs.settings["currency"] == "EUR"
    assert len(inputs.tables["Ledger"]) == 6


def test_a_question_left_open_holds_back_its_own_file_alone(
    book: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The words of an invented shop, whose unit price is no amount, and of a power company."""
    monkeypatch.setattr("xlfuncs.command_line.answering.in_terminal", lambda: True)
    shop_file, power = tmp_path / "green.csv", tmp_path / "power.csv"
    shop_file.write_text(
        "Order no,Ordered,Article,Qty,Per,Each,Line total\n"
        "O1,22 Jan 2024,Paper pots,2,pack,22.40,44.80\n"
        "O1,22 Jan 2024,Fleece 2 m x 100 m,1,roll,61.50,61.50\n"
    )
    power.write_text(
        "Ref,Made,Sent,Usage (kWh),Total\nP1,2024-02-01,2024-02-03,100,50.00\n"
        "P2,2024-03-01,2024-03-03,90,45.00\n"
    )
    call = ["import-ledger", str(shop_file), str(power), "--into", str(book)]
    done = CliRunner().invoke(commands, call, input="\ny\n")  # later; yes
    assert "power.csv leaves open" in str(done.exception) + done.output
    assert "Which column is the date?" in done.output
    assert [entry["amount"] for entry in entries_of(book)] == [44.8, 61.5]
    done = CliRunner().invoke(commands, call, input="2\ny\n")  # Sent
    assert done.exit_code == 0, done.output
    found = entries_of(book)[2:]
    assert [(e["kind"], f"{e['date']}") for e in found] == [
        ("electricity", "2024-02-03"), ("electricity", "2024-03-03"),
    ]  # fmt: skip


def test_an_answer_is_put_once_and_goes_to_the_years_that_have_its_heading(
    book: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("xlfuncs.command_line.answering.in_terminal", lambda: True)
    old, new = tmp_path / "power_2023.csv", tmp_path / "power_2024.csv"
    old.write_text("Bill date,Usage (kWh),Total\n2023-02-03,100,50.00\n2023-03-03,90,45.00\n")
    new.write_text("Made,Sent,Usage (kWh),Total\n2024-02-01,2024-02-03,100,50.00\n"
                   "2024-03-01,2024-03-03,90,45.00\n")  # fmt: skip
    call = ["import-ledger", str(old), str(new), "--into", str(book)]
    done = CliRunner().invoke(commands, call, input="2\ny\n")  # Sent
    assert done.exit_code == 0, done.output
    assert [f"{entry['date']}" for entry in entries_of(book)] == [
        "2023-02-03", "2023-03-03", "2024-02-03", "2024-03-03"]  # fmt: skip


def test_a_file_refused_whole_is_named_before_anything_is_written(
    book: Path, tmp_path: Path
) -> None:
    odd = tmp_path / "odd.csv"
    odd.write_text("Date,Kind,Quantity,Unit,Amount\n2024-01-01,seed,3,m,x\n2024-01-02,seed,2,,y\n")
    said = run(odd, "--into", book, code=1)
    assert "Nothing is new without odd.csv, of which no line can be read" in said


def test_a_heading_that_is_named_goes_to_the_files_that_have_it(book: Path, tmp_path: Path) -> None:
    goods = shop(tmp_path / "goods.csv", [["2025-03-01", "A1", "seed", "Beet", 1, 4.0]])
    other = tmp_path / "tools.csv"
    other.write_text("Order date,Product,Qty,Zahlsumme,Subtotal\n2025-03-02,Rake,1,9.50,9.00\n")
    run(goods, other, "--into", book, "--column", "amount=Zahlsumme", "--column", "kind=Category")
    assert sorted(entry["amount"] for entry in entries_of(book)) == [4.0, 9.5]
    assert "Zahlsumme" not in (tmp_path / "goods.import.toml").read_text("utf-8")
    before = {path.name: path.read_bytes() for path in tmp_path.glob("*.toml")}
    call = ["import-ledger", str(goods), str(other), "--into", str(book), "--yes"]
    for heading, words in (("Nowhere", "no heading 'Nowhere' for net"), ("ABC", "no heading")):
        done = CliRunner().invoke(commands, [*call, "--column", f"net={heading}"])
        assert done.exit_code != 0
        assert words in f"{done.output}{done.exception}"
    assert {path.name: path.read_bytes() for path in tmp_path.glob("*.toml")} == before
    done = CliRunner().invoke(commands, [*call, "--column", "amount=A", "--column", "amount=B"])
    assert "amount is given twice" in done.output


def test_suppliers_may_each_have_a_heading_for_one_column(book: Path, tmp_path: Path) -> None:
    for name, heading, paid in (("seeds", "Zahlsumme", 9.5), ("tools", "Saldo neu", 7.3)):
        rows = f"Order date,Product,Qty,{heading},Subtotal\n2025-03-02,{name},1,{paid},6.80\n"
        (tmp_path / f"{name}.csv").write_text(rows)
    run(tmp_path / "seeds.csv", tmp_path / "tools.csv", "--into", book,
        "--column", "amount=Zahlsumme", "--column", "amount=Saldo neu")  # fmt: skip
    assert [entry["amount"] for entry in entries_of(book)] == [9.5, 7.3]


def test_a_file_of_which_nothing_came_in_is_an_error_though_the_others_came(
    book: Path, tmp_path: Path
) -> None:
    goods = shop(tmp_path / "goods.csv", [["2025-03-01", "A1", "seed", "Beet", 1, 4.0]])
    odd = tmp_path / "odd.csv"
    odd.write_text("Order date,Product,Qty,Net,Tax,Total\n2025-03-02,Rake,1,9.00,1.00,19.00\n")
    call = ["import-ledger", str(goods), str(odd), "--into", str(book), "--yes"]
    done = CliRunner().invoke(commands, call)
    assert done.exit_code != 0
    assert "Nothing came in of odd.csv" in f"{done.output}{done.exception}"
    assert len(entries_of(book)) == 1


def test_an_answer_for_a_heading_that_a_later_file_lacks_is_left_aside(
    book: Path, tmp_path: Path
) -> None:
    text = "Order date,Product,Qty,{}\n{},Rake,1,9.50\n"
    for year, heading in ((2024, "Zahlsumme"), (2025, "Total")):
        path = tmp_path / f"tools_{year}.csv"
        path.write_text(text.format(heading, f"{year}-03-02"))
        named = ("--column", "amount=Zahlsumme") if year == 2024 else ()
        run(path, "--into", book, *named)
    assert [entry["amount"] for entry in entries_of(book)] == [9.5, 9.5]


def test_each_sheet_of_a_year_is_read_by_its_own_headings(tmp_path: Path) -> None:
    path = tmp_path / "water.xlsx"
    made = openpyxl.Workbook()
    old, new = made.active, made.create_sheet("2025")
    old.title = "2024"
    for sheet, rows in (
        (old, ["From,To,m3,Total", "2024-01-01,2024-12-31,100,300"]),
        (new, ["No,Period start,Period end,m3,Net,VAT", "B1,2025-01-01,2025-12-15,90,250,50"]),
    ):  # fmt: skip
        for row in rows:
            sheet.append(row.split(","))
    made.save(path)
    told = run(path, "--into", tmp_path / "books.xlsx")
    assert "books.xlsx is new, in metric units" in told
    assert "water.xlsx, sheet 2024: 1 new" in told
    assert "water.xlsx, sheet 2025: 1 new" in told
    amounts = [
        (entry["quantity"], entry["amount"]) for entry in entries_of(tmp_path / "books.xlsx")
    ]
    assert amounts == [(100, 300), (90, 300)]


def test_a_note_in_the_ledger_names_the_file_of_its_line(tmp_path: Path) -> None:
    for name, rows in (
        ("a.csv", "A2,2024-07-01,2024-12-31,100,220.00,estimated\n"),
        ("b.csv", "A3,2024-07-01,2024-12-31,80,180.00,actual\n"
         + "A4,2025-01-01,2025-06-30,9,9,\n" * 2),
    ):  # fmt: skip
        (tmp_path / name).write_text(f"Invoice,From,To,m3,Total,Note\n{rows}")
    book = tmp_path / "books.xlsx"
    run(tmp_path / "a.csv", tmp_path / "b.csv", "--into", book, "--kind", "water", "--period-from",
        "first day")  # fmt: skip
    notes = [str(entry["note"]) for entry in entries_of(book) if not entry["counted"]]
    assert notes[0].startswith("replaced by line 2 of b.csv? ")
    assert notes[1] == "same as line 3 of b.csv: entered twice?"
