"""Rows that are written plainly are read by their pattern, all others by the parser: the same."""

import random

import pytest

from xlfuncs.errors import WorkbookError
from xlfuncs.xlsx.sheet_cells import SheetScan, scan_sheet

HEAD = '<?xml version="1.0" encoding="UTF-8"?>\n<worksheet><dimension ref="A1"/><sheetData>'
TAIL = '</sheetData><rowBreaks count="1"/></worksheet>'
ROWS = (
    '<row r="{}"><c r="A{}" s="3"><v>1</v></c><c r="B{}" s="4"/><c r="C{}" t="str"><f>A{}*2</f>'
    "<v>é</v></c></row>",
    '<row r="{}" spans="1:3" ht="15"><c r="XFD{}" t="inlineStr"><is><t>a  tape</t></is></c></row>',
    '<row r="{}"><c r="A{}"></c><c r="B{}"><v></v></c><c r="AA{}"><f>A{}</f></c></row>\n',
    '<row r="{}" hidden="1"><c r="A{}"><v>5</v></c></row>',
    '<row r="{}"><c r="A{}" t="str"><f>IF(B{}&lt;1,"a&amp;b","")</f><v>a&amp;b</v></c></row>',
    '<row r="{}"><c r="A{}" cm="1" t="str"><f t="array" ref="A{}">B1:B2</f><v>7</v></c></row>',
    '<row r="{}"><c s="1"><v>2</v></c><c r="D{}" t="inlineStr"><is><r><t>a</t></r></is></c></row>',
    '<row r="{}"/>',
    '<row r="{}"><extLst><row r="2"><c r="A2"><v>9</v></c></row></extLst></row>',
)  # fmt: skip
DAMAGED = (
    '<row r="{}"><c r="A1"><v>1</v></c></row>',  # of another row
    '<row r="{}"><c r="XFE{}"><v>1</v></c></row>',  # beyond the last column
    '<row r="{}"><c r="A{}"><v>1</c></row>',
    '<row r="{}"><c r="A{}"><v>\x0b</v></c></row>',
    '<row r="1"/>',  # once more
)


def read(content: bytes) -> SheetScan | str:
    try:
        return scan_sheet(content, "here")
    except WorkbookError:
        return "refused"


def both(rows: list[str]) -> tuple[SheetScan | str, SheetScan | str]:
    """As it is, and with a comment at the end, for which all is left to the parser."""
    numbered = "".join(row.replace("{}", str(i)) for i, row in enumerate(rows, 1))
    content = f"{HEAD}{numbered}{TAIL}".encode()
    return read(content), read(content + b"<!-- read with care -->")


def test_rows_read_by_pattern_are_as_the_parser_reads_them() -> None:
    chance = random.Random(7)
    for _ in range(60):
        by_pattern, by_parser = both(chance.choices(ROWS, k=12))
        assert by_pattern == by_parser != "refused"


@pytest.mark.parametrize("row", DAMAGED)
def test_what_is_damaged_is_refused_among_plain_rows(row: str) -> None:
    assert both([ROWS[0], ROWS[1], row, ROWS[0]]) == ("refused", "refused")


def test_text_is_read_as_the_part_declares_it() -> None:
    content = f"{HEAD}{ROWS[0].replace('{}', '1')}{TAIL}".replace("UTF-8", "ISO-8859-1")
    scan = read(content.encode("latin-1"))
    assert isinstance(scan, SheetScan)
    assert scan.cells[2].text == "é"
