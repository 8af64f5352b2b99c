"""Canaries in hundreds of places: on each sheet of a workbook, in each kind of place of a sheet."""

from __future__ import annotations

import io
from collections.abc import Callable
from typing import Any

import pytest

from tests.workbook_template.client_copy.client_workbooks import found
from workbook_template.build import demo_inputs, write
from workbook_template.client_copy.copying import client_copy
from workbook_template.kit.book import Book
from xlfuncs.hosts.cells import worksheet_callables

FAR = 60  # a column that no sheet of the template reaches
PLACES: dict[str, Callable[[Book, Any, str], Any]] = {
    "header": lambda book, sheet, text: sheet.set_header(f"&L{text}"),
    "footer": lambda book, sheet, text: sheet.set_footer(f"&R{text}"),
    "cell": lambda book, sheet, text: sheet.write_string(2, FAR, text),
    "formula": lambda book, sheet, text: sheet.write_formula(3, FAR, f'="{text}"&1'),
    "comment": lambda book, sheet, text: sheet.write_comment(4, FAR, text),
    "link": lambda book, sheet, text: sheet.write_url(5, FAR, f"https://example.com/{text}"),
    "list": lambda book, sheet, text: sheet.data_validation(
        6, FAR, 6, FAR, {"validate": "list", "source": [text, "other"]}
    ),
    "prompt": lambda book, sheet, text: sheet.data_validation(
        7, FAR, 7, FAR, {"validate": "any", "input_title": text[:30], "input_message": text}
    ),
    "rule": lambda book, sheet, text: sheet.conditional_format(
        8, FAR, 8, FAR, {"type": "cell", "criteria": "==", "value": f'"{text}"',
                         "format": book.workbook.add_format({"bold": True})},
    ),
    "format": lambda book, sheet, text: sheet.write_number(
        9, FAR, 1, book.workbook.add_format({"num_format": f'0" {text}"'})
    ),
    "box": lambda book, sheet, text: sheet.insert_textbox(10, FAR, text),
    "name": lambda book, sheet, text: book.workbook.define_name(text, "=Summary!$B$7"),
    "hidden row": lambda book, sheet, text: (
        sheet.write_string(900, FAR, text), sheet.set_row(900, None, None, {"hidden": True})
    ),
}  # fmt: skip


def test_none_of_hundreds_of_canaries_gets_into_copy_or_proposal() -> None:
    pypdf = pytest.importorskip("pypdf")
    book = write("us", demo_inputs("us"))
    canaries = []
    for sheet in book.workbook.worksheets():
        for put in PLACES.values():
            canaries.append(f"jqx{len(canaries):04d}zvw")
            put(book, sheet, canaries[-1])
    assert len(canaries) >= 300
    source = book.finish({})
    were = {trace.split()[0] for trace in found(source, tuple(canaries))}
    assert were == set(canaries)
    copy = client_copy(source, worksheet_callables())
    assert found(copy.content, ("jqx",)) == []
    content = copy.proposal()
    text = "".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(content)).pages)
    assert "jqx" not in text and b"jqx" not in content
    told = str(copy)
    assert all(f"cells of your own on {name}" in told for name in ("Beds", "Lines", "Prices"))
