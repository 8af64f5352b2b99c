"""A workbook in use, made again: in the current template, another edition, units or program.

    made = remade(Path("garden.xlsx").read_bytes())
    made.content   # the new file
    print(made)    # what came along, what did not, which numbers changed

The old file is only read. Its inputs are read out of it and the workbook is built anew from them;
own sheets and columns go along with their formulas.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from workbook_template.build import computed, demo_inputs, starting_inputs, write
from workbook_template.editions import edition_of
from workbook_template.kit.book import Book
from workbook_template.kit.declared import ALL
from workbook_template.kit.own import Own
from workbook_template.renewal.carrying import carry
from workbook_template.renewal.moved import Moved
from workbook_template.renewal.numbers import Comparison, compare
from workbook_template.renewal.own_things import OwnThings
from xlfuncs.tables.all_tables import SETTINGS, TABLES
from xlfuncs.tables.columns import Column
from xlfuncs.tables.garden.crops import CROPS, SOILS
from xlfuncs.units import DIMENSIONS, from_base, to_base
from xlfuncs.workbooks.our_tables.read_inputs import TEMPLATE_VERSION, Inputs, Reading, read_inputs
from xlfuncs.xlsx.contents import Contents
from xlfuncs.xlsx.package import Package


@dataclass(frozen=True)
class Remade:
    """The new file and what is to be told of it; `str()` of it reads as a short report."""

    content: bytes
    edition: str
    system: str
    reading: Reading
    own: Own
    without: list[str]  # tables with inputs that the new edition does not have
    numbers: Comparison | None  # None where they are in other units

    def __str__(self) -> str:
        marks, inputs = self.reading.marks, self.reading.inputs
        rows = sum(bool(row) for table in inputs.tables.values() for row in table)
        lines = [
            f"Template {marks.version} → {TEMPLATE_VERSION}, edition {self.edition},"
            f" {self.system}: {len(inputs.settings)} settings and {rows} rows of"
            f" {sum(map(bool, inputs.tables.values()))} tables taken over."
        ]
        lines += [f"Taken along: your sheet {sheet.name}" for sheet in self.own.sheets]
        for table, columns in self.own.columns.items():
            lines += [f"Taken along: your column {c.header} of {table}" for c in columns]
        lines += [f"Note: {note}" for note in self.reading.notes]
        lines += [f"Not taken along: {words}" for words in self.own.words]
        lines += [f"Not in this edition: {table}; the old file has it" for table in self.without]
        return "\n".join([*lines, *(self.numbers.lines(marks.version) if self.numbers else ())])


def remade(
    source: Path | bytes, *, edition: str | None = None, units: str | None = None,
    macros: bool | None = None, added: Inputs | None = None,
) -> Remade:  # fmt: skip
    """Make a workbook again; what is None stays as it is in the file.

    Raises WorkbookError for a file that is no workbook of the template, or of a newer program.
    """
    package = Package.open(source)
    reading = read_inputs(Contents(package))
    marks, inputs = reading.marks, reading.inputs
    edition = edition or current_edition(reading)
    macros = package.has("xl/vbaProject.bin") if macros is None else macros
    system = units or marks.system
    if system != marks.system:
        inputs = converted(inputs, marks.system, system)
    inputs = _with_beginnings(inputs, system)
    book = write(system, inputs, spills=macros, edition=edition)
    own = OwnThings(reading, book).found()
    if own.columns:
        book = write(system, inputs, spills=macros, edition=edition, own=own)
    moved = Moved(reading, book, own)
    carry(book, own, moved)
    content, _ = computed(book)
    numbers = None
    if system == marks.system:
        numbers = compare(reading.contents, Contents(Package(content)), moved.sheets)
    without = _without(book, reading)
    return Remade(content, edition, system, reading, own, without, numbers)


def current_edition(reading: Reading) -> str:
    """What the file says, else by its sheets; workbooks without marks had all of them."""
    if reading.marks.edition or not reading.marks.version:
        return reading.marks.edition or ALL
    return edition_of(sheet.name for sheet in reading.contents.sheets)


def _with_beginnings(inputs: Inputs, system: str) -> Inputs:
    """Tables that the file does not have start as in a new workbook."""
    start = starting_inputs(system).tables
    tables = {**start, **inputs.tables}
    return Inputs(inputs.settings, tables, inputs.invented)


def _without(book: Book, reading: Reading) -> list[str]:
    return [
        name
        for name, rows in reading.inputs.tables.items()
        if any(rows) and book.places[name].sheet in book.aside
    ]


# --- the same inputs in the other system of units ---


DIGITS = 12  # enough that a length that is a whole number of spacings stays one


def converted(inputs: Inputs, old: str, new: str) -> Inputs:
    """Plain numbers in the units of `new`; text such as 22 ft 9 in stays as it was typed.

    A published row that nobody changed becomes the published row of the other system.
    """
    settings = {s.name: s for s in SETTINGS}
    given = {
        name: _converted(settings[name], value, old, new) for name, value in inputs.settings.items()
    }
    columns = {table.name: {c.name: c for c in table.columns} for table in TABLES}
    tables = {
        name: [_row(columns[name], row, old, new) for row in rows]
        for name, rows in inputs.tables.items()
    }
    published_old, published_new = demo_inputs(old).tables, demo_inputs(new).tables
    for name in (CROPS.name, SOILS.name):
        known = list(published_old[name])
        for i, row in enumerate(inputs.tables.get(name, ())):
            if row in known:
                tables[name][i] = dict(published_new[name][known.index(row)])
    return replace(inputs, settings=given, tables=tables)


def _row(columns: Mapping[str, Column], row: Mapping[str, Any], old: str, new: str) -> (
    dict[str, Any]
):  # fmt: skip
    return {name: _converted(columns[name], value, old, new) for name, value in row.items()}


def _converted(column: Column, value: Any, old: str, new: str) -> Any:
    dimension = DIMENSIONS[column.dimension]
    if type(value) is not float or dimension.unit(old) == dimension.unit(new):
        return value
    base = to_base(value, column.dimension, old)
    return float(f"{from_base(base, column.dimension, new):.{DIGITS}g}")
