"""Positions that are plain before anything is computed: which cell INDEX gives, and how many."""

import re
from bisect import bisect_left, bisect_right
from collections.abc import Sequence

from xlfuncs.workbooks.formulas.ordinary_functions import canonical
from xlfuncs.workbooks.formulas.origins import Growing, Moving
from xlfuncs.workbooks.formulas.parsing import Node
from xlfuncs.workbooks.formulas.references import References
from xlfuncs.xlsx.cell_references import Area, column_number

_OWN_ROW = re.compile(r"\$?[A-Z]+\d+")
_FIRST_OF_COLUMN = re.compile(r"\$?([A-Z]+)\$(\d+)")
_ROW_ABOVE: Node = {
    "node_type": "BinaryOp", "operator": "-",
    "left": {"node_type": "Function", "name": "ROW", "args": []},
    "right": {"node_type": "Literal", "value": 1.0},
}  # fmt: skip


def gives_one_cell(arguments: Sequence[Node], references: References) -> bool:
    """Whether no position of INDEX can be 0 or is left out, outside arrays."""
    area = references.area_of(arguments[0], growing=True)
    positions = arguments[1:]
    one_line = area is not None and _is_line(area)
    return (len(positions) == 2 or one_line) and all(_is_position(p, references) for p in positions)


def indexed_cell(arguments: Sequence[Node], references: References) -> Area | None:
    """The cell that INDEX gives of a row or column by a number or ROW()-9; None where unsure."""
    area = references.area_of(arguments[0], growing=True) if len(arguments) == 2 else None
    if area is None or isinstance(area, Moving | Growing) or not _is_line(area):
        return None
    above = rows_above(arguments[1], references)
    at = _whole_number(arguments[1]) if above is None else references.origin.row - above
    if at is None or not 1 <= at <= area.cells():
        return None
    if area.first_row == area.last_row:
        column = area.first_column + at - 1
        cell = area._replace(first_column=column, last_column=column)
        return cell if above is None else None  # ROW() would move it to the right
    row = area.first_row + at - 1
    cell = area._replace(first_row=row, last_row=row)
    if above is None:
        return cell
    references.keep_to(above + 1, above + area.cells())
    return Moving(*cell)


def rows_above(node: Node, references: References) -> int | None:
    """The 9 of ROW()-9, in the rows where that is positive; None for anything else.

    Of COUNTA(A$9:INDEX(A:A,ROW()-1)), which counts the cells above, and of a cell of the same row
    that holds it too: what is filled is known beforehand.
    """
    if node["node_type"] == "Reference":
        return _rows_above_in_cell(node, references)
    if node["node_type"] == "Function" and canonical(node["name"]) == "COUNTA":
        return _rows_not_counted(node["args"], references)
    if node["node_type"] != "BinaryOp" or node["operator"] != "-":
        return None
    row, above = node["left"], _whole_number(node["right"]) or _fixed_row(node["right"], references)
    counts = row["node_type"] == "Function" and canonical(row["name"]) == "ROW" and not row["args"]
    if not counts or above is None or references.origin.row <= above:
        return None
    references.keep_to(above + 1)
    return above


def _fixed_row(node: Node, references: References) -> int | None:
    """The 9 that ROW(A$9) is, also where a table's header is named."""
    if node["node_type"] != "Function" or canonical(node["name"]) != "ROW" or not node["args"]:
        return None
    area = references.area_of(node["args"][0])
    return None if area is None or isinstance(area, Moving) else area.first_row


def _rows_above_in_cell(node: Node, references: References) -> int | None:
    if _OWN_ROW.fullmatch(node["reference"]) is None:
        return None
    area = references.moving(node["reference"])
    if area is None or not area.first_row == area.last_row == references.origin.row:
        return None
    cell = references.names.contents.cell_at(area.sheet, area.first_row, area.first_column)
    if cell is None or not (cell.formula or "").startswith("COUNTA("):
        return None
    return rows_above(references.names.parse(cell.formula or ""), references)


def _rows_not_counted(arguments: Sequence[Node], references: References) -> int | None:
    """The rows above that COUNTA of the cells from a fixed one to the row above leaves out."""
    here, shift = references.origin.row, references.origin.shift
    above = cells_above(arguments[0]) if len(arguments) == 1 else None
    if above is None or above[1] >= here or shift != (0, 0):
        return None
    column, top = above
    filled = references.names.filled(references.origin.sheet, column)
    start, end = bisect_left(filled, top), bisect_left(filled, here)

    def blank_above(place: int) -> int:
        return filled[place] - place  # equal for rows that lie together

    apart = bisect_left(range(start, end), here - end, key=blank_above)
    below = bisect_right(range(end, len(filled)), here - end, key=blank_above)
    references.keep_to(max(here - (end - start - apart), top + 1), here + below)
    return here - (end - start)


def cells_above(node: Node) -> tuple[int, int] | None:
    """The column and the first row of A$9:INDEX(A:A,ROW()-1), the cells down to the row above."""
    if node["node_type"] != "BinaryOp" or node["operator"] != ":":
        return None
    match = _FIRST_OF_COLUMN.fullmatch(node["left"].get("reference", ""))
    if match is None or node["right"].get("name") != "INDEX":
        return None
    whole, *row = node["right"]["args"]
    column = f"{match[1]}:{match[1]}"
    if whole.get("reference", "").replace("$", "") != column or row != [_ROW_ABOVE]:
        return None
    return column_number(match[1]), int(match[2])


def _is_line(area: Area) -> bool:
    return area.first_row == area.last_row or area.first_column == area.last_column


def _is_position(node: Node, references: References) -> bool:
    """A number, MATCH, or a count of rows such as ROW()-9, in the rows where it is positive."""
    if node["node_type"] == "Literal":
        value = node["value"]
        return isinstance(value, int | float) and value >= 1
    if node["node_type"] == "Function" and canonical(node["name"]) == "MATCH":
        return True
    return rows_above(node, references) is not None


def _whole_number(node: Node) -> int | None:
    value = node["value"] if node["node_type"] == "Literal" else None
    if not isinstance(value, int | float) or isinstance(value, bool):
        return None
    return int(value) if value >= 1 and value == int(value) else None
