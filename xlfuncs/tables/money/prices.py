"""The price list: what a part costs, in which pack or roll, by whom and when it was said; single
values that the counting of parts and the purchase rest on."""

from xlfuncs.tables.columns import Column, Table
from xlfuncs.tables.settings import Section

PRICES = Table(
    "Prices",
    "One row an offer. Several rows of one part are several packs, rolls or price steps to choose"
    " from. All of it is internal: none of it goes into a client's copy.",
    (
        Column("part", "Part", "text", "Name of the part, as in the counting rules",
               required=True, synonyms=("item", "article", "description")),
        Column("pack", "Pack", "number", "Pieces in a pack (default 1); blank for a roll",
               above=0, synonyms=("pack size", "pieces per pack")),
        Column("roll_length", "Roll length", "length", "Length of the roll; blank for a pack",
               above=0, synonyms=("coil length", "length of roll")),
        Column("price", "Price", "money", "Price of the pack or roll, without tax",
               required=True, minimum=0, internal=True,
               synonyms=("net price", "unit price", "roll price")),
        Column("from_packs", "From quantity", "count",
               "Price holds from so many packs or rolls (default 1)",
               minimum=1, default=1, internal=True, former=("from",), synonyms=("price break",)),
        Column("currency", "Currency", "text", "Currency of the price, one for the whole list",
               required=True),
        Column("tax", "Tax", "ratio", "Tax on top of the price (default 0)", minimum=0, maximum=1,
               default=0.0, synonyms=("vat", "sales tax")),
        Column("delivery", "Delivery", "money", "Delivery of each pack or roll, without tax",
               minimum=0, default=0.0, internal=True, synonyms=("freight", "shipping")),
        Column("shop", "Shop", "text", "Who sells it, where Orders says what an order costs there",
               internal=True, synonyms=("seller", "supplier", "store")),
        Column("date", "Date", "date", "Day on which the price was seen", required=True,
               synonyms=("price date", "seen on")),
        Column("source", "Source", "text", "Where the price was seen, in your own words",
               required=True, internal=True),
        Column("shortest_life", "Short life", "years", "How long it lasts if things go badly",
               above=0, maximum=200),
        Column("likely_life", "Likely life", "years", "What to reckon with", above=0, maximum=200),
        Column("longest_life", "Long life", "years", "How long it lasts if things go well",
               above=0, maximum=200),
        Column("note", "Note", "text", "For yourself", internal=True),
    ),
    begins="all",
)  # fmt: skip

NEEDS = Table(
    "Needs",
    "What is needed, one row a part or a length of it, as the purchase takes it.",
    (
        Column("part", "Part", "text", "As on the price list", required=True,
               synonyms=("item", "article", "description", "line")),
        Column("number", "Number", "count", "Pieces of it, spares included; 1 for a total length",
               required=True, minimum=0,
               synonyms=("pieces", "quantity", "qty", "lines", "laterals")),
        Column("length", "Length", "length", "Of each piece; blank for what is counted", above=0,
               synonyms=("length of each", "cut length")),
        Column("joined", "May be joined", "flag", "yes for a length that may be joined from pieces",
               default=False),
    ),
)  # fmt: skip

ALREADY_HAVE = Table(
    "AlreadyHave",
    "What is there already and counts against the purchase: parts by number, rolls and rests of"
    " line or pipe by their length.",
    (
        Column("part", "Part", "text", "As on the price list", required=True),
        Column("number", "Number", "count", "Pieces, or rolls and rests of the length beside it",
               required=True, minimum=0),
        Column("length", "Length of each", "length", "Of line and pipe; blank for what is counted",
               above=0),
        Column("note", "Note", "text", "For yourself", internal=True),
    ),
)  # fmt: skip

ORDERS = Table(
    "Orders",
    "Shops that charge once for an order, however much is in it; the purchase weighs it up.",
    (
        Column("shop", "Shop", "text", "As in the column Shop of Prices", required=True,
               internal=True),
        Column("delivery", "Delivery of an order", "money", "Without tax", required=True,
               minimum=0, internal=True),
        Column("tax", "Tax", "ratio", "Tax on that delivery (default 0)", minimum=0, maximum=1,
               default=0.0),
    ),
)  # fmt: skip


BUYING = Section(
    "How parts are counted and bought",
    "Change these to see what they cost. Prices and rules stand on their own sheets.",
    (
        Column("end_allowance", "Allowance a line", "width",
               "Added to each line for its connector and end, both together", minimum=0,
               maximum=3, default=0.1524),
        Column("trimming", "Trimming", "ratio",
               "Added to pipe that is bought by length (0.05 by common practice)", minimum=0,
               maximum=1, default=0.05),
        Column("main_turns", "Corners of the main", "count", "Elbows the main needs",
               minimum=0, maximum=1000, default=0),
        Column("old_after", "Prices are old after", "days",
               "Age from which a price is flagged (365 days by common practice)", minimum=1,
               maximum=5000, default=365, internal=True),
    ),
)  # fmt: skip

BACKFLOW = Section(
    "Backflow protection",
    "Describe how it is built; the notes below are a first look. The local authority decides which"
    " kind is allowed, who may install it and how often it is tested.",
    (
        Column("preventer", "Preventer", "text", "Kind of backflow preventer", required=True,
               choices=("hose vacuum breaker", "atmospheric vacuum breaker",
                        "pressure vacuum breaker", "double check valve",
                        "reduced pressure principle", "air gap")),
        Column("valves_after", "Valves after it", "flag",
               "yes where a timer or bed valves stand after it", default=True),
        Column("pressure_hours", "Hours under pressure", "hours",
               "Hours a day that it stands under pressure", minimum=0, maximum=86400,
               required=True),
        Column("preventer_height", "Height of the preventer", "elevation",
               "Its height above the highest outlet; below it negative", required=True,
               minimum=-100, maximum=100),
        Column("injection", "Fertilizer injected", "flag", "yes where anything is injected after"
               " it", default=False),
        Column("back_pressure", "Back pressure", "flag",
               "yes where a pump or a tank uphill can push back", default=False),
    ),
)  # fmt: skip

CUTTING = Section(
    "Lines to cut",
    "One list for each line, in an order to follow with scissors.",
    (
        Column("cut_line_1", "First line", "text", "By its name on Lines",
               one_of=("Lines", "line")),
        Column("cut_line_2", "Second line", "text", "By its name on Lines; blank: none",
               one_of=("Lines", "line")),
    ),
)  # fmt: skip

CHOICES = Section(
    "Time for a watering",
    "The hours on Timer count too; the shorter of both.",
    (
        Column("longest_day", "Longest watering", "hours",
               "Hours for all sets of a watering, one after another", above=0, maximum=86400,
               default=43200),
    ),
)  # fmt: skip


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
