"""Computing the formulas of a workbook without any spreadsheet program.

    evaluation = evaluate("beds.xlsx", {"BED_AREA": bed_area, ...})
    evaluation.values["Beds"][2, 5]  # row 2, column 5, both from 1: float, bool, str, CellError
    evaluation.unevaluated  # cells that were left out, each with the reason

`functions` maps names to callables. A callable takes the list of its arguments and returns one
cell value or rows of cell values. A cell value is float, bool, str, None (blank) or CellError; a
range arrives as a list of rows. An omitted argument arrives as None. An InputError that a callable
raises becomes its cell error; any other exception becomes #VALUE! and a line in
`evaluation.failures`.

The engine proper is formualizer (MIT or Apache-2.0; wheels for Python 3.10 and later on Linux,
macOS and Windows). It is given only formulas whose meaning was made plain by `formulas`. A cell
that cannot be computed, and every cell that reads one, is listed and never given a value.
"""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from datetime import UTC, datetime
from itertools import pairwise
from pathlib import Path
from typing import Any, TypeVar

import formualizer

from xlfuncs.errors import CellError
from xlfuncs.workbooks.formulas.corrections import looks_like_a_number
from xlfuncs.workbooks.formulas.for_engine import HELD, PICK
from xlfuncs.workbooks.formulas.formula_cells import FormulaCell, read_cells
from xlfuncs.workbooks.formulas.origins import placed
from xlfuncs.workbooks.formulas.parsing import UnreadableReference
from xlfuncs.workbooks.formulas.rewriting import Translator
from xlfuncs.workbooks.formulas.typed_cells import TypedCells
from xlfuncs.workbooks.recalculating.callbacks import (
    Callbacks,
    EngineTrouble,
    WorksheetCallable,
    from_engine,
    to_engine,
)
from xlfuncs.workbooks.recalculating.collecting import collection_put_off
from xlfuncs.workbooks.recalculating.evaluation import Evaluation, Unevaluated
from xlfuncs.workbooks.recalculating.readers import mark_readers
from xlfuncs.xlsx.cell_references import MAX_ROW, Area, cell_name
from xlfuncs.xlsx.contents import CellValue, Contents
from xlfuncs.xlsx.package import Package
from xlfuncs.xlsx.sheet_cells import Cell

__all__ = ["CellValue", "Evaluation", "Unevaluated", "WorksheetCallable", "evaluate"]

_T = TypeVar("_T")
MAX_FIXED_ARRAY = 5_000  # cells of one array formula with a fixed extent


def evaluate(
    source: Path | str | bytes | Contents,
    functions: Mapping[str, WorksheetCallable],
    *,
    now: datetime | None = None,
) -> Evaluation:
    """Compute every formula of a workbook; nothing is written.

    `now` is what TODAY and NOW give (default: the clock, local time). Raises WorkbookError for a
    file that is refused.
    """
    contents = source if isinstance(source, Contents) else Contents(Package.open(source))
    with collection_put_off():
        return _Run(contents, functions, now or datetime.now()).evaluation()


class _Run:
    def __init__(
        self, contents: Contents, functions: Mapping[str, WorksheetCallable], now: datetime
    ) -> None:
        self.contents = contents
        self.functions = functions
        self.now = now
        self.inputs, self.formulas = read_cells(contents)
        self.typed = TypedCells(contents, self.inputs, ((f.sheet, f.cell) for f in self.formulas))
        self.translator = Translator(contents, functions, self.typed)
        self.engine = self.translator.engine
        self.values: dict[str, dict[tuple[int, int], CellValue]] = {}
        self.columns: dict[tuple[str, int], int] = {}  # of formulas, counted
        self.runs: list[tuple[str, int, int, list[FormulaCell]]] = []  # as the engine has them
        for formula in self.formulas:
            self.translate(formula)

    def number(self, formula: FormulaCell) -> int:
        """One for each formula; those of a column count with their rows."""
        place = formula.sheet, formula.cell.column
        column = self.columns.setdefault(place, len(self.columns))
        return column * (MAX_ROW + 1) + formula.cell.row

    def translate(self, formula: FormulaCell) -> None:
        if formula.reason:
            return
        number, apart = self.number(formula), formula.array or formula.shift != (0, 0)
        again = None if apart else self.translator.again(formula.text, formula.cell.row, number)
        try:
            translated = again or self.translator.translate(
                formula.text, formula.origin(number), array=formula.array is not None
            )
        except UnreadableReference as error:
            formula.reason = str(error)
            return
        if formula.fixed_array and formula.fills.cells() > MAX_FIXED_ARRAY:
            formula.reason = f"an array formula over more than {MAX_FIXED_ARRAY} cells"
            return
        formula.translated = translated

    def evaluation(self) -> Evaluation:
        while True:
            workbook, callbacks = self.compute()
            if not self.collect(workbook, callbacks):
                break
        self.refuse_converted_text()
        mark_readers(self.formulas)
        spills: dict[str, list[tuple[Cell, Area, Area]]] = {}
        for formula in self.formulas:
            if formula.reason:  # which turned out not to be computable
                filled = formula.extent.positions() if formula.extent else [formula.position[1:]]
                for place in filled:
                    self.values[formula.sheet].pop(place, None)
            elif formula.extent is None:
                continue
            elif formula.array is not None and formula.cell.dynamic:
                extents = (formula.cell, formula.array, formula.extent)
                spills.setdefault(formula.sheet, []).append(extents)
        unevaluated = [
            Unevaluated(*formula.position, formula.text, formula.reason)
            for formula in self.formulas
            if formula.reason
        ]
        return Evaluation(
            self.values, unevaluated, callbacks.failures, len(self.formulas), spills, self.formulas
        )

    def compute(self) -> tuple[formualizer.Workbook, Callbacks]:
        """Fill an engine workbook with the inputs and the formulas that are still wanted."""
        workbook = self._workbook()
        callbacks = Callbacks(self.functions, self.engine.handed_over)
        callbacks.register(workbook)
        for name in (*self.engine.sheets.values(), HELD):
            workbook.add_sheet(name)
        self.fill(workbook)
        self.place(workbook)
        for row, held in enumerate(self.engine.held, 1):
            workbook.set_formula(HELD, row, 1, held)
        workbook.evaluate_all()
        return workbook, callbacks

    def fill(self, workbook: formualizer.Workbook) -> None:
        """Give the engine the inputs that it reads, those that stand below each other at once."""
        columns = {place: {row: value for row, value in self.typed.values_in(*place).items()
                           if first <= row <= last}
                   for place, (first, last) in self.engine.rows_read().items()}  # fmt: skip
        for sheet, column, row, some in _below_each_other(columns):
            values = [[to_engine(value)] for value in some]
            workbook.set_values_batch(self.engine.sheets[sheet], row, column, values)

    def _workbook(self) -> formualizer.Workbook:
        settings = formualizer.EvaluationConfig()
        settings.enable_parallel = False  # the functions are Python
        if self.contents.dates_from_1904:
            settings.date_system = "1904"
        config = formualizer.WorkbookConfig(
            mode=formualizer.WorkbookMode.Interactive, eval_config=settings
        )
        workbook = formualizer.Workbook(config=config)
        workbook.set_changelog_enabled(False)
        workbook.set_temporal_egress("serial")
        workbook.set_deterministic_clock(self.now.replace(tzinfo=UTC))
        return workbook

    def place(self, workbook: formualizer.Workbook) -> None:
        """Give the engine the formulas that are still wanted, those below each other at once."""
        wanted = [formula for formula in self.formulas if not formula.reason]
        for formula in wanted:
            if formula.fixed_array:
                self.place_picks(workbook, formula)
        columns: dict[tuple[str, int], dict[int, FormulaCell]] = defaultdict(dict)
        for formula in wanted:
            if not formula.fixed_array:
                columns[formula.sheet, formula.cell.column][formula.cell.row] = formula
        self.runs = []
        waiting = [*_below_each_other(columns)]
        for sheet, column, first, some in waiting:
            texts = [[formula.translated.text] for formula in some if formula.translated]
            try:
                workbook.set_formulas_batch(self.engine.sheets[sheet], first, column, texts)
            except RuntimeError as error:  # the engine finds a cell that reads itself at once
                if len(some) > 1:
                    waiting += [(sheet, column, first + i, [one]) for i, one in enumerate(some)]
                    continue
                some[0].reason = "a circular reference" if "#CIRC!" in str(error) else str(error)
            self.runs.append((sheet, column, first, some))

    def place_picks(self, workbook: formualizer.Workbook, formula: FormulaCell) -> None:
        """Have an array formula computed once, each of its cells pick what is its own."""
        assert formula.translated is not None
        held, area = self.engine.hold(formula.translated.text[1:]), formula.fills
        for row, column in area.positions():
            down, right = row - area.first_row + 1, column - area.first_column + 1
            pick = f"={PICK}({HELD}!$A${held},{down},{right})"
            workbook.set_formula(self.engine.sheets[formula.sheet], row, column, pick)

    def collect(self, workbook: formualizer.Workbook, callbacks: Callbacks) -> bool:
        """Read the results; True when a formula spilled that must not, and all has to be redone."""
        again = False
        self.values = {sheet.name: {} for sheet in self.contents.sheets}
        for formula, value in self.results(workbook):
            if callbacks.refused and not formula.reason:
                formula.reason = callbacks.refused.get(self.number(formula), "")
            if formula.reason:
                continue
            try:
                if formula.alone:
                    self.keep(formula.sheet, formula.cell.row, formula.cell.column, value)
                    continue
                formula.extent = self.extent(workbook, formula)
                if formula.extent is None:
                    formula.reason = "gives several values where a plain formula gives one"
                    again = True
                    continue
                for row, column in formula.extent.positions():
                    value = workbook.get_value(self.engine.sheets[formula.sheet], row, column)
                    self.keep(formula.sheet, row, column, value)
            except EngineTrouble as trouble:
                formula.reason = str(trouble)
        return again

    def results(self, workbook: formualizer.Workbook) -> Iterator[tuple[FormulaCell, Any]]:
        """Each formula that was placed, with what its own cell holds; read by columns, for a
        single value of a long list takes longer to ask for than to compute."""
        for sheet, column, first, some in self.runs:
            last = first + len(some) - 1
            name = self.engine.sheets[sheet]
            area = formualizer.RangeAddress(name, first, column, last, column)
            values = workbook.sheet(name).get_values(area)
            yield from zip(some, (value for (value,) in values), strict=True)
        yield from ((formula, None) for formula in self.formulas
                    if formula.fixed_array and not formula.reason)  # fmt: skip

    def keep(self, sheet: str, row: int, column: int, value: Any) -> None:
        value = from_engine(value)
        if value is CellError.NAME:
            raise EngineTrouble("gives #NAME?")
        self.values[sheet][row, column] = 0.0 if value is None else value

    def refuse_converted_text(self) -> None:
        """Leave formulas alone that read as a number what programs convert differently."""
        odd = {key for key, value in self.typed.values.items() if isinstance(value, str)
               and key[0] in ("s", "str", "inlineStr") and looks_like_a_number(value)}  # fmt: skip
        doubtful = {(sheet, cell.row, cell.column) for sheet, cell in (self.inputs if odd else ())
                    if (cell.kind, cell.text) in odd}  # fmt: skip
        for sheet, cells in self.values.items():
            written = {value for value in cells.values() if isinstance(value, str)}
            if found := {text for text in written if looks_like_a_number(text)}:
                doubtful |= {(sheet, *place) for place, value in cells.items() if value in found}
        if not doubtful:
            return
        for formula in self.formulas:
            translated = formula.translated
            if formula.reason or translated is None or not translated.shared.converts:
                continue
            for area in placed(translated.shared.converts, translated.row):
                if (area.sheet, area.first_row, area.first_column) in doubtful:
                    formula.reason = f"reads the text in {area} as a number"

    def extent(self, workbook: formualizer.Workbook, formula: FormulaCell) -> Area | None:
        """The cells that a formula fills; None when it fills more than it may."""
        if formula.fixed_array:
            return formula.fills
        sheet, row, column = formula.position
        place = f"{self.engine.sheets[sheet]}!{cell_name(row, column)}"
        spill = workbook.inspect_cell(place, include_values=False).cell.spill
        if spill is None or not spill.extent:
            return Area(sheet, row, column, row, column)
        return formula.spilled(spill.extent) if formula.cell.dynamic else None


def _below_each_other(
    columns: Mapping[tuple[str, int], Mapping[int, _T]],
) -> Iterator[tuple[str, int, int, list[_T]]]:
    """The cells of columns in parts without a gap: sheet, column, first row, and the cells."""
    for place, cells in columns.items():
        rows = sorted(cells)
        ends = [i for i in range(1, len(rows)) if rows[i] - rows[i - 1] > 1]
        for start, end in pairwise([0, *ends, len(rows)] if rows else []):
            yield *place, rows[start], [cells[row] for row in rows[start:end]]
