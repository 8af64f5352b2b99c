"""Files that must be refused with a reason, and never unpacked, followed or believed."""

from __future__ import annotations

import io
import struct
import warnings
import zipfile
from pathlib import Path

import pytest

from tests.workbooks.conftest import parts_of, repacked, workbook
from xlfuncs.errors import WorkbookError
from xlfuncs.workbooks.recalculating.engine import evaluate
from xlfuncs.workbooks.recalculating.values import changed_parts
from xlfuncs.xlsx import package
from xlfuncs.xlsx.contents import Contents
from xlfuncs.xlsx.package import Package

GOOD = workbook({"Data": {"A1": 1, "B1": "=A1*2"}})
SHEET = "xl/worksheets/sheet1.xml"


def with_part(name: str, content: bytes) -> bytes:
    out = io.BytesIO(GOOD)
    with warnings.catch_warnings(), zipfile.ZipFile(out, "a", zipfile.ZIP_DEFLATED) as target:
        warnings.simplefilter("ignore")
        target.writestr(name, content)
    return out.getvalue()


def changed(part: str, old: bytes, new: bytes) -> bytes:
    assert old in parts_of(GOOD)[part]
    return repacked(
        GOOD, lambda name, content: content.replace(old, new) if name == part else content
    )


def refusal(content: bytes) -> str:
    with pytest.raises(WorkbookError) as caught:
        evaluate(content, {})
    return str(caught.value)


def test_an_entity_bomb_is_refused_before_it_grows() -> None:
    bomb = b'<!DOCTYPE x [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>'
    assert "document type" in refusal(changed(SHEET, b"<worksheet", bomb + b"<worksheet"))
    assert "document type" in refusal(changed("xl/workbook.xml", b"<workbook", bomb + b"<workbook"))


def test_an_external_entity_is_refused_and_never_read(tmp_path: Path) -> None:
    secret = tmp_path / "secret.txt"
    secret.write_text("secret")
    trick = f'<!DOCTYPE x [<!ENTITY s SYSTEM "{secret.as_uri()}">]>'.encode()
    message = refusal(changed(SHEET, b"<worksheet", trick + b"<worksheet"))
    assert "document type" in message
    assert "secret" not in message.replace(str(secret), "")


def test_a_zip_bomb_is_refused_by_its_stated_size() -> None:
    assert "zip bomb" in refusal(with_part("xl/media/picture.bin", b"\0" * 30_000_000))


def test_a_part_whose_size_is_stated_too_small_is_found_damaged() -> None:
    content = bytearray(with_part("xl/worksheets/sheet2.xml", b"x" * 5000))
    at = content.rfind(b"PK\x01\x02")  # the central directory entry of the last part
    content[at + 24 : at + 28] = struct.pack("<I", 10)
    found = Package(bytes(content))
    with pytest.raises(WorkbookError, match="damaged"):
        found.read("xl/worksheets/sheet2.xml")


def test_sizes_beyond_the_limits_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(package, "MAX_PART_BYTES", 300)
    assert "would unpack to" in refusal(GOOD)
    monkeypatch.setattr(package, "MAX_PART_BYTES", 10**9)
    monkeypatch.setattr(package, "MAX_TOTAL_BYTES", 1000)
    assert "would unpack to" in refusal(GOOD)
    monkeypatch.setattr(package, "MAX_MEMBERS", 3)
    assert "too many" in refusal(GOOD)
    monkeypatch.setattr(package, "MAX_FILE_BYTES", 100)
    assert "more than 100 bytes" in refusal(GOOD)


@pytest.mark.parametrize("name", ["../evil.xml", "/etc/evil.xml", "xl/../../evil.xml", "C:/x.xml"])
def test_part_names_that_lead_outside_are_refused(name: str) -> None:
    assert "outside the package" in refusal(with_part(name, b"<x/>"))


@pytest.mark.parametrize("name", [SHEET, "XL/Worksheets/Sheet1.XML"])
def test_a_part_that_occurs_twice_is_refused(name: str) -> None:
    assert "occurs twice" in refusal(with_part(name, b"<worksheet/>"))


def test_nesting_without_end_is_refused() -> None:
    deep = b"<a>" * 5000 + b"</a>" * 5000
    names = b"<definedNames>" + deep + b"</definedNames>"
    message = refusal(changed("xl/workbook.xml", b"<sheets>", names + b"<sheets>"))
    assert "deep" in message


@pytest.mark.parametrize(
    ("content", "reason"),
    [
        (b"", "not a readable zip"),
        (b"Bed,Length\n1,48\n", "not a readable zip"),
        (GOOD[: len(GOOD) // 2], "not a readable zip"),
        (b"\xd0\xcf\x11\xe0" + b"\0" * 600, "old .xls file or a workbook locked by a password"),
        (repacked(GOOD, lambda n, c: None if "Content_Types" in n else c), "not a workbook"),
        (repacked(GOOD, lambda n, c: None if n == SHEET else c), "is missing"),
        (repacked(GOOD, lambda n, c: c[:-20] if n == SHEET else c), "damaged XML"),
        (with_part("_xmlsignatures/sig1.xml", b"<Signature/>"), "digitally signed"),
    ],
    ids=["empty", "text", "half", "old", "no types", "no sheet", "cut", "signed"],
)
def test_what_is_no_workbook_or_must_not_change_is_refused(content: bytes, reason: str) -> None:
    assert reason in refusal(content)


@pytest.mark.parametrize(
    ("old", "new", "reason"),
    [
        (b'<c r="A1"', b'<c r="A7"', "stands in row 1"),
        (b'<c r="A1"', b'<c r="ZZZZ1"', "outside the sheet"),
        (b'<row r="1"', b'<row r="99999999"', "not a row number"),
        (b'<row r="1"', b'<row r="2000000"', "out of range"),
        (b"<v>1</v>", b"<v>one</v>", "no value of kind"),
        (b'<c r="A1" t="n"><v>1</v>', b'<c r="A1" t="s"><v>99</v>', "no value of kind"),
    ],
)  # fmt: skip
def test_cells_that_contradict_themselves_are_refused(old: bytes, new: bytes, reason: str) -> None:
    assert reason in refusal(changed(SHEET, old, new))


def test_names_that_lead_in_a_circle_and_deep_formulas_end() -> None:
    looped = workbook(
        {"Data": {"A1": "=one", "A2": "=" + "(" * 3000 + "1" + ")" * 3000, "A3": "=1+1"}},
        {"one": "two+1", "two": "one+1"},
    )
    found = evaluate(looped, {})
    assert found.values["Data"] == {(3, 1): 2.0}
    assert [cell.cell for cell in found.unevaluated] == ["A1", "A2"]


def test_links_to_other_files_are_never_followed(tmp_path: Path) -> None:
    outside = tmp_path / "outside.xlsx"
    outside.write_bytes(GOOD)
    link = (
        b'<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
        b'<Relationship Id="rId1" Type="http://x/externalLinkPath" TargetMode="External" '
        b'Target="' + outside.as_uri().encode() + b'"/></Relationships>'
    )
    found = Package(with_part("xl/externalLinks/_rels/externalLink1.xml.rels", link))
    assert found.relationships("xl/externalLinks/externalLink1.xml") == {}
    assert Contents(found).sheets[0].name == "Data"


def test_an_array_formula_over_a_whole_sheet_takes_no_longer_than_another() -> None:
    one = b'<c r="B1"><f>A1*2</f>'
    large = changed(SHEET, one, b'<c r="B1"><f t="array" ref="B1:XFD1048576">A1*2</f>')
    found = evaluate(large, {})  # a cell of it at a time, this is 17 thousand million
    assert [cell.reason for cell in found.unevaluated] == [
        "an array formula over more than 5000 cells"
    ]
    assert changed_parts(Contents(Package(large)), found)[1] == 0


@pytest.mark.parametrize(
    ("escaped", "read"),
    [("_xD83C__xDF31_", "\N{SEEDLING}"), ("_xD83C_", "\ufffd"), ("_x000D_", "\r")],
    ids=["two that make one", "one alone", "a line's end"],
)
def test_characters_written_as_escapes_are_read(escaped: str, read: str) -> None:
    content = repacked(
        workbook({"Data": {"A1": "name", "B1": "=A1"}}),
        lambda _, part: part.replace(b">name<", f">{escaped}<".encode()),
    )
    assert evaluate(content, {}).values["Data"] == {(1, 2): read}
