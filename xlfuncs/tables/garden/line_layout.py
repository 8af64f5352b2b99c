"""The bed for which line layouts are compared: its width, what grows in it, the line laid."""

from xlfuncs.tables.columns import Column
from xlfuncs.tables.settings import Section

LINE_LAYOUT = Section(
    "The bed to lay lines in",
    "One layout that stays in place and suits all that will grow in the bed over the years.",
    (
        Column("layout_width", "Bed top width", "width",
               "From edge to edge; blank: nothing is compared", above=0, maximum=30),
        Column("layout_single_row", "A single row", "flag", "Down the middle of the bed",
               default=True),
        Column("layout_twin_rows", "Twin rows", "flag", "Two rows side by side", default=True),
        Column("layout_zigzag", "Zigzag", "flag", "Two rows, the plants of one between those of"
               " the other", default=True),
        Column("layout_broad_cover", "Broad cover", "flag", "Sown or planted from edge to edge",
               default=True),
        Column("layout_row_gap", "Between two rows", "width",
               "Blank: half the bed for twin rows, a third of it for zigzag (common practice)",
               above=0, maximum=30),
        Column("layout_strip_width", "Width of a strip", "width",
               "Where the bed is planted in strips; blank: no strips", above=0, maximum=30),
        Column("layout_strips", "Strips", "count", "How many share the bed evenly", default=2,
               minimum=1, maximum=20),
        Column("layout_line", "Line", "text",
               "Its emitter spacing narrows the band that is wet all along; blank: left out",
               one_of=("Lines", "line")),
        Column("layout_lines", "Lines to lay", "count",
               "Shown below, where each of them lies; blank: the fewest that serve all",
               minimum=1, maximum=6),
        Column("measured_intake", "Intake rate, measured", "intake_rate",
               "Long-term rate of your soil by a ring test; blank: that of the soil on Soils",
               above=0, maximum=500),
    ),
)  # fmt: skip
