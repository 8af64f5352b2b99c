"""The cells of one worksheet part, each with the place of its bytes.

The scan keeps byte positions, so that a writer can change a cached value and nothing else.
"""

import re
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any
from xml.parsers.expat import XMLParserType

from xlfuncs.errors import WorkbookError
from xlfuncs.xlsx.cell_references import MAX_COLUMN, MAX_ROW, column_number
from xlfuncs.xlsx.package import expat_parser, run_parser

MAX_CELLS = 5_000_000


@dataclass(slots=True)
class Cell:
    """One `<c>` element. Positions are byte offsets into the part; -1 means absent.

    An end is where the closing tag starts; for an element written as one empty tag (`<c/>`) it is
    where that tag ends.
    """

    row: int
    column: int
    kind: str  # the t attribute: n, s, str, b, e, d, inlineStr
    style: str
    start: int
    dynamic: bool = False  # has cell metadata: its array formula spills
    end: int = -1
    text: str | None = None  # of <v>, or of <is>
    formula: str | None = None
    formula_attributes: dict[str, str] = field(default_factory=dict)
    formula_start: int = -1
    formula_end: int = -1
    value_start: int = -1
    value_end: int = -1


@dataclass(slots=True)
class SheetScan:
    """All cells of a worksheet part in the order of the file."""

    cells: list[Cell]
    row_starts: dict[int, int]  # row -> position of its `<row`
    row_ends: dict[int, int]  # ends as in Cell
    hidden_rows: set[int]
    data_start: int  # of `<sheetData`
    data_end: int


_NONE: dict[str, str] = {}  # one for all formulas, and cells without one, that have no attributes
_NOT_UTF_8 = re.compile(r"""[^>]*\sencoding\s*=\s*["'](?!utf-8["'])""", re.IGNORECASE)
_PLAIN_ROW = re.compile(r'<row r="([1-9][0-9]{0,6})"((?: [A-Za-z0-9:]+="[^"<&]*")*)>')
_HELD = r"([^<>&\x00-\x08\x0b-\x1f]*)"
_PLAIN_CELL = re.compile(
    r'<c r="([A-Z]{1,3})([0-9]+)"(?: s="([0-9]+)")?(?: t="([A-Za-z]+)")?(?:/>|>'
    rf"(?:<f>{_HELD}</f>)?(?:<v>{_HELD}</v>|<is><t>{_HELD}</t></is>)?</c>)"
)
_column_numbers = lru_cache(maxsize=MAX_COLUMN)(column_number)


def scan_sheet(content: bytes, where: str) -> SheetScan:
    """Read the cells of a worksheet part (UTF-8); raises WorkbookError with the reason."""
    if content[:2] in (b"\xff\xfe", b"\xfe\xff") or content[:2] in (b"<\0", b"\0<"):
        raise WorkbookError(f"{where}: not in UTF-8, cannot be changed without rewriting it")
    scan = SheetScan([], {}, {}, set(), -1, -1)
    parser = expat_parser(where)
    handlers, pieces = _reading(scan, parser, content, where)
    parser.StartElementHandler, parser.EndElementHandler, parser.CharacterDataHandler = handlers
    run_parser(parser, pieces, where)
    return scan


def _reading(
    scan: SheetScan, parser: XMLParserType, content: bytes, where: str
) -> tuple[tuple[Any, Any, Any], Iterator[bytes]]:
    """What the parser calls, for millions of cells: their variables are no attributes, and few
    functions call others, which takes a fifth of the time off. And what it reads: all but rows
    that are written plainly, as nearly all of a long list are, for these are read by pattern."""
    cells, text = scan.cells, content.decode("latin-1")  # a letter for each byte
    plain = "<!" not in text and text.find("<?", 9) < 0 and not _NOT_UTF_8.match(text)
    skipped = 0  # bytes that the parser did not get
    depth = row = column = 0  # depth is 0 outside sheetData
    row_text = ""
    cell: Cell | None = None
    letters: list[str] | None = None  # text that is being collected
    phonetic = False

    def start(tag: str, attributes: dict[str, str]) -> None:
        nonlocal depth, column, cell, letters, phonetic
        if ":" in tag:
            tag = tag.rpartition(":")[2]
        if depth == 0:
            if tag == "sheetData" and scan.data_start < 0:
                scan.data_start, depth = parser.CurrentByteIndex + skipped, 1
            return
        depth += 1
        if cell is not None:
            if tag == "v" and depth == 4:
                cell.value_start, letters = parser.CurrentByteIndex + skipped, []
            elif tag == "f" and depth == 4:
                cell.formula_start, letters = parser.CurrentByteIndex + skipped, []
                cell.formula_attributes = attributes
            elif tag == "rPh":
                phonetic = True
            elif tag == "t" and not phonetic:
                letters = []
        elif tag == "c" and depth == 3:
            name = attributes.get("r")
            if name is None:
                column += 1
            else:
                before = name.rstrip("0123456789")
                column = _column_numbers(before) if before.isalpha() else 0
                own = name[len(before) :]
                if own != row_text and _row_number(own, where) != row:
                    raise WorkbookError(f"{where}: cell {name} stands in row {row}")
            if not 1 <= column <= MAX_COLUMN:
                raise WorkbookError(f"{where}: cell {name} is outside the sheet")
            if len(cells) >= MAX_CELLS:
                raise WorkbookError(f"{where}: more than {MAX_CELLS:,} cells")
            kind, style = attributes.get("t", "n"), attributes.get("s", "")
            at, dynamic = parser.CurrentByteIndex + skipped, "cm" in attributes
            cell = Cell(row, column, kind, style, at, dynamic, -1, None, None, _NONE)
        elif tag == "row" and depth == 2:
            start_row(attributes)

    def start_row(attributes: dict[str, str]) -> None:
        nonlocal row, row_text, column
        row = _row_number(attributes["r"], where) if "r" in attributes else row + 1
        if not 1 <= row <= MAX_ROW or row in scan.row_starts:
            raise WorkbookError(f"{where}: row {row} is out of range or occurs twice")
        column, row_text = 0, str(row)
        scan.row_starts[row] = parser.CurrentByteIndex + skipped
        if attributes.get("hidden") in ("1", "true"):
            scan.hidden_rows.add(row)

    def end(tag: str) -> None:
        nonlocal depth, cell, letters, phonetic
        if depth == 0:
            return
        if ":" in tag:
            tag = tag.rpartition(":")[2]
        if cell is not None:
            if depth == 3:
                cell.end = parser.CurrentByteIndex + skipped
                cells.append(cell)
                cell = None
            elif tag == "v" and depth == 4:
                cell.text, letters = "".join(letters or ()), None
                cell.value_end = parser.CurrentByteIndex + skipped
            elif tag == "f" and depth == 4:
                cell.formula, letters = "".join(letters or ()), None
                cell.formula_end = parser.CurrentByteIndex + skipped
            elif tag == "rPh":
                phonetic, letters = False, None
            elif tag == "t" and not phonetic:
                cell.text, letters = (cell.text or "") + "".join(letters or ()), None
        elif depth == 2 and tag == "row":
            scan.row_ends[row] = parser.CurrentByteIndex + skipped
        elif depth == 1:
            scan.data_end = parser.CurrentByteIndex + skipped
        depth -= 1

    def characters(data: str) -> None:
        if letters is not None:
            letters.append(data)

    def plain_row(first: int) -> int:
        """Reads the row that begins at a place; where it ends, 0 where it is not plain."""
        nonlocal row
        head = _PLAIN_ROW.match(text, first)
        number = int(head[1]) if head and "hidden" not in head[2] else 0
        if head is None or not 0 < number <= MAX_ROW or number in scan.row_starts:
            return 0
        own, new, at = head[1], [], head.end()
        while match := _PLAIN_CELL.match(text, at):
            letters, digits, style, kind, formula, value, typed = match.groups()
            held = typed if value is None else value
            column, begin, at = _column_numbers(letters), at, match.end()
            if digits != own or column > MAX_COLUMN:
                return 0
            close = at if text[at - 2] == "/" else at - 4  # without </c>
            cell = Cell(number, column, kind or "n", style or "", begin, False, close, held,
                        formula, _NONE)  # fmt: skip
            if formula is not None:
                cell.formula_start, cell.formula_end = match.start(5) - 3, match.end(5)
                if not formula.isascii():
                    cell.formula = formula.encode("latin-1").decode()
            if value is not None:
                cell.value_start, cell.value_end = match.start(6) - 3, match.end(6)
            if held and not held.isascii():
                cell.text = held.encode("latin-1").decode()
            new.append(cell)
        if not text.startswith("</row>", at) or len(cells) + len(new) > MAX_CELLS:
            return 0
        cells.extend(new)
        row, scan.row_starts[number], scan.row_ends[number] = number, first, at
        return at + len("</row>")

    def pieces() -> Iterator[bytes]:
        nonlocal skipped
        at = 0
        while at < len(content):
            begin = at
            with suppress(UnicodeDecodeError):  # the parser says what is wrong
                while plain and depth == 1 and (after := plain_row(at)):
                    at = after
            skipped += at - begin
            begin, at = at, text.find("<row", at + 1)
            at = at if at >= 0 else len(content)
            yield content[begin:at]

    return (start, end, characters), pieces()


def _row_number(text: str, where: str) -> int:
    if not text.isascii() or not text.isdigit() or len(text) > 7:
        raise WorkbookError(f"{where}: {text!r} is not a row number")
    return int(text)


def tag_end(content: bytes, start: int) -> int:
    """Position after the `>` of the tag that starts at `start`; a `>` inside quotes is skipped."""
    at = start
    while True:
        close = content.index(b">", at)
        quote = _first_quote(content, at, close)
        if quote < 0:
            return close + 1
        at = content.index(content[quote : quote + 1], quote + 1) + 1


def is_empty_tag(content: bytes, head: int) -> bool:
    """Whether the tag that ends at `head` is a whole element: `<c/>`."""
    return content[head - 2 : head] == b"/>"


def element_end(content: bytes, start: int, end: int) -> int:
    """Position after an element, from its start and its end as in Cell."""
    head = tag_end(content, start)
    return head if is_empty_tag(content, head) else tag_end(content, end)


def _first_quote(content: bytes, start: int, end: int) -> int:
    found = [
        at for at in (content.find(b'"', start, end), content.find(b"'", start, end)) if at >= 0
    ]
    return min(found, default=-1)
