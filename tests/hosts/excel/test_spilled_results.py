"""The template as a macro workbook: functions that answer with a range spill, each called once.

What the file must hold is laid down in ISO/IEC 29500-1 (18.3.1.4 cell, 18.3.1.40 formula, 18.9
metadata) and [MS-XLSX] 2.3.4 (dynamic arrays). The parts are compared with those that XlsxWriter
writes, whose own tests compare them with files that Excel saved.
"""

from __future__ import annotations

import io
import math
import re
import zipfile
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from html import unescape
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import openpyxl
import pytest
import xlsxwriter
from openpyxl.utils import range_boundaries

from tests.made_once import made_once
from tests.workbooks.recalculated import recalculated_bytes
from tests.workbooks.recalculating.test_against_libreoffice import HAS_OFFICE
from workbook_template.build import Built, demo_inputs, starting_inputs
from xlfuncs.catalogue.registry import functions
from xlfuncs.errors import CellError
from xlfuncs.hosts.cells import worksheet_callables
from xlfuncs.hosts.excel.wrapper import vba_module
from xlfuncs.hosts.memory import Memory
from xlfuncs.workbooks.recalculating import callbacks
from xlfuncs.xlsx.cell_references import cell_name

MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
MOST_CHARACTERS = 8192  # of a formula: Microsoft, "Excel specifications and limits"
WHOLE = [name for name, function in functions().items() if not function.elementwise]
# Blocks that a page shows as they are: no sheet writes over a cell of them.
ERRORS = {error.value for error in CellError}
IN_PLACE = {"Purchase", "Designs", "Cost", "Stock", "Year detail"}


@dataclass
class Pair:
    """The same inputs as a workbook for Excel and as one for other programs."""

    excel: bytes
    other: bytes
    built: Built


@pytest.fixture(scope="module", params=["us demo", "metric new"])
def pair(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Pair:
    system, kind = request.param.split()
    inputs = demo_inputs(system) if kind == "demo" else starting_inputs(system)
    folder = tmp_path_factory.mktemp("farm")
    made_once(folder / "farm.xlsm", system, inputs, macros=True)
    built = made_once(folder / "farm.xlsx", system, inputs)
    return Pair((folder / "farm.xlsm").read_bytes(), (folder / "farm.xlsx").read_bytes(), built)


def _parts(content: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(content)) as package:
        return {name: package.read(name) for name in package.namelist()}


@dataclass
class Spill:
    sheet: str
    extent: str
    formula: str
    cells: list[ElementTree.Element | None]  # of the extent, in the order of the file

    @property
    def anchor(self) -> ElementTree.Element:
        assert self.cells[0] is not None
        return self.cells[0]


@lru_cache(maxsize=4)
def _spills(content: bytes) -> list[Spill]:
    return list(_found_spills(content))


def _found_spills(content: bytes) -> Iterator[Spill]:
    parts = _parts(content)
    names = openpyxl.load_workbook(io.BytesIO(content), read_only=True).sheetnames
    for number, name in enumerate(names, 1):
        root = ElementTree.fromstring(parts[f"xl/worksheets/sheet{number}.xml"])
        cells = {str(c.get("r")): c for c in root.iter(f"{MAIN}c")}
        for cell in cells.values():
            formula = cell.find(f"{MAIN}f")
            if cell.get("cm") is not None:
                assert formula is not None
                extent = str(formula.get("ref"))
                first_col, first_row, last_col, last_row = range_boundaries(extent)
                found = [
                    cells.get(cell_name(row, col))
                    for row in range(first_row, last_row + 1)
                    for col in range(first_col, last_col + 1)
                ]
                assert found[0] is cell
                yield Spill(name, extent, str(formula.text), found)


def test_the_metadata_says_that_the_arrays_are_dynamic(pair: Pair) -> None:
    parts = _parts(pair.excel)
    root = ElementTree.fromstring(parts["xl/metadata.xml"])
    record = root.findall(f"{MAIN}cellMetadata/{MAIN}bk")
    assert {int(str(spill.anchor.get("cm"))) for spill in _spills(pair.excel)} == {len(record)}
    (rc,) = record[0]
    kinds = root.findall(f"{MAIN}metadataTypes/{MAIN}metadataType")
    assert kinds[int(str(rc.get("t"))) - 1].get("name") == "XLDAPR"
    blocks = root.findall(f"{MAIN}futureMetadata[@name='XLDAPR']/{MAIN}bk")
    properties = next(
        e for e in blocks[int(str(rc.get("v")))].iter() if "dynamicArrayProp" in e.tag
    )
    assert properties.get("fDynamic") == "1"


def test_parts_and_cells_are_written_as_xlsxwriter_writes_them(pair: Pair, tmp_path: Path) -> None:
    book = xlsxwriter.Workbook(str(tmp_path / "other.xlsx"))
    sheet = book.add_worksheet()
    sheet.write_dynamic_array_formula("A1:A2", "=IF(1,{1;2})", None, 1)
    book.close()
    theirs, ours = _parts((tmp_path / "other.xlsx").read_bytes()), _parts(pair.excel)
    # Windows' XlsxWriter ends lines as Windows does.
    assert ours["xl/metadata.xml"] == theirs["xl/metadata.xml"].replace(b"\r\n", b"\n")
    for part, pattern in (
        ("[Content_Types].xml", rb"<Override [^>]*metadata[^>]*>"),
        ("xl/_rels/workbook.xml.rels", rb'(Type="[^"]*sheetMetadata" Target="[^"]*")'),
    ):
        assert re.findall(pattern, ours[part]) == re.findall(pattern, theirs[part]) != []
    (cell,) = re.findall(rb"<c [^>]*cm[^>]*><f[^>]*>", theirs["xl/worksheets/sheet1.xml"])
    purchase = next(spill for spill in _spills(pair.excel) if spill.sheet == "Purchase")
    formula = purchase.anchor.find(f"{MAIN}f")
    their_cell = ElementTree.fromstring(cell + b"</f></c>")
    assert formula is not None
    assert set(their_cell.attrib) - set(purchase.anchor.attrib) == set()
    assert set(their_cell[0].attrib.items()) - set(formula.attrib.items()) == {("ref", "A1:A2")}


def test_every_spilled_cell_has_its_value_and_nothing_else(pair: Pair) -> None:
    shown = openpyxl.load_workbook(io.BytesIO(pair.excel), data_only=True)
    taken: Counter[tuple[str, str]] = Counter()
    for spill in _spills(pair.excel):
        assert len(spill.formula) <= MOST_CHARACTERS
        for cell in spill.cells:
            assert cell is not None
            taken[spill.sheet, str(cell.get("r"))] += 1
            value, formula = cell.find(f"{MAIN}v"), cell.find(f"{MAIN}f")
            assert value is not None, (spill.sheet, cell.get("r"))
            assert cell is spill.anchor or formula is None
            if cell.get("t") in (None, "b"):
                float(str(value.text))  # a number, or a logical value as one
            else:
                assert cell.get("t") == ("e" if value.text in ERRORS else "str")
        columns = range_boundaries(spill.extent)
        sheet = shown[spill.sheet]
        for other in (*sheet.merged_cells.ranges, *(t.ref for t in sheet.tables.values())):
            left, top, right, bottom = range_boundaries(str(other))
            apart = right < columns[0] or columns[2] < left or bottom < columns[1]
            assert apart or columns[3] < top, "Excel would show #SPILL!"
    assert set(taken.values()) == {1}


@lru_cache(maxsize=8)
def _values(content: bytes) -> dict[str, dict[str, Any]]:
    book = openpyxl.load_workbook(io.BytesIO(content), data_only=True)
    return {
        sheet.title: {
            cell.coordinate: cell.value
            for row in sheet.iter_rows()
            for cell in row
            if cell.value not in (None, "")
        }
        for sheet in book
    }


def _differences(one: dict[str, Any], other: dict[str, Any]) -> list[tuple[str, Any, Any]]:
    """Cells that differ, in numbers by more than the digits that a sheet keeps."""
    found = []
    for place in one.keys() | other.keys():
        a, b = one.get(place, ""), other.get(place, "")
        numbers = isinstance(a, float | int) and isinstance(b, float | int)
        if a != b and not (numbers and math.isclose(a, b, rel_tol=1e-9, abs_tol=1e-12)):
            found.append((place, a, b))
    return found


def test_what_is_shown_is_the_same_as_for_other_programs(pair: Pair) -> None:
    excel, other = _values(pair.excel), _values(pair.other)
    assert set(excel) - set(other) == {"Results", "xlfuncs"}
    for sheet, cells in other.items():
        assert _differences(excel[sheet], cells) == [], sheet


def _named_calls(book: Any) -> dict[str, str]:
    """What the names stand for that stand for calls."""
    return {name: entry.attr_text for name, entry in book.defined_names.items()
            if re.search("_call(_[0-9]+)?$", name)}  # fmt: skip


def _calls_read_with_index(formula: str, named: dict[str, str]) -> Iterator[str]:
    """The calls of functions on the whole that stand as first argument of INDEX."""
    formula = re.sub(r"(?<=INDEX\()\w+_call\w*", lambda name: named[name[0]], formula)
    for match in re.finditer(rf"INDEX\((?=(?:{'|'.join(WHOLE)})\()", formula):
        depth, parts = 0, re.split(r'("[^"]*")', formula[match.end() :])
        call = ""
        for part in parts:
            for sign in [part] if part.startswith('"') else part:
                call += sign
                depth += {"(": 1, ")": -1}.get(sign, 0)
                if depth == 0 and sign == ")":
                    break
            else:
                continue
            break
        yield call


def test_no_function_on_the_whole_is_called_cell_by_cell(pair: Pair) -> None:
    """Outside tables, whose rows to come read on, and but for what differs from row to row."""
    book = openpyxl.load_workbook(io.BytesIO(pair.excel))
    seen: Counter[tuple[str, str]] = Counter()
    named = _named_calls(book)
    for sheet in book:
        tables = [range_boundaries(table.ref) for table in sheet.tables.values()]
        for row in sheet.iter_rows():
            for cell in row:
                inside = any(a <= cell.column <= c and b <= cell.row <= d for a, b, c, d in tables)
                if cell.data_type == "f" and isinstance(cell.value, str) and not inside:
                    calls = _calls_read_with_index(cell.value, named)
                    seen.update((sheet.title, call) for call in calls)
    assert [call for call, count in seen.items() if count > 1] == []
    spills = _spills(pair.excel)
    assert {spill.sheet for spill in spills} == IN_PLACE | {"Results"}
    called = Counter(
        call for spill in spills for call in set(_calls_read_with_index(spill.formula, named))
    )
    assert called
    assert set(called.values()) == {1}


def test_the_names_of_results_are_those_of_whole_spills(pair: Pair) -> None:
    book = openpyxl.load_workbook(io.BytesIO(pair.excel))
    named = {
        name: entry.attr_text.replace("$", "").partition("!")[2]
        for name, entry in book.defined_names.items()
        if "_result" in name
    }
    extents = [spill.extent for spill in _spills(pair.excel) if spill.sheet == "Results"]
    assert sorted(named.values()) == sorted(extents)
    text = " ".join(
        unescape(part.decode()) for name, part in _parts(pair.excel).items() if "sheet" in name
    )
    assert all(f"INDEX({name}," in text for name in named)


MOST_CALLS = 1000  # of a filled workbook; each crosses from Excel to Python


def test_recalculation_gives_the_same_values_and_changes_nothing_else(
    pair: Pair, monkeypatch: pytest.MonkeyPatch
) -> None:
    calls = []

    class Counted(Memory):
        def answer(self, question: tuple[Any, ...], compute: Callable[[], Any]) -> Any:
            calls.append(question[0])
            return super().answer(question, compute)

    monkeypatch.setattr(callbacks, "Memory", Counted)
    new, report = recalculated_bytes(pair.excel, worksheet_callables())
    assert report.unevaluated == []
    assert 0 < len(calls) <= MOST_CALLS, Counter(calls).most_common(9)
    assert _values(new) == _values(pair.excel)
    before, after = _parts(pair.excel), _parts(new)
    assert {n for n in before if before[n] != after[n]} <= {n for n in before if "/sheet" in n}
    assert [s.extent for s in _spills(new)] == [s.extent for s in _spills(pair.excel)]
    # all but the values and types of cells is as it was
    cells = re.compile(rb'( t="\w+")|<v>[^<]*</v>|<v */>')
    for name in before:
        assert cells.sub(b"", before[name]) == cells.sub(b"", after[name]), name


def _with_number(content: bytes, sheet: str, cell: str, number: float) -> bytes:
    """A workbook with another number typed into a cell."""
    names = openpyxl.load_workbook(io.BytesIO(content), read_only=True).sheetnames
    changed = f"xl/worksheets/sheet{names.index(sheet) + 1}.xml"
    written = io.BytesIO()
    with zipfile.ZipFile(written, "w") as package:
        for name, part in _parts(content).items():
            if name == changed:
                pattern = rf'(<c r="{cell}"[^>]*)(?: t="\w+")(>)<v>[^<]*</v>|' + (
                    rf'(<c r="{cell}"[^>]*>)<v>[^<]*</v>'
                )
                text, count = re.subn(
                    pattern,
                    lambda m: f"{m[1] or ''}{m[2] or ''}{m[3] or ''}<v>{number}</v>",
                    part.decode(),
                )
                assert count == 1
                part = text.encode()
            package.writestr(name, part)
    return written.getvalue()


def test_another_length_arrives_everywhere_as_it_does_elsewhere(pair: Pair) -> None:
    place = pair.built.places["Beds"]
    cell = cell_name(place.first + 1, place.columns["length"] + 1)
    shown = []
    for content in (pair.excel, pair.other):
        changed = _with_number(content, place.sheet, cell, 31.0)
        new, report = recalculated_bytes(changed, worksheet_callables())
        assert report.unevaluated == []
        assert _values(new) != _values(content)
        shown.append(_values(new))
    for sheet, cells in shown[1].items():
        assert _differences(shown[0][sheet], cells) == [], sheet


@pytest.mark.libreoffice
@pytest.mark.skipif(not HAS_OFFICE, reason="no LibreOffice on this machine")
def test_libreoffice_with_the_functions_computes_the_same(pair: Pair, tmp_path: Path) -> None:
    from xlfuncs.hosts.libreoffice.office import Office

    (tmp_path / "farm.xlsm").write_bytes(pair.excel)
    with Office() as office:
        computed = office.values(tmp_path / "farm.xlsm")
    spills = _spills(pair.excel)
    assert spills
    stored = _values(pair.excel)
    for sheet in stored.keys() - {"Results", "xlfuncs"}:
        errors = {place for place, v in computed[sheet].items() if isinstance(v, CellError)}
        assert errors <= {place for place, v in stored[sheet].items() if v in ERRORS}, sheet
    for spill in spills:
        for cell in spill.cells:
            assert cell is not None
            place = str(cell.get("r"))
            text = cell.findtext(f"{MAIN}v") or ""
            found = computed[spill.sheet].get(place, "")
            if cell.get("t") in (None, "b"):
                assert found == pytest.approx(float(text), rel=1e-9, abs=1e-12), place
            elif text or not isinstance(found, CellError):
                assert str(found) == text, (spill.sheet, place)
            else:  # inputs are missing: Calc passes an empty cell as 0; nobody reads the result
                assert spill.sheet == "Results"


def test_no_function_is_computed_without_need() -> None:
    """A volatile function would be called again at every change anywhere."""
    assert "Volatile" not in vba_module()
