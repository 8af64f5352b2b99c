"""Single cells that a workbook names."""

from xlfuncs.workbooks.formulas.formula_cells import Position
from xlfuncs.xlsx.cell_references import parse_area, split_sheet
from xlfuncs.xlsx.contents import CellValue, Contents


def place_of(text: str) -> Position | None:
    """The single cell that the text of a defined name means, if it is one."""
    sheet, rest = split_sheet(text)
    area = parse_area(rest, sheet or "")
    return (area.sheet, area.first_row, area.first_column) if area and area.single else None


def named_cells(contents: Contents) -> dict[str, Position]:
    """The single cells that names of the whole workbook stand for, by lower-case name."""
    found = {}
    for name in contents.names:
        place = place_of(name.text) if name.sheet is None else None
        if place is not None:
            found[name.name.lower()] = place
    return found


def cell_value(contents: Contents, place: Position) -> CellValue:
    cell = contents.cell_at(*place)
    return None if cell is None else contents.value(cell)
