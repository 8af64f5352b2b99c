"""Areas that a formula makes of others: `A1:B2` of two references, an intersection, a crossing."""

from xlfuncs.workbooks.formulas.origins import Origin
from xlfuncs.workbooks.formulas.parsing import UnreadableReference
from xlfuncs.xlsx.cell_references import Area


def joined(one: Area, two: Area, operator: str) -> Area | None:
    """The range (`:`) or the intersection of two areas; None stands for #NULL!."""
    if one.sheet != two.sheet:
        raise UnreadableReference("a range over two sheets")
    outer, inner = (min, max) if operator == ":" else (max, min)
    area = Area(
        one.sheet, outer(one.first_row, two.first_row), outer(one.first_column, two.first_column),
        inner(one.last_row, two.last_row), inner(one.last_column, two.last_column),
    )  # fmt: skip
    empty = area.first_row > area.last_row or area.first_column > area.last_column
    return None if empty else area


def own_row_or_column(area: Area, origin: Origin) -> Area | None:
    """Implicit intersection: what a range means in a plain formula that wants one value.

    None stands for #VALUE!.
    """
    row, column = origin.row, origin.column
    if area.first_column == area.last_column and area.first_row <= row <= area.last_row:
        column = area.first_column
    elif area.first_row == area.last_row and area.first_column <= column <= area.last_column:
        row = area.first_row
    else:
        return None
    return Area(area.sheet, row, column, row, column)
