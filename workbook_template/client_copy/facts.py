"""What a proposal says of the plan: the values of the copy, by names, tables and blocks."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import isclose
from typing import Any

from workbook_template.build import Built
from workbook_template.client_copy.bought import Bought
from workbook_template.client_copy.shown import Shown
from workbook_template.kit.book import Values
from workbook_template.kit.written import Written
from xlfuncs.errors import InputError, WorkbookError
from xlfuncs.tables.money.quotation import OPTIONS, QUOTATION_LINES
from xlfuncs.workbooks.bed_map import BedMap, bed_map
from xlfuncs.workbooks.our_tables.findings import cell_values
from xlfuncs.workbooks.our_tables.read_inputs import Reading
from xlfuncs.workbooks.our_tables.table_cells import cell_value, named_cells
from xlfuncs.workbooks.recalculating.engine import WorksheetCallable, evaluate
from xlfuncs.xlsx.cell_references import cell_name


@dataclass(frozen=True)
class Facts(Built):
    """The computed copy; `contents` are its cells, before what is internal was taken out."""

    system: str
    contents: Written
    shown: Shown

    @classmethod
    def of(cls, shown: Shown, contents: Written, values: Values) -> Facts:
        book = shown.book
        places, names = dict(book.places), dict(book.names)
        return cls(book.inputs, values, places, names, book.system, contents, shown)

    def rows(self, table: str) -> list[dict[str, Any]]:
        """The rows of a table that the client may see: of no sheet or row that was held back."""
        place = self.places[table]
        if place.sheet not in self.shown.sheets:
            return []
        column = min(place.columns.values()) + 1
        return [row for i, row in enumerate(super().rows(table), place.first + 1)
                if not self.shown.is_gone(place.sheet, i, column)]  # fmt: skip

    def rows_behind(self, table: str) -> list[dict[str, Any]]:
        """All rows of a table, also those of a sheet that the client does not get."""
        return super().rows(table)

    def map(self) -> BedMap | None:
        """None where no bed can be placed."""
        values = cell_values(self.contents)
        for sheet, computed in self.values.items():
            values[sheet].update(computed)
        try:
            found = bed_map(self.contents, values, self.system, str(self.text("farm")))
        except (WorkbookError, InputError):
            return None
        seen = {row.get("bed") for row in self.rows("Beds")}
        beds = tuple(bed for bed in found.beds if bed.name in seen)
        return replace(found, beds=beds) if beds else None

    def number(self, name: str) -> float:
        """A named number; 0 where there is none."""
        value = self.named(name)
        return float(value) if isinstance(value, int | float) else 0.0

    def text(self, name: str) -> str:
        """A named text; blank where there is none."""
        value = self.named(name)
        return "" if value is None else str(value)


# --- what a workbook shows must be what its inputs give, or a client gets an old price or none ---


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
