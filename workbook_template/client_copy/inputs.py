"""What a result that was worked out beforehand rests on: the client's inputs behind it.

A frozen result knows every typed cell of the copy that it was computed from, through any chain of
formulas, and how many cells of each range were filled, so that something typed into a blank cell is
noticed too. Every formula that rests on a frozen result takes over its inputs.
"""

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping
from functools import reduce
from operator import or_

from workbook_template.client_copy.shown import Shown
from xlfuncs.workbooks.formulas.formula_cells import Position
from xlfuncs.xlsx.cell_references import Area
from xlfuncs.xlsx.contents import Contents

# A typed cell; an area of several cells stands for the number of its filled cells.
Inputs = frozenset[Area]
Reads = Mapping[Position, list[Area]]  # the areas that each formula cell reads


class InputsBehind:
    """The inputs behind each formula cell.

    A set of inputs is a number with a bit for each: most formulas rest on hundreds of them.
    """

    def __init__(self, shown: Shown, contents: Contents, reads: Reads) -> None:
        self.shown, self.reads = shown, reads
        self._filled: dict[tuple[str, int], list[int]] = defaultdict(list)
        for sheet in contents.sheets:
            for cell in contents.scan(sheet).cells:
                if cell.text is not None or cell.formula_start >= 0:
                    self._filled[sheet.name, cell.column].append(cell.row)
        self._areas: dict[Area, tuple[int, tuple[Position, ...]]] = {}
        self._bits: dict[Area, int] = {}
        self._order = self._in_order()
        self._behind = self._gathered({})

    def of(self, places: Collection[Position]) -> Inputs:
        """Every input of the copy behind some formula cells."""
        return self._slim(reduce(or_, (self._behind.get(place, 0) for place in places), 0))

    def guards(self, frozen: Collection[Position]) -> Mapping[Position, Inputs]:
        """For each formula cell that is frozen or rests on one that is: the inputs behind those."""
        given = {place: self._behind.get(place, 0) for place in frozen}
        known = self._gathered(given, typed=False)
        slim = {bits: self._slim(bits) for bits in set(known.values())}
        return {place: slim[bits] for place, bits in known.items() if bits}

    def filled(self, area: Area) -> int:
        """How many cells of a part of a column are filled."""
        return sum(1 for _ in self._in_column(area, area.first_column))

    def _slim(self, bits: int) -> Inputs:
        """Blank cells are watched by the number of filled cells of a range, where there is one."""
        inputs = [area for area, bit in self._bits.items() if bits >> bit & 1]
        ranges: dict[tuple[str, int], list[Area]] = defaultdict(list)
        for area in inputs:
            if not area.single:
                ranges[area.sheet, area.first_column].append(area)

        def covered(area: Area) -> bool:
            around = ranges.get((area.sheet, area.first_column), ())
            place = area.sheet, area.first_row, area.first_column
            return any(wide.holds(*place) for wide in around) and not self.filled(area)

        return frozenset(area for area in inputs if not (area.single and covered(area)))

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
            for area in self.reads[place]:
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
        for start in self.reads:
            waiting = [(start, False)]
            while waiting:
                place, done = waiting.pop()
                if done:
                    order.append(place)
                elif place not in seen:
                    seen.add(place)
                    waiting.append((place, True))
                    for area in self.reads[place]:
                        waiting += [(f, False) for f in self._inside(area)[1] if f not in seen]
        return order

    def _inside(self, area: Area) -> tuple[int, tuple[Position, ...]]:
        """The inputs of an area, and its formula cells."""
        area = Area(*area)
        if area not in self._areas:
            bits, formulas = 0, []
            for column in range(area.first_column, area.last_column + 1):
                places = list(self._in_column(area, column))
                formulas += [place for place in places if place in self.reads]
                for typed in self._typed(area, column, places):
                    bits |= 1 << self._bits.setdefault(typed, len(self._bits))
            self._areas[area] = bits, tuple(formulas)
        return self._areas[area]

    def _typed(self, area: Area, column: int, places: list[Position]) -> Iterator[Area]:
        """The typed cells of a column of an area; where some are blank, their number too."""
        if area.sheet not in self.shown.sheets:
            return
        for sheet, row, col in places:
            if (sheet, row, col) not in self.reads and not self.shown.is_gone(sheet, row, col):
                yield Area(sheet, row, col, row, col)
        part = Area(area.sheet, area.first_row, column, area.last_row, column)
        if len(places) < part.cells() and self.shown.keeps(part):
            yield part

    def _in_column(self, area: Area, column: int) -> Iterator[Position]:
        rows = self._filled.get((area.sheet, column), [])
        first, last = bisect_left(rows, area.first_row), bisect_right(rows, area.last_row)
        return ((area.sheet, row, column) for row in rows[first:last])
