"""The supply that is in use, and what the pressure of a plan is held to."""

from xlfuncs.tables.columns import Column, Table
from xlfuncs.tables.settings import Section

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
