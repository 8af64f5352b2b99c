"""Weather as a grower has it, monthly means for planning and a daily log for the season; what else
a grower notes, and what the advice for a week rests on."""

from xlfuncs.tables.columns import Column, Table
from xlfuncs.tables.garden.beds import OPEN_GROUND, PLASTIC_MULCH, TUNNEL
from xlfuncs.tables.settings import FIRST_MONTH, Section

# Share of the rain that gets to the roots. A roof keeps it off. On plastic mulch plants "receive
# water only from the irrigation system" (Alabama Cooperative Extension ANR-654), and Penn State
# Extension (2013, how long to run drip irrigation) subtracts rain on bare ground only.
RAIN_SHARE = {OPEN_GROUND: 1.0, PLASTIC_MULCH: 0.0, TUNNEL: 0.0}

# What a cover leaves of the water that a crop uses in the open. Plastic mulch: drip-watered
# cucumber used 15.6 % less under black plastic than on bare ground (Yaghi, Arslan and Naoum 2013,
# yield over water use efficiency); elsewhere pepper used no less (Shukla et al. 2012). Tunnel:
# common practice says 0.6 to 0.8 of outside, a glasshouse was measured at 0.64 (Amiri,
# Abedi-Koupai and Eslamian 2018); the wet end here. A probe in the bed knows better.
USE_SHARE = {OPEN_GROUND: 1.0, PLASTIC_MULCH: 0.85, TUNNEL: 0.8}

# The day of the year on which FAO-56 table 2.6 takes each month: its 15th.
MID_MONTH_DAYS = (15, 46, 74, 105, 135, 166, 196, 227, 258, 288, 319, 349)

GREATEST = Column("max_temperature", "Maximum temperature", "temperature",
              "Mean of the days' greatest temperatures", required=True, minimum=-60, maximum=60,
              former=("greatest temperature",), synonyms=("tmax", "max temp", "high", "mean high",
                        "average high"))  # fmt: skip
LEAST = Column("min_temperature", "Minimum temperature", "temperature",
              "Mean of the days' least temperatures", required=True, minimum=-60, maximum=60,
              former=("least temperature",), synonyms=("tmin", "min temp", "low", "mean low",
                        "average low"))  # fmt: skip
RAIN = Column("rain", "Rain", "depth", "Depth of rain", required=True, minimum=0, maximum=3000,
               synonyms=("rainfall", "precipitation", "precip", "rain gauge"))  # fmt: skip
_OTHERS = (
    Column("wind", "Wind", "wind", "Mean wind at 2 m above the ground; blank: 2 m/s",
           minimum=0, maximum=40, synonyms=("wind speed", "mean wind")),
    Column("max_humidity", "Maximum humidity", "ratio", "Mean of the greatest relative humidity",
           above=0, maximum=1, former=("greatest humidity",),
           synonyms=("rhmax", "rh max", "max humidity")),
    Column("min_humidity", "Minimum humidity", "ratio", "Mean of the least relative humidity",
           above=0, maximum=1, former=("least humidity",),
           synonyms=("rhmin", "rh min", "min humidity")),
    Column("sunshine", "Sunshine", "hours", "Hours of bright sunshine a day",
           minimum=0, maximum=86400, synonyms=("sun hours", "sunshine hours")),
    Column("radiation", "Solar radiation", "radiation", "Solar radiation, where it is measured",
           minimum=0, maximum=50, synonyms=("solar", "rs", "solar radiation")),
)  # fmt: skip

MONTHLY_WEATHER = Table(
    "MonthlyWeather",
    "Twelve rows, from a climate table of a station near you. Blank columns follow FAO-56's rules.",
    (
        Column("month", "Month", "count", "Month, 1 to 12", required=True, minimum=1, maximum=12,
               synonyms=("month number", "m")),
        GREATEST,
        LEAST,
        RAIN,
        *_OTHERS,
    ),
)  # fmt: skip

WEATHER_LOG = Table(
    "WeatherLog",
    "One row a day, or one a week with the week's mean temperatures on its last day. A rain gauge"
    " alone will do: then reference ET comes from the month.",
    (
        Column("date", "Date", "date", "Day", required=True, synonyms=("day", "when")),
        Column("rain", "Rain", "depth", "Rain of the day; blank: none", minimum=0, maximum=500,
               default=0.0, synonyms=RAIN.synonyms),
        Column("max_temperature", "Maximum temperature", "temperature",
               "Maximum temperature of the day", minimum=-60, maximum=60,
               former=GREATEST.former, synonyms=GREATEST.synonyms),
        Column("min_temperature", "Minimum temperature", "temperature",
               "Minimum temperature of the day", minimum=-60, maximum=60,
               former=LEAST.former, synonyms=LEAST.synonyms),
        Column("reference_et", "Reference ET", "et",
               "Reference evapotranspiration of the day, where a station gives it",
               minimum=0, maximum=20, synonyms=("et0", "eto", "et", "evapotranspiration")),
        Column("watered", "Watered", "ratio",
               "Share of the advised water that was given that day; blank: as advised, 0: skipped",
               minimum=0, maximum=3, default=1.0, synonyms=("share watered", "given")),
    ),
    begins="none",
)  # fmt: skip

FINDINGS = ("dry", "fine", "wet")
BED_NOTES = Table(
    "BedNotes",
    "What was found or given in a bed beyond the advice. Only what you know; blank is no harm.",
    (
        Column("date", "Date", "date", "Day", required=True, synonyms=("day", "when")),
        Column("bed", "Bed", "text", "Name of the bed, as in the bed list", required=True,
               one_of=("Beds", "bed"), synonyms=("bed name", "plot")),
        Column("finding", "Feels", "text", "By hand, at half the depth of the roots",
               choices=FINDINGS, synonyms=("finding", "soil", "feel")),
        Column("probe", "Probe", "ratio", "Reading of a probe: available water left, 100 % is full",
               minimum=0, maximum=1, synonyms=("probe reading", "moisture")),
        Column("extra_minutes", "Extra minutes", "time",
               "Minutes of water beyond the advice, for instance by hand with the valve",
               minimum=0, maximum=86400, synonyms=("extra", "by hand")),
    ),
    begins="none",
)  # fmt: skip

AT_PLANTING = ("wet", "moist", "dry")
THIS_WEEK = Section(
    "Once",
    "What the reckoning starts from; then only the log below, each Monday.",
    (
        Column("at_planting", "Soil at planting", "text",
               "How wet beds are when they are planted; not taken for full", choices=AT_PLANTING,
               default="moist"),
        Column("least_run", "Shortest run", "time",
               "A run that is worth filling the lines for; shorter ones become fewer and longer",
               default=300.0, minimum=0, maximum=86400),
        Column("week_from", "Week from", "date",
               "The Monday to advise for; blank: the day after the last in the log"),
    ),
)  # fmt: skip
WEEK_SETTINGS = Table(
    "WeekSettings",
    "Labels and values.",
    (
        *THIS_WEEK.settings,
        Column("latitude", "Latitude", "latitude", "Degrees north; south negative", required=True),
        Column("soil_capacity", "Available water of the soil", "available_water",
               "Between field capacity and wilting point", required=True),
        Column("allowed_days", "Days", "text", "Days that may have water; blank: all", default=""),
        Column("efficiency", "Efficiency", "ratio", "Part of the water that serves the crops",
               default=0.9),
    ),
)  # fmt: skip

LOGGED_SETTINGS = Table(
    "LoggedSettings",
    "Labels and values: those of the week, and when the accounts' year begins.",
    (*WEEK_SETTINGS.columns, FIRST_MONTH),
)  # fmt: skip


CUPS = 16
"""Emitters of a catch test; a quarter of them is the low quarter."""

FIELD_CHECKS = Table(
    "FieldChecks",
    "One row a check of a bed, with its valve open and its lines full: the flow by the water meter,"
    " the pressure by a gauge at the end of the farthest line.",
    (
        Column("bed", "Bed", "text", "Which bed, by its name on Beds", required=True,
               one_of=("Beds", "bed")),
        Column("checked_on", "Date", "date", "Day of the check"),
        Column("metered_flow", "Metered flow", "flow",
               "Flow of the bed alone: what the meter shows with this bed open less without it",
               minimum=0, maximum=2000 / 3600),
        Column("far_pressure", "Far-end pressure", "pressure",
               "By a gauge at the end of the bed's farthest line, while it runs", minimum=0,
               maximum=2e6),
        Column("note", "Note", "text", "Anything to remember", internal=True),
    ),
    begins="none",
)  # fmt: skip

CATCH_TESTS = Table(
    "CatchTests",
    "One row a catch test of a bed: cups of one kind under emitters spread over it, near and far,"
    " first line and last; what each caught, as a flow, or as it is for the uniformity alone.",
    (
        Column("bed", "Bed", "text", "Which bed, by its name on Beds", required=True,
               one_of=("Beds", "bed")),
        Column("checked_on", "Date", "date", "Day of the test"),
        *(Column(f"cup_{i}", f"Cup {i}", "emitter_flow", "Flow caught under one emitter",
                 minimum=0, maximum=100e-3 / 3600) for i in range(1, CUPS + 1)),
        Column("note", "Note", "text", "Anything to remember", internal=True),
    ),
    begins="none",
)  # fmt: skip
