"""A workbook in use, made again: in the current template, another edition, units or program.

    made = remade(Path("garden.xlsx").read_bytes())
    made.content   # the new file
    print(made)    # what came along, what did not, which numbers changed

The old file is only read. Its inputs are read out of it and the workbook is built anew from them;
own sheets and columns go along with their formulas.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from workbook_template.build import (
    computed,
    demo_inputs,
    edition_named,
    edition_of,
    starting_inputs,
    write,
)
from workbook_template.kit.book import Book
from workbook_template.kit.declared import ALL
from workbook_template.kit.formulas import Place
from workbook_template.kit.own import Own, OwnCell, OwnSheet
from workbook_template.kit.worksheet import TemplateSheet
from workbook_template.laid_pipes import bought_as_laid
from workbook_template.own_lists import with_parts_cost
from workbook_template.own_prices import with_own_prices
from workbook_template.proposed_valves import beds_by_valve, moved_beds, with_valves
from workbook_template.renewal.moved import Lost, Moved
from workbook_template.renewal.numbers import Comparison, compare
from workbook_template.renewal.own_things import OwnThings
from workbook_template.sheets.money.prices import COUNTING
from xlfuncs.tables.all_tables import SETTINGS, TABLES
from xlfuncs.tables.columns import Column
from xlfuncs.tables.garden.beds import BEDS
from xlfuncs.tables.garden.crops import CROPS, SOILS
from xlfuncs.units import DIMENSIONS, from_base, to_base
from xlfuncs.workbooks.our_tables.read_inputs import TEMPLATE_VERSION, Inputs, Reading, read_inputs
from xlfuncs.xlsx.cell_references import cell_name, parse_area
from xlfuncs.xlsx.contents import Contents
from xlfuncs.xlsx.package import Package


def written(
    reading: Reading, system: str, inputs: Inputs, *, edition: str, spills: bool = False,
    wanted: Callable[[str], bool] = lambda name: True,
) -> tuple[Book, Own, Moved]:  # fmt: skip
    """The book of these inputs, with what is the person's own in the workbook of the reading.

    Sheets and columns of their own come along by names that are `wanted`.
    """
    book = write(system, inputs, spills=spills, edition=edition)
    own = OwnThings(reading, book).found(wanted)
    if own.columns:
        book = write(system, inputs, spills=spills, edition=edition, own=own)
    moved = Moved(reading, book, own)
    _carry(book, own, moved)
    return book, own, moved


def _carry(book: Book, own: Own, moved: Moved) -> None:
    """Put all of it in; what changes on the way is added to the words of `own`."""
    for sheet in own.sheets:
        _sheet(book, sheet, own, moved)
    for name, text in own.names.items():
        book.workbook.define_name(name, "=" + text)
    for table, columns in own.columns.items():
        place, old = book.places[table], moved.tables[table.lower()]
        sheet = book.workbook.sheetnames.get(place.sheet)
        if sheet is None:
            own.words.append(f"your columns of {table}, which is not in this edition")
            continue
        for column in columns:
            for row, cell in enumerate(column.cells[: place.rows], place.first):
                where = (sheet, row, place.columns[column.name])
                _put(book, where, cell, (own, moved, old.sheet))
            sheet.set_column(where[2], where[2], column.width)


def _sheet(book: Book, sheet: OwnSheet, own: Own, moved: Moved) -> None:
    if sheet.name in book.workbook.sheetnames:
        own.words.append(f"your sheet {sheet.name}: the template has one of that name now")
        return
    page = book.workbook.add_worksheet(sheet.name, worksheet_class=TemplateSheet)
    for column, width in sheet.widths.items():
        page.set_column(column - 1, column - 1, width)
    for row, height in sheet.heights.items():
        page.set_row(row - 1, height)
    for merged in sheet.merged:
        area = parse_area(merged, "")
        if area is not None:
            page.merge_range(area.first_row - 1, area.first_column - 1, area.last_row - 1,
                             area.last_column - 1, "")  # fmt: skip
    for (row, column), cell in sheet.cells.items():
        _put(book, (page, row - 1, column - 1), cell, (own, moved, sheet.name))
    for name, reference in sheet.tables.items():
        _table(book, page, name, reference, sheet)
    if sheet.frozen:
        page.freeze_panes(*sheet.frozen)
    if sheet.landscape:
        page.set_landscape()
    if sheet.hidden and not book.edition.for_client:  # who asked for it
        page.hide()


def _table(book: Book, page: Any, name: str, reference: str, sheet: OwnSheet) -> None:
    area = parse_area(reference, "")
    if area is None or name in book.headings:
        return
    columns = range(area.first_column, area.last_column + 1)
    headers = [str(sheet.cells[area.first_row, column].value) for column in columns]
    page.add_table(reference, {"name": name, "columns": [{"header": h} for h in headers]})
    book.headings[name] = {header: header for header in headers}
    book.places[name] = Place(
        sheet.name, area.first_row, area.last_row - 1,
        {header: column - 1 for header, column in zip(headers, columns, strict=True)},
    )  # fmt: skip


def _put(
    book: Book, where: tuple[Any, int, int], cell: OwnCell, origin: tuple[Own, Moved, str]
) -> None:
    """One cell; a formula that cannot be written for the new workbook leaves its value."""
    page, row, col = where
    own, moved, old_sheet = origin
    style = book.workbook.add_format(dict(cell.look)) if cell.look else None
    if cell.comment and book.edition.for_client:
        own.words.append(f"the comment at {page.get_name()}!{cell_name(row + 1, col + 1)}")
    elif cell.comment:
        page.write_comment(row, col, cell.comment)
    if cell.formula:
        place = f"{page.get_name()}!{cell_name(row + 1, col + 1)}"
        try:
            page.put_formula(row, col, moved.formula(cell.formula, old_sheet), style)
            book.own_cells[page.get_name(), row + 1, col + 1] = cell.value
            return
        except Lost as why:
            if book.edition.for_client:  # the value may be a cost, or rest on one
                own.lost[page.get_name(), row + 1, col + 1] = str(why)
                page.write_blank(row, col, None, style)
                return
            own.words.append(f"your formula at {place}, now its value: ={cell.formula} ({why})")
    if cell.value is None:
        page.write_blank(row, col, None, style)
    elif isinstance(cell.value, bool):
        page.write_boolean(row, col, cell.value, style)
    elif isinstance(cell.value, float):
        page.write_number(row, col, cell.value, style)
    else:
        page.write_string(row, col, str(cell.value), style)


@dataclass(frozen=True)
class Remade:
    """The new file and what is to be told of it; `str()` of it reads as a short report."""

    content: bytes
    edition: str
    reading: Reading
    own: Own
    without: list[str]  # tables with inputs that the new edition does not have
    numbers: Comparison | None  # None where they are in other units

    def __str__(self) -> str:
        marks, inputs = self.reading.marks, self.reading.inputs
        rows = sum(bool(row) for table in inputs.tables.values() for row in table)
        since = f"Template {marks.version} → {TEMPLATE_VERSION}, edition {self.edition}: "
        lines = [since * (marks.version != TEMPLATE_VERSION)
                 + f"{len(inputs.settings)} settings and {rows} rows taken over."]  # fmt: skip
        lines += [f"Taken along: your sheet {sheet.name}" for sheet in self.own.sheets]
        for table, columns in self.own.columns.items():
            lines += [f"Taken along: your column {c.header} of {table}" for c in columns]
        lines += [f"Note: {note}" for note in self.reading.notes]
        lines += [f"Not taken along: {words}" for words in self.own.words]
        lines += [f"Not in this edition: {table}; the old file has it" for table in self.without]
        return "\n".join([*lines, *(self.numbers.lines(marks.version) if self.numbers else ())])


def remade(
    source: Path | bytes, *, edition: str | None = None, units: str | None = None,
    macros: bool | None = None, valves: bool = False,
) -> Remade:  # fmt: skip
    """Make a workbook again; what is None stays as it is in the file, with `valves` but for those.

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
    inputs = _with_beginnings(with_parts_cost(inputs, reading), system)
    if not inputs.invented:
        inputs, priced = with_own_prices(inputs)
        reading.notes.extend(priced)
    if COUNTING not in edition_named(edition).shown:  # else its rules are the owner's
        inputs, bought = bought_as_laid(inputs)
        reading.notes.extend(bought)
    if valves:
        before = inputs.tables[BEDS.name]
        inputs, _, said = with_valves(inputs, system, edition)
        reading.notes.extend((*beds_by_valve(inputs), *moved_beds(before, inputs), *said))
    book, own, moved = written(reading, system, inputs, spills=macros, edition=edition)
    content, _ = computed(book)
    numbers = None
    if system == marks.system and not valves:  # which change most of them
        numbers = compare(reading.contents, Contents(Package(content)), moved.sheets)
    without = _without(book, reading)
    return Remade(content, edition, reading, own, without, numbers)


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
    return {name: _converted(columns[name], value, old, new) if name in columns else value
            for name, value in row.items()}  # fmt: skip


def _converted(column: Column, value: Any, old: str, new: str) -> Any:
    dimension = DIMENSIONS[column.dimension]
    if type(value) is not float or dimension.unit(old) == dimension.unit(new):
        return value
    base = to_base(value, column.dimension, old)
    return float(f"{from_base(base, column.dimension, new):.{DIGITS}g}")
