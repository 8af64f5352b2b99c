"""The sheet of what lines to buy for a list: the cheapest rolls, with no line joined in a bed."""

from __future__ import annotations

from collections.abc import Callable

from xlfuncs.catalogue.registry import functions
from xlfuncs.units import DIMENSIONS
from xlfuncs.workbooks.adding_columns.column_formulas import call
from xlfuncs.workbooks.adding_columns.new_cells import NewCells
from xlfuncs.workbooks.adding_columns.settings_sheet import LINES_SECTION, Settings
from xlfuncs.xlsx.cell_references import column_letters

SHEET = "Lines to buy"
SHOWN = {"part": 1, "packs": 2, "roll_length": 4, "price": 5, "total": 9, "left_over": 11,
         "note": 13}  # fmt: skip
TOP, NEEDS_AT = 4, 10  # row of the headings, first column of the needs


def write_purchase(
    cells: NewCells, settings: Settings, rows: int, take: Callable[[str], str], length: str,
    head_style: str,
) -> None:  # fmt: skip
    """`take` gives a formula for the list's value in the row of that number; `length` one for the
    line in the bed, which only beds have."""
    system = settings.system
    cells.make_sheet(SHEET, (24, 8, 12, 10, 11, 12, 46, 3, 3, 18, 9, 12))
    cells.put(SHEET, 1, 1, "Lines to buy: the cheapest whole rolls from which every line is cut in"
              " one piece.")  # fmt: skip
    prices, dated = settings.column(LINES_SECTION, "roll_price"), settings.cell("plan_date")
    needs = ("Part", "Number", "Length")
    spans = {name: _span(NEEDS_AT + i, rows - 1) for i, name in enumerate(needs)}
    seen_at = NEEDS_AT + len(needs)
    cells.put(SHEET, TOP, seen_at, "Price seen", style=head_style)
    for row in range(TOP + 1, TOP + 1 + LINES_SECTION.rows):
        seen = f'IF(INDEX({prices},ROW()-{TOP})="","",{dated})'
        cells.put(SHEET, row, seen_at, formula=seen)
    bought = call("PURCHASE_LIST", system, {
        "parts": spans["Part"], "numbers": spans["Number"], "lengths": spans["Length"],
        "plan_date": dated, "price_parts": settings.column(LINES_SECTION, "line"),
        "prices": prices, "dates": _span(seen_at, LINES_SECTION.rows),
        "roll_lengths": settings.column(LINES_SECTION, "roll_length"),
    })  # fmt: skip
    words = f'INPUT_CHECK("PURCHASE_LIST",{bought.split("(", 1)[1]}'
    cells.put(SHEET, 2, 1, "Check")
    cells.put(SHEET, 2, 2, formula=f'IF(OR(COUNT({prices})=0,{dated}=""),"Plan date, roll lengths'
              f' and prices: fill in on Water settings",{words})')  # fmt: skip
    results = {result.name: result for result in functions()["PURCHASE_LIST"].results}
    for place, name in enumerate(SHOWN, 1):
        unit = DIMENSIONS[results[name].dimension].unit(system)
        header = "Rolls" if name == "packs" else name.replace("_", " ").capitalize()
        cells.put(SHEET, TOP, place, f"{header} ({unit})" if unit else header, style=head_style)
        for row in range(TOP + 1, TOP + 1 + LINES_SECTION.rows):
            there = f"INDEX({bought},ROW()-{TOP},{SHOWN[name]})"
            cells.put(SHEET, row, place, formula=f'IF($B$2<>"ok","",IFERROR({there},""))')
    line = take("line") or settings.first(LINES_SECTION, "line")
    for place, (name, own) in enumerate(
        zip(needs, (line, take("laterals"), take("length")), strict=True), NEEDS_AT
    ):
        cells.put(SHEET, TOP, place, name, style=head_style)
        for row in range(TOP + 1, TOP + rows):
            cells.put(SHEET, row, place, formula=f'IF(N({length})=0,"",{own})')


def _span(place: int, rows: int) -> str:
    letters = column_letters(place)
    return f"${letters}${TOP + 1}:${letters}${TOP + rows}"
