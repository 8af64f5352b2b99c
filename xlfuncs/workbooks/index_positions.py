"""Whether INDEX surely gives one cell: then nobody has to ask the engine whether it spilled."""

from __future__ import annotations

from collections.abc import Sequence

from xlfuncs.workbooks.ordinary_functions import canonical
from xlfuncs.workbooks.references_in_formulas import Node, References


def gives_one_cell(arguments: Sequence[Node], references: References) -> bool:
    """Whether no position of INDEX can be 0 or is left out, outside arrays."""
    area = references.area_of(arguments[0])
    line = area is not None and (
        area.first_row == area.last_row or area.first_column == area.last_column
    )
    positions = arguments[1:]
    return (len(positions) == 2 or line) and all(_is_position(p, references) for p in positions)


def _is_position(node: Node, references: References) -> bool:
    """A number, MATCH, or a count of rows such as ROW()-9, in the rows where it is positive."""
    if node["node_type"] == "Literal":
        value = node["value"]
        return isinstance(value, int | float) and value >= 1
    if node["node_type"] == "Function":
        return canonical(node["name"]) == "MATCH"
    if node["node_type"] != "BinaryOp" or node["operator"] != "-":
        return False
    row, less = node["left"], node["right"]
    counts = row["node_type"] == "Function" and canonical(row["name"]) == "ROW" and not row["args"]
    if not counts or less["node_type"] != "Literal" or not _is_position(less, references):
        return False
    above = int(less["value"])
    if references.origin.row <= above:
        return False
    references.rows = max(references.rows[0], above + 1), references.rows[1]
    return True
