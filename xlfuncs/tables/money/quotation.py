"""A quotation: its lines, its terms, and the words that belong on it."""

from xlfuncs.tables.columns import Column, Table
from xlfuncs.tables.settings import Section

OPTIONS = ("A", "B", "C")
ALL_OPTIONS = "all"

QUOTATION_LINES = Table(
    "QuotationLines",
    "One row a line. A line belongs to one option, or to all of them; an optional item is priced"
    " apart.",
    (
        Column("option", "Option", "text", "A, B, C, or all", choices=(*OPTIONS, ALL_OPTIONS),
               default=ALL_OPTIONS),
        Column("item", "Item", "text", "What is supplied or done", required=True),
        Column("quantity", "Quantity", "number", "How many or how much", required=True),
        Column("unit", "Unit", "text", "Unit of the quantity"),
        Column("unit_cost", "Unit cost", "money", "What one unit costs you", required=True,
               internal=True),
        Column("optional", "Optional item", "flag",
               "yes for an item that the client may add (default no)", default=False),
        Column("note", "Note", "text", "For yourself", internal=True),
    ),
    begins="none",
)  # fmt: skip

QUOTATION_TERMS = Section(
    "Quotation",
    "Enter a markup (part of cost) or a margin (part of price); the sheet shows both.",
    (
        Column("client", "Client", "text", "Who the quotation is for", required=True),
        Column("site", "Site", "text", "Where the garden is", required=True),
        Column("quotation_number", "Quotation", "text", "Number of the quotation", required=True),
        Column("revision", "Revision", "count", "Counts up from 0 with every change sent out",
               minimum=0, default=0),
        Column("quotation_date", "Date", "date", "Date of this revision", required=True),
        Column("prepared_by", "Prepared by", "text",
               "Who made the quotation, and how to be reached"),
        Column("supply_measured_on", "Supply measured on", "date",
               "Day on which flow and pressure of the supply were measured"),
        Column("validity_days", "Valid for", "days", "Days from that date that the prices hold",
               above=0, maximum=366, default=30),
        Column("labour_hours", "Labour", "hours", "Hours of work", minimum=0, default=0.0),
        Column("labour_rate", "Labour rate", "money", "What an hour costs you", minimum=0,
               default=0.0, internal=True),
        Column("contingency", "Contingency", "ratio", "On materials and labour", minimum=0,
               maximum=1, default=0.1),
        Column("markup", "Markup", "ratio", "Part of cost that is added to it", minimum=0,
               internal=True),
        Column("margin", "Margin", "ratio", "Part of the price that is kept", minimum=0,
               internal=True),
        Column("tax_rate", "Tax", "ratio", "Tax on the price", minimum=0, maximum=1, default=0.0),
    ),
)  # fmt: skip

TERMS = Table("Terms", QUOTATION_TERMS.help, QUOTATION_TERMS.settings)

ASSUMPTIONS = (
    "The supply delivers the flow and pressure that were measured on the day named here, at the"
    " hour when the garden will be watered.",
    "Beds have the lengths, widths and slopes of the bed list.",
    "Water is fit for drip lines once it is filtered as described, and not too salty for the crops;"
    " neither was tested unless a line says so.",
    "The ground can be worked, and nothing unmarked lies where pipes are buried.",
)

EXCLUSIONS = (
    "Permits, inspections and fees, unless a line names them.",
    "Work on the building's plumbing and on mains electricity, which licensed trades do.",
    "Finding and repairing buried services that were not marked.",
    "Plants, soil, mulch and earthworks beyond the trenches named.",
)

ACCEPTANCE = (
    "I accept option ____ of this quotation, revision and date as above, on the terms stated.",
    "Name, signature, date",
)
