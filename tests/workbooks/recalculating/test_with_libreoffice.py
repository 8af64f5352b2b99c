"""LibreOffice as maker of workbooks, as engine, and as the outside check of ours."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.workbooks.conftest import parts_of, with_stale_values, workbook
from tests.workbooks.made_workbooks import MADE
from tests.workbooks.recalculated import recalculated_bytes
from tests.workbooks.recalculating.test_against_libreoffice import HAS_OFFICE, alike
from tests.workbooks.recalculating.test_other_peoples_workbooks import (
    FETCHED,
    REFUSED,
    check_added,
    check_recalculated,
    content_of,
    list_of,
)
from xlfuncs.errors import CellError, WorkbookError
from xlfuncs.hosts.cells import worksheet_callables
from xlfuncs.hosts.libreoffice.office import Office
from xlfuncs.workbooks.adding_columns.adding import add_columns
from xlfuncs.workbooks.recalculating.engine import evaluate
from xlfuncs.workbooks.recalculating.recalculation import recalculate
from xlfuncs.workbooks.recalculating.with_libreoffice import from_values
from xlfuncs.xlsx.cell_references import cell_name
from xlfuncs.xlsx.contents import Contents
from xlfuncs.xlsx.package import Package

pytestmark = [
    pytest.mark.libreoffice,
    pytest.mark.skipif(not HAS_OFFICE, reason="no LibreOffice on this machine"),
]

LONG = "r-cran-openxlsx readTest.xlsx"  # Excel's own values are compared instead, all of them
XLSX = "Calc MS Excel 2007 XML"
CONVERTED = [
    "openpyxl charts.xlsx", "openpyxl comments.xlsx", "openpyxl conditional formats.xlsx",
    "openpyxl title and total.xlsx", "XlsxWriter pictures.xlsx", "XlsxWriter printing.xlsx",
    "XlsxWriter table.xlsx", "XlsxWriter sparklines.xlsx",
]  # fmt: skip

PIVOT = """<?xml version="1.0" encoding="UTF-8"?>
<office:document xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0"
 xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0"
 xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0" office:version="1.2"
 office:mimetype="application/vnd.oasis.opendocument.spreadsheet">
<office:body><office:spreadsheet><table:table table:name="Beds">{rows}</table:table>
<table:table table:name="Pivot"/><table:data-pilot-tables><table:data-pilot-table
 table:name="ByCrop" table:target-range-address="Pivot.A1:Pivot.B6">
<table:source-cell-range table:cell-range-address="Beds.A1:Beds.C4"/>
<table:data-pilot-field table:source-field-name="Bed" table:orientation="row"
 table:function="auto"/><table:data-pilot-field table:source-field-name="Length (ft)"
 table:orientation="data" table:function="sum"/></table:data-pilot-table>
</table:data-pilot-tables></office:spreadsheet></office:body></office:document>"""


@pytest.fixture(scope="module")
def office() -> Iterator[Office]:
    with Office() as running:
        yield running


def pivot_document() -> str:
    def cell(value: object) -> str:
        if isinstance(value, str):
            return (
                f'<table:table-cell office:value-type="string"><text:p>{value}</text:p>'
                "</table:table-cell>"
            )
        return f'<table:table-cell office:value-type="float" office:value="{value}"/>'

    rows = [("Bed", "Length (ft)", "Width (in)"), ("a", 48, 30), ("b", 22.75, 24), ("a", 60, 30)]
    return PIVOT.format(
        rows="".join(
            f"<table:table-row>{''.join(map(cell, row))}</table:table-row>" for row in rows
        )
    )


def check_both(name: str, content: bytes, tmp_path: Path) -> None:
    """Recalculation and an added column leave everything else of the file as it is."""
    stale = with_stale_values(content)
    again, report = recalculated_bytes(stale, {}, name=name)
    check_recalculated(stale, again)
    assert report.changed_cells >= report.formulas - len(report.unevaluated) > 0
    path = tmp_path / name
    path.write_bytes(content)
    chosen = list_of(name, content)
    assert chosen is not None
    added = add_columns(path, chosen[0], worksheet_callables(), chosen[1])
    assert added.new_cells > 0
    check_added(content, path.read_bytes(), added)


@pytest.mark.parametrize("name", CONVERTED)
def test_what_libreoffice_wrote_stays_as_it_is(name: str, office: Office, tmp_path: Path) -> None:
    source = tmp_path / f"source {name}"
    source.write_bytes(MADE[name]())
    written = office.save(source, tmp_path / f"written {name}", XLSX)
    check_both(name, written.read_bytes(), tmp_path)


def test_a_pivot_table_that_libreoffice_wrote_stays_as_it_is(
    office: Office, tmp_path: Path
) -> None:
    source = tmp_path / "pivot.fods"
    source.write_text(pivot_document(), encoding="utf-8")
    content = office.save(source, tmp_path / "pivot.xlsx", XLSX).read_bytes()
    assert any("pivotTables/" in name for name in parts_of(content))
    stale = with_stale_values(content)
    again, _ = recalculated_bytes(stale, {})
    check_recalculated(stale, again)
    path = tmp_path / "beds.xlsx"
    path.write_bytes(content)
    chosen = list_of("XlsxWriter table.xlsx", content)
    assert chosen is not None
    check_added(content, content_after(path, chosen), add_columns_again(path, chosen))


def content_after(path: Path, chosen: tuple[str, object]) -> bytes:
    add_columns(path, chosen[0], worksheet_callables(), chosen[1])  # type: ignore[arg-type]
    return path.read_bytes()


def add_columns_again(path: Path, chosen: tuple[str, object]) -> object:
    return add_columns(path, chosen[0], worksheet_callables(), chosen[1])  # type: ignore[arg-type]


@pytest.mark.parametrize("name", [n for n in (*MADE, *(p.name for p in FETCHED)) if n != LONG])
def test_what_is_claimed_equals_libreoffice(name: str, office: Office, tmp_path: Path) -> None:
    content = content_of(name)
    if name in REFUSED:
        with pytest.raises(WorkbookError, match=REFUSED[name]):
            evaluate(content, worksheet_callables())
        return
    found = evaluate(content, worksheet_callables())
    if not found.formulas:  # then nothing is claimed
        assert not any(found.values.values())
        return
    path = tmp_path / name
    path.write_bytes(content)
    theirs = office.values(path)
    spilled = {  # LibreOffice 25.2 fills only the extent that the file states
        (sheet, *place)
        for sheet, extents in found.spills.items()
        for _, stated, filled in extents
        for place in filled.positions()
        if not stated.holds(stated.sheet, *place)
    }
    different = {
        f"{sheet}!{cell_name(*place)}": (mine, other)
        for sheet, values in found.values.items()
        for place, mine in values.items()
        if (sheet, *place) not in spilled
        and not alike(mine, other := theirs[sheet].get(cell_name(*place), ""))
    }
    assert different == {}


def test_libreoffice_as_engine_gives_the_same_file(tmp_path: Path) -> None:
    cells = {
        "A1": 48, "A2": "22 ft 9 in", "B1": "=BED_AREA(A1,30)", "B2": "=BED_AREA(A2,30)",
        "C1": "=B1>100", "C2": '=IF(B2>100,"wide","")', "D1": "=BED_AREA(-1,30)", "D2": "=NOSUCH()",
        "E1": "=SUM(B1:B2)", "E2": "=D2&1", "F1": "=ISNUMBER(A2)",
    }  # fmt: skip
    content = workbook({"Data": cells})
    ours, theirs = tmp_path / "ours.xlsx", tmp_path / "theirs.xlsx"
    ours.write_bytes(content)
    theirs.write_bytes(content)
    mine = recalculate(ours, worksheet_callables())
    other = recalculate(theirs, worksheet_callables(), with_libreoffice=True)
    assert parts_of(theirs.read_bytes()) == parts_of(ours.read_bytes())
    assert [c.cell for c in mine.unevaluated] == [c.cell for c in other.unevaluated] == ["D2", "E2"]


def test_values_from_libreoffice_that_are_unknown_names_are_left_alone() -> None:
    content = workbook({"Data": {"A1": "=NOSUCH()", "A2": "=A1+1", "A3": "=1+1"}})
    contents = Contents(Package.open(content))
    computed = {"Data": {"A1": CellError.NAME, "A2": CellError.NAME, "A3": 2.0}}
    found = from_values(contents, computed)  # type: ignore[arg-type]
    assert found.values["Data"] == {(3, 1): 2.0}
    assert [cell.cell for cell in found.unevaluated] == ["A1", "A2"]
