"""Where a list lies on its sheet, and where new columns go: beside it, or into its table."""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from xlfuncs.catalogue.arguments import as_argument, read_one
from xlfuncs.catalogue.declaration import WorksheetFunction
from xlfuncs.catalogue.registry import functions
from xlfuncs.errors import InputError
from xlfuncs.units import DIMENSIONS, to_base
from xlfuncs.workbooks.adding_columns.new_cells import NewCells
from xlfuncs.workbooks.adding_columns.serving import CellOf, Served, passed
from xlfuncs.workbooks.lists.doubts import ListRow, Reading
from xlfuncs.workbooks.lists.questions import OpenQuestions, Question
from xlfuncs.workbooks.lists.rows import not_used
from xlfuncs.workbooks.lists.sheets import Grid
from xlfuncs.workbooks.our_tables.read_inputs import PRESSURE_SHEET, SETTINGS_SHEET
from xlfuncs.xlsx.cell_references import cell_name, column_letters, quoted_sheet
from xlfuncs.xlsx.cell_styles import GENERAL, INDENTED, PERCENT, TWO_DECIMALS, WHOLE, WRAPPED
from xlfuncs.xlsx.contents import Contents, ExcelTable

WIDTH, WIDE = 12, 44  # of a column of a package: of numbers, of words
# What formulas of ours have besides calls: a place in the list, a factor of a unit, a unit's words.
_OWN = re.compile(r'"[^"]*"|ROW\(\)-ROW\([^()]*\)\+1|\*\d[\d.]*|-RIGHT\([^()]*\)|&IF\(')
SPARE = 100  # rows that a table may grow by before the command is run again


@dataclass
class NewColumn:
    """One computed column: where it stands, what it says, and its formulas by row."""

    column: int
    header: str
    dimension: str
    formulas: dict[int, str]
    function: WorksheetFunction | None = None  # of a column that is one call
    served: dict[str, Served] = field(default_factory=dict)
    present: bool = False  # the header is there already
    words: str = ""  # what it is
    aside: bool = False  # others tell what comes of it


class ListPlace:
    """A list on a sheet: the row of its headings, its rows, and the columns that it gets."""

    def __init__(self, contents: Contents, grid: Grid, header: int, rows: Sequence[int]) -> None:
        self.grid, self.header, self.rows = grid, header, list(rows)
        self.sheet = grid.sheet.name
        self.headers = {str(grid.value(header, c)).strip(): c for c in grid.in_row(header)}
        self.table = next(filter(self._can_grow, contents.tables.values()), None)
        self.columns: list[NewColumn] = []
        self._next = self._first_free()

    def _can_grow(self, table: ExcelTable) -> bool:
        """Whether the list is this table, and nothing stands right of it."""
        area = table.area
        return (
            area.sheet == self.sheet
            and area.first_row == self.header
            and table.header_rows == 1
            and all(area.holds(self.sheet, row, area.first_column) for row in self.rows)
            and all(max(self.grid.in_row(row), default=0) <= area.last_column
                    for row in range(area.first_row, area.last_row + 1))
        )  # fmt: skip

    def _first_free(self) -> int:
        """The first column to the right of everything in the list's rows and of merged cells."""
        if self.table:
            return self.table.area.last_column + 1
        rows = (self.header, *self.rows)
        used = [max(self.grid.in_row(row), default=0) for row in rows]
        used += [area.last_column for area in self.grid.merged
                 if any(area.first_row <= row <= area.last_row for row in rows)]  # fmt: skip
        return self.grid.seen_from(max(used) + 1)

    def add(self, heading: str, dimension: str) -> NewColumn:
        """The next column, or the one that has its heading already; its formulas come later."""
        there = self.headers.get(heading.strip())
        new = NewColumn(there or self._next, heading, dimension, {}, present=there is not None)
        if there is None:
            self._next = self._next + 1 if self.table else self.grid.seen_from(self._next + 1)
        self.columns.append(new)
        return new

    def heading(self, column: int) -> str:
        """What stands over a column, of the list or one that is added."""
        new = (new.header for new in self.columns if new.column == column)
        return next(new, str(self.grid.value(self.header, column) or column_letters(column)))

    @property
    def number(self) -> str:
        """A formula for the number of a row of the list, its headings being the first."""
        return f"ROW()-ROW($A${self.header})+1"

    @property
    def height(self) -> int:
        """Rows of the list from its headings on, with those that a table may grow by."""
        return max(self.rows) - self.header + 1 + (SPARE if self.table else 0)

    def _in_table(self, column: int) -> str:
        """The name of a table's column as formulas write it; '' beside a table."""
        if self.table is None:
            return ""
        names = [*self.table.columns, *(new.header for new in self.columns if not new.present)]
        place = column - self.table.area.first_column
        return re.sub(r"(['\[\]#@])", r"'\1", names[place]) if place < len(names) else ""

    def cell(self, row: int) -> CellOf:
        """References to cells of a row of the list, for formulas beside it."""

        def reference(column: int) -> str:
            if self.table and (name := self._in_table(column)):
                return f"{self.table.name}[[#This Row],[{name}]]"
            return cell_name(row, column)

        return reference

    def of_row(self, number: str) -> CellOf:
        """References to cells of the row of that number, for formulas on other sheets."""

        def reference(column: int) -> str:
            if self.table and (name := self._in_table(column)):
                return f"INDEX({self.table.name}[[#All],[{name}]],{number})"
            letters = column_letters(column)
            cells = f"${letters}${self.header}:${letters}${max(self.rows)}"
            return f"INDEX({quoted_sheet(self.sheet)}!{cells},{number})"

        return reference

    def refuse_other_contents(self, new: NewColumn, name: str) -> None:
        """Asks for another heading where a cell under the column's holds something else."""
        for row in self.rows:
            present = self.grid.formula(row, new.column)
            same = present == new.formulas[row] or (new.function is None and is_ours(present))
            if not self.grid.is_empty(row, new.column) and not same:
                words = f"{cell_name(row, new.column)} stands under {new.header!r} but holds"
                words += " something else; what shall the new column be called?"
                raise OpenQuestions((Question(("headers", name), words),))

    def style(self, row: int, column: int) -> str:
        """The style of the nearest cell to the left that holds something."""
        left = [c for c in self.grid.in_row(row) if c < column]
        return self.grid.cells[row, left[-1]].style if left else ""

    def write(self, cells: NewCells) -> set[tuple[int, int]]:
        """Puts the new cells; returns their places."""
        for new in self.columns:
            if not new.present:
                style = self.style(self.header, new.column)
                if new.function is None:
                    style = cells.styles.dressed(style, align=WRAPPED)
                    words = DIMENSIONS[new.dimension].kind != "number"
                    cells.set_width(self.sheet, new.column, WIDE if words else WIDTH)
                cells.put(self.sheet, self.header, new.column, new.header, style=style)
            other = (self.grid.formula(row, new.column) not in (None, formula)
                     for row, formula in new.formulas.items())  # fmt: skip
            if self.table and (not new.present or any(other)):
                formula = new.formulas[self.rows[0]]
                cells.table_columns[self.table][new.header] = formula, new.present
            for row, formula in new.formulas.items():
                if (present := self.grid.formula(row, new.column)) != formula:
                    style = self._number_style(cells, row, new)
                    if present is not None:
                        style = self.grid.cells[row, new.column].style
                    cells.put(self.sheet, row, new.column, formula=formula, style=style)
        return set(cells.cells.get(self.sheet, ()))

    def _number_style(self, cells: NewCells, row: int, new: NewColumn) -> str:
        style = self.style(row, new.column)
        if DIMENSIONS[new.dimension].kind != "number":
            bare = cells.styles.like(style, GENERAL)
            return cells.styles.dressed(bare, align=INDENTED) if new.function is None else bare
        own = {"count": WHOLE, "ratio": PERCENT}
        if new.function is None:
            own["time"] = WHOLE
        if new.dimension in own:
            return cells.styles.like(style, own[new.dimension])
        plain = cells.styles.is_plain_number(style)
        return style if plain else cells.styles.like(style, TWO_DECIMALS)


def is_ours(formula: str | None) -> bool:
    """Whether a formula is one call that reads our functions or sheets, and nothing else: then it
    was added before, when the list had other columns."""
    if not formula or not formula.endswith(")"):
        return False
    calls = set(re.findall(r"([A-Z][A-Z0-9_.]*)\(", formula))
    ours = bool(calls & functions().keys()) or any(
        name in formula for name in (f"{PRESSURE_SHEET}'!", f"{SETTINGS_SHEET}'!"))  # fmt: skip
    rest = re.sub(r"'[^']*'!|\[[^\]]*\]", "", _OWN.sub("", formula))
    return ours and not re.search(r"[-+*/^]", rest)


# --- what the formulas read of the list


def compare(
    reading: Reading, grid: Grid, columns: Iterable[NewColumn],
    of_packages: Mapping[str, tuple[Served, str]],
) -> None:  # fmt: skip
    """Asks about each such cell of the columns that formulas read."""
    by_place = {headers[0].place + 1: name for name, headers in reading.headers.items()}
    used = {served for new in columns for served in new.served.values()}
    for given in used | {served for served, _ in of_packages.values()}:
        name = by_place.get(given.column)
        if name and DIMENSIONS[reading.wanted.table[name].dimension].kind == "number":
            for row in reading.rows:
                _compare_cell(reading, grid, given, row, name)


def leave_out_own(reading: Reading, grid: Grid) -> None:
    """Columns that were added before are none of the list's."""
    own = {place: text for place, text in reading.unused.items()
           if any(is_ours(grid.formula(row.line.number, place + 1)) for row in reading.rows)
           }  # fmt: skip
    reading.unused = {place: text for place, text in reading.unused.items() if place not in own}
    told = {not_used(text) for text in own.values()}
    reading.report = [words for words in reading.report if words not in told]


def _compare_cell(reading: Reading, grid: Grid, given: Served, row: ListRow, name: str) -> None:
    number = row.line.number
    arg = as_argument(reading.headers[name][0].column)
    meant = passed(given, grid.value(number, given.column))
    try:
        base = read_one(arg, meant, reading.system)
    except InputError:
        return  # the cell will show an error, which the report explains
    ours = row.values.get(name)
    own = to_base(ours, arg.dimension, reading.system) if isinstance(ours, float) else None
    if base is not None and (own is None or abs(base - own) > 1e-9 * abs(own)):
        cell = cell_name(number, given.column)
        words = f"{cell} reads as {ours!r}, but a formula would take it for {meant!r}."
        reading.ask(("leave_out",), f"{words} Type it as a number.", (str(number),))
