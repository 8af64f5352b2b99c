"""The calls on the whole system from the tap to the far bed, as the sheet Pressure makes them."""

from __future__ import annotations

from dataclasses import dataclass

from workbook_template.kit.answers import Answer
from workbook_template.kit.formulas import Place
from workbook_template.kit.page import Page
from workbook_template.sheets.garden.supply import CURVE

# The columns of Beds as SYSTEM_DELIVERY and its sisters take them.
TAKEN = {
    "distance": "distance", "laterals": "laterals", "lateral_length": "length",
    "emitter_spacing": "emitter_spacing", "rated_flow": "emitter_flow",
    "rated_pressure": "rated_pressure", "lateral_diameter": "lateral_diameter",
    "main_diameter": "main_diameter", "exponent": "exponent", "min_pressure": "min_pressure",
    "max_pressure": "max_pressure", "branch": "branch", "branch_start": "branch_start",
    "elevation": "elevation", "slope": "slope", "manifold_diameter": "manifold_diameter",
    "lateral_spacing": "lateral_spacing", "counted": "solved",
}  # fmt: skip


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
    curve = book.places[CURVE]
    system = {name: book.column("Beds", column) for name, column in TAKEN.items()} | {
        "inlet_pressure": f"MAX({curve.reference('behind')})",
        "supply_flow": curve.reference("flow"), "supply_pressure": curve.reference("behind"),
    }  # fmt: skip
    together = {"set": place.reference("together")}
    kept = {"valve": place.reference("kept")}
    # one set of limits for the sets that are proposed and for what is found wrong with them
    wanted = {
        "wanted_share": "wanted_share", "wanted_uniformity": "wanted_uniformity",
        "max_velocity": "max_velocity", "cv": book.column("Beds", "cv"),
        "open_flow": "supply_greatest_flow", "supply_share": "supply_share",
        "least_flow": "head_least_flow", "greatest_flow": "head_greatest_flow",
        "most_pressure": "start_most_pressure",
    }  # fmt: skip
    checks = {
        "name": book.column("Beds", "bed"),
        "pipe_diameters": book.column("Pipes", "inside_diameter"),
    }
    return Calls(
        own=page.answer(beds, "SYSTEM_DELIVERY", **system, **together),
        by_pressure=page.answer(beds, "PRESSURE_SETS", **system, **wanted, **kept),
        by_flow=page.answer(
            beds, "WATERING_SETS", **kept, flows=book.column("Beds", "nominal_flow"),
            supply_flow="supply_greatest_flow", share="supply_share",
        ),
        every=page.answer(beds, "SYSTEM_DELIVERY", **system),
        checks=page.answer(findings, "DESIGN_CHECKS", **system, **together, **wanted, **checks),
    )  # fmt: skip
