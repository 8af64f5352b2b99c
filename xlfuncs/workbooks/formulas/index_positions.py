"""Positions that are plain before anything is computed: which cell INDEX gives, and how many."""

from __future__ import annotations

from collections.abc import Sequence

from xlfuncs.workbooks.formulas.ordinary_functions import canonical
from xlfuncs.workbooks.formulas.origins import Moving
from xlfuncs.workbooks.formulas.parsing import Node
from xlfuncs.workbooks.formulas.references import References
from xlfuncs.xlsx.cell_references import Area


def gives_one_cell(arguments: Sequence[Node], references: References) -> bool:
    """Whether no position of INDEX can be 0 or is left out, outside arrays."""
    area = references.area_of(arguments[0])
    positions = arguments[1:]
    one_line = area is not None and _is_line(area)
    return (len(positions) == 2 or one_line) and all(_is_position(p, references) for p in positions)


def indexed_cell(arguments: Sequence[Node], references: References) -> Area | None:
    """The cell that INDEX gives of a row or column by a number or ROW()-9; None where unsure."""
    area = references.area_of(arguments[0]) if len(arguments) == 2 else None
    if area is None or isinstance(area, Moving) or not _is_line(area):
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
    """The 9 of ROW()-9, in the rows where that is positive; None for anything else."""
    if node["node_type"] != "BinaryOp" or node["operator"] != "-":
        return None
    row, above = node["left"], _whole_number(node["right"])
    counts = row["node_type"] == "Function" and canonical(row["name"]) == "ROW" and not row["args"]
    if not counts or above is None or references.origin.row <= above:
        return None
    references.keep_to(above + 1)
    return above


def _is_line(area: Area) -> bool:
    return area.first_row == area.last_row or area.first_column == area.last_column


def _is_position(node: Node, references: References) -> bool:
    """A number, MATCH, or a count of rows such as ROW()-9, in the rows where it is positive."""
    if node["node_type"] == "Literal":
        value = node["value"]
        return isinstance(value, int | float) and value >= 1
    if node["node_type"] == "Function":
        return canonical(node["name"]) == "MATCH"
    return rows_above(node, references) is not None


def _whole_number(node: Node) -> int | None:
    value = node["value"] if node["node_type"] == "Literal" else None
    if not isinstance(value, int | float) or isinstance(value, bool):
        return None
    return int(value) if value >= 1 and value == int(value) else None
