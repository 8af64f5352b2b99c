"""Parts: what their ends fit and their winter; what is in store of them, and how long they last."""

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
