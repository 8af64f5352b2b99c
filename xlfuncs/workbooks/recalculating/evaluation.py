"""What a calculation of a workbook amounts to: values, and cells that keep their old one."""

from dataclasses import dataclass, field
from typing import NamedTuple

from xlfuncs.workbooks.formulas.formula_cells import FormulaCell
from xlfuncs.xlsx.cell_references import Area, cell_name
from xlfuncs.xlsx.contents import CellValue
from xlfuncs.xlsx.sheet_cells import Cell


class Unevaluated(NamedTuple):
    """A formula cell that keeps its old value, and why."""

    sheet: str
    row: int
    column: int
    formula: str
    reason: str

    @property
    def cell(self) -> str:
        return cell_name(self.row, self.column)

    def __str__(self) -> str:
        return f"{self.sheet}!{self.cell}: {self.reason}"


@dataclass
class Evaluation:
    """Computed values by sheet and (row, column), spilled cells included, and what is missing."""

    values: dict[str, dict[tuple[int, int], CellValue]]
    unevaluated: list[Unevaluated]
    failures: list[str]  # unexpected exceptions of the functions, in words
    formulas: int  # formula cells in the workbook
    # formulas that spill, by sheet: the cell, the extent that the file states, the new extent
    spills: dict[str, list[tuple[Cell, Area, Area]]] = field(default_factory=dict)
    cells: list[FormulaCell] = field(default_factory=list)  # every formula as it was read

    def reads(self) -> dict[tuple[str, int, int], list[Area]]:
        """The areas that each formula cell reads, also each that an array formula fills."""
        return {
            (cell.sheet, *place): cell.translated.reads if cell.translated else []
            for cell in self.cells
            if not cell.home
            for place in cell.fills.positions()
        }
