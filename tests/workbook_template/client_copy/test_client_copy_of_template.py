"""The client's copy of the whole template, its prices, markup and notes replaced by canaries."""

from __future__ import annotations

import io
from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime, time, timedelta
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from tests.workbook_template.client_copy.client_workbooks import (
    CANARIES,
    MARKUP,
    NOTES,
    PRICES,
    found,
)
from tests.workbook_template.random_inputs import random_inputs
from workbook_template.build import build, demo_inputs, write
from workbook_template.client_copy.cells import InputsBehind, as_delivered
from workbook_template.client_copy.copying import ClientCopy, Wishes, client_copy
from workbook_template.client_copy.pages import NOTICE
from workbook_template.client_copy.selling import is_cost
from workbook_template.client_copy.shown import Shown
from workbook_template.kit.declared import CLIENT
from workbook_template.kit.written import Written
from workbook_template.sheets.order import declared_sheets
from xlfuncs.hosts.cells import worksheet_callables
from xlfuncs.hosts.libreoffice.office import Office
from xlfuncs.tables.all_tables import SETTINGS
from xlfuncs.tables.columns import Column
from xlfuncs.workbooks.our_tables.table_cells import declared_tables
from xlfuncs.workbooks.recalculating.engine import evaluate

HIDDEN_WORDS = ("Purchase price", "costs you", "Unit cost", "Markup", "Margin", "For yourself")


def _spoilt(rows: Any, columns: Mapping[str, Column]) -> list[dict[str, Any]]:
    """Rows whose internal cells hold canaries; the other cells stay."""
    out = []
    for i, row in enumerate(rows):
        new = dict(row)
        for name, column in columns.items():
            if is_cost(column) and name in row:
                new[name] = PRICES[i % len(PRICES)]
            elif column.internal and column.dimension == "text":
                new[name] = NOTES[i % len(NOTES)]
        out.append(new)
    return out


@pytest.fixture(scope="module")
def original(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    farm = demo_inputs("us")
    tables = {
        name: _spoilt(rows, {c.name: c for c in declared_tables()[name.lower()].columns})
        for name, rows in farm.tables.items()
    }
    costs = {setting.name: PRICES[2] for setting in SETTINGS if is_cost(setting)}
    given = {**farm.settings, **costs, "markup": MARKUP}
    given.pop("margin", None)
    path = tmp_path_factory.mktemp("farm") / "farm.xlsx"
    build(path, "us", replace(farm, settings=given, tables=tables))
    return path.read_bytes()


@pytest.fixture(scope="module")
def copy(original: bytes) -> ClientCopy:
    return client_copy(original, worksheet_callables())


def values(content: bytes) -> Any:
    return openpyxl.load_workbook(io.BytesIO(content), data_only=True)


def test_a_client_gets_the_sheets_that_say_so(original: bytes, copy: ClientCopy) -> None:
    clients = {sheet.name for sheet in declared_sheets().values() if sheet.client}
    assert set(copy.sheets) == {*clients, "About", "As delivered"}
    assert set(copy.left_out) == set(values(original).sheetnames) - clients


def test_only_the_quotation_rests_on_costs() -> None:
    """Costs stay at cost on Quoting alone; its prices come from QUOTATION."""
    book = write("us", demo_inputs("us"), edition=CLIENT)
    contents, shown = Written(book), Shown.of(book)
    quoting = Shown(book, frozenset({"Quoting"}))  # inputs are counted of this sheet alone
    reads = evaluate(contents, worksheet_callables()).reads()
    behind = InputsBehind(quoting, contents, reads)
    resting = {place[0] for place in reads if shown.has(*place) and behind.of([place])}
    assert resting == as_delivered() == {"Quotation"}


def test_what_no_client_sees_and_nothing_rests_on_is_not_computed() -> None:
    sheets = {s.name for s in Written(write("us", demo_inputs("us"), edition=CLIENT)).sheets}
    assert {"Quoting", "Prices"} < sheets
    assert not sheets & {"Designs", "Checks", "Years"}


@pytest.mark.parametrize("seed", range(3))
def test_copies_of_random_inputs_compute_to_what_they_show(seed: int) -> None:
    """None takes an input for a changed one, whatever was typed into it."""
    system = ("us", "metric")[seed % 2]
    inputs = random_inputs(seed, system)
    inputs.tables["QuotationLines"] = []  # lines without a price are refused
    inputs.settings["margin"] = ""
    source = write(system, inputs).finish({})
    content = client_copy(source, worksheet_callables(), Wishes(markup=0.4)).content
    got, shown = evaluate(content, {}).values, values(content)
    for sheet in shown.worksheets:
        assert NOTICE not in got[sheet.title].values(), sheet.title
        for (row, column), value in got[sheet.title].items():
            saved = sheet.cell(row, column).value
            if isinstance(value, float) and not isinstance(saved, datetime | timedelta | time):
                assert saved == pytest.approx(value, rel=1e-9, abs=1e-12)


def test_no_setting_that_is_internal_is_shown(copy: ClientCopy) -> None:
    book = values(copy.content)
    words = {setting.header for setting in SETTINGS if setting.internal}
    shown = {c.value for s in book.worksheets for row in s.iter_rows() for c in row}
    assert not words & shown


def test_the_canaries_were_there(original: bytes) -> None:
    assert {line.split()[0] for line in found(original)} == set(CANARIES)


def test_none_is_left(copy: ClientCopy) -> None:
    assert found(copy.content) == []
    assert copy.left_blank == {}


def test_no_word_of_the_consultants_side_is_left(copy: ClientCopy) -> None:
    for sheet in values(copy.content).worksheets:
        for row in sheet.iter_rows():
            for cell in row:
                words = [w for w in HIDDEN_WORDS if isinstance(cell.value, str) and w in cell.value]
                assert words == [], (sheet.title, cell.coordinate, cell.value)


def test_no_cost_times_a_whole_number_is_left(copy: ClientCopy) -> None:
    """Sums of what was bought at cost would be whole multiples of the purchase prices."""
    multiples = {f"{price * n:.6g}" for price in PRICES for n in range(1, 60)}
    for sheet in values(copy.content).worksheets:
        for row in sheet.iter_rows():
            for cell in row:
                if isinstance(cell.value, float):
                    assert f"{cell.value:.6g}" not in multiples, (sheet.title, cell.coordinate)


def test_the_sums_of_the_quotation_are_those_of_its_lines(
    original: bytes, copy: ClientCopy
) -> None:
    """Not those of the consultant's own, whose differences are costs times one known factor."""
    ours, theirs = (_rows(values(c)["Quotation"]) for c in (original, copy.content))
    rows = [*values(copy.content)["Quotation"].iter_rows(values_only=True)]
    for i, option in enumerate("ABC", 2):
        price, tax, total = (theirs[n][i] for n in ("Price before tax", "Tax, 6%", "Total"))
        assert price == round(sum(row[4] for row in rows if row[0] in (option, "all")), 2)
        assert tax == round(price * 0.06 + 1e-9, 2) and total == round(price + tax, 2)
        own = ours["Price before tax"][i]
        assert price != own and price == pytest.approx(own, rel=0.1)  # spread 8 %, and the steps
    shown = " ".join(str(value) for row in rows for value in row)
    assert "contingency" not in shown and "hours, in every option" not in shown


def _rows(sheet: Any) -> dict[Any, tuple[Any, ...]]:
    return {row[0]: row for row in sheet.iter_rows(values_only=True)}


def test_plain_formulas_say_what_the_functions_said(original: bytes, copy: ClientCopy) -> None:
    """Where no price comes in, the copy's saved numbers are those of the original."""
    ours, theirs = values(original)["Beds"], values(copy.content)["Beds"]
    written = openpyxl.load_workbook(io.BytesIO(copy.content))["Beds"]
    compared = 0
    first = next(row[0].row for row in ours.iter_rows(max_col=1) if row[0].value == "Bed")
    heads = {cell.value: cell.column for cell in theirs[first]}  # a copy has fewer columns
    for row in ours.iter_rows(first + 1):
        for cell in row:
            column = heads.get(ours.cell(first, cell.column).value)
            text = written.cell(cell.row, column).value if column else None
            if isinstance(text, str) and text.startswith("=") and isinstance(cell.value, float):
                got = theirs.cell(cell.row, column).value
                assert got == pytest.approx(cell.value, rel=1e-9)
                compared += "As delivered" not in text
    assert compared > 40
    assert copy.plain > 1000


@pytest.mark.libreoffice
def test_calc_without_our_add_in_computes_every_cell_the_same(
    copy: ClientCopy, calc: Office, tmp_path: Path
) -> None:
    path = tmp_path / "copy.xlsx"
    path.write_bytes(copy.content)
    got, different = calc.values(path), []
    for sheet in values(copy.content).worksheets:
        for row in sheet.iter_rows():
            for cell in row:
                value = got[sheet.title].get(cell.coordinate, "")
                if isinstance(cell.value, int | float) and not isinstance(cell.value, bool):
                    if value != pytest.approx(cell.value, rel=1e-9, abs=1e-12):
                        different.append((sheet.title, cell.coordinate, cell.value, value))
                elif isinstance(cell.value, str) and value != cell.value:
                    different.append((sheet.title, cell.coordinate, cell.value, value))
    assert different == []


def test_settings_that_are_costs_or_internal_are_known() -> None:
    internal = {setting.name for setting in SETTINGS if setting.internal}
    assert {"markup", "margin", "labour_rate"} <= internal


def test_its_report_names_what_stayed(copy: ClientCopy) -> None:
    left_out = str(copy).split("Left out: ")[1].splitlines()[0].split(", ")
    assert {"Prices", "Quoting", "Ledger"} <= set(left_out)
    assert copy.sheets[:2] == ["About", "Quotation"]
