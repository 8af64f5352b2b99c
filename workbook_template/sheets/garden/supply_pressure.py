"""Formulas for the pressure of the supply in use, before and behind the head assembly."""

from __future__ import annotations

from collections.abc import Callable

from workbook_template.kit.book import Book
from workbook_template.kit.formulas import call
from xlfuncs.tables.garden.head_assembly import PUMP, SERVICE, TANK, WELL

CURVE = "supply curve"  # the block, by which the pressure sheet finds it
LOSSES = ("loss_in_use", "loss_flow", "opening_loss", "preset")


def given(column: str) -> str:
    """The defined name of such a value."""
    return f"supply_{column}"


def by_kind(formulas: dict[str, str]) -> str:
    formula = '""'
    for kind, of_kind in reversed(formulas.items()):
        formula = f'IF(supply_kind="{kind}",{of_kind},{formula})'
    return formula


def pump_flows(book: Book) -> str:
    return book.column("PumpCurves", "flow_in_use")


def pressure_at(book: Book, flow: str, of: Callable[..., str] = call) -> str:
    """A formula for the pressure of the supply in use at a flow, or for the words on it."""
    within = f"MAX({flow},MIN({pump_flows(book)}))"  # a curve is known from its first point on
    heads = book.column("PumpCurves", "head_in_use")
    return by_kind({
        SERVICE: of("SUPPLY_PRESSURE", flow, "supply_static", "supply_open_flow",
                    given("gauge_flow"), given("gauge_pressure")),
        WELL: of("WELL_PRESSURE", flow, given("cut_in_pressure"), given("sustained_yield")),
        PUMP: of("PUMP_PRESSURE", within, pump_flows(book), heads, given("lift")),
        TANK: of("TANK_PRESSURE", given("water_level"), "tank_drawn", given("tank_area")),
    })  # fmt: skip


def behind_at(book: Book, flow: str) -> str:
    """A formula for the pressure at the start of the main at a flow, behind all parts."""
    losses = parts_columns(book, *LOSSES)
    return f"INDEX({call('HEAD_PRESSURE', flow, pressure_at(book, flow), *losses)},1,1)"


def parts_columns(book: Book, *names: str) -> list[str]:
    return [book.column("HeadParts", name) for name in names]
