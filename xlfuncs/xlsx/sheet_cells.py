"""The cells of one worksheet part, each with the place of its bytes.

The scan keeps byte positions, so that a writer can change a cached value and nothing else.
"""

from dataclasses import dataclass, field
from functools import lru_cache

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


_NONE: dict[str, str] = {}  # one for all cells without a formula
_column_numbers = lru_cache(maxsize=MAX_COLUMN)(column_number)


class _Scanner:
    def __init__(self, content: bytes, where: str) -> None:
        self.where = where
        self.result = SheetScan([], {}, {}, set(), -1, -1)
        self.row, self.row_text = 0, ""
        self.column = 0
        self.depth = 0  # 0 outside sheetData
        self.cell: Cell | None = None
        self.letters: list[str] | None = None  # text that is being collected
        self.phonetic = False
        self.parser = expat_parser(where)
        self.parser.StartElementHandler = self.start
        self.parser.EndElementHandler = self.end
        self.parser.CharacterDataHandler = self.characters
        run_parser(self.parser, content, where)

    def start(self, tag: str, attributes: dict[str, str]) -> None:
        if ":" in tag:
            tag = tag.rpartition(":")[2]
        at = self.parser.CurrentByteIndex
        if self.depth == 0:
            if tag == "sheetData" and self.result.data_start < 0:
                self.result.data_start = at
                self.depth = 1
            return
        self.depth += 1
        if self.depth == 2 and tag == "row":
            self.start_row(attributes, at)
        elif self.depth == 3 and tag == "c":
            self.start_cell(attributes, at)
        elif self.cell is not None:
            self.start_inside(tag, attributes, at)

    def start_row(self, attributes: dict[str, str], at: int) -> None:
        self.row = self._number(attributes["r"]) if "r" in attributes else self.row + 1
        if not 1 <= self.row <= MAX_ROW or self.row in self.result.row_starts:
            raise WorkbookError(f"{self.where}: row {self.row} is out of range or occurs twice")
        self.column, self.row_text = 0, str(self.row)
        self.result.row_starts[self.row] = at
        if attributes.get("hidden") in ("1", "true"):
            self.result.hidden_rows.add(self.row)

    def start_cell(self, attributes: dict[str, str], at: int) -> None:
        name = attributes.get("r")
        if name is None:
            self.column += 1
        else:
            letters = name.rstrip("0123456789")
            self.column = _column_numbers(letters) if letters.isalpha() else 0
            row = name[len(letters) :]
            if row != self.row_text and self._number(row) != self.row:
                raise WorkbookError(f"{self.where}: cell {name} stands in row {self.row}")
        if not 1 <= self.column <= MAX_COLUMN:
            raise WorkbookError(f"{self.where}: cell {name} is outside the sheet")
        if len(self.result.cells) >= MAX_CELLS:
            raise WorkbookError(f"{self.where}: more than {MAX_CELLS:,} cells")
        kind = attributes.get("t", "n")
        style, dynamic = attributes.get("s", ""), "cm" in attributes
        self.cell = Cell(self.row, self.column, kind, style, at, dynamic, formula_attributes=_NONE)

    def start_inside(self, tag: str, attributes: dict[str, str], at: int) -> None:
        cell = self.cell
        assert cell is not None
        if tag == "v" and self.depth == 4:
            cell.value_start = at
            self.letters = []
        elif tag == "f" and self.depth == 4:
            cell.formula_start = at
            cell.formula_attributes = attributes
            self.letters = []
        elif tag == "rPh":
            self.phonetic = True
        elif tag == "t" and not self.phonetic:
            self.letters = []

    def end(self, tag: str) -> None:
        if self.depth == 0:
            return
        if ":" in tag:
            tag = tag.rpartition(":")[2]
        at = self.parser.CurrentByteIndex
        if self.cell is not None:
            self.end_inside(tag, at)
        elif self.depth == 2 and tag == "row":
            self.result.row_ends[self.row] = at
        elif self.depth == 1:
            self.result.data_end = at
        self.depth -= 1

    def end_inside(self, tag: str, at: int) -> None:
        cell = self.cell
        assert cell is not None
        if self.depth == 3:
            cell.end = at
            self.result.cells.append(cell)
            self.cell = None
            return
        collected = "".join(self.letters) if self.letters is not None else ""
        if tag == "v" and self.depth == 4:
            cell.text, cell.value_end = collected, at
        elif tag == "f" and self.depth == 4:
            cell.formula, cell.formula_end = collected, at
        elif tag == "rPh":
            self.phonetic = False
        elif tag == "t" and not self.phonetic:
            cell.text = (cell.text or "") + collected
        else:
            return
        self.letters = None

    def characters(self, data: str) -> None:
        if self.letters is not None:
            self.letters.append(data)

    def _number(self, text: str) -> int:
        if not text.isascii() or not text.isdigit() or len(text) > 7:
            raise WorkbookError(f"{self.where}: {text!r} is not a row number")
        return int(text)


def scan_sheet(content: bytes, where: str) -> SheetScan:
    """Read the cells of a worksheet part (UTF-8); raises WorkbookError with the reason."""
    if content[:2] in (b"\xff\xfe", b"\xfe\xff") or content[:2] in (b"<\0", b"\0<"):
        raise WorkbookError(f"{where}: not in UTF-8, cannot be changed without rewriting it")
    return _Scanner(content, where).result


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
