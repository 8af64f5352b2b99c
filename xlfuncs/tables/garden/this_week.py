"""Weather as a grower has it, monthly means for planning and a daily log for the season; what else
a grower notes, and what the advice for a week rests on."""

from xlfuncs.tables.columns import section, table
from xlfuncs.tables.garden.beds import OPEN_GROUND, PLASTIC_MULCH, TUNNEL
from xlfuncs.tables.settings import FIRST_MONTH

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

MONTHLY_WEATHER = table(
    "MonthlyWeather",
    "Twelve rows, from a climate table of a station near you. Blank columns follow FAO-56's rules.",
)

WEATHER_LOG = table(
    "WeatherLog",
    "One row a day, or one a week with the week's mean temperatures on its last day. A rain gauge"
    " alone will do: then reference ET comes from the month.",
    begins="none",
)

BED_NOTES = table(
    "BedNotes",
    "What was found or given in a bed beyond the advice. Only what you know; blank is no harm.",
    begins="none",
)

THIS_WEEK = section("Once", "What the reckoning starts from; then only the log below, each Monday.")
AT_PLANTING = THIS_WEEK["at_planting"].choices

WEEK_SETTINGS = table("WeekSettings", "Labels and values.", *THIS_WEEK.settings)

LOGGED_SETTINGS = table(
    "LoggedSettings",
    "Labels and values: those of the week, and when the accounts' year begins.",
    *WEEK_SETTINGS.columns,
    FIRST_MONTH,
)

FIELD_CHECKS = table(
    "FieldChecks",
    "One row a check of a bed, with its valve open and its lines full: the flow by the water meter,"
    " the pressure by a gauge at the end of the farthest line.",
    begins="none",
)

CATCH_TESTS = table(
    "CatchTests",
    "One row a catch test of a bed: cups of one kind under emitters spread over it, near and far,"
    " first line and last; what each caught, as a flow, or as it is for the uniformity alone.",
    begins="none",
)
CUPS = sum(name.startswith("cup_") for name in CATCH_TESTS.names)
"""Emitters of a catch test; a quarter of them is the low quarter."""
