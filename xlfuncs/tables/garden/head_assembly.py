"""The water supplies of a farm, the one in use, the parts between it and the main, and what the
pressure of a plan is held to."""

from xlfuncs.tables.columns import section, table

SUPPLIES = table("Supplies")

SUPPLY_KINDS = SERVICE, WELL, PUMP, TANK = SUPPLIES["kind"].choices
ON_SETUP = SERVICE, TANK  # kinds of which Setup says what was measured

PUMP_CURVES = table("PumpCurves")
HEAD_PARTS = table("HeadParts")

_, TIMER_PART, BACKFLOW_PREVENTER, FILTER, REGULATOR, _ = HEAD_PARTS["kind"].choices

REGULATORS = table("Regulators")
SUPPLY_IN_USE = section("Supply in use")
PRESSURE_WANTED = section("Targets")
START_OF_MAIN = table("StartOfMain")
LIMITS = table("Limits", *PRESSURE_WANTED.settings)
