"""Declarations: what the root zone holds, how long it lasts, and its balance day by day."""

from typing import Any

from xlfuncs.calculations.water import bed_crop_use, soil_water
from xlfuncs.catalogue.declaration import Arg, Relation, Result, worksheet_function
from xlfuncs.catalogue.sources import DEFINITION, FAO56, NEH623_7, Source

CONSERVATION = Source("conservation of water")
AVAILABLE = Arg.of("available_water: depth, >0, <=2000: Total available water of the root zone")
FRACTION = Arg.of("depletion_fraction: ratio, >0, <=1: Share of it that may be used before"
                  " watering, p")  # fmt: skip


worksheet_function(
    "AVAILABLE_WATER_CAPACITY",
    help="Available water of a soil for its depth, from its water contents by volume.",
    args=(
        "field_capacity: ratio, >0, <=0.8: Water content at field capacity, by volume",
        "wilting_point: ratio, >=0, <=0.7: Water content at wilting point, by volume",
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
)(soil_water.available_water_capacity)


worksheet_function(
    "AVAILABLE_WATER",
    help="Total available water of the root zone: the soil's available water times root depth.",
    args=(
        "water_capacity: available_water, >0, <=400: Available water for depth of soil",
        "root_depth: width, >=0, <=5: Depth of the roots",
    ),
    results=(Result("available_water", "depth", "Total available water, TAW"),),
    source=FAO56.at("Eq. 82"),
    plain="{water_capacity}*{root_depth}",
    examples=("AVAILABLE_WATER(2, 16)",),
)(soil_water.available_water)


worksheet_function(
    "DEPLETION_FRACTION",
    help="Share of the available water that a crop may use, for the day's demand: less on a hot"
    " day, more on a cool one.",
    args=(
        "tabulated: ratio, >0, <1: Depletion fraction in the table, for 5 mm (0.2 in) a day",
        "crop_et: et, >=0, <=20: Crop evapotranspiration",
    ),
    results=(Result("depletion_fraction", "ratio", "Depletion fraction, p, 0.1 to 0.8"),),
    source=FAO56.at("page 162 and table 22"),
    plain="MIN(0.8,MAX(0.1,{tabulated}+0.04*(5-{crop_et})))",
    examples=("DEPLETION_FRACTION(0.4, 0.28)",),
)(soil_water.depletion_fraction)


worksheet_function(
    "ALLOWABLE_DEPLETION",
    help="Water that may be used from the root zone before it is watered again.",
    args=(AVAILABLE, FRACTION),
    results=(Result("depletion", "depth", "Allowable depletion, RAW"),),
    source=FAO56.at("Eq. 83"),
    plain="{available_water}*{depletion_fraction}",
    examples=("ALLOWABLE_DEPLETION(2.7, 0.3)",),
)(soil_water.allowable_depletion)


worksheet_function(
    "WETTED_FRACTION",
    help="Share of the planted width that the lines of a bed wet, at most all of it: need counts on"
    " the planted area, so the soil's store does too.",
    args=(
        "laterals: count, >=0, <=1000: Drip lines side by side",
        "wetted_width: width, >0, <=3: Width of soil that one line wets",
        "bed_width: width, >0, <=30, divides: Width of its strips",
    ),
    results=(Result("wetted_fraction", "ratio", "Wetted share of the bed"),),
    source=NEH623_7.at("percent area wetted: of the cropped area"),
    plain="MIN(1,{laterals}*{wetted_width}/{bed_width})",
    examples=("WETTED_FRACTION(2, 12, 30)",),
)(soil_water.wetted_fraction)


worksheet_function(
    "IRRIGATION_INTERVAL",
    help="Most days between waterings: the allowable depletion of the wetted soil over the crop's"
    " daily use. Round down.",
    args=(
        "depletion: depth, >=0, <=2000: Allowable depletion",
        "crop_et: et, >0, <=20, divides: Crop evapotranspiration",
        "[wetted_fraction=1]: ratio, >0, <=1: Wetted share of the soil",
    ),
    results=(Result("interval", "days", "Days between waterings"),),
    source=NEH623_7.at("maximum net depth of the wetted soil over daily use"),
    plain="{depletion}*{wetted_fraction}/{crop_et}",
    examples=("IRRIGATION_INTERVAL(0.8, 0.2, 80%)",),
)(soil_water.irrigation_interval)


worksheet_function(
    "ROOTING_DEPTH",
    help="Depth of the roots at an age: least in the initial stage, growing through development,"
    " greatest from mid-season on.",
    args=(
        "age: days, >=0, <=4000: Days since planting",
        "initial_days: days, >=0, <=400: Days of the initial stage",
        "development_days: days, >=0, <=400: Days of the development stage",
        "least: width, >0, <=5: Depth at planting",
        "greatest: width, >0, <=5: Depth from mid-season on",
    ),
    results=(Result("root_depth", "width", "Depth of the roots"),),
    source=FAO56.at("annex 8"),
    plain="{least}+MIN(1,MAX(0,({age}-{initial_days})/MAX({development_days},0.000000001)))"
    "*({greatest}-{least})",
    examples=("ROOTING_DEPTH(35, 20, 30, 4, 12)",),
)(bed_crop_use.root_depth)


_DAYS = "days"


@worksheet_function(
    "SOIL_WATER_BALANCE",
    help="Daily water balance of a root zone (FAO-56, single coefficient). One row for every day;"
    " a missing day is refused. Give net irrigation, and rain that enters the soil.",
    args=(
        f"dates: date, of {_DAYS}: Every day in order",
        f"crop_et: et, >=0, <=20, of {_DAYS}: Crop evapotranspiration when well watered",
        f"rain: depth, >=0, <=1000, of {_DAYS}: Rain of the day that enters the soil",
        f"available_water: depth, >0, <=2000, of {_DAYS}: Total available water of the root zone;"
        " one number or one a day",
        f"depletion_fraction: ratio, >0, <1, of {_DAYS}: Depletion fraction in the table; each"
        " day's demand is allowed for",
        Arg.of(f"irrigation: depth, >=0, <=500, of {_DAYS}: Net irrigation of the"
               " day (blank: none)", default=0.0),
        "[initial_depletion=0]: depth, >=0, <=2000: Depletion before the first day (default 0:"
        " full)",
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
STORAGE = Arg.of(f"[surface_storage={soil_water.SURFACE_STORAGE}]: depth, >=0, <=100: Depth that"
                 " may stand beside a line (default 5 mm, common practice)")  # fmt: skip


worksheet_function(
    "MAX_CYCLE_MINUTES",
    topic="time",
    help="Longest run in one go: until the wetted root zone is full or water stands. Counts the"
    " rate over the strip that a line wets, not over the bed.",
    args=(
        "flow_per_length: flow_per_length, >0, <=50 L/h per m, divides: Flow of the line for its"
        " length",
        "wetted_width: width, >=0.05, <=3, divides: Width of soil that one line wets",
        "soil_storage: depth, >=0, <=2000: What the wetted root zone may take up: its allowable"
        " depletion",
        Arg.of("intake_rate: intake_rate, >0, <=1000: Long-term intake rate of"
               " the soil (left out: no limit)", default=1000.0),
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
        "minutes: time, >=0, <=1000 h: Minutes of the watering",
        "max_cycle_minutes: time, >0, divides: Longest run in one go",
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
        "intake_rate: intake_rate, >0, <=1000, divides: Long-term intake rate of the soil",
        STORAGE,
    ),
    results=(Result("minutes", "time", "Minimum pause"),),
    source=CONSERVATION.at("surface storage over intake rate"),
    plain="{surface_storage}/{intake_rate}*3600",
    examples=("SOAK_MINUTES(0.4)",),
)(soil_water.soak_seconds)
