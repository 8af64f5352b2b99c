"""The single values that a plan rests on, in sections; each is a defined name in the workbook."""

from dataclasses import dataclass

from xlfuncs.tables.columns import Column


@dataclass(frozen=True)
class Section:
    """Settings that belong together."""

    title: str
    help: str
    settings: tuple[Column, ...]


COMPASS = ("north", "northeast", "east", "southeast", "south", "southwest", "west", "northwest")

PLAN = Section(
    "This plan",
    "Who and what the plan is for.",
    (
        Column("farm", "Farm", "text", "Name of the farm or garden", required=True),
        Column("plan_date", "Plan date", "date", "Date that prices and seasons are judged by",
               required=True),
        Column("currency", "Currency", "text", "Currency of every price and amount",
               required=True),
        Column("main_runs", "Main runs toward", "text",
               "From the supply, by the compass; blank: no north arrow on the map",
               choices=COMPASS),
        Column("garden_area", "Garden with paths", "area",
               "The whole garden, beds and paths together; cost per area is also given for it",
               above=0),
    ),
)  # fmt: skip

SUPPLY = Section(
    "Supply",
    "Measured at the tap that feeds the garden, at the hour when the garden is watered.",
    (
        Column("bucket_volume", "Volume caught", "volume", "Water caught in the bucket test",
               required=True, above=0),
        Column("bucket_seconds", "Seconds it took", "seconds", "Seconds until it was full",
               required=True, above=0),
        Column("static_pressure", "Static pressure", "pressure",
               "Pressure at the tap with nothing running, by a gauge", required=True, above=0,
               maximum=1.5e6),
        Column("supply_share", "Share of the supply to use", "ratio",
               "Part of the measured flow that the garden may take (0.75 by common practice)",
               default=0.75, above=0, maximum=1),
    ),
)  # fmt: skip

TARGET = Section(
    "Target",
    "How much water the beds should get. Say the depth that the crops need; what is lost on the"
    " way is covered by the efficiency, here and nowhere else.",
    (
        Column("weekly_depth", "Net depth per week", "depth",
               "Depth of water a week that the crops need in the hottest part of the season",
               required=True, above=0, maximum=200, synonyms=("net depth a week",)),
        Column("waterings_a_week", "Waterings per week", "number", "Days with water in a week",
               default=3, above=0, maximum=28, synonyms=("waterings a week",)),
        Column("efficiency", "Efficiency", "ratio",
               "Part of the water that serves the crops: at most the lines' uniformity; about 0.9"
               " for lines in order",
               default=0.9, above=0, maximum=1),
        Column("efficiency_by", "Efficiency by", "text",
               "typed: the number above; design: the emission uniformity on Pressure, which"
               " another design changes, and with it the minutes; measured: the catch tests. One"
               " stands for all losses, so none is counted twice",
               choices=("typed", "design", "measured"), default="typed"),
    ),
)  # fmt: skip

FIRST_MONTH = Column(
    "first_month", "First month of a year", "count",
    "1 for calendar years; a fiscal year is named by the year it ends in", default=1,
    minimum=1, maximum=12,
)  # fmt: skip
LEDGER_AND_YEARS = Section(
    "Ledger and years",
    "How the ledger is read and which year is compared with the one before it.",
    (
        FIRST_MONTH,
        Column("ledger_from", "Ledger from", "date",
               "First day of the years compared, though its first bill may begin before it; blank:"
               " the first day of its first year"),
        Column("ledger_through", "Ledger through", "date",
               "Last day that it covers; a part year is compared with the same part. Blank: the"
               " last day of its last year"),
        Column("compare_year", "Year to explain", "count",
               "Compared with the year before it; blank: the last year of the ledger",
               minimum=1900, maximum=2200),
        Column("meter_register", "Meter rolls over at", "billed_volume",
               "What the meter would show when it rolls over to zero; blank: not known",
               above=0, synonyms=("meter starts again at",)),
    ),
)  # fmt: skip

RUNNING_COST = Section(
    "Running cost",
    "What a season costs. Leave out what the garden does not pay for.",
    (
        Column("season_weeks", "Weeks of watering", "number",
               "Weeks at the net depth a week above; blank: the year's water by Need, rain counted",
               above=0, maximum=53),
        Column("season_bills", "Water bills in the season", "count",
               "Number of bills that share the season's water", default=3, minimum=1, maximum=53),
        Column("interest", "Interest a year", "ratio",
               "On the money in the equipment; 0 spreads the price evenly over the life",
               default=0.0, minimum=0, maximum=1),
        Column("plan_years", "Years to plan for", "count", "Of the replacement plan", default=10,
               minimum=1, maximum=20),
        Column("pumping_pressure", "Pump pressure", "pressure",
               "At the pump's outlet; blank where no pump of yours lifts the water", above=0,
               maximum=1.5e6),
        Column("pump_lift", "Lift", "head", "From the water level to the pump's outlet",
               minimum=-50, maximum=1000),
        Column("pump_efficiency", "Pumping efficiency", "ratio",
               "Of the whole plant, from the electricity meter to the water", above=0, maximum=1),
        Column("energy_price", "Price of electricity", "money", "Price of a kWh", minimum=0),
        Column("season_hours", "Labour a season", "hours",
               "Hours of laying, mending and taking up lines", minimum=0),
        Column("hour_cost", "Cost of an hour", "money", "What an hour of that labour costs",
               minimum=0),
    ),
)  # fmt: skip

PLACE_AND_SEASON = Section(
    "Place and season",
    "What the water need by month rests on, with weather, crops and the bed plan.",
    (
        Column("latitude", "Latitude", "latitude", "Degrees north; south of the equator negative",
               required=True, minimum=-90, maximum=90),
        Column("site_elevation", "Elevation of the site", "elevation", "Height above the sea",
               required=True, minimum=-450, maximum=6000),
        Column("near_coast", "Near a coast", "flag",
               "yes within sight of open water; counts where Weather gives neither sunshine nor"
               " radiation", default=False),
        Column("soil", "Soil", "text", "Your soil, by its texture: choose one", required=True,
               one_of=("Soils", "soil")),
        Column("season_start", "Season from", "date",
               "First day that beds may be watered; the season is a year at most", required=True),
        Column("season_end", "Season to", "date",
               "Last day that beds may be watered; blank: a year from the start"),
        Column("allowed_depletion", "Allowed depletion", "ratio",
               "Share of the soil's available water that may be used before watering; blank: that"
               " of each crop, less on hot days", minimum=0.1, maximum=0.8),
        Column("rain_counted", "Rain counted on", "text",
               "For the minutes by month. dependable: in four years of five (FAO); mean: as in a"
               " mean year, short in every other; none: the timer is turned down by hand",
               choices=("dependable", "mean", "none"), default="dependable"),
        Column("water_salinity", "Salinity of the water", "salinity",
               "From a water test; blank: nothing is added to leach salt", minimum=0, maximum=30),
    ),
)  # fmt: skip

SECTIONS = (PLAN, SUPPLY, TARGET, PLACE_AND_SEASON, LEDGER_AND_YEARS, RUNNING_COST)
