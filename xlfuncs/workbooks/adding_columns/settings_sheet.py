"""The small sheet of settings that packages of columns rest on: supply, lines, pipes, months.

What is known already is written into it; the rest is filled in there, and every formula follows.
A section that is there stays as its owner left it.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import Any

from xlfuncs.errors import WorkbookError
from xlfuncs.tables.columns import Column
from xlfuncs.tables.garden.head_assembly import HEAD_PARTS, SUPPLIES
from xlfuncs.tables.garden.lines import LINES, PIPES
from xlfuncs.tables.settings import SUPPLY, TARGET
from xlfuncs.units import from_base
from xlfuncs.workbooks.adding_columns.column_formulas import call, unless_blank
from xlfuncs.workbooks.adding_columns.new_cells import NewCells
from xlfuncs.workbooks.lists.sheets import Grid
from xlfuncs.xlsx.cell_references import column_letters, quoted_sheet
from xlfuncs.xlsx.contents import Contents

SHEET = "Water settings"
WIDTHS = (24, 16, *[14] * 11)
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
DAY = 14  # built-in number format of a date, ECMA-376 part 1, 18.8.30


# A formula from the cells of a section's values, by name, and the settings that it may ask.
Formula = Callable[[Mapping[str, str], "Settings"], str]


@dataclass(frozen=True)
class Section:
    """A part of the sheet: single values one below the other, or a table of so many rows, with
    formulas beside them."""

    name: str
    title: str
    columns: tuple[Column, ...]
    rows: int = 0
    computed: tuple[tuple[Column, Formula], ...] = ()

    @property
    def height(self) -> int:
        return self.rows + 1 if self.rows else len(self.all_columns)

    @property
    def all_columns(self) -> list[Column]:
        return [*self.columns, *(column for column, _ in self.computed)]

    def place(self, name: str) -> int:
        return [column.name for column in self.all_columns].index(name)


def _of(columns: Sequence[Column], *names: str) -> tuple[Column, ...]:
    return tuple(next(c for c in columns if c.name == name) for name in names)


def _measured(cells: Mapping[str, str], settings: Settings) -> str:
    volume, seconds = cells["bucket_volume"], cells["bucket_seconds"]
    flow = call("SUPPLY_FLOW", settings.system, {"volume": volume, "seconds": seconds})
    return unless_blank((volume, seconds), flow)


def _flow_of_emitter(cells: Mapping[str, str], settings: Settings) -> str:
    own, per_length, spacing = (
        cells[name] for name in ("emitter_flow", "flow_per_length", "emitter_spacing")
    )
    given = {"flow_per_length": per_length, "emitter_spacing": spacing}
    tape = call("EMITTER_FLOW_FROM_TAPE", settings.system, given)
    return f'IF({own}<>"",{own},{unless_blank((per_length, spacing), tape)})'


def _to_give(cells: Mapping[str, str], settings: Settings, *, rained: bool) -> str:
    system, use = settings.system, f"{cells['reference_et']}*{cells['kc']}"
    rain = call("EFFECTIVE_RAIN", system, {"rain": cells["rain"], "crop_use": use})
    effective = rain if rained else "0"
    net = call("NET_IRRIGATION", system, {"crop_use": use, "effective_rain": effective})
    efficiency = settings.cell("efficiency")
    gross = call("GROSS_IRRIGATION", system, {"net_depth": net, "efficiency": efficiency})
    return unless_blank([cells[name] for name in ("reference_et", "kc", "rain")], gross)


_MONTH = (
    Column("month", "Month", "text", "Month"),
    Column("days", "Days", "count", "Days with a crop in the month"),
    Column("reference_et", "Reference ET", "depth", "Reference evapotranspiration of the month"),
    Column("rain", "Rain", "depth", "Rain of the month"),
    Column("kc", "Crop coefficient", "number", "Crop use over reference ET"),
)
SUPPLY_SECTION = Section(
    "supply", "Supply",
    (*_of(SUPPLY.settings, "bucket_volume", "bucket_seconds", "static_pressure"),
     *_of(SUPPLIES.columns, "gauge_flow", "gauge_pressure")),
    computed=((Column("measured_flow", "Measured flow", "flow", "By the bucket test"), _measured),),
)  # fmt: skip
TARGET_SECTION = Section("target", "Target", TARGET.settings)
LINES_SECTION = Section(
    "lines", "Drip lines, as their data sheets give them",
    _of(LINES.columns, "line", "emitter_spacing", "emitter_flow", "flow_per_length",
        "rated_pressure", "exponent", "min_pressure", "max_pressure", "inside_diameter",
        "roll_length", "roll_price"), 12,
    computed=(
        (Column("flow_of_emitter", "Flow of an emitter", "emitter_flow", ""), _flow_of_emitter),
    ),
)  # fmt: skip
PIPES_SECTION = Section("pipes", "Pipes", _of(PIPES.columns, "pipe", "inside_diameter"), 6)
HEAD_SECTION = Section(
    "head_parts", "Head assembly, in the order of the flow; a filter's loss when it is dirty",
    _of(HEAD_PARTS.columns, "part", "loss", "loss_flow", "opening_loss", "preset"), 6,
)  # fmt: skip
MONTHS_SECTION = Section(
    "months", "Months", _MONTH, 12,
    computed=(
        (Column("open", "To give, open ground", "depth", ""), partial(_to_give, rained=True)),
        (Column("covered", "To give, no rain", "depth", ""), partial(_to_give, rained=False)),
    ),
)  # fmt: skip
BUYING_SECTION = Section(
    "buying", "Purchase", (Column("plan_date", "Plan date", "date", "Day of the prices"),)
)
SECTIONS = (SUPPLY_SECTION, TARGET_SECTION, LINES_SECTION, PIPES_SECTION, HEAD_SECTION,
            MONTHS_SECTION, BUYING_SECTION)  # fmt: skip


@dataclass
class Settings:
    """Where the settings stand. `given` are those known, rows of tables under their section."""

    system: str
    given: Mapping[str, Any] = field(default_factory=dict)
    tops: dict[str, int] = field(default_factory=dict)  # row of the title, by section
    there: Grid | None = None
    missing: list[str] = field(default_factory=list)  # what is needed and not known yet

    def value(self, column: Column) -> Any:
        """What is known of a single value: as given, or its default."""
        if column.name in self.given or not isinstance(column.default, (int, float)):
            return self.given.get(column.name)
        return from_base(float(column.default), column.dimension, self.system)

    def cell(self, name: str) -> str:
        """A single value."""
        section = next(s for s in SECTIONS if not s.rows and name in _names(s))
        return self._at(self.tops[section.name] + 1 + section.place(name), 1)

    def column(self, section: Section, name: str) -> str:
        """The cells of a column of a table."""
        first, last = self._rows(section)
        letters = column_letters(section.place(name) + 1)
        return f"{quoted_sheet(SHEET)}!${letters}${first}:${letters}${last}"

    def span(self, section: Section) -> str:
        """The typed columns of a table with their headings."""
        first, last = self._rows(section)
        letters = column_letters(len(section.columns))
        return f"{quoted_sheet(SHEET)}!$A${first - 1}:${letters}${last}"

    def first(self, section: Section, name: str) -> str:
        return self._at(self._rows(section)[0], section.place(name))

    def looked_up(self, section: Section, name: str, key: str) -> str:
        """The value of a column in the row of that key; of the first row where there is no key."""
        if not key:
            return self.first(section, name)
        keys = self.column(section, section.columns[0].name)
        return f"INDEX({self.column(section, name)},MATCH({key},{keys},0))"

    def month(self, number: int, name: str) -> str:
        row = self._rows(MONTHS_SECTION)[0] + number - 1
        return self._at(row, MONTHS_SECTION.place(name))

    def _rows(self, section: Section) -> tuple[int, int]:
        first = self.tops[section.name] + 2
        return first, first + section.rows - 1

    def _at(self, row: int, place: int) -> str:
        return f"{quoted_sheet(SHEET)}!${column_letters(place + 1)}${row}"


def _names(section: Section) -> list[str]:
    return [column.name for column in section.all_columns]


def lay_out(
    contents: Contents, sections: Sequence[Section], system: str, given: Mapping[str, Any]
) -> Settings:
    """Finds the sections that are there; the others come below them."""
    settings = Settings(system, given)
    row = 1
    if SHEET in [sheet.name for sheet in contents.sheets]:
        settings.there = grid = Grid(contents, contents.sheet(SHEET))
        for section in SECTIONS:
            for at in range(1, grid.last_row + 1):
                if grid.value(at, 1) == section.title:
                    settings.tops[section.name] = at
                    row = max(row, at + section.height + 1)
    for section in sections:
        if section.name not in settings.tops:
            settings.tops[section.name] = row + 2
            row += section.height + 2
    return settings


def write_settings(
    settings: Settings, cells: NewCells, sections: Sequence[Section], head_style: str,
    names: Mapping[str, Sequence[str]],
) -> None:  # fmt: skip
    """Writes the sections that are missing, and into tables the rows of `names` that are."""
    if settings.there is None:
        cells.make_sheet(SHEET, WIDTHS)
        cells.put(SHEET, 1, 1, "Settings of the computed columns: fill in what is known;"
                  " the columns beside the list follow.")  # fmt: skip
    for section in sections:
        top = settings.tops[section.name]
        fresh = settings.there is None or settings.there.value(top, 1) != section.title
        if fresh:
            cells.put(SHEET, top, 1, section.title, style=head_style)
        if section.rows:
            _write_table(settings, cells, section, names.get(section.name, ()), fresh=fresh)
        elif fresh:
            _write_values(settings, cells, section)


def _write_values(settings: Settings, cells: NewCells, section: Section) -> None:
    first = settings.tops[section.name] + 1
    own = {column.name: f"B{first + i}" for i, column in enumerate(section.columns)}
    formulas = {column.name: formula for column, formula in section.computed}
    for row, column in enumerate(section.all_columns, first):
        cells.put(SHEET, row, 1, column.heading(settings.system))
        cells.put(SHEET, row, 3, column.help)
        if column.name in formulas:
            cells.put(SHEET, row, 2, formula=formulas[column.name](own, settings))
        elif (value := settings.value(column)) is not None:
            dated = isinstance(value, dt.date)
            style = cells.styles.like("0", DAY) if dated else ""
            cells.put(SHEET, row, 2, _serial(cells, value) if dated else value, style=style)
        elif column.required:
            settings.missing.append(column.header)


def _serial(cells: NewCells, day: dt.date) -> float:
    return cells.contents.serial(dt.datetime(day.year, day.month, day.day))


def _write_table(
    settings: Settings, cells: NewCells, section: Section, names: Sequence[str], *, fresh: bool
) -> None:
    first = settings.tops[section.name] + 2
    for row, values in _rows(settings, section, names, fresh=fresh):
        for place, column in enumerate(section.columns, 1):
            if values.get(column.name) is not None:
                cells.put(SHEET, row, place, values[column.name])
            elif column.required:
                settings.missing.append(f"{column.header} of {values[section.columns[0].name]}")
        if section is LINES_SECTION and not values.keys() & {"emitter_flow", "flow_per_length"}:
            settings.missing.append(f"Emitter flow or flow per length of {values['line']}")
    if not fresh:
        return
    for place, column in enumerate(section.all_columns, 1):
        cells.put(SHEET, first - 1, place, column.heading(settings.system))
    for row in range(first, first + section.rows):
        own = {c.name: f"{column_letters(i)}{row}" for i, c in enumerate(section.columns, 1)}
        for place, (_, formula) in enumerate(section.computed, len(section.columns) + 1):
            cells.put(SHEET, row, place, formula=formula(own, settings))


def _rows(
    settings: Settings, section: Section, names: Sequence[str], *, fresh: bool
) -> Iterator[tuple[int, Mapping[str, Any]]]:
    """The rows to be written: all that is known, or the names that the table has not yet."""
    first, key = settings.tops[section.name] + 2, section.columns[0].name
    known = {str(row.get(key)): row for row in settings.given.get(section.name, ())}
    free, wanted = list(range(first, first + section.rows)), list(names) or list(known)
    if section is MONTHS_SECTION:
        wanted = list(MONTHS)
        known = {MONTHS[int(number) - 1]: row for number, row in known.items()}
    if not fresh and settings.there is not None:
        held = {row: settings.there.value(row, 1) for row in free}
        free = [row for row, value in held.items() if value in (None, "")]
        wanted = [name for name in names if name not in held.values()]
    if fresh and section.rows and not wanted and section is not HEAD_SECTION:
        settings.missing.append(section.title)
    if len(wanted) > len(free):
        raise WorkbookError(f"{SHEET}: no room for {len(wanted)} rows under {section.title!r}")
    for row, name in zip(free, wanted, strict=False):
        yield row, {**known.get(name, {}), key: name}
