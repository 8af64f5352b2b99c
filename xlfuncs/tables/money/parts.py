"""Parts: what their ends fit and their winter, what makes one more of each, what is in store of
them, and how long they last."""

from xlfuncs.tables.columns import table

PARTS = table("Parts")
REGISTER = table("Store")
PART_LIVES = table("PartLives")


# What a rule can count by: these beside others of CountingRules, for pages name them.
LINE, MAIN_JOIN = "line", "main join"
MAIN_LENGTH, MANIFOLD_LENGTH = "main length", "manifold length"
# Which column of Beds names the pipe whose length a rule counts.
PIPES_COUNTED = {MAIN_LENGTH: "main_pipe", MANIFOLD_LENGTH: "manifold_pipe"}
COUNTING_RULES = table("CountingRules")
STAYS, DRAINS, INDOORS = COUNTING_RULES["winter"].choices
