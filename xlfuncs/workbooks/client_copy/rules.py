"""What of a workbook a client gets to see: the one place where it is decided.

* A sheet is for the client or stays with the consultant. A sheet that is named in neither list is
  the consultant's own and stays too, unless it is asked for.
* An internal column or setting (`internal=True` in `xlfuncs.tables`) is left out. One that holds
  money is a cost: its cells show the selling price instead, and everything computed from them
  follows.
* A result that rests on a number which might be a cost is left blank and named: one typed on a
  sheet that stays, or hidden, outside our own tables and settings.
* What is hidden (a hidden sheet, row or column; not one that is folded in a group) is internal.
"""

from __future__ import annotations

from xlfuncs.tables.all_settings import SETTINGS
from xlfuncs.tables.columns import Column
from xlfuncs.tables.settings import LEDGER_AND_YEARS, Section

FOR_THE_CLIENT = (
    "Quotation", "Summary", "Setup", "Supply", "Lines", "Beds", "Line layout", "Soils", "Crops",
    "Plan", "Weather", "Bed need", "Need", "Season", "Valves", "Timer", "Pressure", "Bed pressure",
    "Layout choices", "Parts", "Connections", "Purchase", "Cut list", "Cost", "Map",
)  # fmt: skip
FOR_THE_CONSULTANT = (
    "Start", "Functions", "Checks", "Prices", "Counting rules", "Quoting", "Field check",
    "Catch test", "Ledger", "Meter", "Store", "Tariffs", "Years", "Water bills", "Year detail",
    "Results",
)  # fmt: skip
# A document of its date: all of it as delivered, so that no fact on it changes beside its prices.
AS_DELIVERED = ("Quotation",)

# Tables of what the consultant paid: no result of the copy may rest on them.
WHAT_WAS_PAID = ("Ledger", "Store")

SECTIONS_LEFT_OUT: tuple[Section, ...] = (LEDGER_AND_YEARS,)
# Rows of a client's sheet, by their first words, that speak of the consultant's side.
ROWS_LEFT_OUT = ("To put right",)
# Computed columns, by sheet and header, that speak to the consultant: old prices and the like.
COLUMNS_LEFT_OUT = {"Purchase": ("Note",)}
# Words of the consultant's side that stand on a client's sheet, and what they become there.
CLIENT_WORDS = {
    "Unit cost": "Unit price",
    "What one unit costs you": "Price of one unit",
    "What an hour costs you": "Price of an hour",
    "Purchase price of that roll": "Price of that roll",
    "At the roll prices on Lines": "At the prices on Lines",
    "Spare pieces and ends of rolls, at what they cost": "Spare pieces and ends of rolls",
}
SELLING_PRICE = "Selling price; ask for an update if it should change."


def is_cost(column: Column) -> bool:
    """Whether a column or setting holds purchase prices, which become selling prices."""
    return column.internal and column.dimension.startswith("money")


def left_out_settings() -> set[str]:
    """Names of the settings that no client sees."""
    internal = {s.name for s in SETTINGS if s.internal and not is_cost(s)}
    return internal | {s.name for section in SECTIONS_LEFT_OUT for s in section.settings}
