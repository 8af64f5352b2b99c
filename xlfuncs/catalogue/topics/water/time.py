"""Declarations: how long the water runs."""

from typing import Any

from xlfuncs.calculations.layout import beds
from xlfuncs.catalogue.declaration import Arg, Result, worksheet_function
from xlfuncs.catalogue.sources import DEFINITION
from xlfuncs.catalogue.topics.flow import AREA, EFFICIENCY, FLOW

SHORT_RUN, LONG_RUN = 3 * 60, 12 * 3600  # seconds


def odd_run(seconds: float) -> str:
    """Words on a run so short or long that gallons a minute and an hour were likely mixed up."""
    if 0 < seconds < SHORT_RUN:
        return "a run under 3 minutes; is the flow in gph (L/h) where gpm (L/min) is wanted?"
    if seconds > LONG_RUN:
        return "a run over 12 hours; is the flow in gpm (L/min) where gph (L/h) was meant?"
    return ""


worksheet_function(
    "RUN_MINUTES",
    topic="time",
    help="Minutes of one watering that bring a depth a week. Give gross depth, or net depth with"
    " an efficiency, never both.",
    args=(
        Arg("area", "area", "Planted area that gets the water", minimum=0),
        Arg("depth", "depth", "Depth of water a week", minimum=0, maximum=1000),
        FLOW,
        Arg("events", "number", "Waterings per week (default 1)",
            default=1, above=0, maximum=100, divides=True),
        EFFICIENCY,
    ),
    results=(Result("minutes", "time", "Minutes of one watering"),),
    source=DEFINITION.at("volume over flow"),
    plain="{area}*{depth}/1000/{flow}/{events}/{efficiency}",
    doubt=odd_run,
    examples=("RUN_MINUTES(600, 1, 6)", "RUN_MINUTES(600, 1, 6, 3, 0.9)"),
)(beds.run_seconds)  # fmt: skip


@worksheet_function(
    "DEPTH_APPLIED",
    topic="time",
    help="Depth of water that a run brings on an area, less what the efficiency takes.",
    args=(
        AREA,
        Arg("minutes", "time", "Minutes of the run", minimum=0, maximum="1000 h"),
        Arg("flow", "flow", "Flow while the water runs", minimum=0),
        EFFICIENCY,
    ),
    results=(Result("depth", "depth", "Depth of water"),),
    source=DEFINITION.at("volume over area"),
    plain="{flow}*{minutes}*{efficiency}/{area}*1000",
    examples=("DEPTH_APPLIED(600, 62, 6)",),
)
def depth_applied(area: Any, minutes: Any, flow: Any, efficiency: Any) -> Any:
    return beds.depth_applied(area=area, seconds=minutes, flow=flow, efficiency=efficiency)
