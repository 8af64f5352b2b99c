"""The bed list: one row a bed, as measured in the garden."""

from xlfuncs.tables.columns import table

BEDS = table(
    "Beds",
    "One row per bed. Measure the planted strips for the water and the bed top for the lines.",
    most=800,
)

BED_PLAN = table(
    "BedPlan",
    "One row per crop in a bed. A bed without a row in a month lies fallow then and gets no water.",
)

COVERS = OPEN_GROUND, PLASTIC_MULCH, TUNNEL = BEDS["cover"].choices
