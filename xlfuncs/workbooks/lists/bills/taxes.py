"""Tax that comes back, as exports say it."""

import re

from xlfuncs.workbooks.lists.ledger.export import Export
from xlfuncs.workbooks.lists.lines import shown


def is_back_in_money(export: Export) -> bool:
    """Whether the recoverable tax is money, not a part of the tax: one of it is beyond 1."""
    cells = [shown(export.cell(line, "recoverable")).strip() for line in export.below]
    whole = (re.match(r"[^\d%]*(\d+)[^%]*$", cell) for cell in cells)
    return any(match and int(match[1]) > 1 for match in whole)
