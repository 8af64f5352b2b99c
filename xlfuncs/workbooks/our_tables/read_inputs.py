"""Reading the inputs out of a workbook in use, whatever program saved it last.

    found = read_inputs(Path("garden.xlsx"))
    found.inputs.tables["Beds"]   # rows by column name, units as typed
    found.notes                   # what an input cell held that is no input

Tables and settings are found by their names, so that sheets may be moved and renamed, rows and
columns inserted, and columns deleted that are not needed.

The marks of the template, its version, edition and whose figures it holds, stand among the file's
own properties (ECMA-376 part 1, 22.3), which spreadsheet programs keep. The system of units stands
in the cell named `units`. Where a program dropped the properties the template's tables and words
still tell.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

from xlfuncs.catalogue.arguments import is_blank
from xlfuncs.catalogue.findings.given import column_of
from xlfuncs.errors import CellError, WorkbookError
from xlfuncs.tables.all_tables import SETTINGS
from xlfuncs.tables.columns import Column
from xlfuncs.units import SYSTEMS
from xlfuncs.workbooks.formulas.formula_cells import Position
from xlfuncs.workbooks.our_tables import table_cells
from xlfuncs.xlsx.cell_references import cell_name
from xlfuncs.xlsx.contents import Contents
from xlfuncs.xlsx.package import Package

# Raised when a change of the template changes numbers or takes tables away; workbook_template
# says in `versions` what each changed. 0 are workbooks without marks.
TEMPLATE_VERSION = 1
VERSION, EDITION, FIGURES = "Template version", "Template edition", "Template figures"
INVENTED, OWN = "invented", "own"
INVENTED_WORDS = "Invented farm: no figure here is real."


@dataclass(frozen=True)
class Marks:
    """What a workbook says of how it was made; `edition` is '' where it does not say."""

    system: str
    version: int
    edition: str
    invented: bool


def properties(edition: str, invented: bool) -> dict[str, str]:
    """The properties that a new workbook gets."""
    figures = INVENTED if invented else OWN
    return {VERSION: str(TEMPLATE_VERSION), EDITION: edition, FIGURES: figures}


def read_marks(contents: Contents) -> Marks:
    """Raises WorkbookError for a file that is not ours, or that a newer program made."""
    name, given = contents.package.name, _custom_properties(contents)
    units = table_cells.named_cells(contents).get("units")
    system = table_cells.cell_value(contents, units) if units else None
    if system not in SYSTEMS:
        words = f"{name}: not a workbook of the template; its cell named units says neither us nor"
        words += " metric"
        raise WorkbookError(words)
    version = int(given[VERSION]) if given.get(VERSION, "").isdigit() else 0
    if version > TEMPLATE_VERSION:
        raise WorkbookError(
            f"{name}: made by a newer version of this program (template {version}; this one knows"
            f" up to {TEMPLATE_VERSION}); update the program first"
        )
    figures = given.get(FIGURES)
    invented = figures == INVENTED if figures else _says_invented(contents)
    return Marks(str(system), version, given.get(EDITION, ""), invented)


def _custom_properties(contents: Contents) -> dict[str, str]:
    """The file's own properties by name, as text."""
    package = contents.package
    for kind, part in package.relationships("").values():
        if kind == "custom-properties" and package.has(part):
            return {p.get("name", ""): _text(p) for p in package.tree(part)}
    return {}


def _text(element: ElementTree.Element) -> str:
    return "".join(element.itertext()).strip()


def _says_invented(contents: Contents) -> bool:
    cells = (contents.cell_at(sheet.name, 3, 1) for sheet in contents.sheets)
    return any(cell is not None and contents.value(cell) == INVENTED_WORDS for cell in cells)


# Sheets that computed columns bring along, and headings that a check looks for.
SETTINGS_SHEET = "Water settings"
STATE = "State"  # heads the words on a row of settings, and stands beside single ones
FILL_IN = "fill in"
PURCHASE_SHEET = "Lines to buy"
PRESSURE_SHEET = " pressure"  # the end of the name of the sheet for a list's pressure
PRESSURE_WORDS = "Words"  # heads what is said of a bed there
OK_ALONE = "ok if it waters alone: which beds open together is not said"  # under it
MINUTES_WORDS = "Words on minutes"  # heads what is said of the time of its valve
PRESSURE_SHARE = "Share"  # heads the part of the nominal flow that it gets


Rows = Sequence[Mapping[str, Any]]


@dataclass(frozen=True)
class Inputs:
    """Settings and tables; `invented` marks demo data, which every page then says.

    A setting that is missing takes its default; one that is "" stays blank.
    """

    settings: Mapping[str, Any] = field(default_factory=dict)
    tables: Mapping[str, Rows] = field(default_factory=dict)
    invented: bool = False


_FIRST_DAY = {False: datetime(1899, 12, 30), True: datetime(1904, 1, 1)}
_LAST_DAY = 2_958_465  # of the year 9999


@dataclass(frozen=True)
class Reading:
    """The inputs of a workbook, what it says of itself, and what could not be read as input."""

    contents: Contents
    marks: Marks
    inputs: Inputs
    tables: Mapping[str, table_cells.TableInWorkbook]
    notes: list[str] = field(default_factory=list)
    formulas: Mapping[Position, Any] = field(default_factory=dict)  # in input cells: their values


def read_inputs(source: Path | bytes | Contents) -> Reading:
    """Raises WorkbookError for a file that is no workbook of the template, or of a newer one."""
    contents = source if isinstance(source, Contents) else Contents(Package.open(source))
    marks = read_marks(contents)
    reader = _Reader(contents, marks.system)
    tables = table_cells.tables_in(contents, {})
    settings = reader.settings()
    rows = {name: reader.rows(table) for name, table in tables.items()}
    inputs = Inputs(settings, rows, marks.invented)
    return Reading(contents, marks, inputs, tables, reader.notes, reader.formulas)


class _Reader:
    def __init__(self, contents: Contents, system: str) -> None:
        self.contents, self.system = contents, system
        self.notes: list[str] = []
        self.formulas: dict[Position, Any] = {}

    def settings(self) -> dict[str, Any]:
        places, found = table_cells.named_cells(self.contents), {}
        for setting in SETTINGS:
            place = places.get(setting.name)
            if place is None:
                continue
            value = self._value(place, setting, setting.unit(self.system))
            if value is not None:
                found[setting.name] = value
            elif setting.default is not None:
                found[setting.name] = ""  # somebody cleared it
        return found

    def rows(self, table: table_cells.TableInWorkbook) -> list[dict[str, Any]]:
        """Every row down to the last that is filled, also those typed right below the table."""
        units = {name: self._unit(table, name) for name in table.places}
        rows = []
        for number in self._row_numbers(table):
            row = {}
            for name, column in table.places.items():
                place = (table.sheet, number, column)
                value = self._value(place, table.table[name], units[name])
                if value is not None:
                    row[name] = value
            rows.append(row)
        while rows and not rows[-1]:
            rows.pop()
        return rows

    def _row_numbers(self, table: table_cells.TableInWorkbook) -> Iterator[int]:
        area = table.placed.area
        last = area.last_row - table.placed.total_rows
        yield from range(area.first_row + table.placed.header_rows, last + 1)
        if table.placed.total_rows:
            return
        number = last + 1
        while any(self._is_filled(table.sheet, number, c) for c in table.places.values()):
            yield number
            number += 1

    def _is_filled(self, sheet: str, row: int, column: int) -> bool:
        cell = self.contents.cell_at(sheet, row, column)
        return cell is not None and not is_blank(self.contents.value(cell))

    def _unit(self, table: table_cells.TableInWorkbook, name: str) -> str:
        """The unit that a column's header states, else the workbook's."""
        header = table.placed.columns[table.places[name] - table.placed.area.first_column]
        match = column_of(header, table.table)
        return (match[1] if match else "") or table.table[name].unit(self.system)

    def _value(self, place: Position, column: Column, unit: str) -> Any:
        """What was typed: a number, a date for dates, text; None for nothing."""
        cell = self.contents.cell_at(*place)
        if cell is None:
            return None
        value = self.contents.value(cell)
        where = f"{place[0]}!{cell_name(place[1], place[2])}"
        if cell.formula_start >= 0:
            formula = cell.formula or "a formula"
            self.formulas[place] = value
            shown = f"becomes its value, {value:.15g}" if isinstance(value, float) else (
                f"becomes its value, {value}" if value is not None else
                "is left blank, for the file holds no value of it; recalculate the file first"
            )  # fmt: skip
            self.notes.append(f"{where}: your formula ={formula} {shown}")
        if isinstance(value, CellError):
            self.notes.append(f"{where}: {value} is no input; left blank")
            return None
        if is_blank(value):
            return None
        if type(value) is float:
            return self._number(value, column, unit)
        return value

    def _number(self, value: float, column: Column, unit: str) -> Any:
        if column.dimension == "date" and 0 < value < _LAST_DAY:
            return self._moment(value)
        if unit != column.unit(self.system):  # the header was changed to another unit
            return f"{value:.15g} {unit}"
        return value

    def _moment(self, value: float) -> date:
        moment = _FIRST_DAY[self.contents.dates_from_1904] + timedelta(days=value)
        return moment.date() if value == int(value) else moment
