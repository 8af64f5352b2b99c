"""A quotation: its lines and its terms."""

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
