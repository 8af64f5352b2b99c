"""The formula cells of a workbook, sorted from its inputs."""

from collections.abc import Sequence
from dataclasses import dataclass

from xlfuncs.workbooks.formulas.origins import Origin
from xlfuncs.workbooks.formulas.rewriting import Translated
from xlfuncs.xlsx.cell_references import Area, parse_area
from xlfuncs.xlsx.contents import Contents, Sheet
from xlfuncs.xlsx.sheet_cells import Cell

Position = tuple[str, int, int]  # sheet, row, column


@dataclass(slots=True)
class FormulaCell:
    """A formula cell on its way through the engine."""

    sheet: str
    cell: Cell
    text: str
    shift: tuple[int, int] = (0, 0)  # from the cell where a shared formula was written
    array: Area | None = None  # the stated extent of an array formula
    translated: Translated | None = None
    reason: str = ""  # why it cannot be evaluated; empty while it can
    extent: Area | None = None  # what it filled in this run
    home: str = ""  # see Sheet

    @property
    def position(self) -> Position:
        return self.sheet, self.cell.row, self.cell.column

    def origin(self, number: int = 0) -> Origin:
        sheet = self.home or self.sheet
        return Origin(number, sheet, self.cell.row, self.cell.column, self.shift)

    @property
    def fixed_array(self) -> bool:
        return self.array is not None and not self.cell.dynamic

    @property
    def alone(self) -> bool:
        """Whether it gives one value, whatever it computes."""
        several = self.translated is not None and self.translated.shared.several
        return self.array is None and not self.cell.dynamic and not several

    @property
    def fills(self) -> Area:
        """The cells that the file says it fills."""
        here = Area(self.sheet, self.cell.row, self.cell.column, self.cell.row, self.cell.column)
        return self.array or here

    def spilled(self, extent: str) -> Area | None:
        return parse_area(extent.rpartition("!")[2], self.sheet)


def read_cells(
    contents: Contents, sheets: Sequence[Sheet] | None = None
) -> tuple[list[tuple[str, Cell]], list[FormulaCell]]:
    """All cells with typed values, as (sheet, cell), and all formula cells; of all sheets."""
    inputs: list[tuple[str, Cell]] = []
    formulas: list[FormulaCell] = []
    for sheet in contents.sheets if sheets is None else sheets:
        cells = contents.scan(sheet).cells
        own = [cell for cell in cells if cell.formula_start >= 0]
        masters = {cell.formula_attributes.get("si"): cell for cell in own if cell.formula
                   and cell.formula_attributes.get("t") == "shared"}  # fmt: skip
        formulas += [_formula(sheet, cell, masters) for cell in own]
        inputs += [(sheet.name, c) for c in cells if c.formula_start < 0 and c.text is not None]
    filled = [formula.array for formula in formulas if formula.array is not None]
    if filled:  # what an array formula filled last time is no input
        inputs = [
            (name, cell)
            for name, cell in inputs
            if not any(area.holds(name, cell.row, cell.column) for area in filled)
        ]
    return inputs, formulas


def _formula(sheet: Sheet, cell: Cell, masters: dict[str | None, Cell]) -> FormulaCell:
    attributes = cell.formula_attributes
    text = (cell.formula or "").removeprefix("=")
    formula = FormulaCell(sheet.name, cell, text, home=sheet.home)
    kind = attributes.get("t", "normal")
    if kind in ("array", "dataTable"):
        formula.array = parse_area(attributes.get("ref", ""), sheet.name) or formula.fills
    if kind == "dataTable":
        formula.reason = "a what-if data table"
    elif kind == "shared" and not formula.text:
        master = masters.get(attributes.get("si"))
        if master is not None:
            formula.text = master.formula or ""
            formula.shift = (cell.row - master.row, cell.column - master.column)
    if not formula.text and not formula.reason:
        formula.reason = "holds no formula text"
    return formula
