"""The inputs of a workbook as its client may have them: costs become selling prices.

A selling price is the cost times one plus the markup, rounded to the steps below. The rounding is
on purpose: from unrounded prices the one markup that turns all of them into whole cents could be
found. With steps of at least two cents, costs in cents leave every markup up to 1 possible. Who
knows more of the costs than that (that they end in 95, or one of them) can still estimate it.

The lines of the quotation and its labour stay at cost, for QUOTATION makes the price of them: so
the copy says to the cent what the consultant's workbook says. They stand on a sheet that is in no
copy, and no sheet of a copy but the quotation rests on them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from xlfuncs.errors import UnitError, WorkbookError
from xlfuncs.tables.all_settings import SETTINGS
from xlfuncs.tables.all_tables import TABLES
from xlfuncs.tables.columns import Column
from xlfuncs.tables.money.quotation import QUOTATION_LINES
from xlfuncs.units import DIMENSIONS, from_base, parse, to_base
from xlfuncs.workbooks.our_tables.inputs import Inputs

# Below the first number, rounded to the second; from the last one on to three digits.
STEPS = (
    (Decimal(1), Decimal("0.02")),
    (Decimal(10), Decimal("0.05")),
    (Decimal(100), Decimal("0.1")),
)
DIGITS = 3
# Tables of what the consultant paid: no result of a copy may rest on them.
WHAT_WAS_PAID = ("Ledger", "Store")
READ_BEHIND = ("shop", "source")  # internal words that the purchase reads


def is_cost(column: Column) -> bool:
    """Whether a column or setting holds purchase prices, which become selling prices."""
    return column.internal and column.dimension.startswith("money")


def selling_price(cost: float, markup: float) -> float:
    """What a client pays for something that costs `cost`; never nothing for a cost."""
    exact = Decimal(repr(cost)) * (1 + Decimal(repr(markup)))
    if not exact or not markup:
        return cost
    step = next((step for below, step in STEPS if abs(exact) < below), None)
    step = step or Decimal(1).scaleb(exact.adjusted() + 1 - DIGITS)
    steps = (exact / step).quantize(Decimal(1), rounding=ROUND_HALF_UP)
    return float((steps or Decimal(1).copy_sign(exact)) * step)


def for_client(inputs: Inputs, system: str, terms: Mapping[str, float]) -> Inputs:
    """Costs at selling prices, no word that is internal, quantities such as 46 ft 6 in as numbers.

    `terms` is a markup or a margin in place of the workbook's own, or empty.
    """
    settings = dict(inputs.settings)
    if terms:
        settings |= {"markup": "", "margin": "", **terms}
    markup = _markup(settings, system)
    by_name = {setting.name: setting for setting in SETTINGS}
    settings = {name: _number(by_name[name], value, system) for name, value in settings.items()}
    tables: dict[str, list[dict[str, Any]]] = {}
    for table in TABLES:
        rows = inputs.tables.get(table.name, ()) if table.name not in WHAT_WAS_PAID else ()
        at_cost = table is QUOTATION_LINES
        columns = {c.name: c for c in table.columns if not _is_own_word(c)}
        tables[table.name] = [
            {
                name: _priced(columns[name], value, system, 0.0 if at_cost else markup)
                for name, value in row.items()
                if name in columns
            }
            for row in rows
        ]
    return replace(inputs, settings=settings, tables=tables)


def _is_own_word(column: Column) -> bool:
    return column.internal and column.dimension == "text" and column.name not in READ_BEHIND


def _markup(settings: Mapping[str, Any], system: str) -> float:
    """The markup that is stated, or that follows from the margin."""
    stated = {}
    for name in ("markup", "margin"):
        if (value := settings.get(name)) not in (None, ""):
            try:
                stated[name] = to_base(value, "ratio", system)
            except UnitError as error:
                raise WorkbookError(f"{name}: {error}") from None
    if stated.get("markup", 0.0) < 0:
        raise WorkbookError(f"markup: {stated['markup']:g} is below 0")
    if "markup" in stated:
        return float(stated["markup"])
    if "margin" in stated and 0 <= stated["margin"] < 1:
        return float(stated["margin"] / (1 - stated["margin"]))
    raise WorkbookError(
        "the workbook says neither a markup nor a margin; fill in one of the cells of these names"
        " on Quoting, or give --markup or --margin (0 for none)"
    )


def _priced(column: Column, value: Any, system: str, markup: float) -> Any:
    value = _number(column, value, system)
    return selling_price(value, markup) if is_cost(column) and type(value) is float else value


def _number(column: Column, value: Any, system: str) -> Any:
    """The number that a text such as 46 ft 6 in stands for, in the column's unit."""
    is_text = isinstance(value, str) and value.strip()
    if not is_text or DIMENSIONS[column.dimension].kind != "number":
        return value
    number = number_in(value, column.dimension, system)
    return value if number is None else number  # the functions refuse it too, and check says so


def number_in(text: str, dimension: str, system: str) -> float | None:
    """A quantity written as text in the system's default unit; None where it is none."""
    try:
        number = from_base(parse(text, dimension, system), dimension, system)
    except UnitError:
        return None
    return float(f"{number:.15g}")
