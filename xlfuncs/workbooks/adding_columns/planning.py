"""Which columns are added where, from the list as it was read; asks what only its owner can say."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

from xlfuncs.catalogue.arguments import read_one
from xlfuncs.catalogue.declaration import Arg, WorksheetFunction
from xlfuncs.catalogue.table_rows import as_argument
from xlfuncs.errors import InputError, WorkbookError
from xlfuncs.units import DIMENSIONS, to_base
from xlfuncs.workbooks.adding_columns import purchase_sheet, settings_sheet
from xlfuncs.workbooks.adding_columns.column_formulas import CellOf, column_formula, passed, taken
from xlfuncs.workbooks.adding_columns.new_cells import NewCells
from xlfuncs.workbooks.adding_columns.packages import (
    PACKAGES,
    Beside,
    PackageColumn,
    columns_of,
)
from xlfuncs.workbooks.adding_columns.serving import (
    Served,
    column_for,
    one_a_row,
    serve,
    wanted_for,
)
from xlfuncs.workbooks.adding_columns.settings_sheet import Section
from xlfuncs.workbooks.adding_columns.working_sheet import WorkingSheet
from xlfuncs.workbooks.lists.doubts import ask_missing
from xlfuncs.workbooks.lists.headers import Wanted, find_headings
from xlfuncs.workbooks.lists.mapping import ListMapping, given_answers, mapping_text
from xlfuncs.workbooks.lists.questions import OpenQuestions, Question
from xlfuncs.workbooks.lists.reader import read_lines, stated_headings
from xlfuncs.workbooks.lists.reading import Row
from xlfuncs.workbooks.lists.sheets import Grid, as_lines
from xlfuncs.xlsx.cell_references import cell_name, column_letters, quoted_sheet
from xlfuncs.xlsx.cell_styles import GENERAL, TWO_DECIMALS, WHOLE
from xlfuncs.xlsx.contents import Contents, Table

WORKING = " pressure"  # the end of the name of the sheet for a list's pressure
OWN_SHEETS = {settings_sheet.SHEET, purchase_sheet.SHEET}
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


class Plan:
    """Raises OpenQuestions when something is not beyond doubt."""

    def __init__(self, contents: Contents, sheet: str, mapping: ListMapping) -> None:
        self.contents = contents
        self.mapping = mapping
        self.packages = [name for name in mapping.add if name in PACKAGES]
        self.functions = _functions(mapping)
        self.wanted = wanted_by(mapping)
        self.grid = self._sheet(contents, sheet or mapping.sheet)
        self._read()
        head = self.reading.head
        assert head is not None
        self.header = head.line.number
        self.rows = [row.line.number for row in self.reading.rows]
        if not mapping.add:
            self._ask_which()
        self.system = self.reading.system
        self.headers = {self.grid.value(self.header, c): c for c in self.grid.in_row(self.header)}
        self.table = self._table()
        self.place = self._first_free()
        self.columns: list[NewColumn] = []
        self.served: dict[str, Served] = {}
        self.sections: list[Section] = []
        self._add_packages()
        for function in self.functions:
            self._add_function(function)
        self._compare()
        self._raise_questions()

    def _sheet(self, contents: Contents, named: str) -> Grid:
        """The sheet that is named, or the one whose headings are the most."""
        if named:
            return Grid(contents, contents.sheet(named))
        grids = [Grid(contents, sheet) for sheet in contents.sheets
                 if sheet.name not in contents.hidden_sheets | OWN_SHEETS
                 and not sheet.name.endswith(WORKING)]  # fmt: skip
        lines = [as_lines(grid) for grid in grids]
        found = [find_headings(file, self.wanted, self.mapping.header_row) for file in lines]
        scores = [head.score if head else 0 for head in found]
        best = [grid for grid, score in zip(grids, scores, strict=True) if score == max(scores)]
        if len(best) == 1:
            return best[0]
        names = tuple(grid.sheet.name for grid in best)
        raise OpenQuestions((Question(("sheet",), "Which sheet holds the list?", names),))

    def _read(self) -> None:
        self.reading = read_lines(as_lines(self.grid), self.wanted, "", self.mapping)
        ask_missing(self.reading, len(self.reading.rows))
        head = self.reading.head
        if head and not self.reading.rows:
            words = f"No rows were found below row {head.line.number}."
            self.reading.ask(("header_row",), f"{words} Which row holds the headers?")
        self._raise_questions()

    def _raise_questions(self) -> None:
        if questions := tuple(self.reading.questions):
            text = mapping_text(given_answers(self.mapping), questions, self.reading.understood)
            raise OpenQuestions(questions, text)

    def _ask_which(self) -> None:
        possible = [
            function.name
            for function in one_a_row()
            if all(self._serve(arg) for arg in function.inputs if arg.required)
        ]
        known = ", ".join(possible) or "none without more columns or values"
        packages = ", ".join(name.lower() for name in PACKAGES)
        words = f"Which columns are wanted? Possible now: {known}. Packages: {packages}."
        self.reading.ask(("add",), words, possible or ["BED_AREA"])
        self._raise_questions()

    # --- places ---

    def _table(self) -> Table | None:
        """The table that the list is, if new columns can become its last ones."""
        name = self.grid.sheet.name
        for table in self.contents.tables.values():
            area = table.area
            if area.sheet == name and area.first_row == self.header and table.header_rows == 1:
                rows = {row for row, _ in self.grid.cells if row >= area.first_row}
                beside = any(
                    not self.grid.is_empty(row, column)
                    for row, column in self.grid.cells
                    if row in rows and area.last_row >= row and column > area.last_column
                )
                inside = all(area.holds(name, row, area.first_column) for row in self.rows)
                return table if inside and not beside else None
        return None

    def _first_free(self) -> int:
        """The first column to the right of everything in the list's rows and of merged cells."""
        if self.table:
            return self.table.area.last_column + 1
        used = [max(self.grid.in_row(row), default=0) for row in (self.header, *self.rows)]
        for area in self.grid.merged:
            if any(area.first_row <= row <= area.last_row for row in (self.header, *self.rows)):
                used.append(area.last_column)
        return self.grid.seen_from(max(used) + 1)

    def _name_in_table(self, column: int) -> str:
        """The name of a table's column as formulas write it; '' beside the table."""
        if self.table is None:
            return ""
        added = [new.header for new in self.columns if not new.present]
        names = [*self.table.columns, *added]
        place = column - self.table.area.first_column
        return re.sub(r"(['\[\]#@])", r"'\1", names[place]) if place < len(names) else ""

    def _cell(self, row: int) -> CellOf:
        """References to cells of a row of the list, for formulas beside it."""

        def reference(column: int) -> str:
            if self.table and (name := self._name_in_table(column)):
                return f"{self.table.name}[[#This Row],[{name}]]"
            return cell_name(row, column)

        return reference

    def _of_row(self, number: str) -> CellOf:
        """References to cells of the row of that number, for formulas on other sheets."""

        def reference(column: int) -> str:
            if self.table and (name := self._name_in_table(column)):
                return f"INDEX({self.table.name}[[#All],[{name}]],{number})"
            letters = column_letters(column)
            cells = f"${letters}${self.header}:${letters}${max(self.rows)}"
            return f"INDEX({quoted_sheet(self.grid.sheet.name)}!{cells},{number})"

        return reference

    # --- columns ---

    def _serve(self, arg: Arg) -> Served | None:
        return serve(self.reading, column_for(arg), arg.dimension)

    def _heading(self, name: str, header: str, dimension: str) -> str:
        unit = DIMENSIONS[dimension].unit(self.system)
        usual = f"{header} ({unit})" if unit else header
        return self.mapping.headers.get(name.upper()) or usual

    def _new(self, name: str, header: str, dimension: str) -> NewColumn:
        """The next column, or the one that has its heading already; its formulas come later."""
        heading = self._heading(name, header, dimension)
        texts = {str(text).strip(): column for text, column in self.headers.items()}
        there = texts.get(heading.strip())
        new = NewColumn(there or self.place, heading, dimension, {}, present=there is not None)
        if there is None:
            self.place = self.place + 1 if self.table else self.grid.seen_from(self.place + 1)
        self.columns.append(new)
        return new

    def _add_function(self, function: WorksheetFunction) -> None:
        result = function.results[0]
        served = {arg.name: found for arg in function.inputs if (found := self._serve(arg))}
        for earlier in self.columns:
            for arg in function.inputs:
                same = earlier.function and arg.name == earlier.function.results[0].name
                if arg.name not in served and same and arg.dimension == earlier.dimension:
                    unit = DIMENSIONS[earlier.dimension].unit(self.system)
                    served[arg.name] = Served(earlier.column, unit)
        header = result.name.replace("_", " ").capitalize()
        new = self._new(function.name, header, result.dimension)
        new.function, new.served = function, served
        for row in self.rows:
            new.formulas[row] = column_formula(function, served, self._cell(row), self.system)
        self._refuse_other_contents(new, function.name)

    def _add_packages(self) -> None:
        table = self.reading.wanted.table
        dimensions = {name: table[name].dimension for name in read_by(self.packages)}
        self.served = {name: served for name, dimension in dimensions.items()
                       if (served := serve(self.reading, name, dimension))}  # fmt: skip
        present = [c.name for package in PACKAGES.values() for c in package.columns
                   if self._heading(c.name, c.header, c.dimension) in self.headers]  # fmt: skip
        chosen = columns_of(self.packages, present if self.packages else [])
        for name, package in PACKAGES.items():
            if name in self.packages or {c.name for c in package.columns} & {
                c.name for c in chosen
            }:
                self.sections += [s for s in package.sections if s not in self.sections]
        self.settings = settings_sheet.lay_out(
            self.contents, self.sections, self.system, self.mapping.settings
        )
        places = {c.name: self._new(c.name, c.header, c.dimension) for c in chosen}
        self.earlier = {name: new.column for name, new in places.items()}
        self.dimensions = dimensions
        self.working = self._working() if "pressure_check" in places else None
        for column in chosen:
            self._write_formulas(places[column.name], column)

    def _write_formulas(self, new: NewColumn, column: PackageColumn) -> None:
        number = f"ROW()-ROW($A${self.header})+1"
        for row in self.rows:
            beside = Beside(self.system, self.served, self.dimensions, self.settings,
                            self.working, number, self._cell(row), self.earlier)  # fmt: skip
            new.formulas[row] = column.formula(beside)
        self._refuse_other_contents(new, column.name.upper())

    @property
    def _list_rows(self) -> int:
        """Rows of the list from its headings on, with those that a table may grow by."""
        return max(self.rows) - self.header + 1 + (SPARE if self.table else 0)

    def _take(self, number: str) -> Callable[[str], str]:
        def take(name: str) -> str:
            given = self.served.get(name)
            if given is None:
                return ""
            value = taken(given, self.dimensions[name], self._of_row(number), self.system,
                          required=False)  # fmt: skip
            return f'IFERROR({value},"")' if given.column else value

        return take

    def _working(self) -> WorkingSheet:
        nominal = f'IFERROR({self._of_row("ROW()")(self.earlier["nominal_flow"])},"")'
        name = self.grid.sheet.name[: 31 - len(WORKING)] + WORKING
        return WorkingSheet(name, self._list_rows, self.settings, self._take("ROW()"), nominal)

    def _refuse_other_contents(self, new: NewColumn, name: str) -> None:
        for row in self.rows:
            present = self.grid.formula(row, new.column)
            if not self.grid.is_empty(row, new.column) and present != new.formulas[row]:
                cell = cell_name(row, new.column)
                words = f"{cell} stands under {new.header!r} but holds something else;"
                question = Question(
                    ("headers", name), f"{words} what shall the new column be called?"
                )
                raise OpenQuestions((question,))

    # --- cells that a formula would take for another number than the reader ---

    def _compare(self) -> None:
        by_place = {headers[0].place + 1: name for name, headers in self.reading.headers.items()}
        used = {served for new in self.columns for served in new.served.values()}
        for given in used | set(self.served.values()):
            name = by_place.get(given.column)
            if name and self.reading.wanted.is_read(name):
                column = self.reading.headers[name][0].column
                if DIMENSIONS[column.dimension].kind == "number":
                    for row in self.reading.rows:
                        self._compare_cell(given, row, name)

    def _compare_cell(self, given: Served, row: Row, name: str) -> None:
        number = row.line.number
        arg = as_argument(self.reading.headers[name][0].column)
        meant = passed(given, self.grid.value(number, given.column))
        try:
            base = read_one(arg, meant, self.system)
        except InputError:
            return  # the cell will show an error, which the report explains
        ours = row.values.get(name)
        own = to_base(ours, arg.dimension, self.system) if isinstance(ours, float) else None
        if base is not None and (own is None or abs(base - own) > 1e-9 * abs(own)):
            cell = cell_name(number, given.column)
            words = f"{cell} reads as {ours!r}, but a formula would take it for {meant!r}."
            self.reading.ask(("leave_out",), f"{words} Type it as a number.", (str(number),))

    # --- what is written ---

    def written(self, cells: NewCells) -> set[tuple[int, int]]:
        """Puts the new cells; returns their places on the list's sheet."""
        sheet = self.grid.sheet.name
        head_style = self._style(self.header, self.place)
        for new in self.columns:
            if not new.present:
                cells.put(sheet, self.header, new.column, new.header,
                          style=self._style(self.header, new.column))  # fmt: skip
                if self.table:
                    formula = new.formulas[self.rows[0]]
                    cells.grow_table(self.grid.sheet, self.table.name, new.header, formula)
            for row, formula in new.formulas.items():
                if self.grid.formula(row, new.column) is None:
                    style = self._number_style(cells, row, new)
                    cells.put(sheet, row, new.column, formula=formula, style=style)
        added = set(cells.cells.get(sheet, ()))
        if self.packages:
            self._write_sheets(cells, head_style)
        return added

    def _write_sheets(self, cells: NewCells, head_style: str) -> None:
        if self.sections:
            names = {"lines": self._names("line"), "pipes": self._names("main_pipe")
                     + self._names("manifold_pipe")}  # fmt: skip
            settings_sheet.write_settings(self.settings, cells, self.sections, head_style, names)
        if self.working:
            self.working.write(cells, head_style)
        if "PURCHASE" in self.packages:
            number = f"ROW()-{purchase_sheet.TOP}+1"
            length = self._of_row(number)(self.earlier["line_length"])
            purchase_sheet.write_purchase(
                cells, self.settings, self._list_rows, self._take(number),
                f'IFERROR({length},"")', head_style,
            )  # fmt: skip

    def _names(self, name: str) -> list[str]:
        """The kinds of line or pipe that the list names."""
        values = [row.values.get(name) for row in self.reading.rows]
        return list(dict.fromkeys(str(value) for value in values if value))

    def _style(self, row: int, column: int) -> str:
        """The style of the nearest cell to the left that holds something."""
        left = [c for c in self.grid.in_row(row) if c < column]
        return self.grid.cells[row, left[-1]].style if left else ""

    def _number_style(self, cells: NewCells, row: int, new: NewColumn) -> str:
        style = self._style(row, new.column)
        if DIMENSIONS[new.dimension].kind != "number":
            return cells.styles.like(style, GENERAL)
        if new.dimension == "count":
            return cells.styles.like(style, WHOLE)
        plain = cells.styles.is_plain_number(style)
        return style if plain else cells.styles.like(style, TWO_DECIMALS)


def wanted_by(mapping: ListMapping) -> Wanted:
    """What is to be looked for in the list, by the columns that are to be added."""
    packages = [name for name in mapping.add if name in PACKAGES]
    needs = [name for package in packages for name in PACKAGES[package].needs]
    wanted = wanted_for(_functions(mapping), mapping.values, read_by(packages), needs)
    return replace(wanted, stated=stated_headings(mapping))


def read_by(packages: Sequence[str]) -> list[str]:
    """The columns of beds that packages read where the list has them."""
    read = [name for package in packages
            for name in (*PACKAGES[package].needs, *PACKAGES[package].reads)]  # fmt: skip
    return list(dict.fromkeys(read))


def _functions(mapping: ListMapping) -> list[WorksheetFunction]:
    known = {function.name: function for function in one_a_row()}
    chosen = [name for name in mapping.add if name not in PACKAGES]
    for name in chosen:
        if name not in known:
            packages = ", ".join(package.lower() for package in PACKAGES)
            raise WorkbookError(f"{name} is no function with one result a row (see `functions`)"
                                f" and no package ({packages})")  # fmt: skip
    return [known[name] for name in chosen]
