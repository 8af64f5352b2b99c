"""Which columns are added to a list, and their formulas; asks what only its owner can say."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial

from xlfuncs.catalogue.arguments import as_argument, read_one
from xlfuncs.catalogue.declaration import Arg, WorksheetFunction
from xlfuncs.errors import InputError, WorkbookError
from xlfuncs.units import DIMENSIONS, to_base
from xlfuncs.workbooks.adding_columns import serving
from xlfuncs.workbooks.adding_columns.new_cells import NewCells
from xlfuncs.workbooks.adding_columns.packages import PACKAGES, Beside, columns_of
from xlfuncs.workbooks.adding_columns.placing import ListPlace, NewColumn
from xlfuncs.workbooks.adding_columns.settings_sections import MONTHS, Section
from xlfuncs.workbooks.adding_columns.settings_sheet import SettingsWriter, lay_out
from xlfuncs.workbooks.adding_columns.working_sheet import KEYS, WorkingSheet, write_purchase
from xlfuncs.workbooks.adding_columns.working_sheet import NUMBER as PURCHASE_ROW
from xlfuncs.workbooks.lists.doubts import ListRow, ask_about_flags, ask_missing
from xlfuncs.workbooks.lists.headers import Wanted, find_headings
from xlfuncs.workbooks.lists.mapping import ListMapping
from xlfuncs.workbooks.lists.questions import OpenQuestions, Question
from xlfuncs.workbooks.lists.reader import read_lines, stated_headings
from xlfuncs.workbooks.lists.sheets import Grid, as_lines
from xlfuncs.workbooks.our_tables.read_inputs import (
    PRESSURE_SHEET,
    PURCHASE_SHEET,
    SETTINGS_SHEET,
)
from xlfuncs.xlsx.cell_references import cell_name
from xlfuncs.xlsx.contents import Contents

OWN_SHEETS = {SETTINGS_SHEET, PURCHASE_SHEET}


class Plan:
    """Raises OpenQuestions when something is not beyond doubt."""

    def __init__(self, contents: Contents, sheet: str, mapping: ListMapping) -> None:
        self.contents, self.mapping = contents, mapping
        self.packages = [name for name in mapping.add if name in PACKAGES]
        self.wanted = wanted_by(mapping)
        self.grid = self._sheet(sheet or mapping.sheet)
        self._read()
        self.system = self.reading.system
        assert self.reading.head is not None
        rows = [row.line.number for row in self.reading.rows]
        self.place = ListPlace(contents, self.grid, self.reading.head.line.number, rows)
        if not mapping.add:
            self._ask_which()
        self._add_packages()
        for function in _functions(mapping):
            self._add_function(function)
        self._compare()
        self.reading.raise_questions()

    def _sheet(self, named: str) -> Grid:
        """The sheet that is named, or the one whose headings are the most."""
        contents = self.contents
        if named:
            return Grid(contents, contents.sheet(named))
        grids = [Grid(contents, sheet) for sheet in contents.sheets
                 if sheet.name not in contents.hidden_sheets | OWN_SHEETS
                 and not sheet.name.endswith(PRESSURE_SHEET)]  # fmt: skip
        found = [find_headings(as_lines(g), self.wanted, self.mapping.header_row) for g in grids]
        scores = [head.score if head else 0 for head in found]
        best = [grid for grid, score in zip(grids, scores, strict=True) if score == max(scores)]
        if len(best) == 1:
            return best[0]
        names = tuple(grid.sheet.name for grid in best)
        raise OpenQuestions((Question(("sheet",), "Which sheet holds the list?", names),))

    def _read(self) -> None:
        self.reading = read_lines(as_lines(self.grid), self.wanted, "", self.mapping)
        ask_missing(self.reading, len(self.reading.rows))
        ask_about_flags(self.reading)
        head = self.reading.head
        if head and not self.reading.rows:
            words = f"No rows were found below row {head.line.number}."
            self.reading.ask(("header_row",), f"{words} Which row holds the headers?")
        self.reading.raise_questions()

    def _ask_which(self) -> None:
        possible = [
            function.name
            for function in serving.one_a_row()
            if all(self._serve(arg) for arg in function.inputs if arg.required)
        ]
        known = ", ".join(possible) or "none without more columns or values"
        packages = ", ".join(name.lower() for name in PACKAGES)
        words = f"Which columns are wanted? Possible now: {known}. Packages: {packages}."
        self.reading.ask(("add",), words, possible or ["BED_AREA"])
        self.reading.raise_questions()

    # --- columns ---

    def _serve(self, arg: Arg) -> serving.Served | None:
        return serving.serve(self.reading, serving.column_for(arg), arg.dimension)

    def _heading(self, name: str, header: str, dimension: str) -> str:
        """As its owner wants it called, or with its unit."""
        unit = DIMENSIONS[dimension].unit(self.system)
        usual = f"{header} ({unit})" if unit else header
        return self.mapping.headers.get(name.upper()) or usual

    def _add_packages(self) -> None:
        table = self.reading.wanted.table
        self.served = {
            name: (found, table[name].dimension) for name in read_by(self.packages)
            if (found := serving.serve(self.reading, name, table[name].dimension))
        }  # fmt: skip
        columns = [column for package in PACKAGES.values() for column in package.columns]
        headings = {c.name: self._heading(c.name, c.header, c.dimension) for c in columns}
        present = [name for name, text in headings.items() if text in self.place.headers]
        chosen = columns_of(self.packages, present if self.packages else [])
        names = {column.name for column in chosen}
        asked = [package for name, package in PACKAGES.items()
                 if name in self.packages or names & {c.name for c in package.columns}]  # fmt: skip
        self.sections = list(dict.fromkeys(s for package in asked for s in package.sections))
        self.settings = lay_out(self.contents, self.sections, self.system, self.mapping.settings)
        self._ask_which_of_several()
        added = [(c, self.place.add(self._heading(c.name, c.header, c.dimension), c.dimension))
                 for c in chosen]  # fmt: skip
        self.own = {column.name: (new.column, column.dimension) for column, new in added}
        self.working = self._working() if "pressure_check" in names else None
        for column, new in added:
            new.words = column.words
            for row in self.place.rows:
                beside = Beside(self.system, self.served, self.settings, self.working,
                                self.place.number, self.place.cell(row), self.own)  # fmt: skip
                new.formulas[row] = column.formula(beside)
            self._refuse_other_contents(new, column.name.upper())

    def _ask_which_of_several(self) -> None:
        """Which line or pipe it is where the settings have several and the list names none."""
        for name, section in KEYS.items():
            if section in self.sections and name not in self.served:
                rows = self.settings.table(section).values()
                names = [str(row[section.names[0]]) for row in rows]
                if len(names) > 1 and (name == "line" or "PRESSURE" in self.packages):
                    words = f"The list names no {name.replace('_', ' ')}, and {SETTINGS_SHEET} has"
                    words += f" several: {', '.join(names)}. Which is it? (Or add a column.)"
                    self.reading.ask(("values", name), words, names)
        self.reading.raise_questions()

    def _add_function(self, function: WorksheetFunction) -> None:
        """A column that is one call, of columns of the list or of those added before it."""
        result = function.results[0]
        served = {arg.name: found for arg in function.inputs if (found := self._serve(arg))}
        for earlier in self.place.columns:
            for arg in function.inputs:
                same = earlier.function and arg.name == earlier.function.results[0].name
                if arg.name not in served and same and arg.dimension == earlier.dimension:
                    unit = DIMENSIONS[earlier.dimension].unit(self.system)
                    served[arg.name] = serving.Served(earlier.column, unit)
        header = result.name.replace("_", " ").capitalize()
        new = self.place.add(self._heading(function.name, header, result.dimension),
                             result.dimension)  # fmt: skip
        new.function, new.served = function, served
        of = [repr(self.place.heading(found.column)) for found in served.values() if found.column]
        new.words = f"{function.name} of {', '.join(of)}"
        by_column = {serving.column_for(arg): (served[arg.name], arg.dimension)
                     for arg in function.inputs if arg.name in served}  # fmt: skip
        for row in self.place.rows:
            find = partial(serving.find_in_list, by_column, self.place.cell(row), self.system)
            new.formulas[row] = serving.called(function.name, self.system, find)
        self._refuse_other_contents(new, function.name)

    def _refuse_other_contents(self, new: NewColumn, name: str) -> None:
        if cell := self.place.other_contents(new):
            words = f"{cell} stands under {new.header!r} but holds something else;"
            words += " what shall the new column be called?"
            raise OpenQuestions((Question(("headers", name), words),))

    # --- sheets of packages ---

    def _take(self, number: str) -> Callable[[str], str]:
        """Formulas on other sheets for what the list's row of that number holds."""

        def take(name: str) -> str:
            if name not in self.served:
                return ""
            given, dimension = self.served[name]
            cell = self.place.of_row(number)
            value = serving.taken(given, dimension, cell, self.system, required=False)
            return f'IFERROR({value},"")' if given.column else value

        return take

    def _own(self, name: str, number: str) -> str:
        return f'IFERROR({self.place.of_row(number)(self.own[name][0])},"")'

    def _working(self) -> WorkingSheet:
        name = self.place.sheet[: 31 - len(PRESSURE_SHEET)] + PRESSURE_SHEET
        nominal = self._own("nominal_flow", "ROW()")
        return WorkingSheet(name, self.place.height, self.settings, self._take("ROW()"), nominal)

    def written(self, cells: NewCells) -> set[tuple[int, int]]:
        """Puts the new cells; returns their places on the list's sheet."""
        added = self.place.write(cells)
        style = self.place.style(self.place.header, max(self.place.headers.values()) + 1)
        if self.sections:
            writer = SettingsWriter(self.settings, cells, style)
            for section in self.sections:
                writer.write(section, self._names(section))
        if self.working:
            self.working.write(cells, style)
        if "PURCHASE" in self.packages:
            write_purchase(cells, self.settings, self.place.height, self._take(PURCHASE_ROW),
                           self._own("line_length", PURCHASE_ROW), style)  # fmt: skip
        return added

    @property
    def to_fill_in(self) -> list[str]:
        """What is needed on the sheet of settings and not known yet."""
        return [words for section in self.sections
                for words in self.settings.missing(section, self._names(section))]  # fmt: skip

    def _names(self, section: Section) -> list[str]:
        """The rows that a table of settings must have: the lines or pipes that the list names."""
        of = {"lines": ("line",), "pipes": ("main_pipe", "manifold_pipe")}.get(section.name, ())
        values = [row.values.get(name) for name in of for row in self.reading.rows]
        named = list(dict.fromkeys(str(value) for value in values if value))
        return list(MONTHS) if section.name == "months" else named

    # --- cells that a formula would take for another number than the reader does ---

    def _compare(self) -> None:
        by_place = {headers[0].place + 1: name for name, headers in self.reading.headers.items()}
        used = {served for new in self.place.columns for served in new.served.values()}
        for given in used | {served for served, _ in self.served.values()}:
            name = by_place.get(given.column)
            if name and DIMENSIONS[self.reading.wanted.table[name].dimension].kind == "number":
                for row in self.reading.rows:
                    self._compare_cell(given, row, name)

    def _compare_cell(self, given: serving.Served, row: ListRow, name: str) -> None:
        number = row.line.number
        arg = as_argument(self.reading.headers[name][0].column)
        meant = serving.passed(given, self.grid.value(number, given.column))
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


def wanted_by(mapping: ListMapping) -> Wanted:
    """What is to be looked for in the list, by the columns that are to be added."""
    packages = [name for name in mapping.add if name in PACKAGES]
    needs = [name for package in packages for name in PACKAGES[package].needs]
    wanted = serving.wanted_for(_functions(mapping), mapping.values, read_by(packages), needs)
    return replace(wanted, stated=stated_headings(mapping))


def read_by(packages: Sequence[str]) -> list[str]:
    """The columns of beds that packages read where the list has them."""
    read = [name for package in packages
            for name in (*PACKAGES[package].needs, *PACKAGES[package].reads)]  # fmt: skip
    return list(dict.fromkeys(read))


def _functions(mapping: ListMapping) -> list[WorksheetFunction]:
    known = {function.name: function for function in serving.one_a_row()}
    chosen = [name for name in mapping.add if name not in PACKAGES]
    for name in chosen:
        if name not in known:
            packages = ", ".join(package.lower() for package in PACKAGES)
            raise WorkbookError(f"{name} is no function with one result a row (see `functions`)"
                                f" and no package ({packages})")  # fmt: skip
    return [known[name] for name in chosen]
