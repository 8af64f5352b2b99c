"""Map: the beds, their lines and the pipes to scale, as a chart.

A chart draws no rectangles, but bars from a point to the right, to the left, up and down. So a bed
is two bars from its lower left corner and two from its upper right one, a line is one bar, and what
is not drawn has bars of no length. Places are shares of the chart's side, in hundredths: an axis
takes no number from a cell, so that only thus the map follows a garden that changes.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import Any

from workbook_template.kit.book import Book
from workbook_template.kit.charts import rows_of
from workbook_template.kit.declared import CONSULTANT, GROWER, SEEN, SheetFor
from workbook_template.kit.formulas import NUMBER, Place, call, shortened
from workbook_template.kit.page import Page
from workbook_template.kit.said import said
from workbook_template.kit.style import FONT, INK, SERIES
from xlfuncs.units import to_base

SHEETS = (
    SheetFor("Map", "Beds, lines and pipes to scale.", (GROWER, CONSULTANT), group="garden",
             needs=("Beds",), client=SEEN),
)  # fmt: skip

MOST_BEDS, MOST_LINES = 120, 6
CHART_ROWS, SIDE = 36, 690  # rows that the chart covers; its side in pixels
MARGIN = 1.12  # of the side over the garden
FIGURES = "figures of the map"  # a row a bed
PRINTED = 10  # columns


def write(book: Book) -> None:
    page = Page(book, SHEETS[0], widths=(16, *[9] * 28, 18, *[9] * 5), upright=True)
    for words in said("bed_map").drawn:
        page.text(page.row, 0, words, page.styles.aside)
        page.row += 1
    chart_row = page.row
    for row in range(chart_row, chart_row + CHART_ROWS):
        page.sheet.set_row(row, 15)  # so that the chart ends where its rows end
    page.row += CHART_ROWS
    page.cautions(columns=PRINTED)
    corner = page.row
    beds = min(book.places["Beds"].rows, MOST_BEDS)
    points = _scale(book, page, beds)
    figures = page.block(FIGURES, _bed_formulas(book, page, beds), beds)
    _chart(page, chart_row, figures, points)
    page.sheet.print_area(0, 0, corner - 1, PRINTED - 1)


def _scale(book: Book, page: Page, beds: int) -> int:
    """The square that holds the garden, and what is drawn beside the beds; gives its first row."""
    page.section("Figures behind the map", columns=PRINTED)
    figures = page.place(FIGURES, beds, first=page.row + 6)
    head, end, up, foot = (figures.reference(name) for name in ("head", "end", "up", "foot"))
    for name, formula in (
        ("map_left", f"MIN(0,{head},{end})"), ("map_right", f"MAX(0,{head},{end})"),
        ("map_top", f"MAX(0,{up},{foot})"),
        ("map_side", f"{MARGIN}*MAX(map_right-map_left,map_top,1)"),
        ("map_x", "(map_left+map_right-map_side)/2"), ("map_y", "(map_top-map_side)/2"),
        ("map_unit", "map_side/100"), ("map_power", "10^INT(LOG10(map_side/4))"),
        ("map_times", "map_side/4/map_power"),
    ):  # fmt: skip
        book.name_formula(name, page.name, formula)
    page.result("map_bar", "map_power*IF(map_times>=5,5,IF(map_times>=2,2,1))")
    points = page.row
    unit = book.unit("length")
    for label, x, y, long, words in (
        ("Supply: across, up", _at("0", "x"), _at("0", "y"), "map_top/map_unit", '""'),
        ("Scale: across, up", "2", "2", "map_bar/map_unit", f'map_bar&" {unit}"'),
        ("Direction: across, up", "50", "98", "0",
         'IF(main_runs=""," ","up the page: "&main_runs)'),
    ):  # fmt: skip
        page.text(page.row, 0, label)
        for col, formula in enumerate((x, y, long), 1):
            page.formula(page.row, col, formula, "number")
        page.formula(page.row, 4, words, "text")
        page.row += 1
    here = f'COUNTIF({figures.here("bed", fixed=False)},"?*")'
    missing = f"COUNTA({book.column('Beds', 'bed')})-{here}"
    page.remark(
        page.row, 0,
        f'IF({missing}<=0,"All beds of the list are here",{missing}&" beds more: draw them with'
        ' xlfuncs map")',
    )  # fmt: skip
    page.row += 1
    return points


def _at(place: str, way: str) -> str:
    """A place in hundredths of the map's side."""
    return f"({place}-map_{way})/map_unit"


def _bed_formulas(book: Book, page: Page, beds: int) -> dict[str, str]:
    """Formulas of every bed; a bed that is not drawn lies at the supply, without extent."""
    column = page.place(FIGURES, beds).here
    of = partial(book.nth, "Beds")

    def drawn(formula: str) -> str:
        return f'IF(${{drawn}}="",0,{formula})'

    def optional(name: str, otherwise: str) -> str:
        return f'IF({of(name)}="",{otherwise},{of(name)})'

    known = (column(name) for name in ("distance", "length", "branch"))
    places = page.answer(beds, "BED_POSITIONS", *known, half_width=column("half"))
    factor = to_base(1.0, "width", book.system) / to_base(1.0, "length", book.system)
    across = of("across")
    width = f"IF(ISNUMBER({across}),{across}*{factor:.12g},{call('LINE_LENGTH', across, '1')})"
    offsets = call("LINE_OFFSETS", f"2*${{half}}/{factor:.12g}", "${lines}",
                   optional("inset", '""'))  # fmt: skip
    start = f"IFERROR({call('LINE_LENGTH', of('branch_start'), '1')},0)"
    valve = f'IF(OR({of("valve")}="",LEN(${{bed}}&{of("valve")})>24),""," ("&{of("valve")}&")")'
    along, over = "${right}-${left}", "${upper}-${lower}"
    return {
        "bed": f'IF({of("bed")}="","",{of("bed")})',
        "drawn": f'IF({of("counted")}="yes","on",IF({of("counted")}="off","off",""))',
        "distance": f'IF(${{drawn}}="","",{of("distance")})',
        "length": f'IF(${{drawn}}="","",{of("length")})',
        "branch": f'IF(${{drawn}}="","",{optional("branch", "0")})',
        **{name: drawn(places.item(j)) for j, name in enumerate(("head", "end", "up", "pipe"), 1)},
        "foot": drawn(f"IF(ISTEXT({of('branch_start')}),{start},N({of('branch_start')}))"),
        "half": f'IF(${{drawn}}="","",IFERROR(({width})/2,0))',
        "lines": f'IF(${{drawn}}<>"on",0,MIN(N({of("laterals")}),{MOST_LINES}))',
        "first_line": f"IF(${{lines}}=0,0,IFERROR(INDEX({offsets},1,1)*{factor:.12g}-${{half}},0))",
        "left": _at("MIN(${head},${end})", "x"), "right": _at("MAX(${head},${end})", "x"),
        "lower": _at("${up}-N(${half})", "y"), "upper": _at("${up}+N(${half})", "y"),
        **{f"along_{on}": f'IF(${{drawn}}="{on}",{along},0)' for on in ("on", "off")},
        **{f"over_{on}": f'IF(${{drawn}}="{on}",{over},0)' for on in ("on", "off")},
        "middle": 'IF(${drawn}="",0,${head_at}+IF(${end}<${head},-1,1)*MAX((${right}-${left})/2,'
                  'LEN(${label})*0.55))',
        "pipe_up": "MAX(${up}-${foot},0)/map_unit",
        **{f"line_{j}": f"IF({j - 1}<${{lines}},{_at(_line_up(j - 1), 'y')},${{up_at}})"
           for j in range(1, MOST_LINES + 1)},
        "label": f'IF(${{drawn}}=""," ",{shortened("${bed}")}&{valve})',
        **{f"{name}_at": _at(f"${{{name}}}", way)
           for name, way in (("head", "x"), ("up", "y"), ("pipe", "x"), ("foot", "y"))},
        "pipe_over": "${pipe}/map_unit",
        "number": NUMBER,
    }  # fmt: skip


def _line_up(number: int) -> str:
    """How far up a line lies, counted from 0."""
    return f"${{up}}+${{first_line}}*(1-2*MIN({number},MAX(${{lines}}-1,0))/MAX(${{lines}}-1,1))"


@dataclass(frozen=True)
class _Bars:
    """Points of the chart and the bars that start from them: columns of the figures."""

    name: str
    x: str
    y: str
    look: dict[str, Any]
    right: str = ""
    left: str = ""
    up: str = ""
    down: str = ""
    marker: str = "none"


def _drawn() -> list[_Bars]:
    pipe = {"color": INK, "width": 2.5}
    bed = {"color": INK, "width": 1.0}
    off = {**bed, "dash_type": "dash"}
    line = {"color": SERIES[2], "width": 0.5}
    return [
        *(_Bars(f"Line {i}", "left", f"line_{i}", line, right="along_on")
          for i in range(1, MOST_LINES + 1)),
        _Bars("Pipe", "pipe_at", "foot_at", pipe, left="pipe_over", up="pipe_up"),
        _Bars("Bed", "left", "lower", bed, right="along_on", up="over_on"),
        _Bars("Bed, far corner", "right", "upper", bed, left="along_on", down="over_on"),
        _Bars("Bed off", "left", "lower", off, right="along_off", up="over_off"),
        _Bars("Bed off, far corner", "right", "upper", off, left="along_off", down="over_off"),
        _Bars("Fed here", "head_at", "up_at", bed, marker="diamond"),
    ]  # fmt: skip


def _chart(page: Page, at: int, figures: Place, points: int) -> None:
    cells = figures.reference
    made = page.book.workbook.add_chart({"type": "scatter"})
    for bars in _drawn():
        made.add_series({
            "name": bars.name, "categories": cells(bars.x), "values": cells(bars.y),
            "line": {"none": True}, "marker": _marker(bars.marker),
            "x_error_bars": _error_bars(cells, bars.right, bars.left, bars.look),
            "y_error_bars": _error_bars(cells, bars.up, bars.down, bars.look),
        })  # fmt: skip
    font = {"name": FONT, "color": INK, "size": 10}
    _supply_and_scale(page, made, points, font)
    for bed in range(1, figures.rows + 1):  # a label each: not every program reads many of one
        label, middle, up = (figures.row_of(bed, c, c) for c in ("label", "middle", "up_at"))
        made.add_series({
            "name": label, "categories": middle, "values": up, "line": {"none": True},
            "marker": {"type": "none"},
            "data_labels": {"series_name": True, "position": "center", "font": font,
                            "fill": {"color": "#FFFFFF"}},
        })  # fmt: skip
    _frame(made)
    page.sheet.insert_chart(at, 0, made, {"object_position": 2})


def _marker(kind: str, size: int = 5) -> dict[str, Any]:
    drawn = {"size": size, "fill": {"color": INK}, "border": {"color": INK}}
    return {"type": kind, **(drawn if kind != "none" else {})}


def _error_bars(
    cells: Callable[[Any], str], plus: Any, minus: Any, look: dict[str, Any]
) -> dict[str, Any] | None:
    """Bars from each point by the lengths in a column; none where no column is given."""
    if not (plus or minus):
        return None
    return {
        "type": "custom", "direction": "both" if plus and minus else "plus" if plus else "minus",
        "end_style": 0, "line": look, "plus_values": cells(plus) if plus else [0],
        "minus_values": cells(minus) if minus else [0],
    }  # fmt: skip


def _supply_and_scale(page: Page, made: Any, points: int, font: dict[str, Any]) -> None:
    """The main from the supply up, the scale bar, and words for the direction."""

    def cell(at: tuple[int, int]) -> str:
        return rows_of(page, points + at[0], points + at[0], at[1])

    thick = {"color": INK, "width": 2.5}
    for number, (marker, error, position) in enumerate((
        (_marker("square", 9), {"y_error_bars": _error_bars(cell, (0, 3), "", thick)}, ""),
        (_marker("none"), {"x_error_bars": _error_bars(cell, (1, 3), "", thick)}, "above"),
        (_marker("none"), {}, "center"),
    )):  # fmt: skip
        labels = {"series_name": True, "position": position, "font": font}
        made.add_series({
            "name": cell((number, 4)), "categories": cell((number, 1)),
            "values": cell((number, 2)),
            "line": {"none": True}, "marker": marker, **error,
            **({"data_labels": labels} if position else {}),
        })  # fmt: skip


def _frame(made: Any) -> None:
    axis = {"visible": False, "min": 0, "max": 100, "major_gridlines": {"visible": False}}
    made.set_x_axis(axis)
    made.set_y_axis(axis)
    for without in (made.set_title, made.set_legend):
        without({"none": True})
    made.show_hidden_data()  # its figures are folded away
    made.set_plotarea({"layout": {"x": 0.01, "y": 0.01, "width": 0.98, "height": 0.98}})
    made.set_size({"width": SIDE, "height": SIDE})
