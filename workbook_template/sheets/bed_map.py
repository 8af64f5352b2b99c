"""Map: the beds, their lines and the pipes to scale, as a chart.

A chart draws no rectangles, but a line through points. So one path goes along the pipes to each
bed, round it, and back to the main: it needs no gaps, and a bed that is not drawn leaves the path
at the supply. Pipes, beds, beds that are off and lines are one path each.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from xlsxwriter.utility import xl_col_to_name

from workbook_template.book import Book
from workbook_template.charts import rows_of
from workbook_template.formulas import call
from workbook_template.page import Page
from workbook_template.style import FONT, INK, LINE, SERIES
from xlfuncs.units import to_base

MOST_BEDS, MOST_LINES = 120, 6
CHART_ROWS, SIDE = 36, 700  # rows that the chart covers; its side in pixels
GRID, FALLBACK_GRID = "map_grid", 10.0
WORDS = (
    "Pipes are drawn straight, in their lengths along the way; bends are not shown. Dashed: beds"
    " that are off. Not drawn: beds that cannot be read."
)
# Columns of the figures behind the map, one row a bed.
COLUMNS = (
    ("Bed", "text"), ("Drawn", "text"), ("Distance", "length"), ("Length", "length"),
    ("Branch", "count"), ("Head across", "length"), ("End across", "length"), ("Up", "length"),
    ("Pipe across", "length"), ("Branch leaves at", "length"), ("Half the width", "length"),
    ("Lines", "count"), ("First line", "length"),
)  # fmt: skip
BED, DRAWN, HEAD, END, UP, PIPE, FOOT, HALF, LINES, FIRST_LINE = "ABFGHIJKLM"
PATHS = 14  # first column of the paths
Point = tuple[str, str]  # formulas of x and y, `#` for the row of the bed


def write(book: Book) -> None:
    page = book.page("Map", "Map", "Beds, lines and pipes to scale.", widths=(16, *[9] * 12))
    page.text(page.row, 0, WORDS, page.styles.aside)
    chart_row = page.row + 1
    page.row = chart_row + CHART_ROWS
    beds = min(book.places["Beds"].rows, MOST_BEDS)
    grid = _scale(book, page, beds)
    first = _figures(book, page, beds)
    paths = _paths(page, first, beds)
    _chart(page, chart_row, first, beds, paths, grid)
    page.sheet.print_area(0, 0, chart_row + CHART_ROWS - 1, len(COLUMNS) - 1)


def _scale(book: Book, page: Page, beds: int) -> int:
    """The grid and two corners that give both axes the same range; gives the row of the corners."""
    page.section("Figures behind the map", columns=len(COLUMNS))
    first = page.row + 7  # of the figures, in a formula
    span = [f"{c}${first}:{c}${first + beds - 1}" for c in (HEAD, END, UP)]
    left, right, top = (f"MIN(0,{span[0]},{span[1]})", f"MAX(0,{span[0]},{span[1]})",
                        f"MAX(0,{span[2]})")  # fmt: skip
    tenth = f"MAX({right}-({left}),{top},1)/8"
    power = f"10^INT(LOG10({tenth}))"
    times = f"{tenth}/({power})"
    page.result_row(
        "Grid", f"({power})*IF({times}<=1,1,IF({times}<=2,2,IF({times}<=5,5,10)))", "length",
        "Both axes have the same range, so that the map is to scale", name=GRID,
    )  # fmt: skip
    cells = f"ROUNDUP(MAX({right}-({left}),{top})/{GRID},0)+1"
    low = f"ROUNDDOWN({left}/{GRID},0)-1"
    corners = page.row
    points = (
        ("Corner, across and up", low, "-1"), ("The other corner", f"{low}+{cells}", f"-1+{cells}"),
        ("Supply", "0", "0"),
    )  # fmt: skip
    for label, x, y in points:
        page.text(page.row, 0, label)
        page.formula(page.row, 1, f"({x})*{GRID}", "length")
        page.formula(page.row, 2, f"({y})*{GRID}", "length")
        page.row += 1
    here = f'COUNTIF({BED}{first}:{BED}{first + beds - 1},"?*")'
    missing = f"COUNTA({book.column('Beds', 'bed')})-{here}"
    page.formula(
        page.row, 0,
        f'IF({missing}<=0,"All beds of the list are here",{missing}&" beds more: draw them with'
        ' xlfuncs map")',
        "text", style=page.styles.aside,
    )  # fmt: skip
    page.row += 1
    return corners


def _figures(book: Book, page: Page, beds: int) -> int:
    """Where each bed lies; a bed that is not drawn lies at the supply. Gives the first row."""
    top = page.row + 2

    def column(letter: str) -> str:
        return f"${letter}${top}:${letter}${top + beds - 1}"

    places = call("BED_POSITIONS", column("C"), column("D"), column("E"))
    factor = to_base(1.0, "width", book.system) / to_base(1.0, "length", book.system)
    rows = []
    for i in range(1, beds + 1):

        def of(name: str, number: int = i) -> str:
            return f"INDEX({book.column('Beds', name)},{number})"

        def drawn(formula: str) -> str:
            return f'IF($B{{row}}="",0,{formula})'

        across = (
            f'IF({of("bed_top_width")}<>"",{of("bed_top_width")},'
            f'{of("strip_width")}*IF({of("strips")}="",1,{of("strips")}))'
        )
        width = f"IF(ISNUMBER({across}),{across}*{factor:.12g},{call('LINE_LENGTH', across, '1')})"
        inset = f'IF({of("inset")}="","",{of("inset")})'
        offsets = call("LINE_OFFSETS", f"$K{{row}}*2/{factor:.12g}", "$L{row}", inset)
        start = call("LINE_LENGTH", of("branch_start"), "1")
        counted = of("counted")
        rows.append([
            f'IF({of("bed")}="","",{of("bed")})',
            f'IF({counted}="yes","on",IF({counted}="off","off",""))',
            f'IF($B{{row}}="","",{of("distance")})',
            f'IF($B{{row}}="","",{of("length")})',
            f'IF($B{{row}}="","",IF({of("branch")}="",0,{of("branch")}))',
            *(drawn(f"INDEX({places},{i},{j})") for j in (1, 2, 3, 4)),
            drawn(f'IF({of("branch_start")}="",0,IF({of("branch_start")}=0,0,{start}))'),
            drawn(f'IFERROR(({width})/2,0)'),
            f'IF($B{{row}}<>"on",0,MIN({of("laterals")},{MOST_LINES}))',
            f'IF(N($L{{row}})=0,0,IFERROR(INDEX({offsets},1,1)*{factor:.12g}-$K{{row}},0))',
        ])  # fmt: skip
    return page.grid(COLUMNS, rows)


def _way(bed: Sequence[Point]) -> list[Point]:
    """From the main along the pipes to the head of a bed, what is drawn there, and back."""
    there = [("0", f"{FOOT}#"), (f"{PIPE}#", f"{FOOT}#"), (f"{PIPE}#", f"{UP}#"),
             (f"{HEAD}#", f"{UP}#")]  # fmt: skip
    return [*there, *bed, *reversed(there)]


def _outline() -> list[Point]:
    low, high = f"{UP}#-{HALF}#", f"{UP}#+{HALF}#"
    return _way([(f"{HEAD}#", low), (f"{END}#", low), (f"{END}#", high), (f"{HEAD}#", high)])


def _lines() -> list[Point]:
    points = []
    for j in range(MOST_LINES):
        number = f"MIN({j},MAX({LINES}#-1,0))"
        y = f"{UP}#+{FIRST_LINE}#-2*{FIRST_LINE}#*{number}/MAX({LINES}#-1,1)"
        points += [(f"{HEAD}#", y), (f"{END}#", y), (f"{HEAD}#", y)]
    return _way(points)


def _paths(page: Page, first: int, beds: int) -> list[tuple[str, str]]:
    """The paths as columns of points beside the figures; gives their references."""
    pipes = _way([])[:3]
    pipes = [*pipes, *reversed(pipes[:2])]
    wanted = (
        (pipes, '{0}#<>""'), (_outline(), '{0}#="on"'), (_outline(), '{0}#="off"'),
        (_lines(), "{1}#>0"),
    )  # fmt: skip
    made = []
    style = page.styles.aside
    for i, (points, condition) in enumerate(wanted):
        col = PATHS + 2 * i
        row = first
        test = condition.format(DRAWN, LINES)
        for bed in range(beds):
            for point in points:
                for j, formula in enumerate(point):
                    cell = f"IF({test},{formula},0)".replace("#", str(first + bed + 1))
                    page.formula(row, col + j, cell, "length", style=style)
                row += 1
        made.append((rows_of(page, first, row - 1, col), rows_of(page, first, row - 1, col + 1)))
    middle = PATHS + 2 * len(wanted)
    for bed in range(beds):
        number = first + bed + 1
        page.formula(first + bed, middle, f"({HEAD}{number}+{END}{number})/2", "length",
                     style=style)  # fmt: skip
    last = first + beds - 1
    made.append((rows_of(page, first, last, middle), rows_of(page, first, last, 7)))
    for col in range(PATHS, middle + 1):
        page.sheet.set_column(col, col, 9, None, {"level": 1, "hidden": True})
    return made


def _chart(
    page: Page, at: int, first: int, beds: int, paths: Sequence[tuple[str, str]], corners: int
) -> None:
    made = page.book.workbook.add_chart({"type": "scatter", "subtype": "straight"})
    looks: tuple[tuple[str, dict[str, Any]], ...] = (
        ("Pipe", {"color": INK, "width": 2.75}),
        ("Bed", {"color": INK, "width": 1}),
        ("Bed that is off", {"color": INK, "width": 1, "dash_type": "dash"}),
        ("Line", {"color": SERIES[0], "width": 0.75}),
    )
    for (name, look), (x, y) in zip(looks, paths, strict=False):
        made.add_series({"name": name, "categories": x, "values": y, "line": look,
                         "marker": {"type": "none"}})  # fmt: skip
    letter = xl_col_to_name(0)
    labels = [{"value": f"='{page.name}'!${letter}${first + i + 1}"} for i in range(beds)]
    font = {"name": FONT, "color": INK, "size": 8}
    made.add_series({
        "name": "Names", "categories": paths[-1][0], "values": paths[-1][1],
        "line": {"none": True}, "marker": {"type": "none"},
        "data_labels": {"value": True, "custom": labels, "position": "center", "font": font},
    })  # fmt: skip
    made.add_series({
        "name": "Supply", "categories": rows_of(page, corners + 2, corners + 2, 1),
        "values": rows_of(page, corners + 2, corners + 2, 2),
        "marker": {"type": "square", "size": 9, "fill": {"color": INK}, "border": {"color": INK}},
    })  # fmt: skip
    made.add_series({
        "name": "Corners", "categories": rows_of(page, corners, corners + 1, 1),
        "values": rows_of(page, corners, corners + 1, 2), "line": {"none": True},
        "marker": {"type": "none"},
    })  # fmt: skip
    unit = page.book.unit("length")
    axis = {
        "num_font": font, "name_font": font, "major_unit": _grid(page), "num_format": "0",
        "major_gridlines": {"visible": True, "line": {"color": LINE, "width": 0.25}},
        "line": {"none": True}, "label_position": "low",
    }  # fmt: skip
    made.set_x_axis({**axis, "name": f"Across ({unit})"})
    made.set_y_axis({**axis, "name": f"Along the main from the supply ({unit})"})
    made.show_hidden_data()
    made.set_title({"none": True})
    made.set_legend({"position": "top", "font": font, "delete_series": [4, 6]})
    made.set_plotarea({"layout": {"x": 0.09, "y": 0.07, "width": 0.85, "height": 0.85}})
    made.set_size({"width": SIDE, "height": SIDE})
    page.sheet.insert_chart(at, 0, made, {"object_position": 1})


def _grid(page: Page) -> float:
    """The grid that was computed: an axis cannot take it from a cell."""
    sheet, row, col = page.book.names[GRID]
    value = page.book.values.get(sheet, {}).get((row + 1, col + 1))
    return float(value) if isinstance(value, (int, float)) and value > 0 else FALLBACK_GRID
