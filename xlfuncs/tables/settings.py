"""The single values that a plan rests on, in sections; each is a defined name in the workbook."""

from xlfuncs.tables.columns import section

PLAN = section("This plan")
SUPPLY = section("Supply")
TARGET = section("Target")
LEDGER_AND_YEARS = section("Ledger and years")
RUNNING_COST = section("Running cost")
PLACE_AND_SEASON = section("Place and season")

COMPASS = PLAN["main_runs"].choices
FIRST_MONTH = LEDGER_AND_YEARS["first_month"]
SECTIONS = (PLAN, SUPPLY, TARGET, PLACE_AND_SEASON, LEDGER_AND_YEARS, RUNNING_COST)
