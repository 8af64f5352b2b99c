"""Where cells of an old workbook lie in the new one, and formulas of one's own written for it."""

import re
from collections import Counter
from collections.abc import Collection

from workbook_template.kit.book import Book
from workbook_template.kit.formulas import escaped
from workbook_template.kit.own import Own
from workbook_template.kit.written import Written
from xlfuncs.catalogue.findings.given import without_unit
from xlfuncs.workbooks.our_tables.read_inputs import Reading
from xlfuncs.workbooks.our_tables.table_cells import named_cells
from xlfuncs.xlsx import cell_references
from xlfuncs.xlsx.contents import Contents, Sheet

Position = tuple[str, int, int]  # sheet, row and column from 1
_HEADER = re.compile(r"\[((?:'.|[^\[\]'#@])(?:'.|[^\[\]'])*)\]")
STATES = "State", "Check", "Ready"  # what the state of a part is called, and was
_UNESCAPED = re.compile(r"'(.)")
_ENDS = re.compile(r"(\$?)[A-Za-z]+(\$?)\d+(?::(\$?)[A-Za-z]+(\$?)\d+)?")


class Lost(Exception):  # noqa: N818 - a reason to keep the value instead
    """A reference to something that the new workbook does not have; the text says what."""


class Moved:
    """From the workbook of a reading to the book that is being written."""

    def __init__(self, reading: Reading, book: Book, own: Own) -> None:
        self.reading, self.book, self.own = reading, book, own
        self.own_sheets = {sheet.name for sheet in own.sheets}
        self.tables = {t.table.name.lower(): t for t in reading.tables.values()}
        self.named = {place: name for name, place in named_cells(reading.contents).items()}
        self.sheets = self._sheets()
        self._labels: dict[str, tuple[dict[tuple[int, int], object], dict[object, Position]]] = {}

    def _sheets(self) -> dict[str, str]:
        """The new sheet of each old one of the template."""
        found = {sheet.name: sheet.name for sheet in self.reading.contents.sheets}
        titles = {title: name for name, title in self.book.titles.items()}
        for sheet in self.reading.contents.sheets:
            cell = self.reading.contents.cell_at(sheet.name, 1, 1)
            title = self.reading.contents.value(cell) if cell is not None else None
            found[sheet.name] = titles.get(str(title), sheet.name)
        for place, name in self.named.items():
            if name in self.book.names:
                found[place[0]] = self.book.names[name][0]
        for table in self.tables.values():
            found[table.sheet] = self.book.places[table.table.name].sheet
        return found

    def place(self, place: Position) -> Position | None:
        """Where a cell lies now; None where the new workbook has none like it."""
        sheet, row, column = place
        if sheet in self.own_sheets:
            return place
        if place in self.named and (name := self.named[place]) in self.book.names:
            there = self.book.names[name]
            return (there[0], there[1] + 1, there[2] + 1) if self.book.has(name) else None
        for table in self.tables.values():
            area = table.placed.area
            if area.holds(*place):
                new = self.book.places[table.table.name]
                heading = self.heading(table.table.name, table.placed.columns[
                    column - area.first_column])  # fmt: skip
                if heading is None or new.sheet in self.book.aside:
                    return None
                number = row - table.header_row - table.placed.header_rows
                return new.sheet, new.first + number + 1, new.columns[heading] + 1
        return self._by_label(sheet, (row, column))

    def _by_label(self, sheet: str, place: tuple[int, int]) -> Position | None:
        if sheet not in self._labels:
            self._labels[sheet] = self._read_labels(sheet)
        old, new = self._labels[sheet]
        return new.get(old[place]) if place in old else None

    def _read_labels(
        self, name: str
    ) -> tuple[dict[tuple[int, int], object], dict[object, Position]]:
        written, there = Written(self.book), self.sheets[name]
        contents = self.reading.contents
        old = next((labels(contents, s) for s in contents.sheets if s.name == name), {})
        new = next((labels(written, s) for s in written.sheets if s.name == there), {})
        return dict(old), {label: (there, *place) for place, label in new.items()}

    def heading(self, table: str, header: str) -> str | None:
        """The name of the new column that an old header means."""
        bare = without_unit(header).casefold()
        for name, heading in self.book.headings[table].items():
            if without_unit(heading).casefold() == bare:
                return name
        known = self.tables[table.lower()].table.columns
        return next((column.name for column in known if bare in column.former), None)

    # --- formulas ---

    def formula(self, text: str, sheet: str) -> str:
        """A formula that stood on an old sheet, for the new workbook; raises Lost."""
        from openpyxl.formula.tokenizer import Token, Tokenizer

        tokens = Tokenizer("=" + text).items
        return "".join(
            self.reference(token.value, sheet)
            if token.type == Token.OPERAND and token.subtype == Token.RANGE
            else token.value
            for token in tokens
        )

    def reference(self, text: str, sheet: str) -> str:
        prefix, rest = cell_references.split_sheet(text)
        if rest.endswith("]"):
            return self._structured(text)
        area = cell_references.parse_area(rest, prefix or sheet)
        if area is None:
            return self._name(rest, text)
        if area.sheet in self.own_sheets:
            return text
        ends = [self.place((area.sheet, row, column)) for row, column in _corners(area)]
        first, last = ends[0], ends[-1]
        if first is None or last is None or first[0] != last[0]:
            raise Lost(f"reads {area}, which has no place in the new workbook")
        dollars = _ENDS.fullmatch(rest)
        marks = dollars.groups(default="") if dollars else ("$",) * 4
        written = f"{marks[0]}{cell_references.column_letters(first[2])}{marks[1]}{first[1]}"
        if not area.single:
            written += f":{marks[2]}{cell_references.column_letters(last[2])}{marks[3]}{last[1]}"
        here = self.sheets.get(sheet) if prefix is None else None
        return (
            written if first[0] == here else f"{cell_references.quoted_sheet(first[0])}!{written}"
        )

    def _structured(self, text: str) -> str:
        name, _, inside = text.partition("[")
        known = {table.lower(): table for table in self.book.headings}
        if name and name.lower() not in known:
            raise Lost(f"reads the table {name}, which is not in the new workbook")
        if not name or known[name.lower()] not in self.reading.tables:
            return text
        table = known[name.lower()]
        if self.book.places[table].sheet in self.book.aside:
            raise Lost(f"reads the table {name}, which is not in the new workbook")

        def renamed(match: re.Match[str]) -> str:
            header = _UNESCAPED.sub(r"\1", match[1])
            heading = self.heading(table, header)
            if heading is None:
                raise Lost(f"reads {header} of {name}, which the new workbook does not have")
            return f"[{escaped(self.book.headings[table][heading])}]"

        return f"{name}{_HEADER.sub(renamed, '[' + inside)}"

    def _name(self, name: str, text: str) -> str:
        known: Collection[str] = {n.lower() for n in self.own.names} | {
            n for n in self.book.names if self.book.has(n)
        }
        if name.lower() in known or name.upper() in ("TRUE", "FALSE"):
            return text
        raise Lost(f"uses the name {name}, which is not in the new workbook")


def _corners(area: cell_references.Area) -> list[tuple[int, int]]:
    corners = [(area.first_row, area.first_column), (area.last_row, area.last_column)]
    return corners[:1] if area.single else corners


# --- cells by what stands beside and above them, so that they are found again in another workbook
# The leftmost typed text of the row, the nearest typed text above; where the row has none, the part
# of the page: the last texts typed in its first column. Which of the columns that share all these,
# and which row of it.
Label = tuple[str, str, tuple[str, ...], int, int]
Place = tuple[int, int]
Words = tuple[str, str, tuple[str, ...]]
LONGEST = 60  # of a label; longer texts are words about a part of the page
_TEXTS_OF_A_PART = 3  # its band, a word above its block, the block's first header


def labels(contents: Contents, sheet: Sheet) -> dict[Place, Label]:
    """The label of every cell of a sheet that is no typed text; rows and columns from 1."""
    above: dict[int, str] = {}
    beside: dict[int, str] = {}
    part: tuple[str, ...] = ()
    columns: dict[Words, list[int]] = {}
    seen: Counter[tuple[Words, int]] = Counter()
    found: dict[Place, Label] = {}
    for cell in sorted(contents.scan(sheet).cells, key=lambda cell: (cell.row, cell.column)):
        typed = contents.value(cell) if cell.formula_start < 0 else None
        if isinstance(typed, str) and typed:
            above[cell.column] = without_unit(typed)
            if len(typed) <= LONGEST:
                beside.setdefault(cell.row, without_unit(typed))
                if cell.column == 1 and typed not in STATES:
                    part = (*part[1 - _TEXTS_OF_A_PART :], typed)
            continue
        if typed is None and cell.formula_start < 0:
            continue
        own = beside.get(cell.row, "")
        words = own, above.get(cell.column, ""), () if own else part
        alike = columns.setdefault(words, [])
        if cell.column not in alike:
            alike.append(cell.column)
        seen[words, cell.column] += 1
        found[cell.row, cell.column] = (
            *words, alike.index(cell.column), seen[words, cell.column]
        )  # fmt: skip
    return found
