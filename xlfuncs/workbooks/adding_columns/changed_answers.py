"""Answers that changed since the last run: they are written over what the sheet of settings holds.

The sheet keeps the answers of the last run, so that what its owner typed there since then stays.
"""

from collections.abc import Collection, Mapping
from typing import Any

from xlfuncs.tables.columns import Column
from xlfuncs.workbooks.adding_columns import basis
from xlfuncs.workbooks.adding_columns.asked_settings import ASKED
from xlfuncs.workbooks.adding_columns.basis import Section
from xlfuncs.workbooks.adding_columns.settings_sheet import Settings, is_blank
from xlfuncs.workbooks.lists.sheets import Grid
from xlfuncs.workbooks.our_tables.read_inputs import SETTINGS_SHEET
from xlfuncs.xlsx.contents import Contents

RECORD = "Answers of the last run of add-columns"
RECORD_AT = 13  # its column, right of all sections
RECORDED = ("open_together", "distance", *(asked.name for asked in ASKED))
Given = Mapping[str, Any]


def of_last_run(contents: Contents) -> dict[str, str]:
    """By name, as the sheet of settings keeps them."""
    if SETTINGS_SHEET not in [sheet.name for sheet in contents.sheets]:
        return {}
    grid = Grid(contents, contents.sheet(SETTINGS_SHEET))
    texts = {str(grid.value(row, RECORD_AT)): grid.value(row, RECORD_AT + 1)
             for row in range(2, grid.last_row + 1)}  # fmt: skip
    return {name: str(text) for name, text in texts.items() if not is_blank(text)}


def record(answers: Given) -> dict[tuple[int, int], str | None]:
    """The cells that keep the answers of this run."""
    told: dict[tuple[int, int], str | None] = {(1, RECORD_AT): RECORD}
    for row, name in enumerate(RECORDED, 2):
        text = str(answers.get(name) or "") or None
        told |= {(row, RECORD_AT): name if text else None, (row, RECORD_AT + 1): text}
    return told


def recorded(answers: Given) -> dict[str, Any]:
    """Without what is known from elsewhere."""
    return {name: text for name, text in answers.items() if name in RECORDED}


def put(settings: Settings, sections: Collection[Section], now: Given, before: Given) -> list[str]:
    """Puts what changed over the settings; says what, in words.

    `now` are what the answers of this run give, `before` those of the last; what is known from
    elsewhere, in the settings, fills blanks only.
    """
    there = [section for section in sections if section.name in settings.kept]
    changes = _Changes(settings, now, before)
    for section in there:
        if not section.rows:
            changes.values(section)
    for section in there:
        if section.rows and section.name in {*now, *before}:
            changes.rows(section)
    return changes.told


class _Changes:
    def __init__(self, settings: Settings, now: Given, before: Given) -> None:
        self.settings, self.now, self.before = settings, now, before
        self.told: list[str] = []

    def values(self, section: Section) -> None:
        for row, column in enumerate(section.columns, self.settings.tops[section.name] + 1):
            new, held = self.settings.given.get(column.name), self.settings.held(row, 2)
            answered = new == self.now.get(column.name) != self.before.get(column.name)
            if not is_blank(new) and new != held and (is_blank(held) or answered):
                self.told.append(self._put(row, 2, column, new))

    def rows(self, section: Section) -> None:
        key, settings = section.names[0], self.settings
        places = {str(name): row for row in settings.rows(section)
                  if not is_blank(name := settings.held(row, 1))}  # fmt: skip
        new = _by_key(self.now.get(section.name, ()), key)
        old = _by_key(self.before.get(section.name, ()), key)
        if section is basis.DISTANCES and self._regrouped:
            old |= {name: {} for name in places if name not in {*new, basis.ALL_OPEN}}
            if basis.ALL_OPEN in places:
                new = {name: row for name, row in new.items() if row.get("distance") is not None}
        if new == old:
            if section is basis.HEAD:  # taken out by hand, it may be
                settings.given = {**settings.given, section.name: ()}
            return
        gone = [places[name] for name in old if name not in new and name in places]
        free = [*gone, *(row for row in settings.rows(section) if is_blank(settings.held(row, 1)))]
        for name, values in new.items():
            row = places.get(name) or next(iter(free), 0)
            if not row:
                continue
            free = [other for other in free if other != row]
            self._row(section, row, values, old.get(name, {}), whole=name not in places)
        for row in gone:
            if row in free:
                self._row(section, row, {}, {}, whole=True)

    @property
    def _regrouped(self) -> bool:
        return any(words.startswith("open together") for words in self.told)

    def _row(self, section: Section, row: int, new: Given, old: Given, *, whole: bool) -> None:
        """A row gets the values that changed, or all of them and no others."""
        first = str(new.get(section.names[0]) or self.settings.held(row, 1))
        told = []
        for place, column in enumerate(section.columns, 1):
            value = new.get(column.name)
            if not whole and value == old.get(column.name):
                continue
            if value != (self.settings.held(row, place) or None):
                words = self._put(row, place, column, value)
                told += [words] if place > 1 or len(section.columns) == 1 else []
        if told:
            head = section is basis.HEAD and len(told) == 1
            words = told[0].removeprefix("preset ") if head else "; ".join(told)
            self.told.append(f"{first} {words}" if head else f"{first}: {words}")

    def _put(self, row: int, place: int, column: Column, value: Any) -> str:
        held, self.settings.over[row, place] = self.settings.held(row, place), value
        unit = "" if value is None else column.unit(self.settings.system)
        return f"{column.header.lower()} {_told(held)} -> {_told(value)} {unit}".strip()


def _by_key(rows: Collection[Given], key: str) -> dict[str, Given]:
    return {str(row.get(key)): row for row in rows}


def _told(value: Any) -> str:
    if is_blank(value):
        return "none"
    return f"{value:g}" if isinstance(value, (int, float)) else str(value)
