"""Workbooks that others made: everything outside the written lists stays byte for byte.

The workbooks are made here by the writers of openpyxl, XlsxWriter and LibreOffice, shipped in the
macro templates of xlwings and pyOpenVBA, and, where they were fetched (see
fetch_other_workbooks.py), taken from the examples and tests of other packages.
"""

from __future__ import annotations

import re
from importlib.util import find_spec
from pathlib import Path

import openpyxl
import pytest

from tests.workbooks.conftest import (
    filled_by_arrays,
    parts_of,
    with_stale_values,
    without_cached_values,
)
from tests.workbooks.fetch_other_workbooks import folder
from tests.workbooks.made_workbooks import MADE
from tests.workbooks.recalculated import recalculated_bytes
from xlfuncs.errors import WorkbookError, XlfuncsError
from xlfuncs.hosts.cells import worksheet_callables
from xlfuncs.workbooks.adding_columns.adding import AddedColumns, add_columns
from xlfuncs.workbooks.lists.mapping import ListMapping
from xlfuncs.workbooks.recalculating.recalculation import recalculate
from xlfuncs.xlsx.cell_references import cell_name
from xlfuncs.xlsx.contents import Contents
from xlfuncs.xlsx.package import Package

FETCHED = sorted(folder().glob("*.xls[xm]")) if folder().is_dir() else []
NONE = pytest.param("", id="fetched", marks=pytest.mark.skip(f"none was fetched to {folder()}"))
# Refused, and why: its cells contradict their rows.
REFUSED = {"xlsx2csv skip_empty_lines.xlsx": "stands in row"}


def shipped() -> dict[str, Path]:
    """Templates that packages of our own requirements ship."""
    found = {}
    for package, pattern in (
        ("xlwings", "*.xlsm"),
        ("pyopenvba", "_templates/blank_files/*.xls[xm]"),
    ):
        spec = find_spec(package)
        if spec is not None and spec.origin is not None:
            for path in Path(spec.origin).parent.glob(pattern):
                found[f"{package} {path.name}"] = path
    return found


def everything() -> list[object]:
    made = [pytest.param(name, id=name) for name in MADE]
    others = [*shipped(), *(path.name for path in FETCHED)]
    return made + [pytest.param(name, id=name) for name in others] + ([] if FETCHED else [NONE])


# A share and a time of day are no lengths, whatever the mapping says their unit is.
ASKED = {
    "xlsx2csv percentage.xlsx": "does not measure length",
    "xlsx2csv timeformat.xlsx": "must be answered first",
}


def content_of(name: str) -> bytes:
    if name in MADE:
        return MADE[name]()
    path = shipped().get(name) or folder() / name
    return path.read_bytes()


def check_recalculated(before: bytes, after: bytes) -> None:
    """Every part but the worksheets is the same; worksheets are but for cached values."""
    old, new = parts_of(before), parts_of(after)
    assert list(old) == list(new)
    for name, part in old.items():
        if not re.search(r"worksheets/[^/]+\.xml$", name, re.IGNORECASE):
            assert new[name] == part, name
        elif new[name] != part:
            filled = filled_by_arrays(part) | filled_by_arrays(new[name])
            bare, same = (without_cached_values(p, filled) for p in (part, new[name]))
            assert bare == same, name


@pytest.mark.parametrize("name", everything())
def test_recalculation_changes_cached_values_and_nothing_else(name: str) -> None:
    content = content_of(name)
    if name in REFUSED:
        with pytest.raises(WorkbookError, match=REFUSED[name]):
            recalculated_bytes(content, {}, name=name)
        return
    stale = with_stale_values(content)
    again, report = recalculated_bytes(stale, {}, name=name)
    check_recalculated(stale, again)
    assert report.formulas == 0 or report.changed_cells + len(report.unevaluated) > 0
    twice, second = recalculated_bytes(again, {}, name=name)
    assert twice == again
    assert second.changed_cells == 0


def list_of(name: str, content: bytes) -> tuple[str, ListMapping] | None:
    """A sheet and a mapping that lets a column be added: by headers, or on any numbers at all.

    None without numbers.
    """
    wanted = ("BED_AREA",) if name in MADE else ("EMITTER_COUNT",)
    if name in MADE:
        return "Beds", ListMapping(add=wanted, hidden_rows="read")
    contents = Contents(Package.open(content))
    for sheet in contents.sheets:
        scan = contents.scan(sheet)
        for cell in scan.cells:
            number = cell.kind == "n" and cell.text and cell.formula_start < 0
            if number and cell.row - 1 in scan.row_starts:
                letter = cell_name(1, cell.column)[:-1]
                return sheet.name, ListMapping(
                    header_row=cell.row - 1,
                    last_row=cell.row,
                    columns={"length": letter},
                    units={"length": "ft"},
                    hidden_rows="read",
                    values={"emitter_spacing": "8 in"},
                    add=wanted,
                )
    return None


def empty_list(content: bytes) -> tuple[str, ListMapping]:
    """A column far to the right, taken for a list's lengths."""
    mapping = ListMapping(
        header_row=1, last_row=2, columns={"length": "ZZ"}, add=("EMITTER_COUNT",)
    )
    return Contents(Package.open(content)).sheets[0].name, mapping


@pytest.mark.parametrize("name", everything())
def test_adding_columns_adds_cells_and_changes_nothing_else(name: str, tmp_path: Path) -> None:
    content = content_of(name)
    if name in REFUSED:
        return
    numbers = list_of(name, content)
    chosen = numbers or empty_list(content)
    path = tmp_path / name
    path.write_bytes(content)
    if name in ASKED or numbers is None:
        with pytest.raises(XlfuncsError, match=ASKED.get(name, "must be answered first")):
            add_columns(path, chosen[0], worksheet_callables(), chosen[1])
        assert path.read_bytes() == content
        return
    report = add_columns(path, chosen[0], worksheet_callables(), chosen[1])
    assert report.new_cells == len(report.rows) + 1
    check_added(content, path.read_bytes(), report)
    before = path.read_bytes()
    again = add_columns(path, chosen[0], worksheet_callables(), chosen[1])
    assert again.new_cells == 0
    assert path.read_bytes() == before
    if name in MADE:
        assert openpyxl.load_workbook(path, keep_vba=True).sheetnames


def check_added(before: bytes, after: bytes, report: AddedColumns) -> None:
    old, new = parts_of(before), parts_of(after)
    assert list(old) == list(new)
    contents = Contents(Package.open(before))
    sheet = contents.sheet(report.sheet)
    for name, part in old.items():
        if name.lower() == sheet.part.lower():
            column = report.columns[0].column
            cells = [cell_name(row, column) for row in (report.header_row, *report.rows)]
            assert without_cells(new[name], cells) == without_cells(part, cells)
        elif name.endswith("styles.xml"):
            check_styles(part, new[name])
        elif "/tables/" in name and part != new[name]:  # the list is a table, which has grown
            assert without_computed(new[name], report) == re.sub(rb'ref="[^"]*"', b"", part)
        else:
            assert new[name] == part, name


def without_computed(part: bytes, report: AddedColumns) -> bytes:
    """A table's part without the columns that were added, and without its extent."""
    for new in report.columns:
        name = re.escape(new.header.encode())
        part = re.sub(
            rb'<tableColumn id="\d+" name="' + name + rb'"><calculated.*?</tableColumn>', b"", part
        )
    count = part.count(b"<tableColumn ")
    part = re.sub(rb'(<tableColumns count=")\d+', rb"\g<1>%d" % count, part)
    return re.sub(rb'ref="[^"]*"', b"", part)


def without_cells(part: bytes, names: list[str]) -> bytes:
    """A worksheet part without the named cells, spans, the dimension, and rows left empty."""
    for name in names:
        cell = rb'<((?:\w+:)?)c\b[^>]*\br="%b"[^>]*?(?:/>|>.*?</\1c>)' % name.encode()
        part = re.sub(cell, b"", part, flags=re.DOTALL)
    part = re.sub(rb'\sspans="[^"]*"', b"", part)
    part = re.sub(rb"<((?:\w+:)?)row\b([^>]*)></\1row>", rb"<\1row\2/>", part)
    return re.sub(rb'(<(?:\w+:)?dimension\s[^>]*?ref=")[^"]*', rb"\1", part)


def check_styles(before: bytes, after: bytes) -> None:
    """Only formats at the end of cellXfs, and its count, were added."""
    if before == after:
        return
    added = re.search(
        rb"(?:<(?:\w+:)?xf\b(?:(?!</?\w*:?cellXfs).)*)?(?=</(?:\w+:)?cellXfs>)", after, re.DOTALL
    )
    assert added is not None
    end = before.index(b"cellXfs>", before.index(b"cellXfs") + 8)
    head, tail = before[: before.rindex(b"</", 0, end)], before[before.rindex(b"</", 0, end) :]
    uncounted = re.compile(rb'(cellXfs\b[^>]*?count=")\d+')
    assert uncounted.sub(rb"\1", after).startswith(uncounted.sub(rb"\1", head))
    assert after.endswith(tail)


@pytest.mark.skipif(
    not (folder() / "r-cran-openxlsx readTest.xlsx").exists(), reason="was not fetched"
)
def test_the_values_that_excel_itself_stored_come_out_again(tmp_path: Path) -> None:
    """4,168 formulas of a workbook saved by Excel: an outside check of the engine."""
    content = (folder() / "r-cran-openxlsx readTest.xlsx").read_bytes()
    path = tmp_path / "stale.xlsx"
    path.write_bytes(with_stale_values(content))
    report = recalculate(path, {})
    assert report.formulas == 4168
    assert report.unevaluated == []
    original = tmp_path / "original.xlsx"
    original.write_bytes(content)
    theirs, ours = (openpyxl.load_workbook(p, data_only=True) for p in (original, path))
    for sheet in theirs.worksheets:
        for row in sheet.iter_rows():
            for cell in row:
                mine = ours[sheet.title][cell.coordinate].value
                if isinstance(cell.value, float):
                    assert mine == pytest.approx(cell.value, rel=1e-14)
                else:
                    assert mine == cell.value
