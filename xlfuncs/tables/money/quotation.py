"""A quotation: its lines, its terms, and the words that belong on it."""

from xlfuncs.tables.columns import section, table

QUOTATION_LINES = table(
    "QuotationLines",
    "One row a line. A line belongs to one option, or to all of them; an optional item is priced"
    " apart.",
    begins="none",
)

*_OPTIONS, ALL_OPTIONS = QUOTATION_LINES["option"].choices
OPTIONS = tuple(_OPTIONS)

QUOTATION_TERMS = section(
    "Quotation", "Enter a markup (part of cost) or a margin (part of price); the sheet shows both."
)

TERMS = table("Terms", QUOTATION_TERMS.help, *QUOTATION_TERMS.settings)

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
