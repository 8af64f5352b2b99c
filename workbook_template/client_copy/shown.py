"""Which cells of a book its client gets: the sheets of the file without what is left out of them.

* A sheet says for itself whether it is for the client (`kit.declared`); no other gets in.
* An internal column or setting (`internal=True` in `xlfuncs.tables`) is left out; a column of costs
  holds selling prices.
* What the consultant hid (a sheet, row or column; not one that is folded in a group) is internal.
"""

import re
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field

from workbook_template.client_copy.selling import is_cost
from workbook_template.kit.book import WORKINGS, Book
from workbook_template.renewal.moved import Moved
from workbook_template.sheets.order import declared_sheets
from xlfuncs.catalogue.findings.given import GivenTable, Row
from xlfuncs.tables.all_tables import SETTINGS, TABLES
from xlfuncs.tables.money.quotation import QUOTATION_LINES, QUOTATION_TERMS
from xlfuncs.xlsx.cell_references import MAX_COLUMN, MAX_ROW, Area, cell_name
from xlfuncs.xlsx.contents import Contents, Sheet

_COLUMN = re.compile(rb"<(?:\w+:)?col\b[^>]*>")
_ATTRIBUTE = re.compile(rb'(\w+)="([^"]*)"')


@dataclass
class Shown:
    """The cells that are in the file; rows and columns from 1."""

    book: Book
    sheets: frozenset[str]
    gone: dict[str, list[Area]] = field(default_factory=lambda: defaultdict(list))
    costs: list[Area] = field(default_factory=list)  # of the tables' columns of costs

    @classmethod
    def of(cls, book: Book) -> "Shown":
        shown = cls(book, frozenset(sheet.get_name() for sheet in book.workbook.worksheets()))
        for table in TABLES:
            place = book.places[table.name]
            for column in table.columns if place.sheet in shown.sheets else ():
                if column.internal:
                    col = place.columns[column.name] + 1
                    area = Area(place.sheet, place.first, col, place.last + 1, col)
                    areas = shown.costs if is_cost(column) else shown.gone[place.sheet]
                    areas.append(area)
        for setting in SETTINGS:
            sheet, row, _ = book.names[setting.name]
            if setting.internal and sheet in shown.sheets:
                shown.gone[sheet].append(Area(sheet, row + 1, 1, row + 1, MAX_COLUMN))
        return shown

    def is_gone(self, sheet: str, row: int, column: int) -> bool:
        """Whether a cell of a sheet in the file is left out of it."""
        return any(area.holds(sheet, row, column) for area in self.gone.get(sheet, ()))

    def has(self, sheet: str, row: int, column: int) -> bool:
        return sheet in self.sheets and not self.is_gone(sheet, row, column)

    def keeps(self, area: Area) -> bool:
        """Whether an area is in the file in full."""
        gone = self.gone.get(area.sheet, ())
        return area.sheet in self.sheets and not any(map(area.meets, gone))

    def typed(self) -> Iterator[str]:
        """Where texts stand in the file that somebody typed, for the consultant to read over."""
        for table in TABLES:
            place, rows = self.book.places[table.name], self.book.inputs.tables.get(table.name, ())
            there = "Quotation" if table is QUOTATION_LINES else place.sheet  # which repeats it
            for column in table.columns if there in self.sheets else ():
                free = column.dimension == "text" and not (column.choices or column.internal)
                texts = [i for i, row in enumerate(rows) if isinstance(row.get(column.name), str)]
                if free and texts:
                    at = place.columns[column.name] + 1
                    ends = (cell_name(place.first + 1 + i, at) for i in (texts[0], texts[-1]))
                    yield f"{place.sheet}!{':'.join(ends)}, {column.header}"
        words = [
            f"{s.header} ({text})"
            for s in SETTINGS
            if s.dimension == "text"
            and not (s.choices or s.internal or s in QUOTATION_TERMS.settings)
            and isinstance(text := self.book.inputs.settings.get(s.name), str)
            and text
        ]
        if words:
            yield ", ".join(words)

    def hide(self, moved: Moved) -> Iterator[str]:
        """Leave out what was hidden in the workbook; gives in words what was not found again."""
        contents = moved.reading.contents
        for sheet in contents.sheets:
            if moved.sheets[sheet.name] not in self.sheets or sheet.name == WORKINGS:
                continue
            for hidden in _hidden(contents, sheet):
                found = [
                    there
                    for cell in contents.scan(sheet).cells
                    if hidden.holds(sheet.name, cell.row, cell.column)
                    and (there := moved.place((sheet.name, cell.row, cell.column))) is not None
                ]
                is_row = hidden.last_column == MAX_COLUMN
                for name, row, column in found:
                    whole = (row, 1, row, MAX_COLUMN) if is_row else (1, column, MAX_ROW, column)
                    if (area := Area(name, *whole)) not in self.gone[name]:
                        self.gone[name].append(area)
                if not found:
                    yield f"{hidden.address().replace('$', '')} of {sheet.name}, which is hidden"


def not_filled_in(book: Book) -> set[str]:
    """Sheets that would be empty: with a table that waits, or in need of such a sheet, of those
    written before it."""
    found: set[str] = set()
    for table in TABLES:
        rows = [Row(i, row) for i, row in enumerate(book.inputs.tables.get(table.name, ()))]
        if GivenTable(table, [c.header for c in table.columns], rows, book.system).waits:
            found.add(book.places[table.name].sheet)
    for sheet in declared_sheets().values():
        found |= {sheet.name} if found & {*sheet.needs} else set()
    return found


def _hidden(contents: Contents, sheet: Sheet) -> Iterator[Area]:
    """Rows and columns that are hidden and in no group, if anything stands in them."""
    scan, content = contents.scan(sheet), contents.package.read(sheet.part)
    for tag in _COLUMN.findall(content[: scan.data_start]):
        given = dict(_ATTRIBUTE.findall(tag))
        if given.get(b"hidden") in (b"1", b"true") and given.get(b"outlineLevel", b"0") == b"0":
            first, last = int(given[b"min"]), int(given[b"max"])
            for column in sorted({c.column for c in scan.cells if first <= c.column <= last}):
                yield Area(sheet.name, 1, column, MAX_ROW, column)
    for row in sorted(scan.hidden_rows):
        start = scan.row_starts[row]
        given = dict(_ATTRIBUTE.findall(content[start : content.index(b">", start)]))
        if given.get(b"outlineLevel", b"0") == b"0" and any(c.row == row for c in scan.cells):
            yield Area(sheet.name, row, 1, row, MAX_COLUMN)
