"""What is wrong or doubtful in the calls of our functions in a workbook's formulas.

Arguments are followed to the cells that they name, and the words stand at the cell that holds the
value. Cells of the input tables are left to the table checks, which say the same once.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

from xlfuncs.catalogue.arguments import is_blank
from xlfuncs.catalogue.calling import read_system
from xlfuncs.catalogue.calling_whole import FINE
from xlfuncs.catalogue.declaration import Arg, WorksheetFunction
from xlfuncs.catalogue.findings.given import DOUBTFUL, WRONG
from xlfuncs.catalogue.registry import functions
from xlfuncs.catalogue.topics.checks import words_on_one, words_on_whole
from xlfuncs.errors import CellError, InputError
from xlfuncs.units import default_conversion
from xlfuncs.workbooks.checking.call_words import calls, flat, given_by, unit_clash, words_on
from xlfuncs.workbooks.formulas.formula_cells import FormulaCell, Position, read_cells
from xlfuncs.workbooks.formulas.parsing import Node, UnreadableReference
from xlfuncs.workbooks.formulas.references import References
from xlfuncs.workbooks.formulas.workbook_names import WorkbookNames
from xlfuncs.workbooks.our_tables.findings import CellValues, Finding
from xlfuncs.xlsx.cell_references import Area, cell_name, quoted_sheet
from xlfuncs.xlsx.contents import CellValue, Contents, DefinedName

_MAX_CELLS = 20_000  # of one range that are looked at
_CALLED = re.compile(r"\b(\w++)\s*+\(")


@dataclass(frozen=True)
class Argument:
    """What an argument of a call is: a typed value, cells, another call's result, or unknown."""

    literal: CellValue = None
    area: Area | None = None
    call: str = ""
    known: bool = True


@dataclass(frozen=True)
class Call:
    """A call of one of our functions: its cell, its inputs, and the system that it counts in."""

    here: Position
    function: WorksheetFunction
    inputs: Sequence[Argument]
    system: str


@dataclass
class FormulaChecks:
    """The checks of one workbook; `inputs` are areas that the table checks look after."""

    contents: Contents
    values: CellValues
    system: str
    inputs: Sequence[Area] = field(default_factory=tuple)

    def __post_init__(self) -> None:
        ours = {name for name, function in functions().items() if not function.variadic}
        self._workbook_names = WorkbookNames(self.contents)
        self._clashes: dict[tuple[str, str, Area, str], str] = {}
        self._said: set[tuple[Position, str]] = set()
        self._roots: dict[Position, str] = {}
        self._formulas = [
            formula
            for formula in read_cells(self.contents)[1]
            if not ours.isdisjoint(map(str.upper, _CALLED.findall(formula.text)))
        ]

    def findings(self) -> Iterator[Finding]:
        parsed = []
        for formula in self._formulas:
            try:
                node = self._workbook_names.parse(formula.text)
            except UnreadableReference:
                continue  # the recalculation lists it
            parsed.append((formula, node))
            if root := given_by(node):
                self._roots[formula.position] = root
        for formula, node in parsed:
            for call in calls(node):
                yield from self._call(formula, functions()[call["name"].upper()], call["args"])
            yield from self._result(formula, node)

    # --- one call ---

    def _call(
        self, formula: FormulaCell, function: WorksheetFunction, nodes: list[Node]
    ) -> Iterator[Finding]:
        here = formula.position
        given = [self._given(formula, node) for node in nodes]
        place = next(i for i, arg in enumerate(function.args) if arg.name == "units")
        system, words = self._system(function, given, place)
        if words:
            yield Finding(words[0], *here, words[1])
        call = Call(here, function, [g for i, g in enumerate(given) if i != place], system)
        for arg, one in zip(function.inputs, call.inputs, strict=False):
            yield from self._argument(call, arg, one)
        if isinstance(self._at(here), CellError):
            yield from self._together(call)

    def _system(
        self, function: WorksheetFunction, given: list[Argument], place: int
    ) -> tuple[str, tuple[str, str] | None]:
        one = given[place] if place < len(given) else Argument()
        value = self._single(one)
        if is_blank(value) and one.known:
            if self.system == "us":
                return "us", None
            words = f"{function.name} without units counts in us units; this workbook is metric"
            return "us", (WRONG, words)
        if not one.known:
            return self.system, None
        try:
            system = read_system(value)
        except InputError as error:
            return self.system, (WRONG, f"{function.name}: {error}")
        if system != self.system:
            words = f"{function.name} is called with units {system!r} in a {self.system} workbook"
            return system, (DOUBTFUL, words)
        return system, None

    def _argument(self, call: Call, arg: Arg, given: Argument) -> Iterator[Finding]:
        function, system, here = call.function, call.system, call.here
        if given.call:
            if words := unit_clash(function, arg, given.call, system):
                yield Finding(WRONG, *here, words)
            return
        if arg.table is not None:
            return  # its columns are read together, by their headers
        if given.area is None:
            for kind, words in words_on(function, arg, given.literal, system):
                yield Finding(kind, *here, words)
            return
        # a single cell that is wrong for a call that gives no error is kept from it by an IF
        guarded = given.area.single and not isinstance(self._at(here), CellError)
        key = (function.name, arg.name, given.area, system)
        if key not in self._clashes:  # each range once, however many formulas read it
            self._clashes[key] = self._clash_in(call, arg, given.area)
            yield from self._typed_cells(call, arg, given.area, guarded)
        if words := self._clashes[key]:
            yield Finding(WRONG, *here, words)

    def _clash_in(self, call: Call, arg: Arg, area: Area) -> str:
        for place, _ in self._cells(area):
            root = self._roots.get(place)
            if root and (words := unit_clash(call.function, arg, root, call.system)):
                return f"{words}, in {cell_name(*place[1:])}"
        return ""

    def _typed_cells(self, call: Call, arg: Arg, area: Area, guarded: bool) -> Iterator[Finding]:
        sheet, *cell = call.here
        user = f" (for {call.function.name} in {quoted_sheet(sheet)}!{cell_name(*cell)})"
        for place, value in self._cells(area):
            if place in self._roots or any(area.holds(*place) for area in self.inputs):
                continue
            for kind, words in words_on(call.function, arg, value, call.system):
                if (kind != WRONG or not guarded) and (place, words) not in self._said:
                    self._said.add((place, words))
                    yield Finding(kind, *place, words + user)

    def _together(self, call: Call) -> Iterator[Finding]:
        """Words on a call that gives an error though each argument by itself is fine."""
        function, inputs, system = call.function, call.inputs, call.system
        if not all(one.known and not one.call for one in inputs):
            return
        values = [self._value(function, one) for one in inputs]
        cells = [cell for value in values for cell in flat(value)]
        if any(isinstance(cell, CellError) for cell in cells) or len(cells) > _MAX_CELLS:
            return
        words_together = words_on_one if function.elementwise else words_on_whole
        words = str(words_together(function, values, system))
        alone = any(
            kind == WRONG
            for arg, value in zip(function.inputs, values, strict=False)
            for cell in flat(value)
            for kind, _ in words_on(function, arg, cell, system)
        )
        passed = (FINE, f"{function.name}: doubtful", f"{function.name}: nothing computed")
        if not alone and not words.startswith(passed):
            yield Finding(WRONG, *call.here, words)

    def _value(self, function: WorksheetFunction, given: Argument) -> Any:
        """What a call gets: a typed value, one cell, or the rows of a range."""
        if given.area is None or given.area.single or function.elementwise:
            return self._single(given)
        area, cells = given.area, self.values.get(given.area.sheet, {})
        last_row = min(area.last_row, area.first_row + _MAX_CELLS)
        return [
            [cells.get((row, col)) for col in range(area.first_column, area.last_column + 1)]
            for row in range(area.first_row, last_row + 1)
        ]

    def _result(self, formula: FormulaCell, node: Node) -> Iterator[Finding]:
        """Doubts on the result of a cell that one call gives."""
        function = functions().get(self._roots.get(formula.position, ""))
        value = self._at(formula.position)
        if function is None or function.doubt is None or not isinstance(value, float):
            return
        scale, offset = default_conversion(function.results[0].dimension, self.system)
        if words := function.doubt(value * scale + offset):
            yield Finding(DOUBTFUL, *formula.position, f"{function.name}: {words}")

    # --- what an argument is ---

    def _given(self, formula: FormulaCell, node: Node) -> Argument:
        kind = node["node_type"]
        if kind == "Literal":
            return Argument(literal=node["value"])
        if kind == "Omitted":
            return Argument()
        if kind == "UnaryOp" and node["operator"] == "-":
            inner = self._given(formula, node["operand"])
            if isinstance(inner.literal, (int, float)):
                return Argument(literal=-inner.literal)
        if kind == "Function" and (root := given_by(node)):
            return Argument(call=root)
        if kind == "Reference":
            return self._reference(formula, node["reference"])
        return Argument(known=False)

    def _reference(self, formula: FormulaCell, text: str, depth: int = 0) -> Argument:
        references = References(self._workbook_names, formula.origin())
        try:
            target = references.resolve(text)
            if isinstance(target, DefinedName):
                node = self._workbook_names.parse(target.text)
                if depth < 5 and node["node_type"] == "Reference":
                    return self._reference(formula, node["reference"], depth + 1)
                return Argument(literal=node["value"]) if node["node_type"] == "Literal" else (
                    Argument(known=False)
                )  # fmt: skip
        except UnreadableReference:
            return Argument(known=False)
        return Argument(area=target) if target is not None else Argument(known=False)

    def _single(self, given: Argument) -> CellValue:
        """The value of an argument that is one cell or typed; of a range its first."""
        if given.area is None:
            return given.literal
        return self._at((given.area.sheet, given.area.first_row, given.area.first_column))

    def _at(self, place: Position) -> CellValue:
        return self.values.get(place[0], {}).get(place[1:])

    def _cells(self, area: Area) -> Iterator[tuple[Position, CellValue]]:
        cells = self.values.get(area.sheet, {})
        if area.cells() > _MAX_CELLS:
            inside = (p for p in cells if area.holds(area.sheet, *p))
        else:
            inside = (p for p in area.positions() if p in cells)
        for place in inside:
            yield (area.sheet, *place), cells[place]
