"""What a grower notes in the season, and what the advice for a week rests on."""

from xlfuncs.tables.columns import Column, Table
from xlfuncs.tables.garden.weather import GREATEST, LEAST, RAIN
from xlfuncs.tables.settings import FIRST_MONTH, Section

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
               synonyms=GREATEST.synonyms),
        Column("min_temperature", "Minimum temperature", "temperature",
               "Minimum temperature of the day", minimum=-60, maximum=60,
               synonyms=LEAST.synonyms),
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
