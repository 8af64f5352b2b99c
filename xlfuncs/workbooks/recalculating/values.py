"""Writing computed values into a workbook: the cached values of formulas, and nothing else.

What may differ afterwards is written down in RECALCULATION_MAY_CHANGE; the tests compare every
other byte of every part.
"""

from collections.abc import Mapping

from xlfuncs.workbooks.recalculating.engine import Evaluation
from xlfuncs.xlsx.cell_references import Area
from xlfuncs.xlsx.contents import CellValue, Contents, Sheet
from xlfuncs.xlsx.sheet_cells import Cell
from xlfuncs.xlsx.sheet_edits import SheetEdits, same_value

RECALCULATION_MAY_CHANGE = {
    "worksheet parts": (
        "in formula cells and the cells that a formula spills into: the value `<v>`, the type `t` "
        "and the rich-value mark `vm` of `<c>`; of a formula that spills, the extent `ref`; of a "
        "formula that was not evaluated, the mark `ca` (to be computed at the next calculation). "
        "A cell or row that a spill newly reaches is added"
    )
}

Values = dict[str, dict[tuple[int, int], CellValue]]


def changed_parts(contents: Contents, evaluation: Evaluation) -> tuple[dict[str, bytes], int]:
    """The worksheet parts that differ once the values are written, and how many cells do."""
    parts: dict[str, bytes] = {}
    count = 0
    stale: dict[str, set[tuple[int, int]]] = {}
    for cell in evaluation.unevaluated:
        stale.setdefault(cell.sheet, set()).add((cell.row, cell.column))
    formulas: dict[str, dict[tuple[int, int], Cell]] = {}
    for formula in evaluation.cells:
        formulas.setdefault(formula.sheet, {})[formula.position[1:]] = formula.cell
    for sheet in contents.sheets:
        edits = SheetEdits(contents.package.read(sheet.part), contents.scan(sheet))
        count += _write_values(contents, sheet, edits, evaluation, formulas.get(sheet.name, {}))
        for place in stale.get(sheet.name, ()):
            edits.mark_stale(edits.cells[place])
        if edits.changed:
            parts[sheet.part] = edits.result()
    return parts, count


def _write_values(
    contents: Contents, sheet: Sheet, edits: SheetEdits, evaluation: Evaluation,
    formulas: Mapping[tuple[int, int], Cell],
) -> int:  # fmt: skip
    count = 0
    for (row, column), value in evaluation.values[sheet.name].items():
        cell = formulas.get((row, column)) or edits.cells.get((row, column))
        if cell is None or not same_value(contents.value(cell), value):
            edits.set_value(row, column, value)
            count += 1
    for extent in evaluation.spills.get(sheet.name, ()):
        count += _resize(edits, extent)
    return count


def _resize(edits: SheetEdits, extent: tuple[Cell, Area, Area]) -> int:
    """Bring the stated extent of a spilling formula up to date and clear what it left."""
    cell, before, after = extent
    if before == after:
        return 0
    edits.set_extent(cell, after.address().replace("$", ""))
    cleared = 0
    for place in edits.cells:
        if before.holds(before.sheet, *place) and not after.holds(after.sheet, *place):
            edits.clear_value(*place)
            cleared += 1
    return cleared
