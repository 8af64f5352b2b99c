"""Parts: what their ends fit and their winter, what makes one more of each, what is in store of
them, and how long they last."""

from xlfuncs.tables.columns import table

PARTS = table(
    "Parts",
    "The parts along the way of the water, from the tap on, each with what its two ends are.",
    begins="all",
)

REGISTER = table(
    "Store",
    "One row a purchase or a count. What a year used is what was there and was bought, less what"
    " is left; count every kind at each year's end, or never.",
    begins="none",
)

PART_LIVES = table(
    "PartLives", "One row a kind of part. Lives are a range: sun, water, rodents and hoes decide."
)


# What a rule can count by: these beside others of CountingRules, for pages name them.
LINE, MAIN_JOIN = "line", "main join"
MAIN_LENGTH, MANIFOLD_LENGTH = "main length", "manifold length"
# Which column of Beds names the pipe whose length a rule counts.
PIPES_COUNTED = {MAIN_LENGTH: "main_pipe", MANIFOLD_LENGTH: "manifold_pipe"}
COUNTING_RULES = table(
    "CountingRules",
    "One row a part: what it is counted by, how many for each, spares, and where it spends the"
    " winter. Change any of it; rules of one part add up.",
    begins="all",
)
STAYS, DRAINS, INDOORS = COUNTING_RULES["winter"].choices
