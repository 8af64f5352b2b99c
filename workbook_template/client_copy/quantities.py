"""Quantities written as text, such as 46 ft 6 in, in cells that a call of ours reads directly.

In our own tables and settings the column says what a text means; on a sheet of the consultant's own
it is the argument of the function that reads the cell.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from workbook_template.client_copy.inputs import FormulaGraph
from workbook_template.client_copy.scope import Scope, note_quantity
from xlfuncs.catalogue.registry import functions
from xlfuncs.workbooks.formulas.formula_cells import Position
from xlfuncs.workbooks.formulas.ordinary_functions import canonical
from xlfuncs.workbooks.formulas.parsing import Node, UnreadableReference
from xlfuncs.workbooks.formulas.references import References
from xlfuncs.workbooks.formulas.workbook_names import WorkbookNames
from xlfuncs.xlsx.sheet_cells import Cell

_NUMBER = re.compile(r"\s*[-+.]?\d.{0,30}")


def note_argument_quantities(scope: Scope, graph: FormulaGraph, names: WorkbookNames) -> None:
    """Add to the scope's quantities what the arguments of our functions find in typed cells."""
    typed = _typed(scope)
    for formula in graph.formulas if typed else ():
        if formula.sheet not in scope.kept_names or formula.reason:
            continue
        try:
            calls = list(_calls(names.parse(formula.text)))
        except UnreadableReference:
            continue
        references = References(names, formula.origin())
        for name, arguments in calls:
            _note_call(scope, typed, (references, name, arguments))


def _typed(scope: Scope) -> dict[Position, Cell]:
    """Typed texts that may be quantities, outside our own tables and settings."""
    found = {}
    for sheet in scope.sheets:
        for cell in scope.contents.scan(sheet).cells:
            if cell.formula_start < 0 and cell.kind not in ("n", "b", "e"):
                value, place = scope.contents.value(cell), (sheet.name, cell.row, cell.column)
                if (
                    isinstance(value, str)
                    and _NUMBER.fullmatch(value)
                    and not any(area.holds(*place) for area in scope.declared)
                ):
                    found[place] = cell
    return found


def _calls(node: Node) -> Iterator[tuple[str, list[Node]]]:
    """Every call of a worksheet function in a formula, with its arguments."""
    if node["node_type"] == "Function":
        name = canonical(node["name"])
        if name in functions():
            yield name, node["args"]
    for inner in (node.get("left"), node.get("right"), node.get("operand"), *node.get("args", ())):
        if inner is not None:
            yield from _calls(inner)


def _note_call(
    scope: Scope, typed: dict[Position, Cell], call: tuple[References, str, list[Node]]
) -> None:
    references, name, arguments = call
    function = functions()[name]
    if function.variadic:
        return
    for arg, node in zip(function.args, arguments, strict=False):
        if arg.kind != "number":
            continue
        try:
            area = references.area_of(node)
        except UnreadableReference:
            continue
        if area is None:
            continue
        for place, cell in typed.items():
            if area.holds(*place) and place not in scope.quantities:
                note_quantity(scope, place, cell, arg.dimension, scope.system)
