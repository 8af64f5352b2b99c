"""What goes from one garden's workbook into the next: the lists and ways of the one who plans."""

from dataclasses import replace
from pathlib import Path
from typing import Any

from xlfuncs.tables.all_tables import TABLES
from xlfuncs.tables.money.prices import ORDERS
from xlfuncs.tables.money.quotation import QUOTATION_LINES
from xlfuncs.workbooks.our_tables.read_inputs import Inputs, Reading, read_inputs
from xlfuncs.xlsx.cell_references import parse_area

# What is measured or decided at a garden (its tap, beds, weather, client) is asked for anew.
SETTINGS_KEPT = (
    "currency", "supply_share", "efficiency", "wanted_share", "wanted_uniformity", "max_velocity",
    "end_allowance", "trimming", "old_after", "interest", "plan_years",
    "prepared_by", "validity_days", "labour_rate", "contingency", "markup", "margin", "tax_rate",
)  # fmt: skip
PARTS_COST = "cost_of_parts"  # a name in a formula for the cost of the parts, which is kept
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
            f"Quoting has the {len(lines)} lines of {source.name} without quantities: Purchase"
            " counts what is needed. Clear the rows that this client does not get; quote"
            " their parts or Parts by the list, never both."
        )
        if computed:
            words.append(
                f"Their unit costs were formulas, so type them anew: {', '.join(computed)}"
            )
    return reading.marks.system, Inputs(settings, tables), words


def _of_no_garden(reading: Reading, lines: Any) -> tuple[list[dict[str, Any]], list[str]]:
    """Lines without quantities, and without a cost that the other workbook computed: neither is
    this garden's. The items of such costs come with them. The cost of the parts is computed anew.
    """
    formulas = costs_computed(reading)
    kept, computed = [], []
    for i, line in enumerate(lines):
        if PARTS_COST in formulas.get(i, ""):
            kept.append({**line, "computed": formulas[i]})
            continue
        line = {name: value for name, value in line.items() if name != "quantity"}
        if i in formulas:
            line.pop("unit_cost", None)
            computed.append(str(line.get("item", f"line {i + 1}")))
        kept.append(line)
    return kept, computed


def with_parts_cost(inputs: Inputs, reading: Reading) -> Inputs:
    """The inputs of a workbook with the cost of the parts computed where it was on Quoting."""
    formulas = {i: f for i, f in costs_computed(reading).items() if PARTS_COST in f}
    lines = inputs.tables.get(QUOTATION_LINES.name, ())
    rows = [{**line, "computed": formulas[i]} if i in formulas else line
            for i, line in enumerate(lines)]  # fmt: skip
    return replace(inputs, tables={**inputs.tables, QUOTATION_LINES.name: rows})


def costs_computed(reading: Reading) -> dict[int, str]:
    """The formulas for the cost of quotation lines, by their place in the list."""
    table = reading.tables.get(QUOTATION_LINES.name)
    if table is None:
        return {}
    first = table.placed.area.first_row + table.placed.header_rows
    column = table.places.get("unit_cost", -1)
    return {row - first: _formula(reading, (sheet, row, col))
            for sheet, row, col in reading.formulas
            if (sheet, col) == (table.sheet, column) and row >= first}  # fmt: skip


def _formula(reading: Reading, at: tuple[str, int, int]) -> str:
    """The formula of a cell, or that of the one cell of its sheet that it shows."""
    cell = reading.contents.cell_at(*at)
    formula = (cell.formula if cell else "") or "a formula"
    area = parse_area(formula.replace("$", ""), at[0])
    shown = area and reading.contents.cell_at(area.sheet, area.first_row, area.first_column)
    return (shown and shown.formula) or formula
