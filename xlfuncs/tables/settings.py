"""The single values that a plan rests on, in sections; each is a defined name in the workbook."""

from xlfuncs.tables.columns import section

PLAN = section("This plan", "Who and what the plan is for.")

SUPPLY = section(
    "Supply", "Measured at the tap that feeds the garden, at the hour when the garden is watered."
)

TARGET = section(
    "Target",
    "How much water the beds should get. Say the depth that the crops need; what is lost on the"
    " way is covered by the efficiency, here and nowhere else.",
)

LEDGER_AND_YEARS = section(
    "Ledger and years",
    "How the ledger is read and which year is compared with the one before it.",
)

RUNNING_COST = section(
    "Running cost", "What a season costs. Leave out what the garden does not pay for."
)

PLACE_AND_SEASON = section(
    "Place and season",
    "What the water need by month rests on, with weather, crops and the bed plan.",
)

COMPASS = PLAN["main_runs"].choices
FIRST_MONTH = LEDGER_AND_YEARS["first_month"]
SECTIONS = (PLAN, SUPPLY, TARGET, PLACE_AND_SEASON, LEDGER_AND_YEARS, RUNNING_COST)
