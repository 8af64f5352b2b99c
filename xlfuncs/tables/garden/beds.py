"""The bed list: one row a bed, as measured in the garden."""

from xlfuncs.tables.columns import Column, Table

OPEN_GROUND, PLASTIC_MULCH, TUNNEL = "open", "plastic mulch", "tunnel"
COVERS = (OPEN_GROUND, PLASTIC_MULCH, TUNNEL)

BEDS = Table(
    "Beds",
    "One row per bed. Measure the planted strips for the water and the bed top for the lines.",
    (
        Column(
            "bed", "Bed", "text", "Name or number of the bed, each only once",
            required=True,
            synonyms=("bed name", "name", "bed no", "bed number", "bed #", "bed id", "id", "no",
                      "number", "row", "row name", "plot", "block"),
        ),
        Column(
            "strips", "Strips", "count", "Planted strips side by side in the bed (default 1)",
            minimum=1, maximum=100, default=1,
            synonyms=("planted strips", "number of strips", "no of strips", "strip count"),
        ),
        Column(
            "strip_width", "Strip width", "width", "Width of one planted strip",
            required=True, above=0, maximum=30,
            synonyms=("how wide", "planted width", "width", "bed width", "width of strip",
                      "strip wide", "growing width", "wide"),
        ),
        Column(
            "length", "Length", "length", "Length of the bed, which is that of its lines",
            required=True, above=0, maximum=3000,
            synonyms=("how long", "bed length", "row length", "length of bed", "line length", "run",
                      "long", "len", "lateral length"),
        ),
        Column(
            "bed_top_width", "Bed top width", "width",
            "Width of the bed top from edge to edge; blank: the strips alone",
            above=0, maximum=30,
            synonyms=("bed width", "top width", "bed top", "width of bed top", "overall width",
                      "total width", "bed width overall"),
        ),
        Column(
            "line", "Line", "text", "Which drip line lies in the bed, by its name on Lines",
            required=True,
            synonyms=("line type", "drip line", "dripline", "tape", "drip tape", "tape type",
                      "lateral type", "line name", "tubing"),
        ),
        Column(
            "laterals", "Laterals", "count", "Drip lines side by side along the bed",
            required=True, minimum=0, maximum=1000,
            synonyms=("lines", "number of lines", "no of lines", "lines per bed", "line count",
                      "number of tapes", "number of drip lines",
                      "tapes", "tapes per bed", "drip lines", "driplines", "number of laterals",
                      "laterals per bed", "runs"),
        ),
        Column(
            "inset", "Inset", "width",
            "From the edge of the bed top to the outermost line; blank: half a line spacing",
            minimum=0, maximum=15,
            synonyms=("line inset", "edge to line", "edge distance", "setback"),
        ),
        Column(
            "distance", "Distance", "length",
            "From the supply along the pipe to where the bed branches off",
            required=True, minimum=0, maximum=10000,
            synonyms=("how far along the pipe", "along pipe", "along the pipe",
                      "distance along main", "distance along the main", "distance from supply",
                      "distance from tap", "distance from source", "distance from valve",
                      "dist", "distance to bed", "from tap", "along main", "from spigot",
                      "from faucet", "from hydrant", "from source", "from supply",
                      "from the tap", "from the spigot", "from the supply"),
        ),
        Column(
            "main_pipe", "Main pipe", "text",
            "Pipe from the supply to where the bed branches off, by its name on the sheet Lines",
            synonyms=("main", "mainline", "main line", "supply pipe", "pipe", "feed pipe"),
        ),
        Column(
            "branch", "Branch", "count", "Number of the branch of the main; 0 is the main itself",
            minimum=0, maximum=1000, default=0,
            synonyms=("branch number", "branch no", "submain", "sub main", "leg"),
        ),
        Column(
            "branch_start", "Branch start", "length",
            "Where that branch leaves the main, from the supply; 0 for the main itself",
            minimum=0, maximum=10000, default=0.0,
            synonyms=("branch starts at", "start of branch", "submain start", "branch at"),
        ),
        Column(
            "manifold_pipe", "Manifold pipe", "text",
            "Pipe across the head of the bed that feeds its lines, by its name on the sheet Lines;"
            " blank: lines straight off the main",
            synonyms=("manifold", "header", "header pipe", "manifold type"),
        ),
        Column(
            "elevation", "Elevation", "elevation",
            "Height of the bed's head above the supply; below it negative",
            minimum=-500, maximum=500, default=0.0,
            synonyms=("height", "elevation above supply", "rise", "elev", "level",
                      "height above tap"),
        ),
        Column(
            "slope", "Slope", "slope",
            "Slope along the lines; rising away from their inlet positive",
            minimum=-0.5, maximum=0.5, default=0.0,
            synonyms=("grade", "fall", "slope along bed", "bed slope", "gradient"),
        ),
        Column(
            "valve", "Valve", "text", "Valve that opens the bed; beds of one valve run together",
            synonyms=("zone", "valve number", "valve no", "valve #", "station", "group",
                      "valve group", "irrigation zone", "water zone", "watering group",
                      "open together", "opens together", "runs together", "same valve"),
        ),
        Column(
            "cover", "Cover", "text",
            "What lies over the bed: rain counts only on open ground (default open)",
            choices=COVERS, default=OPEN_GROUND,
            synonyms=("covered", "mulch", "protection", "under cover", "surface"),
        ),
        Column(
            "on", "On", "flag",
            "yes where the bed is watered, no where it lies fallow (default yes)",
            default=True,
            synonyms=("on/off", "on off", "active", "in use", "watered", "irrigated", "running",
                      "status"),
        ),
        Column(
            "notes", "Notes", "text", "Anything worth remembering; never in a client's copy",
            internal=True,
            synonyms=("note", "remarks", "remark", "comment", "comments", "memo"),
        ),
    ),
    most=800,
)  # fmt: skip


BED_PLAN = Table(
    "BedPlan",
    "One row per crop in a bed. A bed without a row in a month lies fallow then and gets no water.",
    (
        Column(
            "bed", "Bed", "text", "Name of the bed, as in the bed list",
            required=True, one_of=("Beds", "bed"),
            synonyms=("bed name", "bed no", "bed number", "bed #", "bed id", "plot", "block"),
        ),
        Column(
            "crop", "Crop", "text", "Name of the crop, as in the crop table",
            required=True, one_of=("Crops", "crop"),
            synonyms=("crop name", "planting", "planted with", "what", "vegetable"),
        ),
        Column(
            "start", "From", "date", "First day that the bed is watered for the crop",
            required=True,
            synonyms=("start", "start date", "planted", "plant date", "planting date", "sown",
                      "transplanted", "begin", "date in"),
        ),
        Column(
            "end", "To", "date", "Last day that the bed is watered for the crop",
            required=True,
            synonyms=("end", "end date", "until", "till", "harvest end", "last harvest", "out",
                      "removed", "date out", "cleared"),
        ),
    ),
)  # fmt: skip
