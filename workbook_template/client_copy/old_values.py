"""What a workbook shows must be what its inputs give, or a client gets an old price or none."""

from collections.abc import Mapping
from math import isclose

from workbook_template.client_copy.bought import Bought
from workbook_template.client_copy.facts import Facts
from xlfuncs.errors import WorkbookError
from xlfuncs.tables.money.quotation import OPTIONS, QUOTATION_LINES
from xlfuncs.workbooks.our_tables.named_cells import cell_value, named_cells
from xlfuncs.workbooks.our_tables.read_inputs import Reading
from xlfuncs.workbooks.recalculating.engine import WorksheetCallable, evaluate
from xlfuncs.xlsx.cell_references import cell_name

RESULTS = ("beds_counted", "planted_area", "line_length_total", "number_of_lines")
OLD = "the results in the file are older than its inputs ({what}): recalculate it first"


def refuse_old_values(
    reading: Reading, functions: Mapping[str, WorksheetCallable], bought: Bought
) -> None:
    """Formulas in input cells that no longer give what is stored; computed only if there are any.

    One that gives the cost of all parts is left, for that line is sold as the copy computes it.
    """
    asked = {place: value for place, value in reading.formulas.items()
             if isinstance(value, float) and not bought.is_all(value)}  # fmt: skip
    if not asked:
        return
    values = evaluate(reading.contents, functions).values
    for (sheet, row, column), stored in asked.items():
        now = values.get(sheet, {}).get((row, column))
        if now is not None and not _same(stored, now):
            what = f"{sheet}!{cell_name(row, column)} holds {stored:.12g}, its formula gives {now}"
            raise WorkbookError(OLD.format(what=what))


def refuse_old_results(reading: Reading, facts: Facts) -> None:
    """A bed that was changed by a program that left the results as they were.

    Where nothing was ever computed all of them are 0, and none is older.
    """
    places = named_cells(reading.contents)
    for name in RESULTS:
        stored = cell_value(reading.contents, places[name]) if name in places else None
        if isinstance(stored, float) and stored and not _same(stored, now := facts.named(name)):
            what = f"{name} holds {stored:.12g}, the inputs give {now}"
            raise WorkbookError(OLD.format(what=what))


def refuse_without_price(reading: Reading, facts: Facts) -> None:
    """Lines that are quoted nowhere, or at no price, where the client gets the quotation."""
    lines = reading.inputs.tables.get(QUOTATION_LINES.name, ())
    if "Quotation" not in facts.shown.sheets or not any(row.get("item") for row in lines):
        return
    notes = [note for note in reading.notes if note.startswith("Quoting!")]
    for row in facts.rows_behind(QUOTATION_LINES.name):
        if (said := row.get("check")) not in ("", "ok", None):
            raise WorkbookError(
                f"Quoting, line {row.get('item')}: {'; '.join([str(said), *notes])}"
            )
    if not any(isinstance(facts.named(f"option_{o.lower()}_total"), float) for o in OPTIONS):
        said = facts.text("quotation_check")
        raise WorkbookError(f"no option on Quoting has a price: {'; '.join([said, *notes])}")


def _same(stored: float, now: object) -> bool:
    return isinstance(now, float | int) and isclose(stored, now, rel_tol=1e-9, abs_tol=1e-9)
