"""Fitting a finished sheet to its page: no text under 8 points in print, words and numbers in full.

Columns become as wide as their headers and numbers need; a sheet that would print too small gives
up width where there is most to spare. Heights of headers and of words across columns follow.
"""

from functools import cache
from itertools import accumulate, pairwise
from typing import Any

from xlsxwriter.utility import xl_cell_to_rowcol, xl_pixel_width

from workbook_template.kit.page_ends import ACROSS, PIXELS, end_pages
from workbook_template.kit.style import SIZE, Styles
from xlfuncs.errors import CellError

SMALLEST = 9.3  # points on paper, some room included: programs make columns a little wider
SMALLER = 8.8  # where words would have to be broken otherwise
LINE = 13.5  # points of a line of words
BOLD, ROOMY = 1.07, 1.06  # of letters; programs draw them in other widths than are reckoned here
PADDING, INDENT = 8, 9  # pixels
WORDS = 120, 240  # pixels that longer words get at least, and much longer ones
SHORT = 14  # letters of words that stay in one line
FOLDED, DATE = "folded", "2026-00-00"
ERRORS = tuple(error.value for error in CellError)


def fit(sheet: Any, styles: Styles, texts: list[str]) -> None:
    """Fit a worksheet whose cells have their values; `texts` are the workbook's strings."""
    if sheet.dim_colmax is not None:
        _Fitting(sheet, styles, texts).fit()


class _Fitting:
    def __init__(self, sheet: Any, styles: Styles, texts: list[str]) -> None:
        self.sheet, self.styles, self.texts = sheet, styles, texts
        self.headers = {styles.header, styles.header_input}
        self.labels = {styles.label, styles.strong}
        last = sheet.dim_colmax
        if sheet.print_area_range:
            last = xl_cell_to_rowcol(sheet.print_area_range.rpartition(":")[2])[1]
        self.merged = {(m[0], m[1]): m for m in sheet.merge}
        self.folded = {c for c, info in sheet.col_info.items() if info.hidden}
        seen = {c for row in sheet.table.values() for c in row if c <= last} - self.folded
        self.columns = [c for c in range(max(seen, default=-1) + 1) if c not in self.folded]
        self.width = {c: self._set_width(c) for c in self.columns}
        self.cells = {
            (row, col): (cell.format, shown)  # all visible ones with words or a number
            for row, cells in sheet.table.items()
            for col, cell in cells.items()
            if col in self.width and (shown := self._shown(cell)).strip()
        }
        # Others are not always printed: so those whose dates are blank yet.
        self.filled = {row for (row, col), (_, shown) in self.cells.items()
                       if shown != DATE or _value(sheet.table[row][col])}  # fmt: skip
        self.height: dict[int, float] = {}  # points that the words of a row take
        self.set_here: set[int] = set()  # rows whose height is not left to the program

    def fit(self) -> None:
        self._widths()
        self._way_back()
        self._words_that_run_on()
        self._heights()
        self._fold()
        end_pages(self.sheet, self.styles, self.width, self.filled, self.height)

    def _set_width(self, col: int) -> int:
        info = self.sheet.col_info.get(col)
        return int(info.width) if info is not None and info.width else 64

    def _shown(self, cell: Any) -> str:
        kind = type(cell).__name__
        if kind == "String":
            return str(self.texts[cell.string])
        if cell.format is not None and "yy" in str(cell.format.num_format):
            return DATE  # a cell that is blank yet will hold one
        value = _value(cell)
        if isinstance(value, str):
            return "" if value in ERRORS else value
        if not isinstance(value, (int, float)) or isinstance(value, bool) or cell.format is None:
            return ""
        shown = str(cell.format.num_format)
        decimals = shown.partition(".")[2].count("0") + shown.partition(".")[2].count("?")
        return f"{value:g}" if shown == "General" else f"{value:,.{decimals}f}"

    def _widths(self) -> None:
        """At least what headers' words and numbers need, and together no more than a page holds."""
        told: dict[int, int] = getattr(self.sheet, "least_pixels", {})  # for what is not there yet
        least = {c: told.get(c, 24) for c in self.columns}
        # A quantity would be another one if cut, a word is hard to read when broken.
        numbers, unbroken = ({c: told.get(c, 0) for c in self.columns} for _ in range(2))
        alone = {(place[1], *cell) for place, cell in self.cells.items()
                 if place not in self.merged and place not in self.sheet.merged_cells}  # fmt: skip
        for col, look, shown in alone:
            if look is None:
                continue
            words = any(letter.isalpha() for letter in shown)
            if words and not look.text_wrap:
                continue
            whole = not words or len(shown) <= SHORT
            parts = [shown] if whole and look not in self.headers else shown.split()
            needed = max(_pixels(part, look) for part in parts)
            if look in self.labels:  # at most two lines
                needed = max(needed, 0.6 * _pixels(shown, look))
            elif look not in self.headers and not whole:
                long = _pixels(shown, look)
                needed = max(needed, min(0.45 * long, max(WORDS[0], min(long / 4, WORDS[1]))))
            beside = PADDING + INDENT * look.indent
            least[col] = max(least[col], int(needed + beside))
            word = max(_pixels(part, look) for part in shown.split())
            if whole and look not in self.headers:  # in two lines
                word = max(word, 0.6 * _pixels(shown, look))
            unbroken[col] = max(unbroken[col], int(word + beside))
            if whole and look not in self.headers and shown[:1].isdigit():
                numbers[col] = max(numbers[col], int(needed + beside))
        unbroken = {c: max(unbroken[c], numbers[c]) for c in self.columns}
        rooms = [across * PIXELS * SIZE / SMALLEST for across in ACROSS]
        if self.sheet.orientation and sum(least.values()) > rooms[1]:
            self.sheet.set_landscape()
        room = rooms[self.sheet.orientation]
        room = max(room, min(sum(unbroken.values()), room * SMALLEST / SMALLER))
        least = _within(room, numbers, unbroken, least)
        wanted = {c: max(self.width[c], least[c]) for c in self.columns}
        over, spare = sum(wanted.values()) - room, sum(wanted.values()) - sum(least.values())
        share = min(1.0, over / spare) if over > 0 and spare else 0.0
        for col in self.columns:
            width = int(wanted[col] - share * (wanted[col] - least[col]))
            self.width[col] = width
            self.sheet.set_column_pixels(col, col, width)

    def _across(self, row: int, col: int) -> int:
        """Pixels of a cell, with those that are merged with it."""
        last = self.merged[row, col][3] if (row, col) in self.merged else col
        return sum(self.width.get(c, 0) for c in range(col, last + 1))

    def _way_back(self) -> None:
        """The link to the first sheet stands right of the title, however long that is."""
        top, links = self.sheet.table.get(0, {}), self.sheet.hyperlinks.get(0, {})
        if 1 in links and top[1].format is self.styles.link:
            room = _pixels(self._shown(top[0]), top[0].format) + PADDING
            ends = accumulate(self.width[c] for c in self.columns)
            beside = (c for c, left in zip(self.columns[1:], ends, strict=False) if left > room)
            col = next(beside, self.columns[-1] + 1)
            links[col], top[col] = links.pop(1), top.pop(1)
            link = self.cells.pop((0, 1))
            if col in self.width:
                self.cells[0, col] = link

    def _words_that_run_on(self) -> None:
        """Small words beside a value go on below where the page ends."""
        last = self.columns[-1]
        for (row, col), (look, shown) in self.cells.items():
            there = self.sheet.table[row]
            kind = type(there[col]).__name__
            if look is not self.styles.aside or kind not in ("String", "Formula"):
                continue
            beside = any(c in there for c in range(col + 1, last + 1))
            room = sum(width for c, width in self.width.items() if c >= col)
            if beside or (row, col) in self.merged or _pixels(shown, look) < room:
                continue
            self.cells[row, col] = self.styles.aside_below, shown
            below = there[col]._replace(format=self.styles.aside_below)
            if col < last:
                self.sheet.merge_range(row, col, row, last, "", self.styles.aside_below)
                self.merged[row, col] = self.sheet.merge[-1]
            there[col] = below

    def _heights(self) -> None:
        """Rows of headers, labels and words across columns; others follow by themselves."""
        fixed = self.headers | self.labels
        for (row, col), (look, shown) in self.cells.items():
            if look is None or not look.text_wrap:
                continue
            lines = _lines(shown, self._across(row, col) - PADDING - INDENT * look.indent, look)
            height = LINE * look.font_size / SIZE * lines + (5 if look in self.headers else 2)
            self.height[row] = max(self.height.get(row, 0.0), height)
            told = look in fixed or (row, col) in self.merged
            if told and (lines > 1 or look not in self.labels):
                self.set_here.add(row)
        for row in self.set_here:
            info = self.sheet.row_info.get(row)
            if info is None or not info.hidden:
                self.sheet.set_row(row, self.height[row])

    def _fold(self) -> None:
        """Folded columns open at the first click, say what they are, and make no row higher."""
        used = self.sheet.dim_colmax
        for col in range(self.columns[-1] + 1, used):  # between the page and the figures behind it
            if col not in self.folded:
                self.sheet.set_column_pixels(col, col, self._set_width(col), None,
                                             {"level": 1, "hidden": True})  # fmt: skip
                self.folded.add(col)
        for col in self.folded:
            if col + 1 in self.width:
                self._say_what_is_folded(col)
        for cells in self.sheet.table.values():
            for col in self.folded & cells.keys():
                if cells[col].format is not None and cells[col].format.text_wrap:
                    cells[col] = cells[col]._replace(
                        format=self.styles.unwrapped(cells[col].format)
                    )
        for col in self.folded:
            if col + 1 not in self.folded:
                info = self.sheet.col_info.get(col + 1)
                width = info.width if info is not None else None
                self.sheet.set_column_pixels(col + 1, col + 1, width, None, {"collapsed": True})
        for row, info in list(self.sheet.row_info.items()):
            below = self.sheet.row_info.get(row + 1)
            if info.hidden and info.level and not (below is not None and below.hidden):
                height = below.height if below is not None else None
                self.sheet.set_row_pixels(row + 1, height, None, {"collapsed": True})

    def _say_what_is_folded(self, last: int) -> None:
        """Words under the sign that opens columns, above the headers of what stands beside them."""
        first = last
        while first - 1 in self.folded:
            first -= 1
        heads = [
            (row, [self._shown(cells[c]) for c in range(first, last + 1) if c in cells])
            for row, cells in sorted(self.sheet.table.items())
            if any(c in cells and cells[c].format in self.headers for c in range(first, last + 1))
        ]
        if not (heads and self.sheet.tables):
            return
        row, words = heads[0]
        words = [text.partition(" (")[0] for text in words if text] or [""]
        told = self._fitting(last + 1, (
            f"{FOLDED}: {words[0]} to {words[-1]}" if len(words) > 1 else f"{FOLDED}: {words[0]}",
            f"{FOLDED}: {words[0]} ...", f"+ {words[0]}",
        ))  # fmt: skip
        if not told:
            return
        beside = max((c for c in self.columns if c < first), default=-1)
        for above in reversed(range(row)):
            cells = self.sheet.table.get(above, {})
            there = cells.get(last + 1)
            if (there is None or type(there).__name__ == "Blank") and (
                _value(cells.get(beside)) is None
                and (above, last + 1) not in self.sheet.merged_cells
            ):
                style = self.styles.aside if there is None else there.format
                self.sheet.write_string(above, last + 1, told, style)
                return

    def _fitting(self, first: int, texts: tuple[str, ...]) -> str:
        """The first text that ends before the next fold and the page; nothing where none does."""
        ends = min((c for c in self.folded if c > first), default=self.columns[-1] + 1)
        room = sum(width for c, width in self.width.items() if first <= c < ends)
        fits = (text for text in texts if _pixels(text, self.styles.aside) <= room - PADDING)
        return next(fits, "")


def _within(room: float, *levels: dict[int, int]) -> dict[int, int]:
    """Widths that fit: those of the last level that does, and a part of what the next one adds."""
    steps = [dict.fromkeys(levels[0], 0), *levels]
    for fits, more in reversed([*pairwise(steps)]):
        if (taken := sum(fits.values())) <= room:
            share = min(1.0, (room - taken) / max(sum(more.values()) - taken, 1))
            return {c: width + int((more[c] - width) * share) for c, width in fits.items()}
    return levels[0]


def _value(cell: Any) -> Any:
    return getattr(cell, "number", getattr(cell, "value", None))


def _pixels(text: str, look: Any) -> float:
    return float(_reckoned(text) * look.font_size * (BOLD if look.bold else 1.0))


@cache
def _reckoned(text: str) -> float:
    """Pixels of a text for each point of its size."""
    return float(xl_pixel_width(text)) * ROOMY / 11


def _lines(text: str, room: float, look: Any) -> int:
    """Lines that words take in so many pixels."""
    lines, line = 1, 0.0
    space = _pixels(" ", look)
    for word in text.split():
        wide = _pixels(word, look)
        if line and line + space + wide > room:
            lines, line = lines + 1, wide
        else:
            line += (space if line else 0) + wide
    return lines
