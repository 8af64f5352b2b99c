"""Lines and pipes: what can be laid, as it is sold."""

from xlfuncs.tables.columns import Column, Table
from xlfuncs.tables.settings import Section

TAPE, DRIP_LINE, COMPENSATING = "tape", "drip line", "compensating"
LINE_KINDS = (TAPE, DRIP_LINE, COMPENSATING)

LINES = Table(
    "Lines",
    "One row a kind of drip line, as its data sheet gives it: flow of one emitter, or flow per"
    " length, always at its rated pressure.",
    (
        Column("line", "Line", "text", "Your own name for this line", required=True),
        Column(
            "kind", "Kind", "text",
            "tape (thin wall), drip line (thick wall), or compensating (emitters that hold their"
            " flow)",
            required=True, choices=LINE_KINDS,
        ),
        Column(
            "emitter_spacing", "Emitter spacing", "width", "Distance between emitters",
            required=True, above=0, maximum=5, synonyms=("spacing", "outlet spacing"),
        ),
        Column(
            "emitter_flow", "Emitter flow", "emitter_flow",
            "Flow of one emitter as sold; or leave blank and give the flow per length",
            above=0, maximum=24e-3 / 3600, synonyms=("flow per emitter",),
        ),
        Column(
            "flow_per_length", "Flow per length", "flow_per_length",
            "Flow per length as sold; or leave blank and give the emitter flow",
            above=0, maximum=50e-3 / 3600,
        ),
        Column(
            "rated_pressure", "Rated pressure", "pressure",
            "Pressure at which the flow is given; there is no usual value, read the data sheet",
            required=True, above=0, maximum=1e6,
        ),
        Column(
            "exponent", "Exponent", "number",
            "Emitter discharge exponent: about 0.5 for most, 0 for compensating",
            minimum=0, maximum=1, default=0.5,
        ),
        Column(
            "cv", "CV", "number", "Manufacturer's coefficient of variation, as a number: 0.03",
            minimum=0, maximum=0.5,
        ),
        Column(
            "min_pressure", "Minimum pressure", "pressure", "Lowest working pressure",
            above=0, maximum=1e6, former=("least pressure",),
        ),
        Column(
            "max_pressure", "Maximum pressure", "pressure", "Highest working pressure",
            above=0, maximum=1e6, former=("greatest pressure",),
        ),
        Column(
            "inside_diameter", "Inside diameter", "diameter",
            "Inside diameter, measured or from the data sheet, never the nominal size",
            required=True, above=0, maximum=0.1, synonyms=("id", "bore"),
        ),
        Column("outside_diameter", "Outside diameter", "diameter", "Outside diameter",
               above=0, maximum=0.1, synonyms=("od",)),
        Column("wall", "Wall", "wall", "Wall thickness", above=0, maximum=0.005),
        Column("passage", "Narrowest passage", "wall",
               "Narrowest way through an emitter, from the data sheet: what the filter must keep"
               " out; blank: a filter of 120 mesh or finer is asked for", above=0, maximum=0.01),
        Column("roll_length", "Roll length", "length",
               "Length of a roll, for comparing lines; what is bought is priced on Prices",
               above=0),
        Column("roll_price", "Roll price", "money",
               "Price of that roll, for comparing; what is bought is priced on Prices", minimum=0,
               internal=True),
        Column("note", "Note", "text", "Anything to remember", internal=True),
    ),
    begins="all",
)  # fmt: skip

PIPES = Table(
    "Pipes",
    "One row a kind of pipe for mains, branches and manifolds.",
    (
        Column("pipe", "Pipe", "text", "Your own name for this pipe", required=True),
        Column(
            "inside_diameter", "Inside diameter", "diameter",
            "Inside diameter, measured or from the data sheet, never the nominal size",
            required=True, above=0, maximum=0.5, synonyms=("id", "bore"),
        ),
        Column("outside_diameter", "Outside diameter", "diameter", "Outside diameter",
               above=0, maximum=0.5, synonyms=("od",)),
        Column("roughness", "Roughness", "roughness", "Roughness (default: smooth plastic)",
               minimum=0, maximum=0.001),
        Column("max_pressure", "Maximum pressure", "pressure", "Highest working pressure",
               above=0, maximum=2e6, former=("greatest pressure",)),
        Column("note", "Note", "text", "Anything to remember", internal=True),
    ),
    begins="all",
)  # fmt: skip


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
