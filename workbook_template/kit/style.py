"""How the workbook looks: one place for colours, formats and number formats.

Inputs are told from results by a frame and a tint, results are plain; nothing rests on colour
alone, so that a grey print reads the same.
"""

from functools import cache, partial
from typing import Any

INK = "#20302B"
TYPED = "#1E3A8A"  # what a person enters
HEADER = "#33524A"
TINT, TINT_HEADER = "#FFF3CC", "#EFCF76"  # inputs
BAND = "#E3EBE7"  # section titles
FRAME = "#5F6E68"  # of inputs; 3 to 1 on every ground that it meets
LINE = "#7C8B84"  # under results
GRID, PALE = "#B9C6C0", "#5F6E68"
# Chart series, chosen to differ in grey as well.
SERIES = ("#1F4E5F", "#C2741A", "#7A8F85", "#A23B2A", "#97832B", "#5B5B5B")
FONT = "Calibri"
CAUTION = 13  # points, of which no page prints less than 10
SIZE = 10  # points, the least of any text: a sheet prints at 80 % or more

# Decimals that the measured inputs can carry, by dimension. A ? keeps the room of a digit, so that
# the points of a column stand under each other.
NUMBER_FORMATS = {
    "length": "#,##0.0?", "width": "0.0?", "elevation": "0.0?", "head": "0.0", "diameter": "0.0??",
    "wall": "0.0??", "roughness": "0.0???", "depth": "0.0?", "area": "#,##0", "volume": "#,##0",
    "billed_volume": "#,##0.0", "velocity": "0.0", "slope": "0.0?", "temperature": "0.0",
    "emitter_flow": "0.00?", "lateral_flow": "0.0", "flow": "0.0?", "flow_per_length": "0.00?",
    "pressure": "0.0?", "intake_rate": "0.00", "et": "0.00", "available_water": "0.0?",
    "salinity": "0.0", "time": "0", "seconds": "0", "hours": "0.0", "clock": "@",
    "days": "0.0", "years": "0.0",
    "radiation": "0.0", "vapour_pressure": "0.00", "wind": "0.0", "latitude": "0.0?",
    "ratio": "0.00?", "energy": "#,##0.0", "power": "0.00", "count": "0", "number": "General",
    "money": "#,##0.00", "money_per_area": "#,##0.00", "money_per_length": "#,##0.000",
    "money_per_billed_volume": "#,##0.00", "text": "General", "flag": "General",
    "date": "yyyy-mm-dd",
    # Not dimensions: quantities whose unit the row names, and their prices; a part of 100.
    "quantity": "#,##0.0?", "unit_price": "#,##0.00?", "percent": "0%",
}  # fmt: skip
# What is computed is said no finer than what it rests on was measured; by system.
RESULT_FORMATS = {
    "us": {"pressure": "0.0", "flow": "0.00", "head": "0.0", "ratio": "0.00",
           "emitter_flow": "0.000", "width": "0.0", "diameter": "0.00", "depth": "0.00",
           "available_water": "0.00"},
    "metric": {"pressure": "0.00", "head": "0.0", "ratio": "0.00", "emitter_flow": "0.00",
               "width": "0.0", "flow": "0.0", "length": "#,##0.00", "depth": "0.0",
               "available_water": "0"},
}  # fmt: skip
# Inputs that no unit converts show as typed.
INPUT_FORMATS = dict.fromkeys(("days", "years", "hours"), "General")


class Styles:
    """The formats of one workbook."""

    def __init__(self, workbook: Any, system: str) -> None:
        self._inputs = NUMBER_FORMATS | INPUT_FORMATS
        self._results = NUMBER_FORMATS | RESULT_FORMATS[system]
        self._looks: dict[Any, dict[str, Any]] = {}
        self._add = cache(partial(self._made, workbook))
        self.result = cache(self._result)
        self.input = cache(self._input)
        made, lined = self._format, {"bottom": 4, "bottom_color": LINE, "align": "right"}
        head = {"bold": True, "text_wrap": True, "border": 1, "align": "center"}
        self.title = made(font_size=16, bold=True)
        self.note = made(italic=True, text_wrap=True, valign="top")
        self.aside = made(italic=True)  # small words that run on to the right
        self.aside_below = made(italic=True, text_wrap=True)  # and go on below
        self.section = made(bold=True, bg_color=BAND, bottom=1, bottom_color=LINE)
        self.label = made(text_wrap=True, indent=1)
        self.words = made(text_wrap=True, valign="top", align="left", indent=1)  # small ones
        self.words_strong = made(text_wrap=True, valign="top", bold=True)
        self.strong = made(bold=True, text_wrap=True, indent=1)
        self.header = made(font_color="#FFFFFF", bg_color=HEADER, border_color=LINE, **head)
        self.header_input = made(font_color=TYPED, bg_color=TINT_HEADER, border_color=FRAME, **head)
        self.link = made(font_color="#1F4E5F", underline=1)
        self.link_words = made(font_color="#1F4E5F", underline=1, text_wrap=True)  # go on below
        self.number = made(num_format="0", align="center")  # of a row in a list
        self.changed = made(num_format='"changed";;', **lined)  # 1 shows as a word, 0 as nothing
        # What a condition adds to a cell's own format.
        self.pale, self.emphasis = self._add((("font_color", PALE),)), self._add((("bold", True),))

    def unwrapped(self, look: Any) -> Any:
        """The same look, with words in one line."""
        return self._add(tuple({**self._looks[look], "text_wrap": False}.items()))

    def _made(self, workbook: Any, items: tuple[tuple[str, Any], ...]) -> Any:
        look = workbook.add_format(dict(items))
        self._looks[look] = dict(items)
        return look

    def _format(self, **properties: Any) -> Any:
        base = {"font_name": FONT, "font_size": SIZE, "font_color": INK, "valign": "vcenter"}
        return self._add(tuple({**base, **properties}.items()))

    def caution(self, *, first: bool, last: bool) -> Any:
        """A line of the framed block of cautions."""
        return self._format(
            bold=True, font_size=CAUTION, text_wrap=True, left=2, right=2, indent=1,
            top=2 if first else 0, bottom=2 if last else 0,
        )  # fmt: skip

    def like(self, other: Any) -> Any:
        """A result with the number format of another cell."""
        shown = getattr(other, "num_format", "General")
        return self._format(num_format=shown, bottom=4, bottom_color=LINE, align="right")

    def _input(self, dimension: str, *, wrapped: bool = True) -> Any:
        """An input; words that do not fit go on below, except where they are folded away."""
        words = dimension in ("text", "date")
        align = "left" if words else "center" if dimension == "flag" else "right"
        return self._format(
            bg_color=TINT, font_color=TYPED, border=1, border_color=FRAME, locked=False,
            align=align, num_format=self._inputs[dimension], indent=1 if words else 0,
            text_wrap=wrapped and dimension == "text",
        )  # fmt: skip

    def shown(self, dimension: str) -> Any:
        """A value that stands like text on a page for reading."""
        return self._format(num_format=self._results[dimension], align="left", indent=1)

    def _result(self, dimension: str, *, strong: bool = False) -> Any:
        words = dimension == "text"
        return self._format(
            num_format=self._results[dimension], bold=strong, bottom=4, bottom_color=LINE,
            align="left" if words else "right", text_wrap=words, indent=1 if words else 0,
        )  # fmt: skip
