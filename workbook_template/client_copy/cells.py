"""What each cell of the client's copy holds: a value, a plain formula, or a frozen result.

The plain formulas are computed together with the book, each from the values that the worksheet
functions gave: one that gives something else becomes a value too.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from workbook_template.client_copy.plain import CannotKeep, PlainWriter
from workbook_template.client_copy.shown import Shown
from workbook_template.kit.written import Written
from workbook_template.sheets.order import declared_sheets
from xlfuncs.errors import CellError
from xlfuncs.workbooks.formulas.formula_cells import FormulaCell, Position, read_cells
from xlfuncs.workbooks.formulas.origins import with_offsets, with_rows
from xlfuncs.workbooks.formulas.workbook_names import WorkbookNames
from xlfuncs.workbooks.recalculating.evaluation import Evaluation
from xlfuncs.xlsx.cell_references import MAX_COLUMN
from xlfuncs.xlsx.contents import CellValue, Sheet
from xlfuncs.xlsx.sheet_cells import Cell, SheetScan

APART = "{} in plain formulas"  # the sheet where those of a sheet are tried


def as_delivered() -> set[str]:
    """Sheets that are a document of their date: nothing in them is computed anew."""
    sheets = declared_sheets().values()
    return {s.name for s in sheets if s.client is not None and s.client.as_delivered}


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
