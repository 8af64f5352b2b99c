"""What a proposal says of the plan: the values of the copy, by names, tables and blocks."""

from __future__ import annotations

from dataclasses import dataclass

from workbook_template.build import Built
from workbook_template.kit.book import Book, Values
from workbook_template.kit.written import Written
from xlfuncs.errors import InputError, WorkbookError
from xlfuncs.workbooks.bed_map import BedMap, bed_map
from xlfuncs.workbooks.our_tables.findings import cell_values


@dataclass(frozen=True)
class Facts(Built):
    """The computed copy; `contents` are its cells, before what is internal was taken out."""

    system: str
    contents: Written

    @classmethod
    def of(cls, book: Book, contents: Written, values: Values) -> Facts:
        return cls(book.inputs, values, dict(book.places), dict(book.names), book.system, contents)

    def map(self) -> BedMap | None:
        """None where no bed can be placed."""
        values = cell_values(self.contents)
        for sheet, computed in self.values.items():
            values[sheet].update(computed)
        try:
            return bed_map(self.contents, values, self.system, str(self.text("farm")))
        except (WorkbookError, InputError):
            return None

    def number(self, name: str) -> float:
        """A named number; 0 where there is none."""
        value = self.named(name)
        return float(value) if isinstance(value, int | float) else 0.0

    def text(self, name: str) -> str:
        """A named text; blank where there is none."""
        value = self.named(name)
        return "" if value is None else str(value)
