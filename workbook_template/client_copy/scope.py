"""What of one workbook goes into the client's copy: sheets, cells, costs, written quantities."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator
from dataclasses import dataclass, field

from workbook_template.client_copy.markup import MAIN, Element, read
from workbook_template.client_copy.rules import (
    CLIENT_WORDS,
    COLUMNS_LEFT_OUT,
    FOR_THE_CLIENT,
    ROWS_LEFT_OUT,
    SECTIONS_LEFT_OUT,
    SELLING_PRICE,
    WHAT_WAS_PAID,
    is_cost,
    left_out_settings,
)
from xlfuncs.errors import UnitError, WorkbookError
from xlfuncs.tables.all_settings import SETTINGS
from xlfuncs.tables.columns import Column
from xlfuncs.units import DIMENSIONS, SYSTEMS, from_base, parse
from xlfuncs.workbooks.formulas.formula_cells import Position
from xlfuncs.workbooks.our_tables.named_cells import cell_value, place_of
from xlfuncs.workbooks.our_tables.table_cells import tables_in
from xlfuncs.xlsx.cell_references import MAX_COLUMN, MAX_ROW, Area
from xlfuncs.xlsx.contents import Contents, Sheet
from xlfuncs.xlsx.sheet_cells import Cell

ROWS_OF_A_SECTION_TITLE = 2  # its band and its words stand above its first setting


@dataclass
class Scope:
    """The parts of a workbook that its client's copy has."""

    contents: Contents
    system: str
    sheets: list[Sheet]
    left_out: list[str]  # names of the other sheets
    gone: dict[str, list[Area]] = field(default_factory=lambda: defaultdict(list))
    costs: set[Position] = field(default_factory=set)  # in every sheet, kept or not
    quantities: dict[Position, float] = field(default_factory=dict)  # text such as 46 ft 6 in
    words: dict[str, str] = field(default_factory=dict)  # the consultant's words -> the client's
    units_cell: Position | None = None
    declared: list[Area] = field(default_factory=list)  # our tables and settings
    _trees: dict[str, Element] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.kept_names = {sheet.name for sheet in self.sheets}

    def tree(self, sheet: Sheet) -> Element:
        """The elements of a sheet's part, read once."""
        if sheet.part not in self._trees:
            self._trees[sheet.part] = read(self.contents.package, sheet.part, (MAIN,))
        return self._trees[sheet.part]

    def is_gone(self, sheet: str, row: int, column: int) -> bool:
        """Whether a cell of a kept sheet is left out of it."""
        return any(area.holds(sheet, row, column) for area in self.gone.get(sheet, ()))

    def clears(self, sheet: str, column: int) -> bool:
        """Whether cells of a sheet's column are left out as a column, not as whole rows."""
        return any(
            area.first_column <= column <= area.last_column and area.last_column < MAX_COLUMN
            for area in self.gone.get(sheet, ())
        )

    def may_be_a_cost(self, place: Position) -> bool:
        """Whether a typed cell is one of the consultant's own that no declaration explains."""
        if place[0] in self.kept_names and not self.is_gone(*place):
            return False
        if any(area.holds(*place) for area in self.declared):
            return False
        cell = self.contents.cell_at(*place)
        return cell is not None and isinstance(self.contents.value(cell), float)

    def keeps(self, area: Area) -> bool:
        """Whether an area is in the copy in full."""
        return area.sheet in self.kept_names and not any(
            area.first_row <= out.last_row
            and out.first_row <= area.last_row
            and area.first_column <= out.last_column
            and out.first_column <= area.last_column
            for out in self.gone.get(area.sheet, ())
        )


def scope_of(
    contents: Contents, include: Collection[str] = (), leave_out: Collection[str] = ()
) -> Scope:
    """Read a workbook's scope; `include` are further sheets that go along, `leave_out` fewer."""
    sheets = _sheets(contents, include, leave_out)
    left_out = [s.name for s in contents.sheets if s not in sheets]
    units_cell = _units_cell(contents)
    scope = Scope(contents, _system(contents, units_cell), sheets, left_out)
    scope.units_cell = units_cell
    scope.words.update(CLIENT_WORDS)
    for sheet in sheets:
        scope.gone[sheet.name] += _hidden(scope, sheet)
        if sheet.name in FOR_THE_CLIENT:
            scope.gone[sheet.name] += _words_left_out(contents, sheet)
    _tables(scope)
    _settings(scope)
    return scope


def _sheets(
    contents: Contents, include: Collection[str], leave_out: Collection[str]
) -> list[Sheet]:
    """The template's sheets for clients in their order, then the included ones."""
    wanted = {name.lower() for name in include}
    unwanted = {contents.sheet(name).name.lower() for name in leave_out}
    for name in include:
        contents.sheet(name)  # refuses one that is not there
    hidden = contents.hidden_sheets
    usual = {name.lower(): place for place, name in enumerate(FOR_THE_CLIENT)}
    usual = {name: place for name, place in usual.items() if name not in unwanted}
    sheets = [
        sheet
        for sheet in contents.sheets
        if sheet.name.lower() in wanted
        or (sheet.name.lower() in usual and sheet.name not in hidden)
    ]
    if not sheets:
        names = ", ".join(sheet.name for sheet in contents.sheets)
        raise WorkbookError(
            f"{contents.package.name}: none of its sheets is one that a client gets; name those "
            f"that are with --include (there are: {names})"
        )
    return sorted(sheets, key=lambda sheet: usual.get(sheet.name.lower(), len(usual)))


def _units_cell(contents: Contents) -> Position | None:
    found = (place_of(name.text) for name in contents.names if name.name.lower() == "units")
    return next(found, None)


def _system(contents: Contents, units_cell: Position | None) -> str:
    value = cell_value(contents, units_cell) if units_cell is not None else None
    return str(value) if value in SYSTEMS else SYSTEMS[0]


def _hidden(scope: Scope, sheet: Sheet) -> Iterator[Area]:
    """Hidden rows and columns; folded groups are not hidden in that sense."""
    tree = scope.tree(sheet)
    for column in tree.iterfind(f"{{{MAIN}}}cols/{{{MAIN}}}col"):
        if _is_hidden(column.attrib):
            first, last = int(column.get("min", "1")), int(column.get("max", "1"))
            yield Area(sheet.name, 1, first, MAX_ROW, last)
    for row in tree.iterfind(f"{{{MAIN}}}sheetData/{{{MAIN}}}row"):
        if _is_hidden(row.attrib):
            number = int(row.get("r", "1"))
            yield Area(sheet.name, number, 1, number, MAX_COLUMN)


def _is_hidden(attributes: dict[str, str]) -> bool:
    folded = attributes.get("outlineLevel", "0") != "0"
    return attributes.get("hidden") in ("1", "true") and not folded


def _words_left_out(contents: Contents, sheet: Sheet) -> Iterator[Area]:
    """Rows that begin with words of the consultant's side, and columns headed by such."""
    headers = COLUMNS_LEFT_OUT[sheet.name]
    for cell in contents.scan(sheet).cells:
        value = contents.value(cell) if cell.formula_start < 0 else None
        if cell.column == 1 and value in ROWS_LEFT_OUT[sheet.name]:
            yield Area(sheet.name, cell.row, 1, cell.row, MAX_COLUMN)
        elif value in headers:
            yield Area(sheet.name, cell.row, cell.column, MAX_ROW, cell.column)


def _tables(scope: Scope) -> None:
    """Internal columns of our tables, their costs, and quantities written as text."""
    for found in tables_in(scope.contents, {}).values():
        sheet, area = found.sheet, found.placed.area
        if found.table.name not in WHAT_WAS_PAID:
            scope.declared.append(area)
        data = area.first_row + found.placed.header_rows, area.last_row
        for name, column in found.places.items():
            declared = found.table[name]
            if declared.internal and not is_cost(declared):
                scope.gone[sheet].append(Area(sheet, area.first_row, column, area.last_row, column))
                continue
            body = Area(sheet, data[0], column, data[1], column)
            _declared_cells(scope, body, declared)


def _declared_cells(scope: Scope, area: Area, column: Column) -> None:
    for cell in scope.contents.scan(scope.contents.sheet(area.sheet)).cells:
        if not area.holds(area.sheet, cell.row, cell.column):
            continue
        place = (area.sheet, cell.row, cell.column)
        if is_cost(column):
            scope.words |= _words(column, scope.system)
            if cell.text is not None or cell.formula_start >= 0:
                scope.costs.add(place)
        if DIMENSIONS[column.dimension].kind == "number":
            note_quantity(scope, place, cell, column.dimension, scope.system)


def _words(column: Column, system: str) -> dict[str, str]:
    """Header and help of a cost as a client reads them."""
    words = {column.help: CLIENT_WORDS.get(column.help, SELLING_PRICE)}
    if column.header in CLIENT_WORDS:
        words[column.heading(system)] = CLIENT_WORDS[column.header]
        words[column.header] = CLIENT_WORDS[column.header]
    return words


def _settings(scope: Scope) -> None:
    by_name = {setting.name: setting for setting in SETTINGS}
    left_out = left_out_settings()
    for name in scope.contents.names:
        setting, place = by_name.get(name.name.lower()), place_of(name.text)
        if setting is None or place is None:
            continue
        sheet, row, column = place
        scope.declared.append(Area(sheet, row, column, row, column))
        if setting.name in left_out:
            scope.gone[sheet].append(Area(sheet, row, 1, row, MAX_COLUMN))
        else:
            _declared_cells(scope, scope.declared[-1], setting)
    for section in SECTIONS_LEFT_OUT:
        _section_title(scope, {s.name for s in section.settings})


def _section_title(scope: Scope, names: set[str]) -> None:
    """The rows above the first setting of a section that is left out."""
    places = [place_of(n.text) for n in scope.contents.names if n.name.lower() in names]
    first = min((place for place in places if place), key=lambda place: place[1], default=None)
    if first is not None:
        sheet, row, _ = first
        top = max(row - ROWS_OF_A_SECTION_TITLE, 1)
        scope.gone[sheet].append(Area(sheet, top, 1, row - 1, MAX_COLUMN))


def note_quantity(scope: Scope, place: Position, cell: Cell, dimension: str, system: str) -> None:
    """Remember the number that a text such as 46 ft 6 in stands for."""
    if cell.formula_start >= 0 or cell.text is None:
        return
    value = scope.contents.value(cell)
    if not isinstance(value, str) or not value.strip():
        return
    try:
        number = from_base(parse(value, dimension, system), dimension, system)
    except UnitError:
        return  # the functions refuse it too, and the check says so
    scope.quantities[place] = float(f"{number:.15g}")
