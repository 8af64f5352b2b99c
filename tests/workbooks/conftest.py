"""Helpers for the tests of workbooks: cells written in one line, parts compared byte by byte."""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Callable, Mapping, Set

import openpyxl
from openpyxl.utils.cell import coordinate_to_tuple, get_column_letter

Cells = Mapping[str, object]


def workbook(sheets: Mapping[str, Cells], names: Mapping[str, str] | None = None) -> bytes:
    """A workbook made by openpyxl: {sheet: {cell: value or formula}}, without any cached value."""
    book = openpyxl.Workbook()
    book.remove(book.active)
    for sheet, cells in sheets.items():
        page = book.create_sheet(sheet)
        for cell, value in cells.items():
            page[cell] = value
    for name, target in (names or {}).items():
        book.defined_names[name] = openpyxl.workbook.defined_name.DefinedName(
            name, attr_text=target
        )
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def parts_of(content: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(content)) as package:
        return {name: package.read(name) for name in package.namelist()}


def repacked(content: bytes, change: Callable[[str, bytes], bytes | None]) -> bytes:
    """The package with each part passed through `change` (None drops it), by zipfile alone."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as target:
        for name, part in parts_of(content).items():
            new = change(name, part)
            if new is not None:
                target.writestr(name, new)
    return out.getvalue()


def with_stale_values(content: bytes) -> bytes:
    """The package with 12345 as the cached value of every formula."""

    def spoil(name: str, part: bytes) -> bytes:
        if not re.search(r"worksheets/[^/]*\.xml$", name):
            return part
        return _CELL.sub(_spoilt, part)

    return repacked(content, spoil)


_CELL = re.compile(rb"<((?:\w+:)?)c(?=[\s>])[^>]*?(?:/>|>.*?</\1c>)", re.DOTALL)


def _spoilt(match: re.Match[bytes]) -> bytes:
    prefix = match[1]
    if b"<%bf" % prefix not in match[0]:
        return match[0]
    cell = re.sub(rb"<%bv>.*?</%bv>|<%bv/>" % ((prefix,) * 3), b"", match[0], flags=re.DOTALL)
    cell = re.sub(rb'(<%bc\b[^>]*?)\s+t="\w+"' % prefix, rb"\1", cell)
    close = b"</%bc>" % prefix
    return cell.replace(close, b"<%bv>12345</%bv>%b" % (prefix, prefix, close))


def filled_by_arrays(part: bytes) -> set[bytes]:
    """Names of the cells that array formulas fill, but for the cells of the formulas."""
    filled = set()
    for first, last in re.findall(rb'<\w*:?f\b[^>]*\sref="(\w+):(\w+)"[^>]*>', part):
        (left, top), (right, bottom) = (
            coordinate_to_tuple(cell.decode())[::-1] for cell in (first, last)
        )
        names = {
            f"{get_column_letter(column)}{row}".encode()
            for row in range(top, bottom + 1)
            for column in range(left, right + 1)
        }
        filled |= names - {first}
    return filled


def without_cached_values(part: bytes, filled: Set[bytes] = frozenset()) -> bytes:
    """A worksheet part with the values and types of formula cells taken out, for comparison.

    `filled` cells are taken out whole, and the extents of array formulas with them. Written apart
    from the package's own scanner, with regular expressions only.
    """
    bare = re.sub(rb'(<(?:\w+:)?f\b[^>]*?)\s+ca="1"', rb"\1", part)
    if filled:
        bare = re.sub(rb'(<f t="array"[^>]*?\sref=)"[^"]*"', rb"\1", bare)
        bare = re.sub(rb'\sspans="[^"]*"', b"", bare)

    def strip(match: re.Match[bytes]) -> bytes:
        prefix = match[1]
        name = re.search(rb'\sr="(\w+)"', match[0])
        if name is not None and name[1] in filled:
            return b""
        if b"<%bf" % prefix not in match[0]:
            return match[0]
        cell = re.sub(rb"<%bv>.*?</%bv>|<%bv/>" % ((prefix,) * 3), b"", match[0], flags=re.DOTALL)
        return re.sub(rb'(<%bc\b[^>]*?)\s+t="\w+"' % prefix, rb"\1", cell)

    return _CELL.sub(strip, bare)
