"""What a proposal says of the plan: the values of the copy, by names, tables and blocks."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from workbook_template.build import Built
from workbook_template.client_copy.shown import Shown
from workbook_template.kit.book import Values
from workbook_template.kit.written import Written
from xlfuncs.errors import InputError, WorkbookError
from xlfuncs.workbooks.bed_map import BedMap, bed_map
from xlfuncs.workbooks.our_tables.findings import cell_values


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
