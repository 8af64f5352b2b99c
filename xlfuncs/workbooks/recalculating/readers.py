"""Which formulas read, directly or through others, a cell that could not be evaluated."""

from collections import defaultdict, deque
from collections.abc import Iterable, Iterator

from xlfuncs.workbooks.formulas.formula_cells import FormulaCell
from xlfuncs.xlsx.cell_references import Area, cell_name

_LISTED_CELL_BY_CELL = 64  # larger areas are compared one by one


def mark_readers(formulas: list[FormulaCell]) -> None:
    """Give each formula that reads an unevaluated one a reason too."""
    waiting = deque(formula for formula in formulas if formula.reason)
    if not waiting:
        return
    readers: dict[Area, list[int]] = defaultdict(list)  # many formulas read the same
    for number, formula in enumerate(formulas):
        if formula.translated is not None and not formula.reason:
            for area in formula.translated.reads:
                readers[area].append(number)
    by_cell: dict[tuple[str, int, int], list[Area]] = defaultdict(list)
    by_sheet: dict[str, list[Area]] = defaultdict(list)
    for area in readers:
        if area.cells() > _LISTED_CELL_BY_CELL:
            by_sheet[area.sheet].append(area)
            continue
        for place in area.positions():
            by_cell[area.sheet, *place].append(area)
    while waiting:
        stale = waiting.popleft()
        at = f"{stale.sheet}!{cell_name(stale.cell.row, stale.cell.column)}"
        for areas in _met(stale, by_cell, by_sheet):
            for number in sorted({number for area in areas for number in readers[area]}):
                reader = formulas[number]
                if not reader.reason:
                    reader.reason = f"reads {at}, which was not evaluated"
                    waiting.append(reader)


def _met(
    stale: FormulaCell, by_cell: dict[tuple[str, int, int], list[Area]],
    by_sheet: dict[str, list[Area]],
) -> Iterator[Iterable[Area]]:  # fmt: skip
    """The areas that hold a cell of it: large ones, then those of each cell."""
    filled = stale.fills
    yield [area for area in by_sheet[stale.sheet] if area.meets(filled)]
    if filled.cells() > len(by_cell):  # an array formula may state that it fills a whole sheet
        read = [place for place in by_cell if filled.holds(*place)]
    else:
        read = [(stale.sheet, *place) for place in filled.positions()]
    yield from (by_cell.get(place, ()) for place in read)
