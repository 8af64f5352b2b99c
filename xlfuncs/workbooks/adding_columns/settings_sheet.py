"""The small sheet of settings that packages of columns rest on.

What is known already is written into it; the rest is filled in there, and every formula follows.
A section that is there stays as its owner left it, but for answers that changed since. Each value
and row says whether it is needed.
"""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from xlfuncs.errors import WorkbookError
from xlfuncs.tables.columns import Column
from xlfuncs.units import from_base
from xlfuncs.workbooks.adding_columns import basis
from xlfuncs.workbooks.adding_columns.basis import Section
from xlfuncs.workbooks.adding_columns.new_cells import NewCells
from xlfuncs.workbooks.lists.sheets import Grid
from xlfuncs.workbooks.our_tables.read_inputs import FILL_IN, SETTINGS_SHEET, STATE
from xlfuncs.xlsx.cell_references import column_letters, quoted_sheet
from xlfuncs.xlsx.cell_styles import WRAPPED
from xlfuncs.xlsx.contents import Contents

WIDTHS = (28, 16, *[14] * 7, 14, 34, 14, 18, 40)
TO_FILL = "FFF3CC"  # the color of cells to type in, as on the sheets of plans
DAY = 14  # built-in number format of a date, ECMA-376 part 1, 18.8.30
WORDS = (
    f"Settings of the computed columns: type in the colored cells; {FILL_IN!r} says what is needed."
    " The columns beside the list follow. Minutes are those of one watering."
)
Row = Mapping[str, Any]


@dataclass
class Settings:
    """Where the settings stand. `given` are those known, rows of tables under their section."""

    system: str
    given: Mapping[str, Any] = field(default_factory=dict)
    tops: dict[str, int] = field(default_factory=dict)  # row of the title, by section
    there: Grid | None = None  # the sheet as it is, with the sections
    kept: frozenset[str] = frozenset()  # that it has already
    over: dict[tuple[int, int], Any] = field(default_factory=dict)  # put over what stands there

    def held(self, row: int, column: int) -> Any:
        """What stands in a cell of the sheet, or is put over it."""
        if (row, column) in self.over or not self.there:
            return self.over.get((row, column))
        return self.there.value(row, column)

    def cell(self, name: str) -> str:
        """A single value."""
        section = next(s for s in basis.SECTIONS if not s.rows and name in s.names)
        return self._at(self.tops[section.name] + 1 + section.names.index(name), 1)

    def column(self, section: Section, name: str) -> str:
        """The cells of a column of a table."""
        rows = self.rows(section)
        letters = column_letters(section.names.index(name) + 1)
        return f"{quoted_sheet(SETTINGS_SHEET)}!${letters}${rows[0]}:${letters}${rows[-1]}"

    def span(self, section: Section) -> str:
        """The typed columns of a table with their headings."""
        rows, letters = self.rows(section), column_letters(len(section.columns))
        return f"{quoted_sheet(SETTINGS_SHEET)}!$A${rows[0] - 1}:${letters}${rows[-1]}"

    def looked_up(self, section: Section, name: str, key: str) -> str:
        """The value of a column in the row of that key; where there is no key, of the only row."""
        if not key:
            return self.only(section, name)
        keys = self.column(section, section.names[0])
        found = f'MATCH({key}&"",{keys},0)'  # a name that is a number too: keys are text
        return f"INDEX({self.column(section, name)},{found})"

    def only(self, section: Section, name: str) -> str:
        """The value of a column in the first row; blank where there are several."""
        first = self._at(self.rows(section)[0], section.names.index(name))
        return f'IF(OR({self.several(section)},{first}=""),"",{first})'

    def several(self, section: Section) -> str:
        return f"COUNTA({self.column(section, section.names[0])})>1"

    def month(self, number: int, name: str) -> str:
        at = self.rows(basis.SEASON)[number - 1]
        return self._at(at, basis.SEASON.names.index(name))

    def rows(self, section: Section) -> range:
        first = self.tops[section.name] + 4
        return range(first, first + section.rows)

    def values(self, section: Section) -> Row:
        """The single values of a section: as they stand, as given, or by default."""
        if self.there and section.name in self.kept:
            top = self.tops[section.name] + 1
            there = {c.name: self.held(top + i, 2) for i, c in enumerate(section.columns)}
            return {n: self.given.get(n) if is_blank(v) else v for n, v in there.items()}
        return {column.name: self._given(column) for column in section.columns}

    def _given(self, column: Column) -> Any:
        if column.name in self.given or not isinstance(column.default, (int, float)):
            return self.given.get(column.name)
        return from_base(float(column.default), column.dimension, self.system)

    def table(self, section: Section, names: Sequence[str] = ()) -> dict[int, Row]:
        """The rows of a table by their place: as they stand, and those that come to them, which
        are the rows of `names`, or all that are given for a new table."""
        key, rows = section.names[0], dict[int, Row]()
        if self.there and section.name in self.kept:
            for row in self.rows(section):
                if not is_blank(self.held(row, 1)):
                    rows[row] = {c.name: self.held(row, place)
                                 for place, c in enumerate(section.columns, 1)}  # fmt: skip
        given = {str(row.get(key)): row for row in self.given.get(section.name, ())}
        wanted = list(names) or ([] if rows else list(given))
        held = {str(row[key]) for row in rows.values()}
        new = [name for name in wanted if name not in held]
        free = [row for row in self.rows(section) if row not in rows]
        if len(new) > len(free):
            words = f"no room for {len(new)} rows under {section.title!r}"
            raise WorkbookError(f"{SETTINGS_SHEET}: {words}")
        return rows | {row: {**given.get(name, {}), key: name}
                       for row, name in zip(free, new, strict=False)}  # fmt: skip

    def missing(self, section: Section, names: Sequence[str] = ()) -> list[str]:
        """What is needed and not known yet."""
        if not section.rows:
            values = self.values(section)
            return [c.header for c in section.columns if c.required and is_blank(values[c.name])]
        rows = self.table(section, names)
        if not rows and section.needed:
            return [section.title]
        return [f"{words} of {row[section.names[0]]}" for row in rows.values()
                for words, of in section.needs if all(map(is_blank, map(row.get, of)))]  # fmt: skip

    def _at(self, row: int, place: int) -> str:
        return f"{quoted_sheet(SETTINGS_SHEET)}!${column_letters(place + 1)}${row}"


def is_blank(value: Any) -> bool:
    return value is None or value == ""


def lay_out(
    contents: Contents, sections: Sequence[Section], system: str, given: Mapping[str, Any]
) -> Settings:
    """Finds the sections that are there; the others come below them."""
    months = [{**row, "month": basis.MONTHS[int(row["month"]) - 1]}
              for row in given.get("months", ())]  # fmt: skip
    rolls = given.get("rolls") or given.get("lines", ())
    settings = Settings(system, {**given, "months": months, "rolls": rolls})
    last = 1
    if SETTINGS_SHEET in [sheet.name for sheet in contents.sheets]:
        settings.there = grid = Grid(contents, contents.sheet(SETTINGS_SHEET))
        titles = {grid.value(at, 1): at for at in range(1, grid.last_row + 1)}
        settings.tops = {s.name: titles[s.title] for s in basis.SECTIONS if s.title in titles}
        last = grid.last_row
    settings.kept = frozenset(settings.tops)
    for section in sections:
        if section.name not in settings.tops:
            settings.tops[section.name] = last + 2
            last += section.height + 1
    return settings


class SettingsWriter:
    """Writes the sections that are missing, and into tables the rows of `names` that are."""

    def __init__(self, settings: Settings, cells: NewCells, head_style: str) -> None:
        self.settings, self.cells = settings, cells
        self.head_style = head_style
        if settings.there is None:
            cells.make_sheet(SETTINGS_SHEET, WIDTHS)
            self._put(1, 1, WORDS)

    def write(self, section: Section, names: Sequence[str] = ()) -> None:
        top, fresh = self.settings.tops[section.name], section.name not in self.settings.kept
        if fresh:
            self._put(top, 1, section.title, style=self.head_style)
        if section.rows:
            for row, values in self.settings.table(section, names).items():
                if fresh or is_blank(self.settings.held(row, 1)):
                    for place, column in enumerate(section.columns, 1):
                        if values.get(column.name) is not None:
                            self._typed(row, place, values[column.name])
        if fresh and section.rows:
            self._frame(section)
        elif fresh:
            self._values(section, top + 1)

    def put_over(self, recorded: Mapping[tuple[int, int], Any]) -> None:
        """Writes what changed in sections that are there, and what is kept beside them."""
        for (row, column), value in self.settings.over.items():
            self._typed(row, column, value)
        for (row, column), value in recorded.items():
            if self.settings.held(row, column) != value:
                self._put(row, column, value)

    def _put(self, row: int, column: int, value: Any = None, **more: str) -> None:
        if isinstance(value, dt.date):
            value = self.cells.contents.serial(dt.datetime(value.year, value.month, value.day))
        self.cells.put(SETTINGS_SHEET, row, column, value, **more)

    def _typed(self, row: int, column: int, value: Any = None) -> None:
        """A cell to type in, with what is known."""
        dated = self.cells.styles.like("0", DAY) if isinstance(value, dt.date) else "0"
        self._put(row, column, value, style=self.cells.styles.dressed(dated, fill=TO_FILL))

    def _values(self, section: Section, first: int) -> None:
        """Single values: heading, value, whether it is needed, and what it is."""
        own = {name: f"B{first + place}" for place, name in enumerate(section.names)}
        values, formulas = self.settings.values(section), section.formulas
        for row, column in enumerate(section.all_columns, first):
            self._put(row, 1, column.heading(self.settings.system))
            if formula := formulas.get(column.name):
                self._put(row, 2, formula=formula(own, self.settings.system))
            else:
                self._typed(row, 2, values[column.name])
            if column.required:
                self._put(row, 3, formula=f'IF(B{row}="","{FILL_IN}","ok")')
            else:
                self._put(row, 3, section.need(column))
            self._put(row, 4, column.help)

    def _frame(self, section: Section) -> None:
        """Of a table: above the headings what each column is and whether it is needed, computed
        columns, and the state of each row."""
        rows = self.settings.rows(section)
        state = len(section.names) + 1
        wrapped = self.cells.styles.dressed("0", align=WRAPPED)
        self._put(rows[0] - 1, state, STATE)
        for place, column in enumerate(section.all_columns, 1):
            said = column.help, section.need(column), column.heading(self.settings.system)
            for row, words in enumerate(said, rows[0] - 3):
                self._put(row, place, words, style=wrapped)
        for row in rows:
            for place in range(1, len(section.columns) + 1):
                if (row, place) not in self.cells.cells[SETTINGS_SHEET]:
                    self._typed(row, place)
            own = {n: f"{column_letters(i)}{row}" for i, n in enumerate(section.names, 1)}
            if "target" in self.settings.tops:
                own["efficiency"] = self.settings.cell("efficiency")
            for name, formula in section.formulas.items():
                text = formula(own, self.settings.system)
                self._put(row, section.names.index(name) + 1, formula=text)
            first = row == rows[0] and bool(section.needs)
            missing = f"{FILL_IN}: {section.all_columns[0].header}"
            none = f'IF(COUNTA(A{row}:A{rows[-1]})=0,"{missing}","")' if first else '""'
            self._put(row, state, formula=_state(section, own, none))


def _state(section: Section, own: Mapping[str, str], blank_row: str) -> str:
    """What a row lacks."""
    words = '"ok"'
    for told, names in reversed(section.needs):
        blank = ",".join(f'{own[name]}=""' for name in names)
        words = f'IF(AND({blank}),"{FILL_IN}: {told}",{words})'
    return f'IF({own[section.names[0]]}="",{blank_row},{words})'
