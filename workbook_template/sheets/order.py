"""The sheets in the order of the work: a module may use the tables of those before it.

Start is written last, for it asks all others what is missing, and shown first.
"""

from functools import cache
from importlib import import_module
from types import ModuleType

from workbook_template.kit.declared import SheetFor

ORDER = (
    "garden.setup",
    "garden.supply",
    "garden.lines",
    "garden.beds",
    "water.pressure",
    "garden.crops",
    "garden.layout",
    "money.prices",
    "money.parts",
    "money.purchase",
    "money.cut_list",
    "garden.plan",
    "garden.weather",
    "water.bed_need",
    "water.need",
    "water.season",
    "water.valves",
    "water.timer",
    "water.this_week",
    "money.designs",
    "whole.summary",
    "money.tariffs",
    "money.cost",
    "money.quoting",
    "money.quotation",
    "money.ledger",
    "money.meter",
    "money.store",
    "money.years",
    "money.water_bills",
    "money.year_detail",
    "garden.field_check",
    "garden.bed_map",
    "whole.checks",
    "whole.functions",
    "whole.start",
)


@cache
def modules() -> tuple[ModuleType, ...]:
    """The module of each sheet; `write(book)` writes what its `SHEETS` declare."""
    return tuple(import_module(f"workbook_template.sheets.{name}") for name in ORDER)


@cache
def declared_sheets() -> dict[str, SheetFor]:
    """Every sheet by its name, in the order of the work."""
    return {sheet.name: sheet for module in modules() for sheet in module.SHEETS}
