"""What each cell of the client's copy holds: a value, a plain formula, or a frozen result.

The plain formulas are computed together with the book, each from the values that the worksheet
functions gave: one that gives something else becomes a value too.
"""

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import reduce
from operator import or_

from workbook_template.client_copy.plain import CannotKeep, PlainWriter
from workbook_template.client_copy.shown import Shown
from workbook_template.kit.declared import AS_DELIVERED
from workbook_template.kit.written import Written
from workbook_template.sheets.order import declared_sheets
from xlfuncs.errors import CellError
from xlfuncs.workbooks.formulas.formula_cells import FormulaCell, Position, read_cells
from xlfuncs.workbooks.formulas.origins import with_offsets, with_rows
from xlfuncs.workbooks.formulas.workbook_names import WorkbookNames
from xlfuncs.workbooks.recalculating.evaluation import Evaluation
from xlfuncs.xlsx.cell_references import MAX_COLUMN, Area
from xlfuncs.xlsx.contents import CellValue, Contents, Sheet
from xlfuncs.xlsx.sheet_cells import Cell, SheetScan

APART = "{} in plain formulas"  # the sheet where those of a sheet are tried


def as_delivered() -> set[str]:
    """Sheets that are a document of their date: nothing in them is computed anew."""
    sheets = declared_sheets().values()
    return {s.name for s in sheets if s.client == AS_DELIVERED}


@dataclass
class CopyCells:
    """The formula cells of the copy, and what the consultant should know of them."""

    plain: dict[Position, str] = field(default_factory=dict)
    names: set[str] = field(default_factory=set)  # defined names that plain formulas use
    frozen: dict[Position, str] = field(default_factory=dict)  # why they are values
    left_blank: dict[Position, str] = field(default_factory=dict)  # not computed, and why


class CopyPlan:
    """Decides for each formula of the sheets that the client gets."""

    def __init__(self, shown: Shown, contents: Written, *, values_only: bool) -> None:
        self.shown, self.contents, self.values_only = shown, contents, values_only
        self.names = WorkbookNames(contents)
        self.cells = CopyCells()
        self._documents = as_delivered()
        self._columns: dict[tuple[str, str], tuple[str, set[str], str]] = {}
        self._by_row = [  # sheets of which rows are left out: what one row reads another may not
            sheet
            for sheet, areas in shown.gone.items()
            if any(area.last_column == MAX_COLUMN for area in areas)
        ]

    def write(self) -> None:
        """Write the plain formulas, and put them into the contents to be tried."""
        apart = []
        for sheet in [s for s in self.contents.sheets if s.name in self.shown.sheets]:
            tried: list[Cell] = []
            for formula in read_cells(self.contents, [sheet])[1]:
                if self.shown.is_gone(*formula.position):
                    continue
                text, reason = self._formula(formula)
                if reason:
                    self.cells.frozen[formula.position] = reason
                else:
                    self.cells.plain[formula.position] = text
                    place = formula.cell.row, formula.cell.column
                    tried.append(Cell(*place, "n", "", -1, formula=text, formula_start=0))
            name = APART.format(sheet.name)
            apart.append(Sheet(name, name, sheet.name))
            self.contents.add_scan(apart[-1], SheetScan(tried, {}, {}, set(), -1, -1))

    def settle(self, evaluation: Evaluation, left_blank: Mapping[Position, str]) -> CopyCells:
        """Keep the plain formulas that gave what the worksheet functions gave."""
        cells, values = self.cells, evaluation.values
        cells.left_blank |= left_blank
        missing = {(c.sheet, c.row, c.column): c.reason for c in evaluation.unevaluated}
        for place in [*cells.frozen, *cells.plain]:
            if place in missing:
                cells.left_blank[place] = missing[place]
        for place, reason in list(self._differing(values, missing)):
            del cells.plain[place]
            cells.frozen[place] = reason
        for place in cells.left_blank:
            cells.frozen.pop(place, None)
            cells.plain.pop(place, None)
        return cells

    def _differing(
        self, values: dict[str, dict[tuple[int, int], CellValue]], missing: dict[Position, str]
    ) -> Iterator[tuple[Position, str]]:
        for sheet, row, column in self.cells.plain:
            apart = APART.format(sheet), row, column
            wanted, got = (values[name].get((row, column)) for name in (sheet, apart[0]))
            if apart in missing:
                yield (sheet, row, column), missing[apart]
            elif not _equal(wanted, got):
                yield (sheet, row, column), f"its plain formula gives {got!r} for {wanted!r}"

    def _formula(self, formula: FormulaCell) -> tuple[str, str]:
        """The plain formula of a cell, or why it has none."""
        if formula.sheet in self._documents:
            return "", "stands on a sheet that is a document of its date"
        if self.values_only:
            return "", "values only"
        key = formula.sheet, with_offsets(formula.text, formula.cell.row)
        if any(s == formula.sheet or s in formula.text for s in self._by_row):
            key = formula.sheet, f"{formula.cell.row} {formula.text}"
        if key not in self._columns:
            text, names, reason = self._written_for(formula)
            self._columns[key] = with_offsets(text, formula.cell.row), names, reason
        text, names, reason = self._columns[key]
        self.cells.names |= names
        return with_rows(text, formula.cell.row), reason

    def _written_for(self, formula: FormulaCell) -> tuple[str, set[str], str]:
        writer = PlainWriter(self.names, formula.origin(), self.shown.keeps, self.contents.typed)
        try:
            return writer.formula(formula.text), writer.names, ""
        except CannotKeep as because:
            return "", set(), str(because)


def _equal(one: CellValue, two: CellValue) -> bool:
    if isinstance(one, float) and isinstance(two, float):
        return abs(one - two) <= 1e-9 * max(abs(one), abs(two), 1e-3)
    if isinstance(one, CellError) and isinstance(two, CellError):
        return True  # the functions name the kind of error more finely
    return type(one) is type(two) and one == two


# --- what a result that was worked out beforehand rests on: the client's inputs behind it ---
# A frozen result knows every typed cell of the copy that it was computed from, through any chain of
# formulas, and how many cells of each range were filled, so that something typed into a blank cell
# is noticed too. Every formula that rests on a frozen result takes over its inputs.
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
        self._typed_in: dict[Area, int] = {}
        self._formulas_in: dict[Area, list[Position]] = {}
        self._bits: dict[Area, int] = {}
        self._order = self._in_order()
        self._blank = {area for area in self._bits if area.single and not self.filled(area)}
        self._behind = self._gathered({})

    def of(self, places: Collection[Position]) -> Inputs:
        """Every input of the copy behind some formula cells."""
        return self._slim(reduce(or_, (self._behind.get(place, 0) for place in places), 0))

    def guards(self, frozen: Collection[Position]) -> Mapping[Position, Inputs]:
        """For each formula cell that is frozen or rests on one that is: the inputs behind those."""
        given = {place: self._behind.get(place, 0) for place in frozen}
        known = self._gathered(given, typed=False)
        cells = {place: bits for place, bits in known.items() if not isinstance(place, Area)}
        slim = {bits: self._slim(bits) for bits in set(cells.values())}
        return {place: slim[bits] for place, bits in cells.items() if bits}

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
            return any(wide.holds(*place) for wide in around)

        return frozenset(area for area in inputs if not (area in self._blank and covered(area)))

    def _gathered(
        self, given: Mapping[Position, int], *, typed: bool = True
    ) -> dict[Position | Area, int]:
        """Each formula's inputs: those `given`, else those of the areas it reads, all put together;
        an area's are what is typed there, and those of its formulas."""
        known: dict[Position | Area, int] = dict(given.items())
        for place in self._order:
            if place in given:
                continue
            bits = self._typed_in[place] if typed and isinstance(place, Area) else 0
            for one in self._read_by(place):
                bits |= known.get(one, 0)
            known[place] = bits
        return known

    def _in_order(self) -> list[Position | Area]:
        """Formula cells and the areas that they read, each after what it is computed from."""
        order: list[Position | Area] = []
        seen: set[Position | Area] = set()
        for start in self.reads:
            waiting: list[tuple[Position | Area, bool]] = [(start, False)]
            while waiting:
                place, done = waiting.pop()
                if done:
                    order.append(place)
                elif place not in seen:
                    seen.add(place)
                    waiting.append((place, True))
                    waiting += [(one, False) for one in self._read_by(place) if one not in seen]
        return order

    def _read_by(self, place: Position | Area) -> Sequence[Position | Area]:
        """The areas that a formula reads; the formula cells of an area."""
        if not isinstance(place, Area):
            return self.reads[place]
        if place not in self._formulas_in:
            bits, formulas = 0, []
            for column in range(place.first_column, place.last_column + 1):
                places = list(self._in_column(place, column))
                formulas += [one for one in places if one in self.reads]
                for typed in self._typed(place, column, places):
                    bits |= 1 << self._bits.setdefault(typed, len(self._bits))
            self._typed_in[place], self._formulas_in[place] = bits, formulas
        return self._formulas_in[place]

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
