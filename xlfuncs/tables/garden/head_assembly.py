"""The water supplies of a farm, the one in use, the parts between it and the main, and what the
pressure of a plan is held to."""

from xlfuncs.tables.columns import Column, Table
from xlfuncs.tables.settings import Section

SERVICE, WELL, PUMP, TANK = "service", "well", "pump", "tank"
SUPPLY_KINDS = (SERVICE, WELL, PUMP, TANK)

SPLITTER, TIMER, BACKFLOW_PREVENTER = "splitter", "timer", "backflow preventer"
FILTER, REGULATOR, OTHER_PART = "filter", "regulator", "other"
PART_KINDS = (SPLITTER, TIMER, BACKFLOW_PREVENTER, FILTER, REGULATOR, OTHER_PART)

_MOST_FLOW = 2000 / 3600
_MOST_PRESSURE = 2e6

SUPPLIES = Table(
    "Supplies",
    "One row a supply, with what was measured of it. Fill in the columns of its kind.",
    (
        Column("supply", "Supply", "text", "Your own name for this supply", required=True),
        Column("kind", "Kind", "text",
               "service (house or street connection), well (with a pressure switch), pump (by its"
               " curve), or tank (gravity)", required=True, choices=SUPPLY_KINDS),
        Column("static_pressure", "Static pressure", "pressure",
               "Service: gauge at the tap with nothing drawn", above=0, maximum=_MOST_PRESSURE),
        Column("open_flow", "Open flow", "flow",
               "Service: flow of the tap fully open, by the bucket test", above=0,
               maximum=_MOST_FLOW, synonyms=("bucket test",)),
        Column("gauge_flow", "Gauge flow", "flow",
               "Service: a working flow at which the gauge was read too", above=0,
               maximum=_MOST_FLOW),
        Column("gauge_pressure", "Gauge pressure", "pressure",
               "Service: what the gauge then read", above=0, maximum=_MOST_PRESSURE),
        Column("cut_in_pressure", "Cut-in pressure", "pressure",
               "Well: pressure at which the switch starts the pump; what beds surely get",
               above=0, maximum=_MOST_PRESSURE, synonyms=("cut in",)),
        Column("cut_out_pressure", "Cut-out pressure", "pressure",
               "Well: pressure at which it stops the pump; the most that beds get",
               above=0, maximum=_MOST_PRESSURE, synonyms=("cut out",)),
        Column("sustained_yield", "Sustained yield", "flow",
               "Well: flow that it gives for as long as a watering lasts", above=0,
               maximum=_MOST_FLOW),
        Column("lift", "Lift", "head",
               "Pump: from the water level up to the start of the main, friction included",
               minimum=-100, maximum=500, default=0.0),
        Column("water_level", "Water level", "head",
               "Tank: level of the full tank above the start of the main", above=0, maximum=200),
        Column("tank_area", "Tank area", "area", "Tank: area of the water surface", above=0),
        Column("note", "Note", "text", "Anything to remember", internal=True),
    ),
)  # fmt: skip

PUMP_CURVES = Table(
    "PumpCurves",
    "Points of the curve of each pump, from its data sheet; straight lines between them.",
    (
        Column("supply", "Supply", "text", "Name of the supply", required=True),
        Column("flow", "Flow", "flow", "Flow of the point", required=True, minimum=0,
               maximum=_MOST_FLOW),
        Column("head", "Head", "head", "Head of the pump at this flow", required=True, minimum=0,
               maximum=500),
    ),
)  # fmt: skip

HEAD_PARTS = Table(
    "HeadParts",
    "The parts of the head assembly in the order of the flow, from their data sheets. Fit backflow"
    " protection as your local code asks.",
    (
        Column("part", "Part", "text", "Your own name for this part", required=True),
        Column("kind", "Kind", "text", "What it is", required=True, choices=PART_KINDS),
        Column("loss", "Loss", "pressure",
               "Pressure lost at the flow beside it, from the part's box, a filter's clean; if it"
               " says none, leave the example's, an assumption",
               minimum=0, maximum=_MOST_PRESSURE, default=0.0),
        Column("loss_flow", "At flow", "flow", "Flow at which that loss is given", above=0,
               maximum=_MOST_FLOW),
        Column("dirty_loss", "Loss when dirty", "pressure",
               "Filter: loss at the same flow when it is due for cleaning", minimum=0,
               maximum=_MOST_PRESSURE),
        Column("opening_loss", "Loss to open", "pressure",
               "Loss at any flow, as of the spring of a check valve", minimum=0,
               maximum=_MOST_PRESSURE, default=0.0),
        Column("mesh", "Mesh", "count", "Filter: wires to the inch", minimum=10, maximum=1000),
        Column("preset", "Preset", "pressure", "Regulator: pressure that it holds behind it",
               above=0, maximum=_MOST_PRESSURE, synonyms=("regulated pressure",)),
        Column("least_flow", "Minimum flow", "flow", "Flow under which the part does not work",
               minimum=0, maximum=_MOST_FLOW, former=("least flow",)),
        Column("greatest_flow", "Maximum flow", "flow", "Flow that it takes at most", above=0,
               maximum=_MOST_FLOW, former=("greatest flow",)),
        Column("least_inlet", "Minimum inlet pressure", "pressure",
               "Pressure that it needs before it", minimum=0, maximum=_MOST_PRESSURE,
               former=("least inlet pressure",)),
        Column("note", "Note", "text", "Anything to remember", internal=True),
    ),
    begins="all",
)  # fmt: skip

REGULATORS = Table(
    "Regulators",
    "Regulators that could be fitted in place of the one above, by their names on Prices. Whole"
    " designs are compared over them; with no row the one above is kept.",
    (
        Column("regulator", "Regulator", "text", "Its name, as on Prices", required=True),
        *(HEAD_PARTS[name] for name in (
            "preset", "loss", "loss_flow", "least_flow", "greatest_flow", "least_inlet", "note")),
    ),
    begins="all",
)  # fmt: skip


SUPPLY_IN_USE = Section(
    "Supply in use",
    "Which of the supplies below feeds the garden, and in what state it is judged.",
    (
        Column("supply_used", "Supply in use", "text",
               "By its name below; blank: the tap that was measured on Setup",
               one_of=("Supplies", "supply")),
        Column("dirty_filters", "Filters due for cleaning", "flag",
               "yes: judged by the loss of dirty filters, the worse case; no: by clean ones",
               default=True),
        Column("tank_drawn", "Drawn from the tank", "volume",
               "Tank: volume drawn since it was full; its level falls by it", default=0.0,
               minimum=0),
    ),
)  # fmt: skip

PRESSURE_WANTED = Section(
    "Targets",
    "What every bed is held to. Beds of one valve run together; a bed without a valve runs alone.",
    (
        Column("wanted_share", "Share of the planned flow", "ratio",
               "A bed that gets less of its nominal flow is too dry", default=0.9, above=0,
               maximum=1),
        Column("wanted_uniformity", "Emission uniformity", "ratio",
               "Lowest emitter flow of a bed over its mean; the maker's variation counts",
               default=0.85, minimum=0, maximum=0.999),
        Column("max_velocity", "Velocity in pipes, at most", "velocity",
               "5 ft/s or 1.5 m/s by common practice", default=1.524, above=0, maximum=10),
        Column("keep_valves", "Keep beds of a valve together", "flag",
               "yes: the sets proposed keep the valves as they are; no: every bed is free",
               default=False),
    ),
)  # fmt: skip

START_OF_MAIN = Table(
    "StartOfMain",
    "The pressure at the start of the main at each flow.",
    (
        Column("flow", "Flow", "flow", "Flow of the point", required=True, minimum=0,
               synonyms=("supply flow",)),
        Column("pressure", "Start of the main", "pressure", "Pressure there at this flow",
               required=True, minimum=0, synonyms=("supply pressure", "inlet pressure")),
    ),
)  # fmt: skip

LIMITS = Table(
    "Limits",
    "What beds are held to, one a row.",
    (
        *PRESSURE_WANTED.settings,
        Column("open_flow", "Maximum flow of the supply", "flow",
               "Flow of the supply by the bucket test", above=0),
        Column("supply_share", "Share of the supply to use", "ratio",
               "Share of that flow to use at a time", above=0, maximum=1),
        Column("least_flow", "Minimum flow of the head assembly", "flow",
               "Flow from which every part of the head assembly works", minimum=0),
        Column("greatest_flow", "Maximum flow of the head assembly", "flow",
               "Flow up to which every part works", minimum=0),
        Column("most_pressure", "Most pressure at the start", "pressure",
               "Most that can stand at the start of the main", above=0),
        Column("roughness", "Roughness", "roughness", "Roughness of the pipes", minimum=0),
    ),
)  # fmt: skip
