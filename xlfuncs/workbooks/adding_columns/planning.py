"""Which columns are added to a list, and their formulas; asks what only its owner can say."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import partial
from typing import Any

from xlfuncs.catalogue.declaration import Arg, WorksheetFunction
from xlfuncs.units import DIMENSIONS
from xlfuncs.workbooks.adding_columns import (
    asked_settings,
    basis,
    changed_answers,
    open_together,
    serving,
)
from xlfuncs.workbooks.adding_columns.new_cells import NewCells
from xlfuncs.workbooks.adding_columns.packages import (
    ASIDE,
    BY_FLOW,
    MINUTES,
    PACKAGES,
    Beside,
    columns_of,
)
from xlfuncs.workbooks.adding_columns.placing import ListPlace, compare, leave_out_own
from xlfuncs.workbooks.adding_columns.purchase_sheet import NUMBER as PURCHASE_ROW
from xlfuncs.workbooks.adding_columns.purchase_sheet import write_purchase
from xlfuncs.workbooks.adding_columns.settings_sheet import SettingsWriter, is_blank, lay_out
from xlfuncs.workbooks.adding_columns.wanted import functions_of, read_by, sheet_of_list, wanted_by
from xlfuncs.workbooks.adding_columns.working_sheet import KEYS, WorkingSheet
from xlfuncs.workbooks.lists.bed_list_import import ask_about_flags
from xlfuncs.workbooks.lists.mapping import ListMapping
from xlfuncs.workbooks.lists.missing import ask_missing
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
        self.recorded = changed_answers.record(self.answers)
        self.before = changed_answers.of_last_run(contents)
        known = open_together.known_on_sheet(contents)
        if known and self.answers.get("open_together") == self.before.get("open_together"):
            self.answers.pop("open_together", None)  # the sheet may say otherwise since
        self.together = str(self.answers.get("open_together") or known)
        wanted = wanted_by(mapping)
        self.grid = sheet_of_list(contents, sheet or mapping.sheet, wanted, mapping.header_row)
        self.stated: dict[str, str] = {}
        if self.packages:
            far = self.answers.get("distance")
            self.stated = open_together.stated_columns(self.grid, self.together, far)
            self.mapping = replace(mapping, columns={**self.stated, **mapping.columns})
        self._read()
        there = self._there()
        others = [name for name, package in PACKAGES.items() if package.own & there]
        if self.packages and not set(others) <= set(self.packages):
            # They are renewed too, and read columns of their own.
            self.mapping = replace(self.mapping, add=tuple(dict.fromkeys((*mapping.add, *others))))
            self._read()
        if not mapping.add:
            self._ask_which()
        self._add_packages()
        for function in functions_of(mapping):
            self._add_function(function)
        compare(self.reading, self.grid, self.place.columns, self.served)
        self.reading.raise_questions()

    @property
    def packages(self) -> list[str]:
        return [name for name in self.mapping.add if name in PACKAGES]

    def _read(self) -> None:
        self.reading = read_lines(as_lines(self.grid), wanted_by(self.mapping), "", self.mapping)
        leave_out_own(self.reading, self.grid)
        ask_missing(self.reading, len(self.reading.rows))
        ask_about_flags(self.reading)
        head = self.reading.head
        if head and not self.reading.rows:
            words = f"No rows were found below row {head.line.number}."
            self.reading.ask(("header_row",), f"{words} Which row holds the headers?")
        listed = open_together.known_together(self.reading)
        self.together = listed or self.together
        if "PRESSURE" in self.packages and self.together not in (listed or "?", *basis.TOGETHER):
            self._put(open_together.question_of_valves(self.reading, self.together))
        self.reading.raise_questions()
        assert head is not None
        self.system = self.reading.system
        rows = [row.line.number for row in self.reading.rows]
        self.place = ListPlace(self.contents, self.grid, head.line.number, rows)

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

    def _there(self) -> set[str]:
        """The columns of packages that were added before."""
        return {column.name for column in columns_of(PACKAGES, [MINUTES.name])
                if self._heading(column.name, column.header, column.dimension)
                in self.place.headers}  # fmt: skip

    def _add_packages(self) -> None:
        table = self.reading.wanted.table
        self.served = {
            name: (found, table[name].dimension) for name in read_by(self.packages)
            if (found := serving.serve(self.reading, name, table[name].dimension))
        }  # fmt: skip
        chosen = columns_of(self.packages, self._there())
        names = {column.name for column in chosen}
        sections = {s for name in self.packages for s in PACKAGES[name].sections}
        listed = "distance" in self.served
        self.sections = [section for section in basis.SECTIONS if section in sections
                         and not (listed and section is basis.DISTANCES)]  # fmt: skip
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
        given, wrong, odd = self._given(self.answers)
        usual = asked_settings.usual(self.sections, self.system)
        together = {"open_together": self.together or None}
        self.settings = lay_out(self.contents, self.sections, self.system,
                                {**usual, **given, **together})  # fmt: skip
        now, before = (self._given(changed_answers.recorded(said))[0]
                       for said in (self.answers, self.before))  # fmt: skip
        now |= together
        self.changed = changed_answers.put(self.settings, self.sections, now, before)
        if "PRESSURE" in self.packages and basis.DISTANCES in self.sections:
            known = self.settings.table(basis.DISTANCES).values()
            if odd or any(is_blank(row.get("distance")) for row in known):
                self._put(open_together.question_of_distances(self.reading, odd))
        for question in asked_settings.open_questions(
            self.settings, self.sections, self.answers, wrong, self._names, self.mapping.left_open
        ):
            self._put(question)
        self.reading.raise_questions()

    def _given(self, said: Mapping[str, Any]) -> tuple[dict[str, Any], dict[str, str], str]:
        """What is said gives to the settings; what is wrong with it, and with the distances."""
        given, wrong = asked_settings.answered(said, self.system, self._names)
        rows, odd = open_together.distances(said.get("distance"), self.reading, self.stated)
        return {"distances": rows, **given}, wrong, odd

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

    def notes(self, *, minutes: bool) -> list[str]:
        """What the results rest on, and how the minutes are used where there are any."""
        level = not {"elevation", "slope"} & self.served.keys()
        return open_together.notes(self.settings, self.sections, minutes=minutes,
                                   level=level) if self.working else []  # fmt: skip

    @property
    def to_fill_in(self) -> list[str]:
        """What is needed on the sheet of settings and not known yet."""
        return [words for section in self.sections
                for words in self.settings.missing(section, self._names(section))]  # fmt: skip

    def _names(self, section: basis.Section) -> list[str]:
        """The rows that a table of settings must have: the lines or pipes that the list names."""
        of = {"lines": ("line",), "rolls": ("line",),
              "pipes": ("main_pipe", "manifold_pipe")}.get(section.name, ())  # fmt: skip
        values = [row.values.get(name) for name in of for row in self.reading.rows]
        named = list(dict.fromkeys(str(value) for value in values if value))
        return list(basis.MONTHS) if section.name == "months" else named
