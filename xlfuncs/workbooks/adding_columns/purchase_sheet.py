"""The sheet of what lines to buy for a list: the cheapest rolls, with no line joined in a bed."""

from collections.abc import Callable

from xlfuncs.catalogue.registry import functions
from xlfuncs.tables.money.prices import NEEDS, PRICES
from xlfuncs.units import DIMENSIONS
from xlfuncs.workbooks.adding_columns import basis
from xlfuncs.workbooks.adding_columns.new_cells import Block, NewCells
from xlfuncs.workbooks.adding_columns.serving import call, unless
from xlfuncs.workbooks.adding_columns.settings_sheet import Settings
from xlfuncs.workbooks.our_tables.read_inputs import PURCHASE_SHEET

SHOWN = ("part", "packs", "roll_length", "price", "total", "left_over", "note")
OFFERED = {"part": "line", "roll_length": "roll_length", "price": "roll_price"}
TOP, NEEDS_AT = 4, 10  # row of the headings, first column of the needs
NUMBER = f"ROW()-{TOP}+1"  # of the row of the list that a need is of


def write_purchase(
    cells: NewCells, settings: Settings, rows: int, take: Callable[[str], str], length: str,
    head_style: str,
) -> None:  # fmt: skip
    """`take` gives a formula for the list's value in the row of that number; `length` one for the
    line in the bed, which only beds have."""
    system = settings.system
    cells.make_sheet(PURCHASE_SHEET, (24, 8, 12, 10, 11, 12, 46, 3, 3, 18, 9, 12))
    cells.put(PURCHASE_SHEET, 1, 1, "Lines to buy: the cheapest whole rolls from which every line"
              " is cut in one piece.")  # fmt: skip
    prices, dated = settings.column(basis.ROLLS, "roll_price"), settings.cell("plan_date")
    needs = Block(PURCHASE_SHEET, TOP, NEEDS_AT, rows - 1)
    line = take("line") or settings.only(basis.LINES, "line")
    for name, own in (("part", line), ("number", take("laterals")), ("length", take("length"))):
        needs.add(name, NEEDS[name].heading(system), unless([f"N({length})=0"], own))
    offers = Block(PURCHASE_SHEET, TOP, NEEDS_AT + len(needs.columns), basis.ROLLS.rows)
    for name, of_line in OFFERED.items():
        cell = f"INDEX({settings.column(basis.ROLLS, of_line)},ROW()-{TOP})"
        offers.add(name, PRICES[name].heading(system), unless([f'{cell}=""'], cell))
    offers.add("date", PRICES["date"].header, unless([f'{offers.here("price")}=""'], dated))
    bought = call("PURCHASE_LIST", system, {
        "needs": needs.cells("part", "length", headed=True), "plan_date": dated,
        "offers": offers.cells("part", "date", headed=True),
    })  # fmt: skip
    words = f'INPUT_CHECK("PURCHASE_LIST",{bought.split("(", 1)[1]}'
    cells.put(PURCHASE_SHEET, 2, 1, "Check")
    cells.put(PURCHASE_SHEET, 2, 2, formula=f'IF(OR(COUNT({prices})=0,{dated}=""),"Plan date, roll'
              f' lengths and prices: fill in on Water settings",{words})')  # fmt: skip
    results = {r.name: (i, r) for i, r in enumerate(functions()["PURCHASE_LIST"].results, 1)}
    rolls = Block(PURCHASE_SHEET, TOP, 1, basis.LINES.rows)
    for name in SHOWN:
        place, result = results[name]
        unit = DIMENSIONS[result.dimension].unit(system)
        header = "Rolls" if name == "packs" else name.replace("_", " ").capitalize()
        there = f'IFERROR(INDEX({bought},ROW()-{TOP},{place}),"")'
        rolls.add(name, f"{header} ({unit})" if unit else header, unless(['$B$2<>"ok"'], there))
    for block in (rolls, needs, offers):
        block.write(cells, head_style)
