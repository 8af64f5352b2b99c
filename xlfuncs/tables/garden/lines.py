"""Lines and pipes: what can be laid, as it is sold."""

from xlfuncs.tables.columns import Column, Table

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
