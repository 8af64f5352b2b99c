"""Declarations: drip lines to suit a soil, filling them, and the days that beds are watered."""

from dataclasses import replace
from typing import Any

import numpy as np

from xlfuncs.calculations.layout import beds
from xlfuncs.calculations.pressure import filling
from xlfuncs.calculations.water import bed_calendar
from xlfuncs.catalogue.declaration import Arg, Relation, Result, worksheet_function
from xlfuncs.catalogue.sources import COMMON_PRACTICE, DEFINITION, Source
from xlfuncs.catalogue.topics.flow.area_and_flow import FLOW, SPACING
from xlfuncs.catalogue.topics.flow.layout import WETTED_WIDTH
from xlfuncs.errors import InputError
from xlfuncs.tables.garden.crops import published_soils

INTAKE_RATE = Arg.of("intake_rate: intake_rate, >0, <=1000, divides: Long-term rate at which the"
                     " soil takes water in")  # fmt: skip
BED_MODULE = Source("University course module 2.2.3, Micro-irrigation on raised beds")
WETTED_BY_TEXTURE = {str(row["soil"]): row["wetted_width"] for row in published_soils()}


@worksheet_function(
    "WETTED_WIDTH",
    help="Usual width that one drip line wets near the surface, by soil texture. Dig beside a"
    " line after a run and use what you find instead.",
    args=(
        Arg("texture", "text", "Texture of the soil: sand, loamy sand, sandy loam, loam, ... clay",
            choices=tuple(WETTED_BY_TEXTURE)),
    ),
    results=(Result("wetted_width", "width", "Width that one line wets"),),
    source=BED_MODULE.at(
        "line spacings: 12 to 15 in on coarse, 24 in on fine soil; between them common practice"
    ),
    examples=('WETTED_WIDTH("loam")',),
)  # fmt: skip
def wetted_width(texture: Any) -> Any:
    if isinstance(texture, str):
        return WETTED_BY_TEXTURE.get(texture, np.nan)
    return np.array([WETTED_BY_TEXTURE.get(name, np.nan) for name in texture.flat]).reshape(
        texture.shape
    )


worksheet_function(
    "LARGEST_EMITTER_SPACING",
    help="Emitter spacing up to which the wet spots along a line join: 80 % of the wetted width.",
    args=(WETTED_WIDTH,),
    results=(Result("emitter_spacing", "width", "Largest emitter spacing"),),
    source=COMMON_PRACTICE.at("80 % of the wetted diameter"),
    plain="0.8*{wetted_width}",
    examples=("LARGEST_EMITTER_SPACING(15)",),
)(beds.largest_emitter_spacing)


worksheet_function(
    "LARGEST_EMITTER_FLOW",
    help="Emitter flow at which the wetted strip just takes in what the line gives; above it"
    " water ponds or runs off unless it is given in cycles.",
    args=(INTAKE_RATE, SPACING, WETTED_WIDTH),
    results=(Result("emitter_flow", "emitter_flow", "Largest emitter flow"),),
    source=DEFINITION.at("intake rate over the wetted strip of one emitter"),
    plain="{intake_rate}/3600000*{emitter_spacing}*{wetted_width}",
    examples=("LARGEST_EMITTER_FLOW(0.4, 8, 18)",),
)(beds.largest_emitter_flow)


worksheet_function(
    "LINE_ADVICE",
    help="For each line on offer: its rate over the wetted strip, the share of what the soil"
    " takes in, the advice (recommended, ok, too fast, too far apart) and why. Advice only.",
    args=(
        "emitter_spacing: width, >0, <=5, divides, of lines: Emitter spacings of the lines",
        "emitter_flow: emitter_flow, >0, <=24 L/h, of lines: Emitter flows of the lines",
        WETTED_WIDTH,
        INTAKE_RATE,
    ),
    source=COMMON_PRACTICE.at("rate within the soil's intake; the fastest line that suits"),
    rows="lines",
    examples=("LINE_ADVICE(A2:A5, B2:B5, 18, 0.4)",),
)(beds.line_advice)


worksheet_function(
    "PIPE_VOLUME",
    help="Volume of water that pipes or drip lines hold when they are full.",
    args=(
        "length: length, >=0, <=100000: Length of one pipe",
        "inside_diameter: diameter, >0, <=1: Inside diameter, not the nominal size",
        "[pipes=1]: count, >=0, <=100000: Equal pipes",
    ),
    results=(Result("volume", "volume", "Volume inside the pipes"),),
    source=DEFINITION.at("volume of a cylinder"),
    plain="PI()/4*{inside_diameter}^2*{length}*{pipes}",
    examples=("PIPE_VOLUME(100, 0.62, 4)",),
)(filling.pipe_volume)


def _no_diameter(manifold_length: Any, manifold_diameter: Any) -> Any:
    return (manifold_length > 0) & (manifold_diameter == 0)


worksheet_function(
    "FILL_MINUTES",
    topic="time",
    help="Minutes until empty laterals and their manifold are full. What the emitters give"
    " meanwhile makes it longer.",
    args=(
        replace(FLOW, name="filling_flow"),
        "lateral_length: length, >=0, <=3000: Length of one lateral",
        "laterals: count, >=0, <=100000: Laterals that fill together",
        "lateral_diameter: diameter, >0, <=0.1: Inside diameter of the laterals",
        "[manifold_length=0]: length, >=0, <=10000: Length of the manifold (default none)",
        "[manifold_diameter=0]: diameter, >=0, <=1: Inside diameter of the manifold (default none)",
    ),
    results=(Result("minutes", "time", "Minutes until the lines are full"),),
    source=DEFINITION.at("volume inside the pipes over flow"),
    plain="PI()/4*({lateral_diameter}^2*{lateral_length}*{laterals}"
    "+{manifold_diameter}^2*{manifold_length})/{filling_flow}",
    relations=(
        Relation("manifold_diameter", _no_diameter, "is needed where the manifold has a length"),
    ),
    examples=("FILL_MINUTES(6, 100, 4, 0.62)",),
)(filling.fill_seconds)


def _slow_filling(share: float) -> str:
    if share > filling.FILLING_SHARE:
        return (
            "filling takes over a fifth of the run, so the near end gets more than the far end;"
            " water less often and longer, or keep the lines full between runs"
        )
    return ""


@worksheet_function(
    "FILL_SHARE",
    topic="time",
    help="Share of a run that goes into filling the lines. Over a fifth is a warning.",
    args=(
        "fill_minutes: time, >=0: Minutes until the lines are full",
        "run_minutes: time, >0, divides: Minutes of the run",
    ),
    results=(Result("share", "ratio", "Filling over run"),),
    source=COMMON_PRACTICE.at("filling at most a fifth of a run"),
    plain="{fill_minutes}/{run_minutes}",
    doubt=_slow_filling,
    examples=("FILL_SHARE(5, 60)",),
)
def fill_share(fill_minutes: Any, run_minutes: Any) -> Any:
    return np.divide(fill_minutes, run_minutes)


@worksheet_function(
    "BED_DAYS",
    topic="water_need",
    help="Days in a month on which each bed is watered by the bed plan; 0 for a bed that lies"
    " fallow, is off, or is out of season.",
    args=(
        "bed: text, of beds: Names of the beds",
        "month: date: Any day of the month",
        "plan_bed: text, of plan: Bed plan: names of the beds",
        "plan_start: date, of plan: Bed plan: first days of watering",
        "plan_end: date, of plan: Bed plan: last days of watering",
        "[on=yes]: flag, of beds: Bed list: yes where the bed is in use",
        "[season_start]: date: First day of the watering season (default: no limit)",
        "[season_end]: date: Last day of the watering season (default: no limit)",
    ),
    results=(Result("days", "days", "Days of the month on which the bed is watered"),),
    source=DEFINITION.at("days that the periods of the bed plan and the month share"),
    rows="beds",
    examples=("BED_DAYS(A2:A15, DATE(2026,5,1), D2:D20, F2:F20, G2:G20)",),
)
def bed_days(
    bed: Any, month: Any, plan_bed: Any, plan_start: Any, plan_end: Any, on: Any,
    season_start: Any, season_end: Any,
) -> Any:  # fmt: skip
    first, last = bed_calendar.month_of(month)
    if season_start is not None:
        first = max(first, season_start)
    if season_end is not None:
        if season_start is not None and season_end < season_start:
            raise InputError("season_end", "is before the start of the season")
        last = min(last, season_end)
    return bed_calendar.days_in_use(bed, on, plan_bed, plan_start, plan_end, first, last)
