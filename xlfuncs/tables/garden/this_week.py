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

MONTHLY_WEATHER = table("MonthlyWeather")
WEATHER_LOG = table("WeatherLog")
BED_NOTES = table("BedNotes")
THIS_WEEK = section("Once")
AT_PLANTING = THIS_WEEK["at_planting"].choices

WEEK_SETTINGS = table("WeekSettings", *THIS_WEEK.settings)
LOGGED_SETTINGS = table("LoggedSettings", *WEEK_SETTINGS.columns, FIRST_MONTH)
FIELD_CHECKS = table("FieldChecks")
CATCH_TESTS = table("CatchTests")
CUPS = sum(name.startswith("cup_") for name in CATCH_TESTS.names)
"""Emitters of a catch test; a quarter of them is the low quarter."""
