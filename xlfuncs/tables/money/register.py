"""The register of the store: what was bought, and what was still there when someone counted."""

from xlfuncs.tables.columns import Column, Table

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
