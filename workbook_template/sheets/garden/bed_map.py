"""Map: the beds, their lines and the pipes to scale, as a chart.

A chart draws no rectangles, but bars from a point to the right, to the left, up and down. So a bed
is two bars from its lower left corner and two from its upper right one, a line is one bar, and what
is not drawn has bars of no length.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from workbook_template.kit.book import Book, Values
from workbook_template.kit.charts import rows_of
from workbook_template.kit.declared import CONSULTANT, GROWER, ForClient, SheetFor
from workbook_template.kit.formulas import call
from workbook_template.kit.page import Page
from workbook_template.kit.style import FONT, INK, LINE, SERIES
from xlfuncs.units import to_base

SHEETS = (
    SheetFor("Map", (GROWER, CONSULTANT), group="garden", needs=("Beds",), client=ForClient()),
)

MOST_BEDS, MOST_LINES = 120, 6
CHART_ROWS, SIDE = 36, 690  # rows that the chart covers; its side in pixels
GRID, FALLBACK_GRID = "map_grid", 10.0
INSIDE = 0.6  # of a cell of the grid, from the edge of the box to what is in it
WORDS = (
    "Thick: pipes, drawn straight in their lengths along the way. Square: supply. Diamond: where a"
    " bed is fed.",
    "Outlines: bed tops, dashed where the bed is off; in brackets their valve. Thin: drip lines."
    " Not drawn: beds that cannot be read.",
)
# Columns of the figures behind the map, one row a bed.
COLUMNS = (
    ("Bed", "text"), ("Drawn", "text"), ("Distance", "length"), ("Length", "length"),
    ("Branch", "count"), ("Head across", "length"), ("End across", "length"), ("Up", "length"),
    ("Pipe across", "length"), ("Branch leaves at", "length"), ("Half the width", "length"),
    ("Lines", "count"), ("First line", "length"), ("Left", "length"), ("Right", "length"),
    ("Lower", "length"), ("Upper", "length"), ("Along, on", "length"), ("Over, on", "length"),
    ("Along, off", "length"), ("Over, off", "length"), ("Middle", "length"),
    ("Pipe up", "length"), *((f"Line {i}", "length") for i in range(1, MOST_LINES + 1)),
    ("Label", "text"),
)  # fmt: skip
PRINTED = 10  # columns
HEAD, UP, PIPE, FOOT, LEFT, RIGHT, LOWER, UPPER = 5, 7, 8, 9, 13, 14, 15, 16
ALONG_ON, OVER_ON, ALONG_OFF, OVER_OFF, MIDDLE, PIPE_UP, LINE_1 = 17, 18, 19, 20, 21, 22, 23
LABEL = LINE_1 + MOST_LINES


def write(book: Book) -> None:
    page = Page(book, "Map", "Map", "Beds, lines and pipes to scale.", widths=(16, *[9] * 28, 18))
    for words in WORDS:
        page.text(page.row, 0, words, page.styles.aside)
        page.row += 1
    chart_row = page.row
    for row in range(chart_row, chart_row + CHART_ROWS):
        page.sheet.set_row(row, 15)  # so that the chart ends where its rows end
    page.row += CHART_ROWS
    beds = min(book.places["Beds"].rows, MOST_BEDS)
    corners = _scale(book, page, beds)
    first = page.grid(COLUMNS, [_figures(book, page, beds)] * beds)
    _chart(page, chart_row, first, beds, corners)
    page.portrait()
    page.sheet.fit_to_pages(1, 1)
    page.sheet.print_area(0, 0, chart_row + CHART_ROWS - 1, PRINTED - 1)


def _scale(book: Book, page: Page, beds: int) -> int:
    """The grid and two corners that give both axes one range; gives the row of the corners."""
    page.section("Figures behind the map", columns=PRINTED)
    first = page.row + 7  # of the figures, as a formula counts
    span = [f"{c}${first}:{c}${first + beds - 1}" for c in "FGHJ"]
    left, right = f"MIN(0,{span[0]},{span[1]})", f"MAX(0,{span[0]},{span[1]})"
    top = f"MAX(0,{span[2]},{span[3]})"
    tenth = f"MAX({right}-({left}),{top},1)/8"
    power = f"10^INT(LOG10({tenth}))"
    times = f"{tenth}/({power})"
    page.result_row(
        "Grid", f"({power})*IF({times}<=1,1,IF({times}<=2,2,IF({times}<=5,5,10)))", "length",
        "Both axes have the same range, so that the map is to scale", name=GRID,
    )  # fmt: skip
    corners = page.row
    # The box is whole cells of the grid. Corners lie inside it, for an axis adds a twentieth.
    first_across, across = f"INT({left}/{GRID}-{INSIDE})", f"ROUNDUP({right}/{GRID}+{INSIDE},0)"
    up = f"(ROUNDUP({top}/{GRID}+{INSIDE},0)+1)"
    side = f"MAX({across}-{first_across},{up})"
    lowest = f"-1-INT(({side}-{up})/2)"
    points = (
        ("Corner, across and up", f"({first_across}+{INSIDE})*{GRID}",
         f"({lowest}+{INSIDE})*{GRID}"),
        ("The other corner", f"({first_across}+{side}-{INSIDE})*{GRID}",
         f"({lowest}+{side}-{INSIDE})*{GRID}"),
        ("End of the main", "0", top),
    )  # fmt: skip
    for label, x, y in points:
        page.text(page.row, 0, label)
        page.formula(page.row, 1, x, "length")
        page.formula(page.row, 2, y, "length")
        page.row += 1
    here = f'COUNTIF(A{first}:A{first + beds - 1},"?*")'
    missing = f"COUNTA({book.column('Beds', 'bed')})-{here}"
    page.formula(
        page.row, 0,
        f'IF({missing}<=0,"All beds of the list are here",{missing}&" beds more: draw them with'
        ' xlfuncs map")',
        "text", style=page.styles.aside,
    )  # fmt: skip
    page.row += 1
    return corners


def _figures(book: Book, page: Page, beds: int) -> list[str]:
    """Formulas of every bed; a bed that is not drawn lies at the supply, without extent."""
    top = page.row + 2

    def column(letter: str) -> str:
        return f"${letter}${top}:${letter}${top + beds - 1}"

    def of(name: str) -> str:
        return f"INDEX({book.column('Beds', name)},{{n}})"

    def drawn(formula: str) -> str:
        return f'IF($B{{row}}="",0,{formula})'

    def optional(name: str, otherwise: str) -> str:
        return f'IF({of(name)}="",{otherwise},{of(name)})'

    places = page.answer(beds, "BED_POSITIONS", column("C"), column("D"), column("E"))
    factor = to_base(1.0, "width", book.system) / to_base(1.0, "length", book.system)
    planted = f"{of('strip_width')}*{optional('strips', '1')}"
    across = optional("bed_top_width", planted)
    width = f"IF(ISNUMBER({across}),{across}*{factor:.12g},{call('LINE_LENGTH', across, '1')})"
    offsets = call("LINE_OFFSETS", f"2*$K{{row}}/{factor:.12g}", "$L{row}",
                   optional("inset", '""'))  # fmt: skip
    start = call("LINE_LENGTH", of("branch_start"), "1")
    on, off = 'IF($B{row}="on",', 'IF($B{row}="off",'
    along, over = "$O{row}-$N{row},0)", "2*$K{row},0)"
    lines = [f"$H{{row}}+$M{{row}}*(1-2*MIN({j},MAX($L{{row}}-1,0))/MAX($L{{row}}-1,1))"
             for j in range(MOST_LINES)]  # fmt: skip
    return [
        f'IF({of("bed")}="","",{of("bed")})',
        f'IF({of("counted")}="yes","on",IF({of("counted")}="off","off",""))',
        f'IF($B{{row}}="","",{of("distance")})', f'IF($B{{row}}="","",{of("length")})',
        f'IF($B{{row}}="","",{optional("branch", "0")})',
        *(drawn(places.item(j)) for j in (1, 2, 3, 4)),
        drawn(f"IF(ISTEXT({of('branch_start')}),{start},N({of('branch_start')}))"),
        drawn(f"IFERROR(({width})/2,0)"),
        f'IF($B{{row}}<>"on",0,MIN(N({of("laterals")}),{MOST_LINES}))',
        f"IF($L{{row}}=0,0,IFERROR(INDEX({offsets},1,1)*{factor:.12g}-$K{{row}},0))",
        "MIN($F{row},$G{row})", "MAX($F{row},$G{row})", "$H{row}-$K{row}", "$H{row}+$K{row}",
        on + along, on + over, off + along, off + over,
        f'IF($B{{row}}="",{page.cell(page.row - 4, 1)},($F{{row}}+$G{{row}})/2)',
        "MAX($H{row}-$J{row},0)", *(f"IF({j}<$L{{row}},{y},$H{{row}})"
                                    for j, y in enumerate(lines)),
        f'IF($B{{row}}=""," ",$A{{row}}&IF({of("valve")}="",""," ("&{of("valve")}&")"))',
    ]  # fmt: skip


@dataclass(frozen=True)
class _Bars:
    """Points of the chart and the bars that start from them: columns of the figures."""

    name: str
    x: int
    y: int
    look: dict[str, Any]
    right: int | None = None
    left: int | None = None
    up: int | None = None
    down: int | None = None
    marker: tuple[str, int] = ("none", 5)


def _drawn() -> list[_Bars]:
    pipe = {"color": INK, "width": 2.5}
    bed = {"color": INK, "width": 1.0}
    off = {**bed, "dash_type": "dash"}
    line = {"color": SERIES[2], "width": 0.5}
    return [
        *(_Bars(f"Line {i + 1}", LEFT, LINE_1 + i, line, right=ALONG_ON)
          for i in range(MOST_LINES)),
        _Bars("Pipe", PIPE, FOOT, pipe, left=PIPE, up=PIPE_UP),
        _Bars("Bed", LEFT, LOWER, bed, right=ALONG_ON, up=OVER_ON),
        _Bars("Bed, far corner", RIGHT, UPPER, bed, left=ALONG_ON, down=OVER_ON),
        _Bars("Bed off", LEFT, LOWER, off, right=ALONG_OFF, up=OVER_OFF),
        _Bars("Bed off, far corner", RIGHT, UPPER, off, left=ALONG_OFF, down=OVER_OFF),
        _Bars("Fed here", HEAD, UP, bed, marker=("diamond", 5)),
    ]  # fmt: skip


def _chart(page: Page, at: int, first: int, beds: int, corners: int) -> None:
    def cells(col: int) -> str:
        return rows_of(page, first, first + beds - 1, col)

    made = page.book.workbook.add_chart({"type": "scatter"})
    for bars in _drawn():
        entry: dict[str, Any] = {
            "name": bars.name, "categories": cells(bars.x), "values": cells(bars.y),
            "line": {"none": True}, "marker": _marker(*bars.marker),
        }  # fmt: skip
        if one := _error_bars(cells, bars.right, bars.left, bars.look):
            entry["x_error_bars"] = one
        if one := _error_bars(cells, bars.up, bars.down, bars.look):
            entry["y_error_bars"] = one
        made.add_series(entry)
    _supply_and_corners(page, made, corners)
    font = {"name": FONT, "color": INK, "size": 8}
    for row in range(first, first + beds):  # a label each, for not every program reads many of one
        made.add_series({
            "name": rows_of(page, row, row, LABEL), "categories": rows_of(page, row, row, MIDDLE),
            "values": rows_of(page, row, row, UP), "line": {"none": True},
            "marker": {"type": "none"},
            "data_labels": {"series_name": True, "position": "center", "font": font,
                            "fill": {"color": "#FFFFFF"}},
        })  # fmt: skip
    _frame(page, made, font)
    page.sheet.insert_chart(at, 0, made, {"object_position": 2})


def _marker(kind: str, size: int) -> dict[str, Any]:
    if kind == "none":
        return {"type": "none"}
    return {"type": kind, "size": size, "fill": {"color": INK}, "border": {"color": INK}}


def _error_bars(
    cells: Callable[[int], str], plus: int | None, minus: int | None, look: dict[str, Any]
) -> dict[str, Any]:
    """Bars from each point by the lengths in a column; none where no column is given."""
    if plus is None and minus is None:
        return {}
    direction = "both" if None not in (plus, minus) else "plus" if plus is not None else "minus"
    return {
        "type": "custom", "direction": direction, "end_style": 0, "line": look,
        "plus_values": cells(plus) if plus is not None else [0],
        "minus_values": cells(minus) if minus is not None else [0],
    }  # fmt: skip


def _supply_and_corners(page: Page, made: Any, corners: int) -> None:
    def cells(first: int, last: int, col: int) -> str:
        return rows_of(page, corners + first, corners + last, col)

    made.add_series({
        "name": "Main", "categories": cells(2, 2, 1), "values": cells(2, 2, 1),
        "line": {"none": True}, "marker": _marker("square", 9),
        "y_error_bars": {
            "type": "custom", "direction": "plus", "end_style": 0,
            "line": {"color": INK, "width": 2.5}, "plus_values": cells(2, 2, 2),
            "minus_values": [0],
        },
    })  # fmt: skip
    made.add_series({
        "name": "Corners", "categories": cells(0, 1, 1), "values": cells(0, 1, 2),
        "line": {"none": True}, "marker": {"type": "none"},
    })  # fmt: skip


def _frame(page: Page, made: Any, font: dict[str, Any]) -> None:
    unit = page.book.unit("length")
    axis = {
        "num_font": font, "name_font": font, "num_format": "0",
        "major_gridlines": {"visible": True, "line": {"color": LINE, "width": 0.25}},
        "line": {"none": True}, "label_position": "low",
    }  # fmt: skip

    def set_axes(values: Values) -> None:
        """With the grid that was computed: an axis cannot take it from a cell."""
        grid = {"major_unit": _grid(page, values)}
        made.set_x_axis({**axis, **grid, "name": f"Across ({unit})"})
        made.set_y_axis({**axis, **grid, "name": f"Along the main from the supply ({unit})"})

    page.book.when_computed(set_axes)
    made.set_title({"none": True})
    made.set_legend({"none": True})
    made.set_plotarea({"layout": {"x": 0.09, "y": 0.03, "width": 0.88, "height": 0.88}})
    made.set_size({"width": SIDE, "height": SIDE})


def _grid(page: Page, values: Values) -> float:
    sheet, row, col = page.book.names[GRID]
    value = values.get(sheet, {}).get((row + 1, col + 1))
    return float(value) if isinstance(value, (int, float)) and value > 0 else FALLBACK_GRID
