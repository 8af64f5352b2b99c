"""Changes to the cells of a worksheet part, byte by byte: what is not named stays as it is."""

import math
import re
from collections import defaultdict
from collections.abc import Iterable, Mapping
from functools import cached_property
from html import escape

from xlfuncs.errors import CellError
from xlfuncs.xlsx.cell_references import cell_name, column_letters, parse_area
from xlfuncs.xlsx.contents import CellValue
from xlfuncs.xlsx.elements import Element, find_elements
from xlfuncs.xlsx.package import edited
from xlfuncs.xlsx.sheet_cells import Cell, SheetScan, element_end, is_empty_tag, tag_end

_NEEDS_ESCAPE = re.compile(r"_(?=x[0-9A-Fa-f]{4}_)|[\x00-\x08\x0b-\x1f\ufffe\uffff]")
_KIND = re.compile(rb"""\s+t\s*=\s*("[^"]*"|'[^']*')""")
_RICH = re.compile(rb"""\s+vm\s*=\s*("[^"]*"|'[^']*')""")
_ALWAYS = re.compile(rb"""\sca\s*=\s*("[^"]*"|'[^']*')""")
_EXTENT = re.compile(rb"""(\sref\s*=\s*)("[^"]*"|'[^']*')""")
_SPANS = re.compile(rb"""(\sspans\s*=\s*["'])(\d+):(\d+)(["'])""")
_DIMENSION = re.compile(rb"""(<(?:[\w.-]+:)?dimension\s[^>]*?ref=["'])([^"']*)""")
_NAME = re.compile(rb"<((?:[\w.-]+:)?)")


def value_xml(value: CellValue) -> tuple[str, str]:
    """The t attribute and the text of `<v>` of a computed value."""
    if isinstance(value, bool):
        return "b", str(int(value))
    if isinstance(value, CellError):
        return "e", str(value)
    if isinstance(value, str):
        return "str", escape(_NEEDS_ESCAPE.sub(lambda m: f"_x{ord(m[0]):04X}_", value), quote=False)
    number = float(value or 0.0)
    if not math.isfinite(number):
        return "e", str(CellError.NUMBER)
    return "n", repr(int(number)) if number == int(number) and abs(number) < 1e15 else repr(number)


def same_value(stored: CellValue, computed: CellValue) -> bool:
    """Equal, for numbers to the 15 digits that a spreadsheet keeps."""
    if type(stored) is not type(computed):
        return False
    if isinstance(stored, float) and isinstance(computed, float):
        return stored == computed or f"{stored:.15g}" == f"{computed:.15g}"
    return stored == computed


class SheetEdits:
    """Collects the changes of one worksheet part; `result` gives the new bytes."""

    def __init__(self, content: bytes, scan: SheetScan) -> None:
        self.content = content
        self.scan = scan
        self._edits: list[tuple[int, int, bytes]] = []
        self._new: dict[int, dict[int, bytes]] = defaultdict(dict)  # row -> column -> cell
        self._by_row: dict[int, list[tuple[int, int]]] = defaultdict(list)
        self._prefix = self._prefix_at(scan.data_start)

    @cached_property
    def cells(self) -> dict[tuple[int, int], Cell]:
        return {(cell.row, cell.column): cell for cell in self.scan.cells}

    def set_value(self, row: int, column: int, value: CellValue) -> None:
        """Give a cell a computed value; its formula and style stay. A missing cell is added."""
        kind, text = value_xml(value)
        cell = self.cells.get((row, column))
        if cell is None:
            self.add_down(row, column, [self.held(kind, text)])
            return
        self._set_kind(cell, kind)
        opened = f"<{self._prefix}v>{text}</{self._prefix}v>".encode()
        if cell.value_start >= 0:
            self._replace(cell.value_start, cell.value_end, opened)
        elif cell.formula_start >= 0:
            after = element_end(self.content, cell.formula_start, cell.formula_end)
            self._edits.append((after, after, opened))
        else:
            self._fill_empty(cell, opened)

    def clear_value(self, row: int, column: int) -> None:
        """Take the value of a cell away; the cell and its style stay."""
        cell = self.cells.get((row, column))
        if cell is not None and cell.value_start >= 0:
            self._set_kind(cell, "n")
            self._replace(cell.value_start, cell.value_end, b"")

    def mark_stale(self, cell: Cell) -> None:
        """Say that a formula needs to be computed (ECMA-376 part 1, 18.3.1.40, attribute ca)."""
        end = tag_end(self.content, cell.formula_start)
        if _ALWAYS.search(self.content, cell.formula_start, end) is None:
            at = cell.formula_start + len(f"<{self._prefix}f")
            self._edits.append((at, at, b' ca="1"'))

    def set_extent(self, cell: Cell, reference: str) -> None:
        """The range that an array formula fills."""
        end = tag_end(self.content, cell.formula_start)
        match = _EXTENT.search(self.content, cell.formula_start, end)
        if match is not None:
            start, stop = match.span(2)
            self._edits.append((start, stop, f'"{reference}"'.encode()))

    def held(self, kind: str, text: str | None, formula: str | None = None) -> str:
        """The XML of a cell behind its place and style; `text` is already escaped."""
        p = self._prefix
        typed = f' t="{kind}"' if kind != "n" else ""
        inside = f"<{p}f>{escape(formula, quote=False)}</{p}f>" if formula is not None else ""
        if text is not None and kind == "inlineStr":
            inside += f"<{p}is><{p}t>{text}</{p}t></{p}is>"
        elif text is not None:
            inside += f"<{p}v>{text}</{p}v>"
        return f"{typed}>{inside}</{p}c>" if inside else f"{typed}/>"

    def add_down(self, first: int, column: int, held: Iterable[str], style: str = "") -> None:
        """New cells below each other, or in place of cells that hold nothing."""
        start = f'<{self._prefix}c r="{column_letters(column)}'
        styled = f' s="{style}"' if style else ""
        for row, xml in enumerate(held, first):
            cell = f'{start}{row}"{styled}{xml}'.encode()
            old = self.cells.get((row, column)) if row in self.scan.row_starts else None
            if old is not None:
                self._replace(old.start, old.end, cell)
            else:
                self._new[row][column] = cell

    def set_widths(self, widths: Mapping[int, float]) -> None:
        """Widths of columns that nobody has given one yet."""
        p, path = self._prefix, "worksheet/cols/col"
        present = find_elements(self.content, path, "the sheet") if widths else []
        held = [range(int(c.attributes["min"]), int(c.attributes["max"]) + 1) for c in present]
        new = {column: f'<{p}col min="{column}" max="{column}" width="{width}" customWidth="1"/>'
               for column, width in sorted(widths.items())
               if not any(column in columns and _is_own(c)
                          for c, columns in zip(present, held, strict=True))}  # fmt: skip
        for c, columns in zip(present, held, strict=True):
            inside = [column for column in new if column in columns]
            pieces, first = [], columns[0]
            for column in [*inside, columns[-1] + 1]:
                if first < column:
                    pieces.append(_reaching(self.content[c.start : c.end], first, column - 1))
                pieces.append(new.pop(column).encode() if column in inside else b"")
                first = column + 1
            if inside:
                self._edits.append((c.start, c.end, b"".join(pieces)))
        if new and not present:
            cols = f"<{p}cols>{''.join(new.values())}</{p}cols>".encode()
            self._edits.append((self.scan.data_start, self.scan.data_start, cols))
            return
        for column, text in new.items():
            later = [
                c.start for c, columns in zip(present, held, strict=True) if columns[0] > column
            ]
            at = min(later, default=max((c.end for c in present), default=0))
            self._edits.append((at, at, text.encode()))

    def extend_dimension(self, row: int, column: int) -> None:
        """Let the stated used range of the sheet reach a cell."""
        match = _DIMENSION.search(self.content, 0, self.scan.data_start)
        area = parse_area(match[2].decode(), "") if match is not None else None
        if match is None or area is None or area.holds("", row, column):
            return
        first = cell_name(min(area.first_row, row), min(area.first_column, column))
        last = cell_name(max(area.last_row, row), max(area.last_column, column))
        self._edits.append((*match.span(2), f"{first}:{last}".encode()))

    def result(self) -> bytes:
        edits = list(self._edits)
        missing_rows: dict[int, list[bytes]] = defaultdict(list)
        last = max(self.scan.row_starts, default=0)
        for row, columns in sorted(self._new.items()):
            if row in self.scan.row_starts:
                edits += self._insert_in_row(row, columns)
            else:
                cells = b"".join(columns[column] for column in sorted(columns))
                p = self._prefix
                new = f'<{p}row r="{row}">'.encode() + cells + f"</{p}row>".encode()
                starts = self.scan.row_starts.items() if row < last else ()
                at = min((start for r, start in starts if r > row), default=-1)
                missing_rows[at].append(new)
        for at, rows in missing_rows.items():
            edits.append(self._insert_rows(at, b"".join(rows)))
        return edited(self.content, edits)

    @property
    def changed(self) -> bool:
        return bool(self._edits or self._new)

    def _insert_in_row(self, row: int, columns: dict[int, bytes]) -> list[tuple[int, int, bytes]]:
        start, end = self.scan.row_starts[row], self.scan.row_ends[row]
        head = tag_end(self.content, start)
        edits = []
        spans = _SPANS.search(self.content, start, head)
        if spans is not None:
            first = min(int(spans[2]), *columns)
            last = max(int(spans[3]), *columns)
            edits.append((*spans.span(), spans[1] + f"{first}:{last}".encode() + spans[4]))
        if is_empty_tag(self.content, head):
            cells = b"".join(columns[column] for column in sorted(columns))
            close = f"></{self._prefix}row>".encode().replace(b"></", b">" + cells + b"</", 1)
            return [*edits, (head - 2, head, close)]
        at_place: dict[int, list[bytes]] = defaultdict(list)
        present = sorted(self._starts()[row])
        for column in sorted(columns):
            place = next((begin for other, begin in present if other > column), end)
            at_place[place].append(columns[column])
        return edits + [(at, at, b"".join(cells)) for at, cells in at_place.items()]

    def _starts(self) -> dict[int, list[tuple[int, int]]]:
        """(column, position) of the cells of each row."""
        if not self._by_row:
            for cell in self.scan.cells:
                self._by_row[cell.row].append((cell.column, cell.start))
        return self._by_row

    def _insert_rows(self, at: int, rows: bytes) -> tuple[int, int, bytes]:
        if at >= 0:
            return at, at, rows
        head = tag_end(self.content, self.scan.data_start)
        if is_empty_tag(self.content, head):
            return head - 2, head, b">" + rows + f"</{self._prefix}sheetData>".encode()
        return self.scan.data_end, self.scan.data_end, rows

    def _fill_empty(self, cell: Cell, value: bytes) -> None:
        head = tag_end(self.content, cell.start)
        if is_empty_tag(self.content, head):
            close = b">" + value + f"</{self._prefix}c>".encode()
            self._edits.append((head - 2, head, close))
        else:
            self._edits.append((head, cell.end, value))

    def _set_kind(self, cell: Cell, kind: str) -> None:
        end = tag_end(self.content, cell.start)
        if (match := _RICH.search(self.content, cell.start, end)) is not None:
            self._edits.append((*match.span(), b""))
        match = _KIND.search(self.content, cell.start, end)
        if cell.kind == kind:
            return
        attribute = f' t="{kind}"'.encode() if kind != "n" else b""
        if match is not None:
            self._edits.append((*match.span(), attribute))
        elif attribute:
            at = end - 2 if is_empty_tag(self.content, end) else end - 1
            self._edits.append((at, at, attribute))

    def _replace(self, start: int, end: int, replacement: bytes) -> None:
        self._edits.append((start, element_end(self.content, start, end), replacement))

    def _prefix_at(self, start: int) -> str:
        match = _NAME.match(self.content, start)
        return match[1].decode() if match is not None else ""


def _is_own(col: Element) -> bool:
    """Whether a width was chosen by somebody, rather than written down for all that is empty."""
    return col.attributes.get("customWidth") in ("1", "true")


def _reaching(col: bytes, first: int, last: int) -> bytes:
    for name, number in ((b"min", first), (b"max", last)):
        col = re.sub(rb"""(\s%s\s*=\s*["'])\d+""" % name, rb"\g<1>%d" % number, col)
    return col
