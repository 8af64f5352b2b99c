"""Declarations: a timer's program, the season table, and beds that share a valve."""

from typing import Any

import numpy as np

from xlfuncs.calculations.arrays import records
from xlfuncs.calculations.layout import beds
from xlfuncs.calculations.timer import programs as timers
from xlfuncs.calculations.timer.weekly_schedule import DAY, AllowedHours
from xlfuncs.calculations.water import irrigation_need as needs
from xlfuncs.catalogue.declaration import UNITS, Arg, Result, table, worksheet_function
from xlfuncs.catalogue.sources import DEFINITION
from xlfuncs.catalogue.topics.flow.area_and_flow import AREA, EFFICIENCY, FLOW
from xlfuncs.errors import CellError, InputError
from xlfuncs.tables.garden.timer import TIMER_SETS, TIMER_SETTINGS


@worksheet_function(
    "TIMER_PROGRAM",
    help="What to enter in a timer: program, start times, minutes and days of each set on one"
    " supply. Never two sets at once, never outside the allowed hours; notes say what does not"
    " fit.",
    args=(
        table("sets", "The sets, a row each", TIMER_SETS,
            "minutes: time, >=0, <=24 h: Minutes of one watering of the set",
            "waterings",
            Arg.of("cycles: count, >=1, <=24, whole: Runs that one watering is split"
                   " into (blank: 1)", default=1)),
        table("timer", "What the timer can do and when it may water: labels and values, down",
              TIMER_SETTINGS,
            "stations allowed_from allowed_to watering_days programs starts_per_program",
            "[minute_step=1 min]: time, >=1 s, <=1 h: Smallest step of a run time",
            "[longest_run=4 h]: time, >=1 min, <=24 h: Longest run time that can be entered",
            "[seasonal_percentage=1]: ratio, >=0.1, <=3: The timer's own adjustment of all run"
            " times (default 100 %)",
            "allowed_days soak hose_from hose_to",
            settings=True),
        UNITS,
    ),
    source=DEFINITION.at("one run at a time, placed at its first free minute"),
    rows="sets",
    examples=("TIMER_PROGRAM(A1:C7, E1:G13)",),
)  # fmt: skip
def timer_program(
    minutes: Any, waterings: Any, stations: Any, allowed_from: Any, allowed_to: Any, cycles: Any,
    programs: Any, starts_per_program: Any, minute_step: Any, longest_run: Any,
    seasonal_percentage: Any, allowed_days: Any, soak: Any, hose_from: Any, hose_to: Any,
    watering_days: Any,
) -> Any:  # fmt: skip
    unsaid = np.flatnonzero(np.isnan(waterings))
    if unsaid.size and watering_days is None:
        raise InputError("waterings", "is blank", row=int(unsaid[0]), cell_error=CellError.VALUE)
    times = np.where(np.isnan(waterings), watering_days, waterings)
    sets = records(timers.WateringSet, range(len(minutes)), minutes, times, cycles)
    timer = timers.Timer(
        int(stations), int(programs), int(starts_per_program), round(minute_step),
        round(longest_run), seasonal_percentage,
    )  # fmt: skip
    hours = AllowedHours(
        round(allowed_from) % DAY, round(allowed_to) % DAY, timers.day_list(allowed_days)
    )
    hose = None if hose_from is None or hose_to is None else (round(hose_from), round(hose_to))
    plan = timers.timer_program(sets, timer, hours, round(soak), hose)
    return [
        (p.station or np.nan, p.program, timers.starts_text(p.starts), timers.starts_text(p.opens),
         p.entered or np.nan, timers.days_text(p.days), p.weekly, "; ".join(p.notes))
        for p in plan
    ]  # fmt: skip


worksheet_function(
    "SEASON_MINUTES",
    help="Minutes of each watering in a month: the month's depth spread over its waterings; the"
    " cells of a season table. Give gross depth, or net depth with an efficiency, never both.",
    args=(
        "month_depth: depth, >=0, <=3000: Depth of water in the month",
        "days: days, >=1, <=366, divides: Days in the month",
        "waterings: number, >0, <=100, divides: Waterings per week",
        AREA,
        FLOW,
        EFFICIENCY,
    ),
    results=(Result("minutes", "time", "Minutes of one watering"),),
    source=DEFINITION.at("volume over flow"),
    plain="{month_depth}/1000*{area}/({flow}*{efficiency}*{waterings}*{days}/7)",
    examples=("SEASON_MINUTES(5.2, 31, 3, 600, 6)",),
)(needs.watering_seconds)


@worksheet_function(
    "SHARED_VALVE_MINUTES",
    help="The one run time of beds on a valve, weighted by flow so that the valve passes just what"
    " its beds want, and by how much each bed gets too much or too little.",
    args=(
        "minutes: time, >=0, <=1000 h, of beds: Minutes that each bed wants",
        "flow: flow, >0, <=2000 m³/h, of beds: Flow of each bed",
        "[valve=]: text, of beds: Valve of each bed (blank: one of its own)",
        UNITS,
        "[bed=]: text, of beds: Name of each bed, for the list of those that open together",
    ),
    source=DEFINITION.at("total volume over total flow of a valve"),
    rows="beds",
    examples=("SHARED_VALVE_MINUTES(A2:A9, B2:B9, C2:C9)",),
)
def shared_valve_minutes(minutes: Any, flow: Any, valve: Any, bed: Any) -> Any:
    shared = needs.shared_valve_seconds(valve, minutes, flow)
    together = needs.names_on_same_valve(valve, bed)
    return shared, shared - minutes, needs.verdicts(shared, minutes), together


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
    help="Minutes of one watering that bring a depth a week. Give gross depth, or net depth with"
    " an efficiency, never both.",
    args=(
        "area: area, >=0: Planted area that gets the water",
        "depth: depth, >=0, <=1000: Depth of water a week",
        FLOW,
        "[events=1]: number, >0, <=100, divides: Waterings per week",
        EFFICIENCY,
    ),
    results=(Result("minutes", "time", "Minutes of one watering"),),
    source=DEFINITION.at("volume over flow"),
    plain="{area}*{depth}/1000/{flow}/{events}/{efficiency}",
    doubt=odd_run,
    examples=("RUN_MINUTES(600, 1, 6)", "RUN_MINUTES(600, 1, 6, 3, 0.9)"),
)(beds.run_seconds)


@worksheet_function(
    "DEPTH_APPLIED",
    help="Depth of water that a run brings on an area, less what the efficiency takes.",
    args=(
        AREA,
        "minutes: time, >=0, <=1000 h: Minutes of the run",
        "flow: flow, >=0: Flow while the water runs",
        EFFICIENCY,
    ),
    results=(Result("depth", "depth", "Depth of water"),),
    source=DEFINITION.at("volume over area"),
    plain="{flow}*{minutes}*{efficiency}/{area}*1000",
    examples=("DEPTH_APPLIED(600, 62, 6)",),
)
def depth_applied(area: Any, minutes: Any, flow: Any, efficiency: Any) -> Any:
    return beds.depth_applied(area=area, seconds=minutes, flow=flow, efficiency=efficiency)
