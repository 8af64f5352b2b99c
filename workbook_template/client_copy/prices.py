"""The workbook at selling prices: costs replaced, everything else computed from them.

A selling price is the cost times one plus the markup, rounded to the steps below. The rounding is
on purpose: from unrounded prices the one markup that turns all of them into whole cents could be
found. With steps of at least two cents, costs in cents leave every markup up to 1 possible. Who
knows more of the costs than that (that they end in 95, or one of them) can still estimate it.

`QUOTATION` rounds each of its sums, so prices of lines would not add up to its total by a cent or
two. Its calls, and those for optional items, are therefore answered from the calls at cost: the
copy says to the cent what the consultant's workbook says.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

import numpy as np

from workbook_template.client_copy.scope import Scope
from xlfuncs.catalogue.calling import split_units
from xlfuncs.catalogue.reading_tables import read_tables
from xlfuncs.catalogue.registry import functions as declared
from xlfuncs.errors import InputError, WorkbookError
from xlfuncs.workbooks.formulas.formula_cells import Position
from xlfuncs.workbooks.formulas.rewriting import Translator
from xlfuncs.workbooks.our_tables.named_cells import cell_value, place_of
from xlfuncs.workbooks.recalculating.engine import Evaluation, WorksheetCallable, evaluate
from xlfuncs.xlsx.cell_references import Area
from xlfuncs.xlsx.contents import CellValue, Contents, Sheet
from xlfuncs.xlsx.sheet_cells import Cell, SheetScan
from xlfuncs.xlsx.sheet_edits import value_xml

# Below the first number, rounded to the second; from the last one on to three digits.
STEPS = (
    (Decimal(1), Decimal("0.02")),
    (Decimal(10), Decimal("0.05")),
    (Decimal(100), Decimal("0.1")),
)
DIGITS = 3
QUOTATION = "QUOTATION"
AT_COST = (QUOTATION, "OPTIONAL_PRICES")  # the functions that are asked at cost


def selling_price(cost: float, markup: float) -> float:
    """What a client pays for something that costs `cost`; never nothing for a cost."""
    exact = Decimal(repr(cost)) * (1 + Decimal(repr(markup)))
    if not exact or not markup:
        return cost
    step = next((step for below, step in STEPS if abs(exact) < below), None)
    step = step or Decimal(1).scaleb(exact.adjusted() + 1 - DIGITS)
    steps = (exact / step).quantize(Decimal(1), rounding=ROUND_HALF_UP)
    return float((steps or Decimal(1).copy_sign(exact)) * step)


def markup_in(contents: Contents, values: Mapping[str, Mapping[tuple[int, int], Any]]) -> float:
    """The markup that the workbook states, or that follows from its margin."""
    stated = {}
    for name in contents.names:
        place = place_of(name.text)
        if name.name.lower() in ("markup", "margin") and place:
            computed = values.get(place[0], {}).get(place[1:])
            number = computed if computed is not None else cell_value(contents, place)
            if isinstance(number, float) and math.isfinite(number):
                stated[name.name.lower()] = number
    if "markup" in stated:
        return stated["markup"]
    if "margin" in stated and stated["margin"] < 1:
        return stated["margin"] / (1 - stated["margin"])
    raise WorkbookError(
        f"{contents.package.name}: says neither a markup nor a margin; fill in one of the cells "
        "of these names, or give --markup or --margin (0 for none)"
    )


class SellingPrices:
    """The workbook computed at cost, then at selling prices."""

    def __init__(
        self, scope: Scope, functions: Mapping[str, WorksheetCallable], markup: float | None,
        translator: Translator,
    ) -> None:  # fmt: skip
        self.scope, self._translator = scope, translator
        self._functions = dict(functions)
        self._calls: list[tuple[str, list[Any], Any]] = []
        at_cost = {**functions, **{name: self._recorded(name) for name in AT_COST}}
        self.at_cost = evaluate(scope.contents, at_cost, translator=translator)
        self.markup = markup_in(scope.contents, self.at_cost.values) if markup is None else markup
        self.contents = _Priced(scope.contents, self._changes())
        self.evaluation = self._evaluate()
        self.extents: dict[Position, Area] = {
            (sheet, cell.row, cell.column): after
            for sheet, spills in self.evaluation.spills.items()
            for cell, _, after in spills
        }

    def value(self, sheet: str, row: int, column: int) -> CellValue:
        """The value of a cell at selling prices."""
        if (row, column) in self.evaluation.values.get(sheet, {}):
            return self.evaluation.values[sheet][row, column]
        cell = self.contents.cell_at(sheet, row, column)
        return None if cell is None or cell.formula_start >= 0 else self.contents.value(cell)

    def _changes(self) -> dict[Position, CellValue]:
        """Selling prices for costs, no markup, and numbers for written quantities."""
        changes: dict[Position, CellValue] = dict(self.scope.quantities)
        for place in self.scope.costs:
            cost = self.scope.quantities.get(place, self._at_cost(place))
            if isinstance(cost, float):
                changes[place] = selling_price(cost, self.markup)
        for name in self.scope.contents.names:
            cell = place_of(name.text)
            if name.name.lower() in ("markup", "margin") and cell is not None:
                changes[cell] = 0.0 if name.name.lower() == "markup" else None
        return changes

    def _at_cost(self, place: Position) -> CellValue:
        computed = self.at_cost.values.get(place[0], {}).get(place[1:])
        return computed if computed is not None else cell_value(self.scope.contents, place)

    def _recorded(self, name: str) -> WorksheetCallable:
        def record(arguments: list[Any]) -> Any:
            result = self._functions[name](arguments)
            self._calls.append((name, arguments, result))
            return result

        return record

    def _evaluate(self) -> Evaluation:
        answers = {
            _what_is_asked(name, arguments, self.markup): (
                _sold(result) if name == QUOTATION else result
            )
            for name, arguments, result in self._calls
            if isinstance(result, list)
        }

        def answer(name: str) -> WorksheetCallable:
            plain = self._functions[name]

            def answered(arguments: list[Any]) -> Any:
                return answers.get(_what_is_asked(name, arguments, 0.0)) or plain(arguments)

            return answered

        functions = {**self._functions, **{name: answer(name) for name in AT_COST}}
        return evaluate(self.contents, functions, translator=self._translator)


def _what_is_asked(name: str, arguments: list[Any], markup: float) -> str:
    """All values of a call but markup and margin, its costs at selling prices."""
    function = declared()[name]
    try:
        read = read_tables(function, *split_units(function, arguments))
    except InputError:
        return ""
    if read is None:
        return ""
    raw = {key: _each(value) for key, value in read.raw.items() if key not in ("markup", "margin")}
    for cost in ("unit_costs", "labour_rate"):
        raw[cost] = [
            selling_price(value, markup) if type(value) is float and value == value else value
            for value in raw.get(cost, [])
        ]
    return repr((name, raw))


def _each(value: Any) -> list[Any]:
    return value.tolist() if isinstance(value, np.ndarray) else [value]


def _sold(rows: list[list[Any]]) -> list[list[Any]]:
    """The sums of a quotation as its client may see them: shares of the price, no markup."""
    names = [result.name for result in declared()[QUOTATION].results]
    sold = []
    for row in rows:
        sums = dict(zip(names, row, strict=True))
        share = sums["price"] / sums["cost"] if sums["cost"] else 1.0
        materials, labour = (round(sums[part] * share, 2) for part in ("materials", "labour"))
        contingency = round(sums["price"] - materials - labour, 2)
        sums |= {"materials": materials, "labour": labour, "contingency": contingency}
        sums |= {"cost": sums["price"], "markup": 0.0, "margin": 0.0}
        sold.append(list(sums.values()))
    return sold


class _Priced(Contents):
    """A workbook with other values in some cells, which then hold no formula."""

    def __init__(self, contents: Contents, changes: Mapping[Position, CellValue]) -> None:
        self.__dict__ |= contents.__dict__
        self._cells, self._scans = {}, {}
        self._changes: dict[str, dict[tuple[int, int], CellValue]] = {}
        for (sheet, *place), value in changes.items():
            self._changes.setdefault(sheet, {})[place[0], place[1]] = value
        self._unchanged = contents

    def scan(self, sheet: Sheet) -> SheetScan:
        if sheet.part not in self._scans:
            scan, changes = self._unchanged.scan(sheet), self._changes.get(sheet.name, {})
            cells = {(cell.row, cell.column): cell for cell in scan.cells} | {
                place: self._cell(place, value) for place, value in changes.items()
            }
            self._scans[sheet.part] = replace(scan, cells=list(cells.values()))
        return self._scans[sheet.part]

    def _cell(self, place: tuple[int, int], value: CellValue) -> Cell:
        kind, text = ("n", None) if value is None else value_xml(value)
        return Cell(*place, kind, "", -1, text=text)
