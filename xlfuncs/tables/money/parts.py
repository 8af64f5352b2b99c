"""Parts: what their ends fit, in the order in which the water meets them, and their winter."""

from xlfuncs.tables.columns import Column, Table

_ENDS = (
    "hose thread 3/4 in male, pipe thread 1/2 in female, barb 0.6 in, compression 0.70 in,"
    " tube 0.70 in x 0.60 in (outside by inside)"
)

PARTS = Table(
    "Parts",
    "The parts along the way of the water, from the tap on, each with what its two ends are.",
    (
        Column("part", "Part", "text", "Name of the part, as on the price list", required=True),
        Column("inlet", "Inlet", "text", f"End that the water comes in by: {_ENDS}"),
        Column("outlet", "Outlet", "text", f"End that the water leaves by: {_ENDS}"),
        Column("winter", "Winter", "text", "What becomes of it before frost"),
        Column("note", "Note", "text", "Anything to remember", internal=True),
    ),
    begins="all",
)  # fmt: skip
