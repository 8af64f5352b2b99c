"""The calls on the whole system from the tap to the far bed, as the sheet Pressure makes them."""

from dataclasses import dataclass

from workbook_template.kit.formulas import Answer, Place
from workbook_template.kit.page import Page
from xlfuncs.tables.garden.beds import BEDS
from xlfuncs.tables.garden.lines import LINES, PIPES


@dataclass(frozen=True)
class Calls:
    """What is asked: with each bed's own valve open, with all open, the two ways to sets."""

    own: Answer
    by_pressure: Answer
    by_flow: Answer
    every: Answer
    checks: Answer


def calls_of(page: Page, place: Place, findings: int) -> Calls:
    """The calls, with the block of the beds on Pressure at `place`; so many findings are read."""
    book, beds = page.book, place.rows
    system = {
        "beds": book.span(BEDS), "lines": book.span(LINES), "pipes": book.span(PIPES),
        "head": "start_of_main", "counted": book.column("Beds", "solved"),
    }  # fmt: skip
    together = {"set": place.reference("together")}
    kept = {"valve": place.reference("kept")}
    # one set of limits for the sets that are proposed and for what is found wrong with them
    limits = {"limits": "pressure_limits"}
    return Calls(
        own=page.answer(beds, "SYSTEM_DELIVERY", **system, **together),
        by_pressure=page.answer(beds, "PRESSURE_SETS", **system, **limits, **kept),
        by_flow=page.answer(
            beds, "WATERING_SETS", **kept, flows=book.column("Beds", "nominal_flow"),
            supply_flow="supply_greatest_flow", usable_share="supply_share",
        ),
        every=page.answer(beds, "SYSTEM_DELIVERY", **system),
        checks=page.answer(findings, "DESIGN_CHECKS", **system, **together, **limits),
    )  # fmt: skip
