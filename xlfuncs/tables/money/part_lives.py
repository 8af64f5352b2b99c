"""How long the parts of a system last: what the replacement plan is made from."""

from xlfuncs.tables.columns import Column, Table

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
