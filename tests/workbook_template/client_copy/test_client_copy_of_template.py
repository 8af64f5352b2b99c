"""The client's copy of the whole template, its prices, markup and notes replaced by canaries."""

from __future__ import annotations

import io
import re
from collections.abc import Mapping
from dataclasses import replace
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
from workbook_template.build import build, demo_inputs
from workbook_template.client_copy.copying import ClientCopy, client_copy
from workbook_template.client_copy.rules import (
    FOR_THE_CLIENT,
    FOR_THE_CONSULTANT,
    is_cost,
)
from xlfuncs.hosts.cells import worksheet_callables
from xlfuncs.hosts.libreoffice.office import Office
from xlfuncs.tables.all_settings import SETTINGS
from xlfuncs.tables.columns import Column
from xlfuncs.workbooks.our_tables.table_cells import declared_tables

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


def test_every_sheet_of_the_template_is_for_one_of_the_two(original: bytes) -> None:
    sheets = set(values(original).sheetnames)
    assert sheets <= {*FOR_THE_CLIENT, *FOR_THE_CONSULTANT}
    assert not set(FOR_THE_CLIENT) & set(FOR_THE_CONSULTANT)


def test_the_canaries_were_there(original: bytes) -> None:
    assert {line.split()[0] for line in found(original)} == set(CANARIES)


def test_none_is_left(copy: ClientCopy) -> None:
    assert found(copy.content) == [] and found(copy.pages) == []
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


def test_the_quotation_says_to_the_cent_what_the_consultants_says(
    original: bytes, copy: ClientCopy
) -> None:
    ours, theirs = values(original)["Quotation"], values(copy.content)["Quotation"]
    compared = 0
    for row in ours.iter_rows():
        for cell in row:
            other = theirs[cell.coordinate].value
            assert (other or "") == (cell.value or ""), cell.coordinate
            compared += isinstance(cell.value, float)
    assert compared >= 6


def test_plain_formulas_say_what_the_functions_said(original: bytes, copy: ClientCopy) -> None:
    """Where no price comes in, the copy's saved numbers are those of the original."""
    ours, theirs = values(original)["Beds"], values(copy.content)["Beds"]
    written = openpyxl.load_workbook(io.BytesIO(copy.content))["Beds"]
    compared = 0
    for row in ours.iter_rows():
        for cell in row:
            text = written[cell.coordinate].value
            if isinstance(text, str) and text.startswith("=") and isinstance(cell.value, float):
                assert theirs[cell.coordinate].value == pytest.approx(cell.value, rel=1e-9)
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
    assert re.search(r"Left out: .*Prices.*Quoting.*Ledger", str(copy))
    assert copy.sheets[:2] == ["About", "Quotation"]
