"""A quotation: its lines and its terms."""

from xlfuncs.tables.columns import Table, section, table

QUOTATION_LINES = table("QuotationLines")

*_OPTIONS, ALL_OPTIONS = QUOTATION_LINES["option"].choices
OPTIONS = tuple(_OPTIONS)

QUOTATION_TERMS = section("Quotation")
TERMS = Table("Terms", QUOTATION_TERMS.help, QUOTATION_TERMS.settings)
