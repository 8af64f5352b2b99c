"""Parts: what their ends fit and their winter, what makes one more of each, what is in store of
them, and how long they last."""

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


REGISTER = Table(
    "Store",
    "One row a purchase or a count. What a year used is what was there and was bought, less what"
    " is left; count every kind at each year's end, or never.",
    (
        Column("date", "Date", "date", "Date of the purchase or the count", required=True),
        Column("kind", "Kind", "text", "What it is: tape, fittings ...", required=True),
        Column("item", "Item", "text", "Which one, for yourself"),
        Column("bought", "Bought", "number",
               "Quantity bought, in the kind's unit; enter opening stock as bought, at its cost"),
        Column("amount", "Amount", "money", "What was paid for it"),
        Column("in_store", "In stock", "number", "What is left of the kind, on a day of counting",
               former=("in store",),
               minimum=0),
        Column("note", "Note", "text", "For yourself", internal=True),
    ),
    begins="none",
)  # fmt: skip


PART_LIVES = Table(
    "PartLives",
    "One row a kind of part. Lives are a range: sun, water, rodents and hoes decide.",
    (
        Column("part", "Part", "text", "What wears out", required=True),
        Column("cost", "Cost of replacing it", "money", "All of its kind together, with the work",
               required=True, minimum=0, internal=True),
        Column("shortest_life", "Short life", "years", "If things go badly", required=True,
               above=0, maximum=200),
        Column("likely_life", "Likely life", "years", "What to reckon with", required=True,
               above=0, maximum=200),
        Column("longest_life", "Long life", "years", "If things go well", required=True, above=0,
               maximum=200),
        Column("age", "Age", "years", "How old it is already", minimum=0, maximum=200,
               default=0.0),
        Column("salvage", "Salvage value", "money", "What it sells for then", minimum=0,
               default=0.0, former=("brings at its end",)),
        Column("note", "Note", "text", "For yourself", internal=True),
    ),
)  # fmt: skip


# What a rule can count by. Numbers first, then the lengths.
SYSTEM, BRANCH, BED, LINE = "system", "branch", "bed", "line"
PAIR, LAST_PAIR, SINGLE, LAST_SINGLE = "pair", "last pair", "single", "last single"
MAIN_END, TURN, VALVE, JOIN = "main end", "turn", "valve", "join"
VALVE_BY_TIMER, VALVE_BY_HAND = "valve by timer", "valve by hand"
MAIN_JOIN, WIRE_LENGTH = "main join", "wire length"
MAIN_LENGTH, MANIFOLD_LENGTH, LINE_LENGTH = "main length", "manifold length", "line length"
NUMBERS = (
    SYSTEM, BRANCH, BED, LINE, PAIR, LAST_PAIR, SINGLE, LAST_SINGLE, MAIN_END, TURN, VALVE, JOIN,
    VALVE_BY_TIMER, VALVE_BY_HAND, MAIN_JOIN,
)  # fmt: skip
# Which column of Beds names the pipe whose length a rule counts.
PIPES_COUNTED = {MAIN_LENGTH: "main_pipe", MANIFOLD_LENGTH: "manifold_pipe"}
LENGTHS = (MAIN_LENGTH, MANIFOLD_LENGTH, LINE_LENGTH, WIRE_LENGTH)
STAYS, DRAINS, INDOORS = "stays", "drains in place", "comes indoors"

COUNTING_RULES = Table(
    "CountingRules",
    "One row a part: what it is counted by, how many for each, spares, and where it spends the"
    " winter. Change any of it; rules of one part add up.",
    (
        Column("part", "Part", "text", "Name of the part, as on the price list", required=True),
        Column(
            "counted_by", "Counted by", "text",
            "system, branch, bed, line; where beds are fed: pair (two face each other), last pair,"
            " single, last single; main end, turn, join; valve, valve by timer (as many as it has"
            " stations), valve by hand; main join (where the main or a branch is longer than its"
            " roll); or a length: main, manifold, line, wire (along the mains)",
            required=True, choices=(*NUMBERS, *LENGTHS), synonyms=("per", "basis"),
        ),
        Column("each", "Each", "number", "How many for each of them (default 1)", minimum=0,
               default=1.0, synonyms=("quantity each", "number each")),
        Column(
            "every", "Every", "length",
            "With a length: one for every so much of it; blank: the length itself is bought. With"
            " main join: the length of a roll",
            above=0,
        ),
        Column("only_line", "Only for line", "text",
               "Only beds with this line, by its name on Lines, or with lines of this kind (tape,"
               " drip line, compensating); blank: all beds"),
        Column("spare_share", "Spare share", "ratio", "Spares as a share of the count (default 0)",
               minimum=0, maximum=2, default=0.0, synonyms=("spares",)),
        Column("least_spares", "Minimum spares", "count", "Spares at least (default 0)", minimum=0,
               default=0, former=("least spares",)),
        Column("winter", "Winter", "text", "What becomes of it before frost", default=STAYS,
               choices=(STAYS, DRAINS, INDOORS)),
        Column("why", "Why", "text", "The reason for the rule"),
    ),
    begins="all",
)  # fmt: skip
