"""Water tariffs: one row a tariff for what is fixed, one row a tier for what goes by volume."""

from xlfuncs.tables.columns import Column, Table

TARIFFS = Table(
    "Tariffs",
    "One row a tariff, from the day it holds.",
    (
        Column("valid_from", "Valid from", "date", "First day of the tariff", required=True),
        Column("periods", "Bills a year", "count", "Billing periods in a year", required=True,
               minimum=1, maximum=53, default=12),
        Column("fixed", "Fixed charge", "money", "Charge of each billing period whatever is used",
               minimum=0, default=0.0),
        Column("sewer_price", "Sewer price", "money_per_billed_volume",
               "Sewer charge on the water that is taken to run off", minimum=0, default=0.0),
        Column("sewer_share", "Sewer share", "ratio",
               "Part of the water that pays sewer; 0 for a garden meter that is free of it",
               minimum=0, maximum=1, default=1.0),
        Column("billed_unit", "Billed unit", "billed_volume",
               "Smallest unit that is billed, parts waiting for the next bill; 0 bills every drop",
               minimum=0, default=0.0),
        Column("note", "Note", "text", "For yourself", internal=True),
    ),
    begins="none",
)  # fmt: skip

TIERS = Table(
    "Tiers",
    "One row a tier of a tariff, the cheapest water first.",
    (
        Column("valid_from", "Valid from", "date", "First day of the tariff, as in Tariffs",
               required=True),
        Column("top", "Tier ends at", "billed_volume",
               "Where the tier ends within one billing period; blank for the last", above=0,
               synonyms=("top", "ends at")),
        Column("price", "Price", "money_per_billed_volume", "Price of the water in the tier",
               required=True, minimum=0, synonyms=("price that the garden bears",)),
    ),
    begins="none",
)  # fmt: skip
