"""A quotation: its lines and its terms."""

from collections.abc import Mapping
from typing import Any

from xlfuncs.tables.columns import Table, section, table

QUOTATION_LINES = table("QuotationLines")

*_OPTIONS, ALL_OPTIONS = QUOTATION_LINES["option"].choices
OPTIONS = tuple(_OPTIONS)

QUOTATION_TERMS = section("Quotation")
TERMS = Table("Terms", QUOTATION_TERMS.help, QUOTATION_TERMS.settings)


def is_optional(line: Mapping[str, Any]) -> bool:
    """Whether a line of a quotation is offered beside it, as typed or as read."""
    return str(line.get("optional")).lower() in ("yes", "true")
