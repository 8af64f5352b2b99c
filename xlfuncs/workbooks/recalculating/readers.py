"""Which formulas read, directly or through others, a cell that could not be evaluated."""

from collections import defaultdict, deque

from xlfuncs.workbooks.formulas.formula_cells import FormulaCell
from xlfuncs.xlsx.cell_references import Area, cell_name

_LISTED_CELL_BY_CELL = 64  # larger areas are compared one by one


def mark_readers(formulas: list[FormulaCell]) -> None:
    """Give each formula that reads an unevaluated one a reason too."""
    waiting = deque(formula for formula in formulas if formula.reason)
    if not waiting:
        return
    by_cell: dict[tuple[str, int, int], list[FormulaCell]] = defaultdict(list)
    by_area: dict[str, list[tuple[Area, FormulaCell]]] = defaultdict(list)
    for formula in formulas:
        if formula.reason or formula.translated is None:
            continue
        for area in formula.translated.reads:
            if area.cells() > _LISTED_CELL_BY_CELL:
                by_area[area.sheet].append((area, formula))
                continue
            for place in area.positions():
                by_cell[area.sheet, *place].append(formula)
    while waiting:
        stale = waiting.popleft()
        for reader in _readers(stale, by_cell, by_area):
            if not reader.reason:
                reader.reason = f"reads {stale.sheet}!{_name(stale)}, which was not evaluated"
                waiting.append(reader)


def _readers(
    stale: FormulaCell,
    by_cell: dict[tuple[str, int, int], list[FormulaCell]],
    by_area: dict[str, list[tuple[Area, FormulaCell]]],
) -> list[FormulaCell]:
    filled = stale.fills
    found = [reader for area, reader in by_area[stale.sheet] if area.meets(filled)]
    if filled.cells() > len(by_cell):  # an array formula may state that it fills a whole sheet
        read = [place for place in by_cell if filled.holds(*place)]
    else:
        read = [(stale.sheet, *place) for place in filled.positions()]
    return found + [reader for place in read for reader in by_cell.get(place, ())]


def _name(formula: FormulaCell) -> str:
    return cell_name(formula.cell.row, formula.cell.column)
