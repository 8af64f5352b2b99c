"""Counting rules: what makes one more of a part, as rows that can be edited."""

from xlfuncs.tables.columns import Column, Table

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
