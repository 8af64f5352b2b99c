"""Values as they stand in a formula for the engine."""

from typing import Any

from xlfuncs.errors import CellError
from xlfuncs.xlsx.cell_references import Area

_ERRORS = frozenset(str(error) for error in CellError)


def literal(value: object) -> str:
    """A number, text, logical value or error."""
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if isinstance(value, int | float):
        return repr(float(value)) if value != int(value) else repr(int(value))
    text = str(value)
    if text in _ERRORS:
        return text
    return '"' + text.replace('"', '""') + '"'


def numbers(name: str, area: Area) -> str:
    """The numbers of an area's rows, one below the other, or of its columns, side by side."""
    first, last, between = area.first_row, area.last_row, ";"
    if name == "COLUMN":
        first, last, between = area.first_column, area.last_column, ","
    return "{" + between.join(map(str, range(first, last + 1))) + "}"


def array(node: dict[str, Any]) -> str:
    """An array that is written out in the formula."""
    rows = [[literal(item["value"]) for item in row] for row in node["rows"]]
    return "{" + ";".join(",".join(row) for row in rows) + "}"


def is_exact(node: dict[str, Any]) -> bool:
    """Text, a logical value or zero: comparing with it needs no rounding."""
    return node["node_type"] == "Literal" and (
        isinstance(node["value"], str | bool) or node["value"] == 0
    )
