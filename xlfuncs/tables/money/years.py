"""What the comparison of years needs to know of each year beside the ledger."""

from xlfuncs.tables.columns import Column, Table

YEARS = Table(
    "Years",
    "One row a year. Fill a column for every year compared, or leave it empty.",
    (
        Column("year", "Year", "count", "The year; a fiscal year by the one it ends in",
               required=True, minimum=1900, maximum=2200),
        Column("planted_area", "Planted area", "area",
               "Area planted and watered that year; the change of area is told from that of use",
               above=0),
        Column("need", "Need beyond rain", "depth",
               "Depth of water that the crops needed beyond the rain; tells weather from use",
               above=0),
        Column("note", "Note", "text", "For yourself", internal=True),
    ),
    begins="none",
)  # fmt: skip
