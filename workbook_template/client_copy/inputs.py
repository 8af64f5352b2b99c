"""What a result that was worked out beforehand rests on: the client's inputs behind it.

A frozen result knows every typed cell of the copy that it was computed from, through any chain of
formulas, and how many cells of each range were filled, so that something typed into a blank cell is
noticed too. Every formula that rests on a frozen result takes over its inputs.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from functools import reduce
from operator import or_

from workbook_template.client_copy.scope import Scope
from xlfuncs.workbooks.formulas.formula_cells import FormulaCell, Position, read_cells
from xlfuncs.workbooks.formulas.parsing import UnreadableReference
from xlfuncs.workbooks.formulas.rewriting import Translator
from xlfuncs.xlsx.cell_references import Area

# A typed cell; an area of several cells stands for the number of its filled cells.
Inputs = frozenset[Area]


@dataclass
class FormulaGraph:
    """The formulas of a workbook and the areas that each reads."""

    formulas: list[FormulaCell]
    reads: dict[Position, list[Area]]  # also for the other cells that an array formula fills

    @classmethod
    def of(cls, scope: Scope, translator: Translator) -> FormulaGraph:
        formulas = read_cells(scope.contents)[1]
        reads: dict[Position, list[Area]] = {}
        for number, formula in enumerate(formulas):
            areas = _reads(translator, formula, number)
            for row, column in formula.fills.positions():
                reads[formula.sheet, row, column] = areas
        return cls(formulas, reads)


def _reads(translator: Translator, formula: FormulaCell, number: int) -> list[Area]:
    """The areas of a formula; none for one that cannot be computed, which the copy leaves out."""
    if formula.reason:
        return []
    origin = formula.origin(number)
    try:
        return translator.translate(formula.text, origin, array=formula.array is not None).reads
    except UnreadableReference:
        return []


class InputsBehind:
    """The inputs behind each formula cell.

    A set of inputs is a number with a bit for each: most formulas rest on hundreds of them.
    """

    def __init__(self, scope: Scope, graph: FormulaGraph) -> None:
        self.scope = scope
        self.graph = graph
        self._filled: dict[tuple[str, int], list[int]] = defaultdict(list)
        for sheet in scope.contents.sheets:
            for cell in scope.contents.scan(sheet).cells:
                if cell.text is not None or cell.formula_start >= 0:
                    self._filled[sheet.name, cell.column].append(cell.row)
        self._areas: dict[Area, tuple[int, tuple[Position, ...]]] = {}
        self._bits: dict[Area, int] = {}
        self._order = self._in_order()
        self._behind = self._gathered({})

    def of(self, place: Position) -> Inputs:
        """Every input of the copy behind a formula cell."""
        return self._set(self._behind.get(place, 0))

    def guards(self, frozen: Collection[Position]) -> Mapping[Position, Inputs]:
        """For each formula cell that is frozen or rests on one that is: the inputs behind those."""
        given = {place: self._behind.get(place, 0) for place in frozen}
        known = self._gathered(given, typed=False)
        slim = {bits: self._without_covered_blanks(self._set(bits)) for bits in set(known.values())}
        return {place: slim[bits] for place, bits in known.items() if bits}

    def _set(self, bits: int) -> Inputs:
        return frozenset(area for area, bit in self._bits.items() if bits >> bit & 1)

    def resting_on_possible_costs(self) -> dict[Position, Position]:
        """Formula cells of any sheet that rest on a number which might be a cost, and on which."""
        known: dict[Position, Position] = {}
        doubtful: dict[Area, Position | None] = {}
        for place in self._order:
            for area in self.graph.reads[place]:
                if area not in doubtful:
                    doubtful[area] = self._possible_cost(area)
                found = doubtful[area] or next(
                    (known[f] for f in self._inside(area)[1] if f in known), None
                )
                if found:
                    known[place] = found
                    break
        return known

    def _possible_cost(self, area: Area) -> Position | None:
        for column in range(area.first_column, area.last_column + 1):
            for place in self._in_column(area, column):
                if place not in self.graph.reads and self.scope.may_be_a_cost(place):
                    return place
        return None

    def _without_covered_blanks(self, inputs: Inputs) -> Inputs:
        """Blank cells are watched by the number of filled cells of a range, where there is one."""
        ranges = [area for area in inputs if not area.single]

        def covered(area: Area) -> bool:
            place = (area.sheet, area.first_row, area.first_column)
            blank = area.single and not any(True for _ in self._in_column(area, place[2]))
            return blank and any(wide.holds(*place) for wide in ranges)

        return frozenset(area for area in inputs if not covered(area))

    def _gathered(
        self, given: Mapping[Position, int], *, typed: bool = True
    ) -> dict[Position, int]:
        """Each formula's inputs: those `given`, else those of what it reads, all put together."""
        known = dict(given)
        behind: dict[Area, int] = {}  # of all formulas of an area, which come before its readers
        for place in self._order:
            if place in given:
                continue
            bits = 0
            for area in self.graph.reads[place]:
                inputs, formulas = self._inside(area)
                if area not in behind:
                    behind[area] = reduce(or_, (known.get(f, 0) for f in formulas), 0)
                bits |= behind[area] | (inputs if typed else 0)
            known[place] = bits
        return known

    def _in_order(self) -> list[Position]:
        """Formula cells, each after those that it reads."""
        order: list[Position] = []
        seen: set[Position] = set()
        for start in self.graph.reads:
            waiting = [(start, False)]
            while waiting:
                place, done = waiting.pop()
                if done:
                    order.append(place)
                elif place not in seen:
                    seen.add(place)
                    waiting.append((place, True))
                    for area in self.graph.reads[place]:
                        waiting += [(f, False) for f in self._inside(area)[1] if f not in seen]
        return order

    def _inside(self, area: Area) -> tuple[int, tuple[Position, ...]]:
        """The inputs of an area, and its formula cells."""
        area = Area(*area)
        if area not in self._areas:
            inputs: set[Area] = set()
            formulas: list[Position] = []
            for column in range(area.first_column, area.last_column + 1):
                places = list(self._in_column(area, column))
                formulas += [place for place in places if place in self.graph.reads]
                inputs.update(self._typed(area, column, places))
            bits = (1 << self._bits.setdefault(area, len(self._bits)) for area in inputs)
            self._areas[area] = reduce(or_, bits, 0), tuple(formulas)
        return self._areas[area]

    def _typed(self, area: Area, column: int, places: list[Position]) -> Iterator[Area]:
        """The typed cells of a column of an area; where some are blank, their number too."""
        if area.sheet not in self.scope.kept_names:
            return
        for place in places:
            if place not in self.graph.reads and not self.scope.is_gone(*place):
                yield _single(place)
        rows = area.last_row - area.first_row + 1
        part = Area(area.sheet, area.first_row, column, area.last_row, column)
        if len(places) < rows and self.scope.keeps(part):
            yield part

    def _in_column(self, area: Area, column: int) -> Iterator[Position]:
        rows = self._filled.get((area.sheet, column), [])
        first, last = bisect_left(rows, area.first_row), bisect_right(rows, area.last_row)
        return ((area.sheet, row, column) for row in rows[first:last])


def _single(place: Position) -> Area:
    sheet, row, column = place
    return Area(sheet, row, column, row, column)
