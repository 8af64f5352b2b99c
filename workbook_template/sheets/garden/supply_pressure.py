"""Formulas for the pressure of the supply in use, before and behind the head assembly."""

from collections.abc import Callable

from workbook_template.kit.book import Book
from workbook_template.kit.formulas import call
from xlfuncs.tables.garden.head_assembly import HEAD_PARTS, PUMP_CURVES
from xlfuncs.units import to_base

CURVE = "supply curve"  # the block, by which the pressure sheet finds it
IN_USE = "supply_in_use_values"  # the name of its labels, values and units


def given(column: str) -> str:
    """The defined name of such a value."""
    return f"supply_{column}"


def as_flow(book: Book, cell: str) -> str:
    """A flow, also one typed as text with a unit, by the depth that it brings on an area; blank for
    other text."""
    rate, area, flow = (to_base(1.0, of, book.system) for of in ("intake_rate", "area", "flow"))
    factor = rate / 3.6e6 * area / flow  # mm/h on m2 is so many m3/s
    typed = f'IFERROR({call("APPLICATION_RATE", cell, "1")}*{factor:.12g},"")'
    return f"IF(ISTEXT({cell}),{typed},{cell})"


def by_kind(formulas: dict[str, str]) -> str:
    formula = '""'
    for kind, of_kind in reversed(formulas.items()):
        formula = f'IF(supply_kind="{kind}",{of_kind},{formula})'
    return formula


def pump_flows(book: Book) -> str:
    return book.column("PumpCurves", "flow_in_use")


def pressure_at(book: Book, flow: str, of: Callable[..., str] = call) -> str:
    """A formula for the pressures of the supply in use at flows, or for the words on them."""
    return of("SUPPLY_CURVE", flow, IN_USE, book.span(PUMP_CURVES))


def behind_at(book: Book, flow: str) -> str:
    """A formula for the pressure at the start of the main at a flow, behind all parts."""
    return f"INDEX({call('HEAD_PRESSURE', flow, pressure_at(book, flow), *parts(book))},1,1)"


def parts(book: Book) -> tuple[str, str]:
    """The parts of the head assembly, and whether filters are judged dirty."""
    return book.span(HEAD_PARTS), 'dirty_filters<>"no"'
