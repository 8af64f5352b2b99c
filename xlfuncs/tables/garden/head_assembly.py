"""The water supplies of a farm, the one in use, the parts between it and the main, and what the
pressure of a plan is held to."""

from xlfuncs.tables.columns import section, table

SUPPLIES = table(
    "Supplies", "One row a supply, with what was measured of it. Fill in the columns of its kind."
)

SUPPLY_KINDS = SERVICE, WELL, PUMP, TANK = SUPPLIES["kind"].choices

PUMP_CURVES = table(
    "PumpCurves",
    "Points of the curve of each pump, from its data sheet; straight lines between them.",
)

HEAD_PARTS = table(
    "HeadParts",
    "The parts of the head assembly in the order of the flow, from their data sheets. Fit backflow"
    " protection as your local code asks.",
    begins="all",
)

_, _, BACKFLOW_PREVENTER, FILTER, REGULATOR, _ = HEAD_PARTS["kind"].choices

REGULATORS = table(
    "Regulators",
    "Regulators that could be fitted in place of the one above, by their names on Prices. Whole"
    " designs are compared over them; with no row the one above is kept.",
    begins="all",
)

SUPPLY_IN_USE = section(
    "Supply in use", "Which of the supplies below feeds the garden, and in what state it is judged."
)

PRESSURE_WANTED = section(
    "Targets",
    "What every bed is held to. Beds of one valve run together; a bed without a valve runs alone.",
)

START_OF_MAIN = table("StartOfMain", "The pressure at the start of the main at each flow.")

LIMITS = table("Limits", "What beds are held to, one a row.", *PRESSURE_WANTED.settings)
