"""Helpers for the tests of workbooks: cells written in one line, parts compared byte by byte."""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Callable, Mapping
from typing import Any

import openpyxl
import pytest

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
        return _FORMULA_CELL.sub(_spoilt, part)

    return repacked(content, spoil)


_FORMULA_CELL = re.compile(rb"<((?:\w+:)?)c\b[^>]*>(?:(?!</\1c>).)*?<\1f\b.*?</\1c>", re.DOTALL)


def _spoilt(match: re.Match[bytes]) -> bytes:
    prefix = match[1]
    cell = re.sub(rb"<%bv>.*?</%bv>|<%bv/>" % ((prefix,) * 3), b"", match[0], flags=re.DOTALL)
    cell = re.sub(rb'(<%bc\b[^>]*?)\s+t="\w+"' % prefix, rb"\1", cell)
    close = b"</%bc>" % prefix
    return cell.replace(close, b"<%bv>12345</%bv>%b" % (prefix, prefix, close))


def without_cached_values(part: bytes) -> bytes:
    """A worksheet part with the values and types of formula cells taken out, for comparison.

    Written apart from the package's own scanner, with regular expressions only.
    """
    bare = re.sub(rb'(<(?:\w+:)?f\b[^>]*?)\s+ca="1"', rb"\1", part)

    def strip(match: re.Match[bytes]) -> bytes:
        prefix = match[1]
        cell = re.sub(rb"<%bv>.*?</%bv>|<%bv/>" % ((prefix,) * 3), b"", match[0], flags=re.DOTALL)
        return re.sub(rb'(<%bc\b[^>]*?)\s+t="\w+"' % prefix, rb"\1", cell)

    return _FORMULA_CELL.sub(strip, bare)


@pytest.fixture
def own_functions() -> dict[str, Callable[[list[Any]], Any]]:
    """Worksheet functions of the tests' own, with a count of their calls."""
    calls: dict[str, int] = {}

    def counted(name: str, function: Callable[[list[Any]], Any]) -> Callable[[list[Any]], Any]:
        def call(arguments: list[Any]) -> Any:
            calls[name] = calls.get(name, 0) + 1
            return function(arguments)

        return call

    functions: dict[str, Callable[[list[Any]], Any]] = {
        "SHOW": lambda a: repr(a),
        "TWICE": lambda a: a[0] * 2 if isinstance(a[0], float) else a[0],
        "SQUARES": lambda a: [[row[0], row[0] ** 2] for row in a[0]],
    }
    own = {name: counted(name, function) for name, function in functions.items()}
    return own
