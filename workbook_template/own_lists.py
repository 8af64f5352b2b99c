"""What goes from one garden's workbook into the next: the lists and ways of the one who plans."""

from pathlib import Path
from typing import Any

from xlfuncs.tables.all_tables import TABLES
from xlfuncs.tables.money.prices import ORDERS
from xlfuncs.tables.money.quotation import QUOTATION_LINES
from xlfuncs.workbooks.our_tables.read_inputs import Inputs, Reading, read_inputs

# What is measured or decided at a garden (its tap, beds, weather, client) is asked for anew.
SETTINGS_KEPT = (
    "currency", "supply_share", "efficiency", "wanted_share", "wanted_uniformity", "max_velocity",
    "end_allowance", "trimming", "old_after", "interest", "plan_years",
    "prepared_by", "validity_days", "labour_rate", "contingency", "markup", "margin", "tax_rate",
)  # fmt: skip
TABLES_KEPT = (
    *(table.name for table in TABLES if table.begins == "all"),
    ORDERS.name, QUOTATION_LINES.name,
)  # fmt: skip


def own_lists(source: Path) -> tuple[str, Inputs, list[str]]:
    """The system of units of another workbook, its lists and ways, and what is to be looked at.

    Raises WorkbookError for a file that is no workbook of the template, or of a newer program.
    """
    reading = read_inputs(source)
    tables: dict[str, Any] = {name: reading.inputs.tables[name] for name in TABLES_KEPT
                              if name in reading.inputs.tables}  # fmt: skip
    settings = {name: value for name, value in reading.inputs.settings.items()
                if name in SETTINGS_KEPT}  # fmt: skip
    words = []
    if lines := tables.get(QUOTATION_LINES.name):
        tables[QUOTATION_LINES.name], computed = _of_no_garden(reading, lines)
        words.append(
            f"Quoting has the {len(lines)} lines of {source.name}: type their quantities, and clear"
            " those that this client does not get."
        )
        if computed:
            words.append(
                f"Their unit costs were formulas, so type them anew: {', '.join(computed)}"
            )
    return reading.marks.system, Inputs(settings, tables), words


def _of_no_garden(reading: Reading, lines: Any) -> tuple[list[dict[str, Any]], list[str]]:
    """Lines without quantities, and without a cost that the other workbook computed, as that of its
    parts: neither is this garden's. The items of such costs come with them."""
    table = reading.tables[QUOTATION_LINES.name]
    first = table.placed.area.first_row + table.placed.header_rows
    kept, computed = [], []
    for row, line in enumerate(lines, first):
        line = {name: value for name, value in line.items() if name != "quantity"}
        if (table.sheet, row, table.places.get("unit_cost", -1)) in reading.formulas:
            line.pop("unit_cost", None)
            computed.append(str(line.get("item", f"row {row}")))
        kept.append(line)
    return kept, computed
