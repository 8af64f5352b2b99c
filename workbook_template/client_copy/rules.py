"""What of a workbook a client gets to see.

* A sheet says for itself whether it is for the client, and under which words (`kit.declared`). Any
  other is the consultant's own and stays with them, unless it is asked for.
* An internal column or setting (`internal=True` in `xlfuncs.tables`) is left out. One that holds
  money is a cost: its cells show the selling price instead, and everything computed from them
  follows.
* A result that rests on a number which might be a cost is left blank and named: one typed on a
  sheet that stays, or hidden, outside our own tables and settings.
* What is hidden (a hidden sheet, row or column; not one that is folded in a group) is internal.
"""

from __future__ import annotations

from workbook_template.kit.spills import SHEET as RESULTS
from workbook_template.sheets.order import declared_sheets
from xlfuncs.tables.all_settings import SETTINGS
from xlfuncs.tables.columns import Column
from xlfuncs.tables.settings import LEDGER_AND_YEARS, Section

_SHEETS = declared_sheets().values()
_CLIENTS = {sheet.name: sheet.client for sheet in _SHEETS if sheet.client is not None}
FOR_THE_CLIENT = tuple(  # the quotation, then what else comes first, then the order of the work
    sorted(_CLIENTS, key=lambda name: (not _CLIENTS[name].as_delivered, not _CLIENTS[name].first))
)
FOR_THE_CONSULTANT = (*(s.name for s in _SHEETS if s.client is None), RESULTS)
AS_DELIVERED = tuple(name for name, client in _CLIENTS.items() if client.as_delivered)
ROWS_LEFT_OUT = {name: client.rows_left_out for name, client in _CLIENTS.items()}
COLUMNS_LEFT_OUT = {name: client.columns_left_out for name, client in _CLIENTS.items()}
CLIENT_WORDS = {k: v for client in _CLIENTS.values() for k, v in client.words.items()}

# Tables of what the consultant paid: no result of the copy may rest on them.
WHAT_WAS_PAID = ("Ledger", "Store")
SECTIONS_LEFT_OUT: tuple[Section, ...] = (LEDGER_AND_YEARS,)
SELLING_PRICE = "Selling price; ask for an update if it should change."


def is_cost(column: Column) -> bool:
    """Whether a column or setting holds purchase prices, which become selling prices."""
    return column.internal and column.dimension.startswith("money")


def left_out_settings() -> set[str]:
    """Names of the settings that no client sees."""
    internal = {s.name for s in SETTINGS if s.internal and not is_cost(s)}
    return internal | {s.name for section in SECTIONS_LEFT_OUT for s in section.settings}
