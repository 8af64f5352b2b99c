"""Which columns are added to a list, and their formulas; asks what only its owner can say."""

from collections.abc import Callable
from dataclasses import replace
from functools import partial

from xlfuncs.catalogue.declaration import Arg, WorksheetFunction
from xlfuncs.units import DIMENSIONS
from xlfuncs.workbooks.adding_columns import asked_settings, serving
from xlfuncs.workbooks.adding_columns.changed_answers import (
    Changes,
    answers_of_last_run,
    keep_open_together,
    record,
    recorded,
)
from xlfuncs.workbooks.adding_columns.comparing import compare, leave_out_own
from xlfuncs.workbooks.adding_columns.new_cells import NewCells
from xlfuncs.workbooks.adding_columns.open_together import (
    distances,
    groups_of,
    known_together,
    notes,
    question_of_distances,
    question_of_valves,
    stated_columns,
)
from xlfuncs.workbooks.adding_columns.packages import (
    ASIDE,
    BY_FLOW,
    GIVEN,
    PACKAGES,
    Beside,
    columns_of,
)
from xlfuncs.workbooks.adding_columns.placing import ListPlace
from xlfuncs.workbooks.adding_columns.purchase_sheet import NUMBER as PURCHASE_ROW
from xlfuncs.workbooks.adding_columns.purchase_sheet import write_purchase
from xlfuncs.workbooks.adding_columns.settings_sections import (
    DISTANCES_SECTION,
    MONTHS,
    SECTIONS,
    Section,
)
from xlfuncs.workbooks.adding_columns.settings_sheet import SettingsWriter, is_blank, lay_out
from xlfuncs.workbooks.adding_columns.wanted import (
    functions_of,
    read_by,
    sheet_of_list,
    wanted_by,
)
from xlfuncs.workbooks.adding_columns.working_sheet import KEYS, WorkingSheet
from xlfuncs.workbooks.lists.doubts import ask_about_flags, ask_missing
from xlfuncs.workbooks.lists.mapping import ListMapping
from xlfuncs.workbooks.lists.questions import Question
from xlfuncs.workbooks.lists.reader import read_lines
from xlfuncs.workbooks.lists.sheets import as_lines
from xlfuncs.workbooks.our_tables.read_inputs import PRESSURE_SHEET, SETTINGS_SHEET
from xlfuncs.xlsx.cell_styles import WRAPPED
from xlfuncs.xlsx.contents import Contents


class Plan:
    """Raises OpenQuestions when something is not beyond doubt."""

    def __init__(self, contents: Contents, sheet: str, mapping: ListMapping) -> None:
        self.contents, self.mapping = contents, mapping
        self.answers = {name: value for name, value in mapping.settings.items()
                        if ("settings", name) not in mapping.left_open}  # fmt: skip
        self.recorded = record(self.answers)
        self.before = answers_of_last_run(contents)
        self.kept = keep_open_together(contents, self.answers, self.before)
        self.packages = [name for name in mapping.add if name in PACKAGES]
        self.wanted = wanted_by(mapping)
        self.grid = sheet_of_list(contents, sheet or mapping.sheet, self.wanted, mapping.header_row)
        self.stated = stated_columns(contents, self.grid, self.answers) if self.packages else {}
        if new := {n: t for n, t in self.stated.items() if n not in mapping.columns}:
            self.mapping = replace(mapping, columns={**mapping.columns, **new})
            self.wanted = wanted_by(self.mapping)
        self._read()
        self.system = self.reading.system
        assert self.reading.head is not None
        rows = [row.line.number for row in self.reading.rows]
        self.place = ListPlace(contents, self.grid, self.reading.head.line.number, rows)
        if not mapping.add:
            self._ask_which()
        self._add_packages()
        for function in functions_of(mapping):
            self._add_function(function)
        compare(self.reading, self.grid, self.place.columns, self.served)
        self.reading.raise_questions()

    def _read(self) -> None:
        self.reading = read_lines(as_lines(self.grid), self.wanted, "", self.mapping)
        leave_out_own(self.reading, self.grid)
        ask_missing(self.reading, len(self.reading.rows))
        ask_about_flags(self.reading)
        head = self.reading.head
        if head and not self.reading.rows:
            words = f"No rows were found below row {head.line.number}."
            self.reading.ask(("header_row",), f"{words} Which row holds the headers?")
        if "PRESSURE" in self.packages and not known_together(
            self.contents, self.reading, self.answers
        ):
            self._put(question_of_valves(self.reading))
        self.reading.raise_questions()

    def _put(self, question: Question) -> None:
        """A question for somebody who is there, unless it was left for later."""
        if not question.later:  # what was answered is wrong
            self.reading.questions.append(question)
        first = any(not other.later for other in self.reading.questions)  # those that must be
        if (
            question.later
            and self.mapping.asking
            and not first
            and question.key not in self.mapping.left_open
        ):
            self.reading.questions.append(question)

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
        columns = [*(column for package in PACKAGES.values() for column in package.columns),
                   BY_FLOW, *GIVEN]  # fmt: skip
        headings = {c.name: self._heading(c.name, c.header, c.dimension) for c in columns}
        present = [name for name, text in headings.items() if text in self.place.headers]
        chosen = columns_of(self.packages, present if self.packages else [])
        names = {column.name for column in chosen}
        asked = [package for name, package in PACKAGES.items()
                 if name in self.packages or names & package.own
                 or (name == "MINUTES" and BY_FLOW.name in names)]  # fmt: skip
        sections = {s for package in asked for s in package.sections}
        listed = "distance" in self.served
        self.sections = [section for section in SECTIONS if section in sections
                         and not (listed and section is DISTANCES_SECTION)]  # fmt: skip
        self._settle()
        self._ask_which_of_several()
        added = [(c, self.place.add(self._heading(c.name, c.header, c.dimension), c.dimension))
                 for c in chosen]  # fmt: skip
        self.own = {column.name: (new.column, column.dimension) for column, new in added}
        self.working = self._working() if "pressure_check" in names else None
        for column, new in added:
            new.words = column.words
            new.aside = "pressure_check" in names and column.name in ASIDE
            for row in self.place.rows:
                beside = Beside(self.system, self.served, self.settings, self.working,
                                self.place.number, self.place.cell(row), self.own)  # fmt: skip
                new.formulas[row] = column.formula(beside)
            self.place.refuse_other_contents(new, column.name.upper())

    def _settle(self) -> None:
        """The settings as they are, answered or asked for."""
        given, wrong = asked_settings.answered(self.answers, self.system, self._names)
        given["open_together"] = known_together(self.contents, self.reading, self.answers) or None
        rows, odd = distances(given.get("distance"), groups_of(self.reading), self.system,
                              self.stated)  # fmt: skip
        given = {"distances": rows, **asked_settings.usual(self.sections, self.system), **given}
        self.settings = lay_out(self.contents, self.sections, self.system, given)
        now, before = (
            {**asked_settings.answered(recorded(said), self.system, self._names)[0],
             "distances": distances(said.get("distance"), groups_of(self.reading), self.system,
                                    self.stated)[0]}
            for said in (self.answers, self.before or {})
        )  # fmt: skip
        now["open_together"] = given["open_together"]
        self.changes = Changes(self.settings, self.sections, now,
                               None if self.before is None else before, self.kept)  # fmt: skip
        if "PRESSURE" in self.packages and DISTANCES_SECTION in self.sections:
            known = self.settings.table(DISTANCES_SECTION).values()
            if odd or any(is_blank(row.get("distance")) for row in known):
                self._put(question_of_distances(self.reading, odd))
        for question in asked_settings.open_questions(
            self.settings, self.sections, self.answers, wrong, self._names, self.mapping.left_open
        ):
            self._put(question)
        self.reading.raise_questions()

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
        self.place.refuse_other_contents(new, function.name)

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
        wanted = self._own(BY_FLOW.name, "ROW()") if BY_FLOW.name in self.own else ""
        return WorkingSheet(name, self.place.height, self.settings, self._take("ROW()"), nominal,
                            wanted)  # fmt: skip

    def written(self, cells: NewCells) -> set[tuple[int, int]]:
        """Puts the new cells; returns their places on the list's sheet."""
        added = self.place.write(cells)
        style = self.place.style(self.place.header, max(self.place.headers.values()) + 1)
        wrapped = cells.styles.dressed(style, align=WRAPPED)
        if self.sections:
            writer = SettingsWriter(self.settings, cells, style)
            for section in self.sections:
                writer.write(section, self._names(section))
            writer.put_over(self.recorded)
        if self.working:
            self.working.write(cells, wrapped)
        if "PURCHASE" in self.packages:
            write_purchase(cells, self.settings, self.place.height, self._take(PURCHASE_ROW),
                           self._own("line_length", PURCHASE_ROW), wrapped)  # fmt: skip
        return added

    @property
    def notes(self) -> list[str]:
        """What the results rest on."""
        return notes(self.settings, self.sections) if self.working else []

    @property
    def to_fill_in(self) -> list[str]:
        """What is needed on the sheet of settings and not known yet."""
        return [words for section in self.sections
                for words in self.settings.missing(section, self._names(section))]  # fmt: skip

    def _names(self, section: Section) -> list[str]:
        """The rows that a table of settings must have: the lines or pipes that the list names."""
        of = {"lines": ("line",), "rolls": ("line",),
              "pipes": ("main_pipe", "manifold_pipe")}.get(section.name, ())  # fmt: skip
        values = [row.values.get(name) for name in of for row in self.reading.rows]
        named = list(dict.fromkeys(str(value) for value in values if value))
        return list(MONTHS) if section.name == "months" else named
