"""What each cell of the client's copy holds: a value, a plain formula, or a frozen result."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from workbook_template.client_copy.inputs import FormulaGraph, Inputs, InputsBehind
from workbook_template.client_copy.plain import CannotKeep, PlainWriter
from workbook_template.client_copy.prices import SellingPrices
from workbook_template.client_copy.rules import AS_DELIVERED
from workbook_template.client_copy.scope import Scope
from xlfuncs.errors import CellError
from xlfuncs.workbooks.formulas.formula_cells import FormulaCell, Position
from xlfuncs.workbooks.formulas.origins import Origin, with_offsets, with_rows
from xlfuncs.workbooks.formulas.workbook_names import WorkbookNames
from xlfuncs.xlsx.cell_references import MAX_COLUMN, cell_name
from xlfuncs.xlsx.contents import CellValue, Sheet


@dataclass
class CopyCell:
    """One cell of the copy; `guard` are the inputs behind the frozen results that it rests on."""

    value: CellValue
    formula: str = ""  # plain, without its equals sign; '' for a value
    guard: Inputs = frozenset()


@dataclass
class CopyCells:
    """All cells of the copy by place, and what the consultant should know of them."""

    cells: dict[Position, CopyCell]
    names: set[str]  # defined names that plain formulas use
    frozen: dict[Position, str] = field(default_factory=dict)  # why they are values
    left_blank: dict[Position, str] = field(default_factory=dict)  # not computed, and why


class CopyPlan:
    """Decides cell by cell; `freeze` adds cells whose plain formula turned out to differ."""

    def __init__(
        self, scope: Scope, prices: SellingPrices, graph: FormulaGraph, names: WorkbookNames
    ) -> None:
        self.scope = scope
        self.prices = prices
        self.graph = graph
        self.inputs = InputsBehind(scope, self.graph)
        self.names = names
        self.not_computed = {
            (cell.sheet, cell.row, cell.column): cell.reason
            for cell in prices.evaluation.unevaluated
        }
        for place, cost in self.inputs.resting_on_possible_costs().items():
            name = f"{cost[0]}!{cell_name(cost[1], cost[2])}"
            self.not_computed[place] = (
                f"rests on {name}, which is not in the copy and may be a cost"
            )
        self.differing: dict[Position, str] = {}
        self._written: dict[Position, tuple[str, set[str], str]] = {}  # see _plain
        self._columns: dict[tuple[str, str], tuple[str, set[str], str]] = {}
        self._by_row = [
            sheet
            for sheet, areas in scope.gone.items()
            if any(area.last_column == MAX_COLUMN for area in areas)
        ]

    def freeze(self, places: Mapping[Position, str]) -> None:
        self.differing.update(places)

    def cells(self, *, formulas: bool = True) -> CopyCells:
        """The cells of all kept sheets; without `formulas` every one holds its value."""
        found = CopyCells({}, set())
        plain: dict[Position, str] = {}
        for formula in self.graph.formulas:
            if formula.sheet in self.scope.kept_names:
                self._formula(formula, found, plain)
        for sheet in self.scope.sheets:
            self._values(sheet, found)
        if not formulas:
            return found
        guards = self.inputs.guards(found.frozen)
        for place, cell in found.cells.items():
            cell.formula = plain.get(place, "")
            cell.guard = guards.get(place, frozenset())
        return found

    def _formula(self, formula: FormulaCell, found: CopyCells, plain: dict[Position, str]) -> None:
        place = formula.position
        if self.scope.is_gone(*place):
            return
        if place in self.not_computed and place not in self.scope.costs:
            found.left_blank[place] = self.not_computed[place]
            return
        reason = self._reason(formula)
        if not reason:
            text, names, reason = self._plain(formula)
            if not reason:
                plain[place] = text
                found.names |= names
                return
        extent = self.prices.extents.get(place, formula.fills)
        for row, column in extent.positions():
            found.frozen[formula.sheet, row, column] = reason

    def _plain(self, formula: FormulaCell) -> tuple[str, set[str], str]:
        """The plain formula with the defined names that it uses, or why there is none."""
        place = formula.position
        if place not in self._written:
            self._written[place] = self._of_column(formula)
        return self._written[place]

    def _of_column(self, formula: FormulaCell) -> tuple[str, set[str], str]:
        """Written once for the equal formulas of a column, unless rows are left out of a sheet."""
        place, alone = formula.position, formula.shift != (0, 0)
        if alone or any(s == place[0] or s in formula.text for s in self._by_row):
            return self._written_for(formula)
        key = place[0], with_offsets(formula.text, place[1])
        if key not in self._columns:
            text, names, reason = self._written_for(formula)
            self._columns[key] = with_offsets(text, place[1]), names, reason
        text, names, reason = self._columns[key]
        return with_rows(text, place[1]), names, reason

    def _written_for(self, formula: FormulaCell) -> tuple[str, set[str], str]:
        origin = Origin(0, *formula.position, formula.shift)
        writer = PlainWriter(self.names, origin, self.scope.keeps, self.prices.value)
        try:
            return writer.formula(formula.text), writer.names, ""
        except CannotKeep as because:
            return "", set(), str(because)

    def _reason(self, formula: FormulaCell) -> str:
        """Why a formula is a value in the copy whatever it says."""
        if formula.sheet in AS_DELIVERED:
            return "stands on a sheet that is a document of its date"
        if formula.position in self.scope.costs:
            return "computes a cost"
        if formula.array is not None:
            return "an array formula"
        return self.differing.get(formula.position, "")

    def _values(self, sheet: Sheet, found: CopyCells) -> None:
        computed = self.prices.evaluation.values[sheet.name]
        places = {(c.row, c.column) for c in self.scope.contents.scan(sheet).cells}
        for row, column in places | computed.keys():
            place = (sheet.name, row, column)
            if self.scope.is_gone(*place) or place in found.left_blank:
                continue
            value = self.prices.value(*place)
            if isinstance(value, str):
                value = self.scope.words.get(value, value)
            if value is not None:
                found.cells[place] = CopyCell(value)


def differences(wanted: CopyCells, got: Mapping[str, Mapping[tuple[int, int], CellValue]]) -> (
    dict[Position, str]
):  # fmt: skip
    """Plain formulas of the copy that do not give what the worksheet functions gave, and how."""
    found = {}
    for place, cell in wanted.cells.items():
        if not cell.formula:
            continue
        value = got.get(place[0], {}).get(place[1:])
        if not _equal(cell.value, value):
            found[place] = f"its plain formula gives {value!r} in place of {cell.value!r}"
    return found


def _equal(one: CellValue, two: CellValue) -> bool:
    if isinstance(one, float) and isinstance(two, float):
        return abs(one - two) <= 1e-9 * max(abs(one), abs(two), 1e-3)
    if isinstance(one, CellError) and isinstance(two, CellError):
        return True  # the functions name the kind of error more finely
    return type(one) is type(two) and one == two
