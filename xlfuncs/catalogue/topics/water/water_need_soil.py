"""Declarations: what the root zone holds, how long it lasts, and its balance day by day."""

from typing import Any

from xlfuncs.calculations.water import bed_crop_use, soil_water
from xlfuncs.catalogue.declaration import Arg, Relation, Result, worksheet_function
from xlfuncs.catalogue.sources import DEFINITION, FAO56, NEH623_7, Source

CONSERVATION = Source("conservation of water")
AVAILABLE = Arg(
    "available_water", "depth", "Total available water of the root zone", above=0, maximum=2000
)
FRACTION = Arg(
    "depletion_fraction", "ratio", "Share of it that may be used before watering, p",
    above=0, maximum=1,
)  # fmt: skip


worksheet_function(
    "AVAILABLE_WATER_CAPACITY",
    topic="water_need",
    help="Available water of a soil for its depth, from its water contents by volume.",
    args=(
        Arg("field_capacity", "ratio", "Water content at field capacity, by volume",
            above=0, maximum=0.8),
        Arg("wilting_point", "ratio", "Water content at wilting point, by volume",
            minimum=0, maximum=0.7),
    ),
    results=(Result("capacity", "available_water", "Available water for depth of soil"),),
    relations=(
        Relation(
            "wilting_point",
            lambda field_capacity, wilting_point: wilting_point >= field_capacity,
            "must be below field_capacity",
        ),
    ),
    source=FAO56.at("Eq. 82"),
    plain="IF({wilting_point}>={field_capacity},NA(),1000*({field_capacity}-{wilting_point}))",
    examples=("AVAILABLE_WATER_CAPACITY(32%, 15%)",),
)(soil_water.available_water_capacity)  # fmt: skip


worksheet_function(
    "AVAILABLE_WATER",
    topic="water_need",
    help="Total available water of the root zone: the soil's available water times root depth.",
    args=(
        Arg("water_capacity", "available_water", "Available water for depth of soil",
            above=0, maximum=400),
        Arg("root_depth", "width", "Depth of the roots", minimum=0, maximum=5),
    ),
    results=(Result("available_water", "depth", "Total available water, TAW"),),
    source=FAO56.at("Eq. 82"),
    plain="{water_capacity}*{root_depth}",
    examples=("AVAILABLE_WATER(2, 16)",),
)(soil_water.available_water)  # fmt: skip


worksheet_function(
    "DEPLETION_FRACTION",
    topic="water_need",
    help="Share of the available water that a crop may use, for the day's demand: less on a hot"
    " day, more on a cool one.",
    args=(
        Arg("tabulated", "ratio", "Depletion fraction in the table, for 5 mm (0.2 in) a day",
            above=0, below=1),
        Arg("crop_et", "et", "Crop evapotranspiration", minimum=0, maximum=20),
    ),
    results=(Result("depletion_fraction", "ratio", "Depletion fraction, p, 0.1 to 0.8"),),
    source=FAO56.at("page 162 and table 22"),
    plain="MIN(0.8,MAX(0.1,{tabulated}+0.04*(5-{crop_et})))",
    examples=("DEPLETION_FRACTION(0.4, 0.28)",),
)(soil_water.depletion_fraction)  # fmt: skip


worksheet_function(
    "ALLOWABLE_DEPLETION",
    topic="water_need",
    help="Water that may be used from the root zone before it is watered again.",
    args=(AVAILABLE, FRACTION),
    results=(Result("depletion", "depth", "Allowable depletion, RAW"),),
    source=FAO56.at("Eq. 83"),
    plain="{available_water}*{depletion_fraction}",
    examples=("ALLOWABLE_DEPLETION(2.7, 0.3)",),
)(soil_water.allowable_depletion)


worksheet_function(
    "WETTED_FRACTION",
    topic="water_need",
    help="Share of the planted width that the lines of a bed wet, at most all of it: need counts on"
    " the planted area, so the soil's store does too.",
    args=(
        Arg("laterals", "count", "Drip lines side by side", minimum=0, maximum=1000),
        Arg("wetted_width", "width", "Width of soil that one line wets", above=0, maximum=3),
        Arg("bed_width", "width", "Width of its strips", above=0, maximum=30, divides=True),
    ),
    results=(Result("wetted_fraction", "ratio", "Wetted share of the bed"),),
    source=NEH623_7.at("percent area wetted: of the cropped area"),
    plain="MIN(1,{laterals}*{wetted_width}/{bed_width})",
    examples=("WETTED_FRACTION(2, 12, 30)",),
)(soil_water.wetted_fraction)


worksheet_function(
    "IRRIGATION_INTERVAL",
    topic="water_need",
    help="Most days between waterings: the allowable depletion of the wetted soil over the crop's"
    " daily use. Round down.",
    args=(
        Arg("depletion", "depth", "Allowable depletion", minimum=0, maximum=2000),
        Arg("crop_et", "et", "Crop evapotranspiration", above=0, maximum=20, divides=True),
        Arg("wetted_fraction", "ratio", "Wetted share of the soil (default 1)",
            default=1.0, above=0, maximum=1),
    ),
    results=(Result("interval", "days", "Days between waterings"),),
    source=NEH623_7.at("maximum net depth of the wetted soil over daily use"),
    plain="{depletion}*{wetted_fraction}/{crop_et}",
    examples=("IRRIGATION_INTERVAL(0.8, 0.2, 80%)",),
)(soil_water.irrigation_interval)  # fmt: skip


worksheet_function(
    "ROOTING_DEPTH",
    topic="water_need",
    help="Depth of the roots at an age: least in the initial stage, growing through development,"
    " greatest from mid-season on.",
    args=(
        Arg("age", "days", "Days since planting", minimum=0, maximum=4000),
        Arg("initial_days", "days", "Days of the initial stage", minimum=0, maximum=400),
        Arg("development_days", "days", "Days of the development stage", minimum=0, maximum=400),
        Arg("least", "width", "Depth at planting", above=0, maximum=5),
        Arg("greatest", "width", "Depth from mid-season on", above=0, maximum=5),
    ),
    results=(Result("root_depth", "width", "Depth of the roots"),),
    source=FAO56.at("annex 8"),
    plain="{least}+MIN(1,MAX(0,({age}-{initial_days})/MAX({development_days},0.000000001)))"
    "*({greatest}-{least})",
    examples=("ROOTING_DEPTH(35, 20, 30, 4, 12)",),
)(bed_crop_use.root_depth)  # fmt: skip


_DAYS = "days"


@worksheet_function(
    "SOIL_WATER_BALANCE",
    topic="water_need",
    help="Daily water balance of a root zone (FAO-56, single coefficient). One row for every day;"
    " a missing day is refused. Give net irrigation, and rain that enters the soil.",
    args=(
        Arg("dates", "date", "Every day in order", group=_DAYS),
        Arg("crop_et", "et", "Crop evapotranspiration when well watered", minimum=0, maximum=20,
            group=_DAYS),
        Arg("rain", "depth", "Rain of the day that enters the soil", minimum=0, maximum=1000,
            group=_DAYS),
        Arg("available_water", "depth", "Total available water of the root zone; one number or one"
            " a day", above=0, maximum=2000, group=_DAYS),
        Arg("depletion_fraction", "ratio", "Depletion fraction in the table; each day's demand is"
            " allowed for", above=0, below=1, group=_DAYS),
        Arg("irrigation", "depth", "Net irrigation of the day (blank: none)", default=0.0,
            minimum=0, maximum=500, group=_DAYS),
        Arg("initial_depletion", "depth", "Depletion before the first day (default 0: full)",
            default=0.0, minimum=0, maximum=2000),
    ),
    results=(
        Result("depletion", "depth", "Depletion at the day's end"),
        Result("stress", "ratio", "Stress coefficient, 1 none to 0"),
        Result("actual_et", "et", "Evapotranspiration, slowed by stress"),
        Result("percolation", "depth", "Water that passes the roots"),
    ),
    source=FAO56.at("Eq. 80 to 88"),
    rows=_DAYS,
    examples=("SOIL_WATER_BALANCE(A2:A366, B2:B366, C2:C366, 2.7, 0.3, D2:D366)",),
)  # fmt: skip
def soil_water_balance(
    dates: Any, crop_et: Any, rain: Any, available_water: Any, depletion_fraction: Any,
    irrigation: Any, initial_depletion: Any,
) -> Any:  # fmt: skip
    soil_water.refuse_gaps(dates)
    balance = soil_water.soil_water_balance(
        crop_et, rain, irrigation, available_water, depletion_fraction, initial_depletion
    )
    return balance.depletion, balance.stress, balance.actual_et, balance.percolation


_RATE = "(3600000*{flow_per_length}/{wetted_width})"  # mm/h over the strip
STORAGE = Arg(
    "surface_storage", "depth", "Depth that may stand beside a line (default 5 mm, common"
    " practice)", default=soil_water.SURFACE_STORAGE, minimum=0, maximum=100,
)  # fmt: skip


worksheet_function(
    "MAX_CYCLE_MINUTES",
    topic="time",
    help="Longest run in one go: until the wetted root zone is full or water stands. Counts the"
    " rate over the strip that a line wets, not over the bed.",
    args=(
        Arg("flow_per_length", "flow_per_length", "Flow of the line for its length",
            above=0, maximum="50 L/h per m", divides=True),
        Arg("wetted_width", "width", "Width of soil that one line wets", minimum=0.05, maximum=3,
            divides=True),
        Arg("soil_storage", "depth", "What the wetted root zone may take up: its allowable"
            " depletion", minimum=0, maximum=2000),
        Arg("intake_rate", "intake_rate", "Long-term intake rate of the soil (left out: no limit)",
            default=1000.0, above=0, maximum=1000),
        STORAGE,
    ),
    results=(Result("minutes", "time", "Longest run"),),
    source=CONSERVATION.at("storage over rate; surface storage over surplus rate"),
    plain=f"MIN({{soil_storage}}/{_RATE}*3600,IF({_RATE}>{{intake_rate}},"
    f"{{surface_storage}}/({_RATE}-{{intake_rate}})*3600,{{soil_storage}}/{_RATE}*3600))",
    examples=("MAX_CYCLE_MINUTES(0.5, 12, 0.8)", "MAX_CYCLE_MINUTES(0.5, 12, 0.8, 0.3)"),
)(soil_water.max_cycle_seconds)  # fmt: skip


@worksheet_function(
    "CYCLES_NEEDED",
    topic="time",
    help="Into how many equal runs a watering is split so that none is too long. Where the store"
    " is the limit, set them on different days or far apart in the day.",
    args=(
        Arg("minutes", "time", "Minutes of the watering", minimum=0, maximum="1000 h"),
        Arg("max_cycle_minutes", "time", "Longest run in one go", above=0, divides=True),
    ),
    results=(Result("cycles", "count", "Number of runs"),),
    source=DEFINITION.at("whole runs"),
    plain="MAX(1,-INT(-({minutes}/{max_cycle_minutes}-0.000000001)))",
    examples=("CYCLES_NEEDED(61, 20)",),
)
def cycles_needed(minutes: Any, max_cycle_minutes: Any) -> Any:
    return soil_water.cycles_needed(seconds=minutes, max_cycle=max_cycle_minutes)


worksheet_function(
    "SOAK_MINUTES",
    topic="time",
    help="Pause between two runs until the water that stands beside a line has soaked in.",
    args=(
        Arg("intake_rate", "intake_rate", "Long-term intake rate of the soil",
            above=0, maximum=1000, divides=True),
        STORAGE,
    ),
    results=(Result("minutes", "time", "Minimum pause"),),
    source=CONSERVATION.at("surface storage over intake rate"),
    plain="{surface_storage}/{intake_rate}*3600",
    examples=("SOAK_MINUTES(0.4)",),
)(soil_water.soak_seconds)  # fmt: skip
