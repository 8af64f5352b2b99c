"""Declarations: cost per area."""

from typing import Any

from xlfuncs.catalogue.declaration import Arg, Result, worksheet_function
from xlfuncs.catalogue.sources import DEFINITION


@worksheet_function(
    "COST_PER_AREA",
    topic="money",
    help="Cost over an area; say beside it which area is meant: planted, bed top, or garden with"
    " paths.",
    args=(
        Arg("cost", "money", "Cost"),
        Arg("area", "area", "The area that it is spread over", above=0, divides=True),
    ),
    results=(Result("cost_per_area", "money_per_area", "Cost of a unit of area"),),
    source=DEFINITION.at("cost over area"),
    plain="{cost}/{area}",
    examples=("COST_PER_AREA(480, 1200)",),
)
def cost_per_area(cost: Any, area: Any) -> Any:
    return cost / area
