"""Calls of ordinary functions that are refused before they are computed, with the reason.

The engine is more lenient than spreadsheet programs here: it takes values where ranges are needed
and ranges of different sizes, and so would give a value where they give an error.
"""

from collections.abc import Callable, Sequence

from xlfuncs.workbooks.formulas.corrections import ITEM_BY_ITEM
from xlfuncs.workbooks.formulas.ordinary_functions import canonical, is_plain_format
from xlfuncs.workbooks.formulas.parsing import Node, UnreadableReference
from xlfuncs.xlsx.cell_references import Area
from xlfuncs.xlsx.contents import Contents

AreaOf = Callable[[Node], Area | None]
Size = tuple[int, int]

# Which arguments must be ranges: positions from 0; None stands for every second one from there.
_RANGES: dict[str, tuple[int | None, ...]] = {
    "SUMIF": (0, 2), "COUNTIF": (0,), "AVERAGEIF": (0, 2), "COUNTBLANK": (0,), "MATCH": (1,),
    "VLOOKUP": (1,), "HLOOKUP": (1,), "XLOOKUP": (1, 2), "LARGE": (0,), "SMALL": (0,),
    "INDEX": (0,), "RANK": (1,), "ROWS": (0,), "COLUMNS": (0,), "COUNTIFS": (0, None),
    "SUMIFS": (0, 1, None), "AVERAGEIFS": (0, 1, None), "MAXIFS": (0, 1, None),
    "MINIFS": (0, 1, None),
}  # fmt: skip
# These refuse ranges of different sizes.
COMPARED = {"SUMPRODUCT", *(name for name, places in _RANGES.items() if places[-1] is None)}
# These take a whole result of our functions too.
OWN_RESULTS = {
    "INDEX", "MATCH", "VLOOKUP", "HLOOKUP", "XLOOKUP", "LARGE", "SMALL", "ROWS", "COLUMNS",
}  # fmt: skip


def refuse_doubtful_call(
    name: str, arguments: Sequence[Node], area_of: AreaOf, is_own: Callable[[Node], bool]
) -> None:
    """Raise UnreadableReference when a call is of a form on which programs differ."""
    if name == "TEXT" and not (len(arguments) == 2 and is_plain_format(arguments[1])):
        raise UnreadableReference("TEXT with a format that was not checked")
    if name in _RANGES:
        _check_ranges(name, arguments, area_of, is_own)
    if name == "SUMPRODUCT" and len(arguments) > 1:
        sizes = {_size(argument, area_of) for argument in arguments}
        if len(sizes) > 1 or None in sizes:
            raise UnreadableReference("SUMPRODUCT of arguments of different or unknown sizes")


def refuse_hidden_or_subtotals(contents: Contents, area: Area) -> None:
    """SUBTOTAL leaves out filtered rows and other subtotals; such areas are not computed."""
    scan = contents.scan(contents.sheet(area.sheet))
    if any(area.first_row <= row <= area.last_row for row in scan.hidden_rows):
        raise UnreadableReference(f"SUBTOTAL of {area}, which has hidden rows")
    for cell in scan.cells:
        inside = area.holds(area.sheet, cell.row, cell.column)
        if inside and "SUBTOTAL" in (cell.formula or "").upper():
            raise UnreadableReference(f"SUBTOTAL of {area}, which has other subtotals")


def _check_ranges(
    name: str, arguments: Sequence[Node], area_of: AreaOf, is_own: Callable[[Node], bool]
) -> None:
    *fixed, last = _RANGES[name]
    positions = [p for p in (*fixed, last) if p is not None]
    if last is None:
        positions += range(positions[-1] + 2, len(arguments), 2)
    areas = []
    for position in positions:
        if position >= len(arguments):
            continue
        area = area_of(arguments[position])
        if area is not None:
            areas.append(area)
        elif not (name in OWN_RESULTS and is_own(arguments[position])):
            raise UnreadableReference(f"{name} of something that is no range")
    if last is None and len({_area_size(area) for area in areas}) > 1:
        raise UnreadableReference(f"{name} of ranges of different sizes")


def _area_size(area: Area) -> Size:
    return area.last_row - area.first_row, area.last_column - area.first_column


def _size(node: Node, area_of: AreaOf) -> Size | None:
    """Rows and columns (less one) of what a part of a formula gives; None when not known."""
    kind = node["node_type"]
    if kind == "Literal":
        return 0, 0
    if kind == "Array":
        return len(node["rows"]) - 1, len(node["rows"][0]) - 1
    if kind == "Reference":
        area = area_of(node)
        return None if area is None else _area_size(area)
    if kind == "UnaryOp":
        return _size(node["operand"], area_of)
    if kind == "BinaryOp":
        sizes = [_size(node[side], area_of) for side in ("left", "right")]
        known = {size for size in sizes if size != (0, 0)}
        return known.pop() if len(known) == 1 else (None if known else (0, 0))
    if kind == "Function" and canonical(node["name"]) in ITEM_BY_ITEM and node["args"]:
        return _size(node["args"][0], area_of)
    return None
