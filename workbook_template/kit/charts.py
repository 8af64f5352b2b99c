"""Charts in the workbook's own look: few colours that differ in grey too, plain axes, a title that
says what is seen."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from workbook_template.kit.style import FONT, GRID, INK, LINE, SERIES

if TYPE_CHECKING:
    from workbook_template.kit.page import Page

_PATTERNS = (
    None, "wide_upward_diagonal", "dotted_grid", "wide_downward_diagonal", None, "large_check",
)  # fmt: skip
_MARKERS = ("circle", "square", "diamond", "triangle", "x", "plus")
_DASHES = ("solid", "dash", "round_dot", "long_dash", "dash_dot", "solid")


@dataclass(frozen=True)
class Series:
    """One series: a name, and the cells of a column, such as Place.reference gives them."""

    name: str
    categories: str
    values: str
    line: bool = False  # in a column chart, drawn as a line
    points: bool = False  # in a scatter chart, markers without a line
    bare: bool = False  # in a scatter chart, a line without markers


def rows_of(page: "Page", first: int, last: int, col: int) -> str:
    """A reference to some rows of a column, for a series."""
    from xlsxwriter.utility import xl_col_to_name

    letters = xl_col_to_name(col)
    return f"'{page.name}'!${letters}${first + 1}:${letters}${last + 1}"


def chart(
    page: "Page", kind: str, title: str, series: Sequence[Series], at: tuple[int, int], *,
    x_title: str = "", y_title: str = "", size: tuple[int, int] = (620, 300), subtype: str = "",
    from_zero: bool = False,
) -> None:  # fmt: skip
    """Put a chart at a cell. `kind` is column, bar, line or scatter.

    `from_zero` begins the axis of values at 0, where a program would begin it higher. Bars lie in
    the order of their rows from the top; their values are along x.
    """
    options = {"type": kind, "subtype": subtype} if subtype else {"type": kind}
    made = page.book.workbook.add_chart(options)
    lines = [s for s in series if s.line]
    for i, one in enumerate(s for s in series if not s.line):
        made.add_series(_look(one, i, kind))
    if lines:
        over = page.book.workbook.add_chart({"type": "line"})
        for i, one in enumerate(lines):
            over.add_series(_look(one, len(series) - len(lines) + i, "line"))
        made.combine(over)
    font = {"name": FONT, "color": INK}
    made.set_title({"name": title, "overlay": False, "name_font": {**font, "size": 12}})
    axis: dict[str, Any] = {"num_font": {**font, "size": 11}, "name_font": {**font, "size": 11}}
    grid = {"visible": True, "line": {"color": GRID, "width": 0.5}}
    of_values: dict[str, Any] = {"major_gridlines": grid, **({"min": 0} if from_zero else {})}
    others: dict[str, Any] = {"line": {"color": LINE}, "major_gridlines": {"visible": False}}
    if kind == "bar":
        made.set_x_axis({**axis, **of_values, "name": x_title})
        made.set_y_axis({**axis, **others, "name": y_title, "reverse": True,
                         "crossing": "max"})  # fmt: skip
    else:
        made.set_x_axis({**axis, **others, "name": x_title, "label_position": "low"})
        made.set_y_axis({**axis, **of_values, "name": y_title})
    legend = {"position": "bottom", "font": {**font, "size": 11}}
    made.set_legend(legend if len(series) > 1 else {"none": True})
    made.show_hidden_data()  # figures that only a chart needs are folded away
    made.set_size({"width": size[0], "height": size[1]})
    page.sheet.insert_chart(at[0], at[1], made, {"object_position": 1})


def _look(series: Series, number: int, kind: str) -> dict[str, Any]:
    colour = SERIES[number % len(SERIES)]
    entry: dict[str, Any] = {
        "name": series.name, "categories": series.categories, "values": series.values,
    }  # fmt: skip
    if kind in ("line", "scatter"):
        dash = _DASHES[number % len(_DASHES)]
        line = {"color": colour, "width": 2, "dash_type": dash}
        entry["line"] = {"none": True} if series.points else line
        if series.bare:
            return {**entry, "marker": {"type": "none"}}
        entry["marker"] = {
            "type": _MARKERS[number % len(_MARKERS)], "size": 5, "fill": {"color": colour},
            "border": {"color": colour},
        }  # fmt: skip
        return entry
    pattern = _PATTERNS[number % len(_PATTERNS)]
    if pattern:
        entry["pattern"] = {"pattern": pattern, "fg_color": colour, "bg_color": "#FFFFFF"}
    else:
        entry["fill"] = {"color": colour}
    entry["border"] = {"color": colour}
    entry["gap"] = 60
    return entry
