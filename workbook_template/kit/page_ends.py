"""Where the printed pages of a sheet end, and its charts on them."""

from collections.abc import Collection, Mapping
from itertools import accumulate, count, pairwise, takewhile
from typing import Any

from workbook_template.kit.style import Styles

ACROSS = (10.0, 7.3)  # inches of a page inside its margins, lying and upright
PIXELS, POINTS = 96, 72  # an inch
ROW = 20  # pixels of a row that nothing is known of
SURELY = 0.97  # of a page's height: what it holds however programs draw the rows
KEPT = 21  # pixels of a blank row behind a chart: one of ROW is left to the program
AUTO = 0.92  # of a height that is left to the program
TOGETHER = 260  # pixels: a band, a header and a few rows
DOUBT = 0.1  # of the pages passed since the last known end: how far a place may lie off
APART, FRAME = 12, 3  # pixels between charts, and from a page's edge to the line around one


def end_pages(
    sheet: Any, styles: Styles, widths: Mapping[int, int], filled: Collection[int],
    heights: Mapping[int, float],
) -> None:  # fmt: skip
    """Place the charts, then end pages: no chart is cut, a part of a sheet only if it must be.

    `widths` of the columns are in pixels, `heights` of rows with words in points. Pages end by the
    filled rows, before charts also by all rows: some programs print those too.
    """
    _Pages(sheet, styles, heights).end(sum(widths.values()), widths, filled)


class _Pages:
    def __init__(self, sheet: Any, styles: Styles, heights: Mapping[int, float]) -> None:
        self.sheet, self.heights = sheet, heights
        self.bands = {row for row, cells in sheet.table.items()
                      if 0 in cells and cells[0].format is styles.section}  # fmt: skip

    def end(self, page: float, widths: Mapping[int, int], filled: Collection[int]) -> None:
        self._place_charts(page, widths)
        upright = self.sheet.orientation
        across = max(page, ACROSS[upright] * PIXELS)
        down, repeated = across * ACROSS[1 - upright] / ACROSS[upright], self._repeated()
        drawn = {row for placed in self.sheet.charts for row in self._behind(*placed[:3])}
        for row in drawn - self.sheet.table.keys() - self.sheet.row_info.keys():
            self.sheet.set_row_pixels(row, KEPT)
        charts = {self._begins(placed[0]) for placed in self.sheet.charts}
        every = range(max(*self.sheet.table, *drawn, 0) + 1)
        ends = {every.start, every.stop, *charts, *self.bands}
        for rows, kept in (({*filled, *drawn}, charts | self.bands), (every, charts)):
            reached = passed = 0.0
            for first, behind in pairwise(sorted({*ends, *self.sheet.hbreaks})):
                heights = [self._height(row) for row in range(first, behind) if row in rows]
                height = sum(heights)
                held = height if height < down else TOGETHER
                sure = 1.0 if kept == charts or height < TOGETHER else SURELY
                doubt = DOUBT * max(0.0, passed - down)
                if first in kept and reached and reached + held + doubt > sure * down:
                    self.sheet.set_h_pagebreaks(sorted({*self.sheet.hbreaks, first}))
                if first in self.sheet.hbreaks:
                    reached, passed = repeated, 0.0
                passed += height
                for own in heights:  # a row is never cut
                    reached = own + (reached if reached + own <= down else repeated)

    def _place_charts(self, page: float, widths: Mapping[int, int]) -> None:
        """Charts side by side stand apart, none is wider than the page."""
        ends: dict[int, float] = {}
        for placed in self.sheet.charts:
            row, col, chart = placed[:3]
            left = max(sum(w for c, w in widths.items() if c < col), ends.get(row, 0))
            if left + chart.width > page:
                left = max(0, min(left, page - chart.width)) if row not in ends else left
                placed[5] = min(1.0, (page - left) / chart.width)
            placed[1], placed[3], placed[4] = 0, left, FRAME
            ends[row] = left + chart.width * placed[5] + APART

    def _behind(self, row: int, _: int, chart: Any) -> range:
        """The rows that a chart lies on."""
        below = accumulate(map(self._height, count(row)))
        return range(row, row + 1 + len([*takewhile(lambda end: end < chart.height, below)]))

    def _repeated(self) -> float:
        """Pixels of the headers that every page has."""
        rows = self.sheet.repeat_row_range.rpartition("!")[2].replace("$", "")
        first, _, last = rows.partition(":")
        return sum(map(self._height, range(int(first or 1) - 1, int(last or 0))))

    def _height(self, row: int) -> float:
        info = self.sheet.row_info.get(row)
        if info is None or info.height is None:
            return max(ROW, AUTO * self.heights.get(row, 0.0) * PIXELS / POINTS)
        return float(info.height) * (not info.hidden)

    def _begins(self, row: int) -> int:
        """The row of the band that a chart stands under, a few rows above it, or its own."""
        return next((r for r in range(row, max(row - 4, 0), -1) if r in self.bands), row)
