"""Declarations: fertiliser, flushing and a tank over a run; gaps between waterings."""

from typing import Any

import numpy as np

from xlfuncs.calculations.timer import long_runs as runs
from xlfuncs.calculations.timer.programs import day_list
from xlfuncs.calculations.timer.weekly_schedule import DAY, AllowedHours, longest_gap
from xlfuncs.catalogue.declaration import Arg, Relation, Result, worksheet_function
from xlfuncs.catalogue.sources import COMMON_PRACTICE, DEFINITION, Source

INJECTING = Source("University of California, Chlorination, and tables of microirrigation texts")
FLUSHING = Source("University of California, micromaintain, Flushing")
TORRICELLI = Source("Torricelli's law")


worksheet_function(
    "INJECTION_FLOW",
    help="Flow of stock that an injector must give to bring the water to a concentration. Use a"
    " backflow preventer that your local code accepts for chemicals; follow the label.",
    args=(
        "flow: flow, >=0: Flow of the water",
        "concentration: number, >=0, <=100000: Wanted in the water, mg/L (ppm)",
        "strength: ratio, >0, <=1, divides: Share of the stock by weight that is the substance",
    ),
    results=(Result("injection_flow", "emitter_flow", "Flow of the stock"),),
    source=INJECTING.at("gpm x 60 x ppm / (1,000,000 x strength)"),
    plain="{flow}*{concentration}/(1000000*{strength})",
    examples=("INJECTION_FLOW(100, 5, 5.25%)",),
)(runs.injection_flow)


_TOO_SHORT = Relation(
    "minutes", lambda minutes, travel: minutes < 3.0 * travel,
    "leave too little time to inject: a run must be three times what water takes to the last"
    " emitter",
)  # fmt: skip


@worksheet_function(
    "INJECTION_MINUTES",
    help="Minutes in which fertilizer goes in: the run less clean water before it, until lines are"
    " full, and as long after it, until the last emitter runs clean.",
    args=(
        "minutes: time, >=0, <=1000 h: Minutes of the run",
        "travel: time, >=0, <=100 h: Minutes that water takes to the last emitter, by a dye or"
        " FILL_TIME",
    ),
    results=(Result("minutes", "time", "Minutes to inject, after water for `travel` minutes"),),
    source=COMMON_PRACTICE.at("inject longer than water travels, rinse as long"),
    relations=(_TOO_SHORT,),
    plain="IF({minutes}<3*{travel},NA(),{minutes}-2*{travel})",
    examples=("INJECTION_MINUTES(60, 12)",),
)
def injection_minutes(minutes: Any, travel: Any) -> Any:
    return runs.injection_times(minutes, travel)[1]


VELOCITY = Arg.of(f"[velocity={runs.FLUSH_VELOCITY}]: velocity, >0, <=5: Velocity at the open end"
                  " (default 1 ft/s, 0.3 m/s)")  # fmt: skip
BORE = Arg.of("inside_diameter: diameter, >0, <=0.1, divides: Inside diameter of the line")


worksheet_function(
    "FLUSH_FLOW",
    topic="flow",
    help="Flow that must leave the open end of a line to carry dirt out.",
    args=(BORE, VELOCITY),
    results=(Result("flow", "flow", "Flow at the open end"),),
    source=FLUSHING.at("at least 1 ft/s"),
    plain="{velocity}*PI()/4*{inside_diameter}^2",
    examples=("FLUSH_FLOW(0.625)",),
)(runs.flush_flow)


@worksheet_function(
    "LINES_TO_FLUSH",
    topic="flow",
    help="How many line ends may be opened at once, while all lines of the set go on dripping. 0:"
    " the supply is too weak for even one; open a set with fewer lines.",
    args=(
        "supply_flow: flow, >=0: Flow that the supply gives",
        "lines: count, >=1, <=10000, whole: Lines of the set",
        "lateral_flow: lateral_flow, >=0: Flow of one line through its emitters",
        BORE,
        VELOCITY,
    ),
    results=(Result("lines", "count", "Ends open at once"),),
    source=DEFINITION.at("what the emitters leave over the flow at an open end"),
    plain="MAX(0,MIN({lines},INT(({supply_flow}-{lines}*{lateral_flow})"
    "/({velocity}*PI()/4*{inside_diameter}^2)+0.000000001)))",
    examples=("LINES_TO_FLUSH(12, 20, 15, 0.625)",),
)
def lines_to_flush(
    supply_flow: Any, lines: Any, lateral_flow: Any, inside_diameter: Any, velocity: Any
) -> Any:
    end = runs.flush_flow(inside_diameter, velocity)
    return runs.lines_flushed_at_once(supply_flow, lines, lateral_flow, end)


@worksheet_function(
    "TANK_LEVEL",
    topic="pressure",
    help="Level of a tank or pond with straight sides after a run. The flow falls with the level;"
    " friction is left out. 0: it ran dry.",
    args=(
        "tank_area: area, >0, <=1e+06, divides: Area of the water's surface",
        "level: head, >=0, <=50: Water above the outlet at the start",
        "lift: head, >=0, <=200: Outlet above the emitters",
        "flow: flow, >=0: Flow at the start",
        "minutes: time, >=0, <=1000 h: Minutes of the run",
        "[inflow=0]: flow, >=0: Flow that a well or spring adds meanwhile",
        "[exponent=0.5]: number, >=0, <=1: Emitter exponent (default 0.5; 0 if compensating)",
    ),
    results=(Result("level", "head", "Water above the outlet at the end"),),
    source=TORRICELLI.at("flow with the head to the emitter's exponent"),
    examples=("TANK_LEVEL(20, 5, 6, 4, 90)",),
)
def tank_level(
    tank_area: Any, level: Any, lift: Any, flow: Any, minutes: Any, inflow: Any, exponent: Any
) -> Any:
    return runs.tank_level_after(tank_area, level, lift, flow, minutes, exponent, inflow)


@worksheet_function(
    "LONGEST_GAP",
    help="Most days between two waterings, for so many a week on the best of the allowed days:"
    " three a week leave a gap of 3 days, not 7/3.",
    args=(
        "waterings: count, >=1, <=7, whole: Waterings per week",
        "[allowed_days=]: text: Days that may have water, e.g. Mon Wed Fri (default all)",
    ),
    results=(Result("days", "days", "Longest gap"),),
    source=DEFINITION.at("days spread as evenly as the week allows"),
    examples=("LONGEST_GAP(3)", 'LONGEST_GAP(3, "Mon Wed Fri Sun")'),
)
def gap_of_waterings(waterings: Any, allowed_days: Any) -> Any:
    counts, texts = np.broadcast_arrays(np.asarray(waterings, dtype=float), allowed_days)
    gaps = [
        np.nan if np.isnan(count)
        else longest_gap(int(count), AllowedHours(0, DAY, day_list(str(text or ""))))
        for count, text in zip(counts.ravel(), texts.ravel(), strict=True)
    ]  # fmt: skip
    return np.asarray(gaps, dtype=float).reshape(counts.shape)
