"""The bed list: one row a bed, as measured in the garden."""

from xlfuncs.tables.columns import table

BEDS = table("Beds")
BED_PLAN = table("BedPlan")

COVERS = OPEN_GROUND, PLASTIC_MULCH, TUNNEL = BEDS["cover"].choices
