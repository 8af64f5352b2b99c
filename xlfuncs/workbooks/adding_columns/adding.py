"""Adding computed columns beside a list on a sheet of any layout.

The sheet stays as it is; new cells are put to the right of the list. What else may change in the
file is written down in ADDING_MAY_CHANGE, and the tests compare every other byte.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from collections.abc import Mapping as Callables
from dataclasses import dataclass, field
from pathlib import Path

from xlfuncs.catalogue.arguments import read_one
from xlfuncs.catalogue.declaration import Arg, Result, WorksheetFunction
from xlfuncs.errors import CellError, InputError, WorkbookError
from xlfuncs.units import DIMENSIONS, to_base
from xlfuncs.workbooks.adding_columns.column_formulas import call_arguments, column_formula
from xlfuncs.workbooks.adding_columns.serving import Served, one_a_row, serve, wanted_for
from xlfuncs.workbooks.lists.doubts import ask_missing
from xlfuncs.workbooks.lists.mapping import ListMapping, mapping_text
from xlfuncs.workbooks.lists.questions import OpenQuestions, Question
from xlfuncs.workbooks.lists.reader import read_lines
from xlfuncs.workbooks.lists.reading import Row
from xlfuncs.workbooks.lists.sheets import Grid, as_lines
from xlfuncs.workbooks.recalculating.engine import Unevaluated, WorksheetCallable, evaluate
from xlfuncs.xlsx.cell_references import cell_name, column_letters
from xlfuncs.xlsx.cell_styles import GENERAL, TWO_DECIMALS, WHOLE, CellStyles
from xlfuncs.xlsx.contents import CellValue, Contents
from xlfuncs.xlsx.package import Package
from xlfuncs.xlsx.saving import refuse_if_open, save
from xlfuncs.xlsx.sheet_edits import SheetEdits, value_xml

ADDING_MAY_CHANGE = {
    "the worksheet part of the sheet": (
        "new cells in empty places to the right of the list, the `spans` of their rows and the "
        "`dimension` of the sheet"
    ),
    "the styles part": "cell formats appended at the end of `cellXfs`, and its `count`",
}


@dataclass
class NewColumn:
    """One computed column: where it stands, what it says, and its formulas by row."""

    function: WorksheetFunction
    column: int
    header: str
    formulas: dict[int, str]
    served: dict[str, Served]
    system: str
    present: bool = False  # the header is there already

    @property
    def result(self) -> Result:
        return self.function.results[0]


@dataclass
class AddedColumns:
    """What was added; `str()` of it reads as a short report."""

    name: str
    sheet: str
    header_row: int
    rows: list[int]
    columns: list[NewColumn]
    new_cells: int
    values: dict[tuple[int, int], CellValue] = field(default_factory=dict)
    unevaluated: list[Unevaluated] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)  # cells that show an error, and why
    dry_run: bool = False
    backup: Path | None = None

    def __str__(self) -> str:
        verb = "would be added" if self.dry_run else "added"
        lines = [
            f"{self.name}, {self.sheet}: headers in row {self.header_row}, "
            f"rows {self.rows[0]} to {self.rows[-1]}; {self.new_cells} cells {verb}"
        ]
        for new in self.columns:
            first = self.rows[0]
            letters = column_letters(new.column)
            formula = new.formulas[first]
            lines.append(f"  {letters}  {new.header}: ={formula}  -> {self._shown(first, new)}")
        lines += [f"  {error}" for error in self.errors]
        lines += [f"  not computed: {cell}" for cell in self.unevaluated]
        if self.backup is not None:
            lines.append(f"backup: {self.backup}")
        return "\n".join(lines)

    def _shown(self, row: int, new: NewColumn) -> str:
        value = self.values.get((row, new.column))
        return f"{value:.6g}" if isinstance(value, float) else str(value)


def add_columns(
    path: Path | str,
    sheet: str,
    callables: Callables[str, WorksheetCallable],
    mapping: ListMapping | None = None,
    *,
    dry_run: bool = False,
    backup: bool = False,
) -> AddedColumns:
    """Add the columns that `mapping.add` names to the list on `sheet`, with their values.

    `callables` compute the values (see `engine`). Raises OpenQuestions when a header, a unit or
    the extent of the list is not beyond doubt; nothing is written then. Running it again changes
    nothing, or fills the rows that were added since.
    """
    path = Path(path)
    if not dry_run:
        refuse_if_open(path)
    contents = Contents(Package.open(path))
    plan = _Plan(contents, sheet, mapping or ListMapping())
    parts, new_cells = plan.parts(contents)
    report = AddedColumns(
        path.name, plan.grid.sheet.name, plan.header, plan.rows, plan.columns, len(new_cells)
    )
    report.dry_run = dry_run
    content = contents.package.with_parts(parts)
    changed = Contents(Package.open(content, path.name))
    evaluation = evaluate(changed, callables)
    computed = evaluation.values[plan.grid.sheet.name]
    for new in plan.columns:
        for row in plan.rows:
            if (row, new.column) in computed:
                report.values[row, new.column] = computed[row, new.column]
    report.errors = list(_errors(plan, report.values, callables))
    report.unevaluated = [
        cell
        for cell in evaluation.unevaluated
        if cell.sheet == plan.grid.sheet.name and (cell.row, cell.column) in new_cells
    ]
    if new_cells and not dry_run:
        parts, _ = plan.parts(contents, report.values)
        report.backup = save(path, contents.package.with_parts(parts), backup=backup)
    return report


def _errors(
    plan: _Plan,
    values: dict[tuple[int, int], CellValue],
    callables: Callables[str, WorksheetCallable],
) -> Iterator[str]:
    """New cells that show an error, each with the words of INPUT_CHECK."""
    check = callables.get("INPUT_CHECK")
    for (row, column), value in values.items():
        if not isinstance(value, CellError):
            continue
        new = next(new for new in plan.columns if new.column == column)

        def of_row(other: int, row: int = row) -> CellValue:
            return values.get((row, other), plan.grid.value(row, other))

        arguments = call_arguments(new.function, new.served, new.system, of_row)
        words = f": {check([new.function.name, *arguments])}" if check is not None else ""
        yield f"{cell_name(row, column)} shows {value}{words}"


class _Plan:
    """Which columns are to be added where; raises OpenQuestions."""

    def __init__(self, contents: Contents, sheet: str, mapping: ListMapping) -> None:
        self.grid = Grid(contents, contents.sheet(sheet))
        self.mapping = mapping
        self.chosen = _chosen(mapping)
        wanted = wanted_for(self.chosen, mapping.values)
        self.reading = read_lines(as_lines(self.grid), wanted, "", mapping)
        ask_missing(self.reading, len(self.reading.rows))
        head = self.reading.head
        self.header = head.line.number if head else 0
        self.rows = [row.line.number for row in self.reading.rows]
        if head and not self.rows:
            words = f"No rows were found below row {self.header}. Which row holds the headers?"
            self.reading.ask(("header_row",), words)
        self._raise_questions()
        if not self.chosen:
            self._ask_which()
        self.columns = self._columns()
        self._compare()
        self._raise_questions()

    def _raise_questions(self) -> None:
        if questions := tuple(self.reading.questions):
            given = {name: value for name, value in vars(self.mapping).items() if value}
            text = mapping_text(given, questions, self.reading.understood)
            raise OpenQuestions(questions, text)

    def _ask_which(self) -> None:
        possible = [
            function.name
            for function in one_a_row()
            if all(self._serve(arg) for arg in function.inputs if arg.required)
        ]
        known = ", ".join(possible) or "none without more columns or values"
        words = f"Which columns are wanted? Possible now: {known}."
        self.reading.ask(("add",), words, [f'"{name}"' for name in possible or ["BED_AREA"]])
        self._raise_questions()

    def _columns(self) -> list[NewColumn]:
        system = self.reading.system
        columns: list[NewColumn] = []
        place = self._first_free()
        headers = {c: str(self.grid.value(self.header, c)) for c in self.grid.in_row(self.header)}
        for function in self.chosen:
            arguments = {
                arg.name: served
                for arg in function.inputs
                if (served := self._serve(arg, columns)) is not None
            }
            header = self.mapping.headers.get(function.name) or _header(function, system)
            present = [c for c, text in headers.items() if text.strip() == header.strip()]
            column = present[0] if present else place
            formulas = {row: column_formula(function, arguments, row, system) for row in self.rows}
            new = NewColumn(function, column, header, formulas, arguments, system, bool(present))
            self._refuse_other_contents(new)
            columns.append(new)
            if not present:
                place = self.grid.seen_from(place + 1)
        return columns

    def _serve(self, arg: Arg, earlier: Sequence[NewColumn] = ()) -> Served | None:
        """What an argument gets from the list, from a value, or from a column added before it."""
        served = serve(self.reading, arg, self.mapping.values)
        for new in earlier:
            if served is None and arg.name == new.result.name:
                unit = DIMENSIONS[new.result.dimension].unit(new.system)
                same = arg.dimension == new.result.dimension
                served = Served(new.column, unit) if same else None
        return served

    def _compare(self) -> None:
        """Asks where a formula would take a cell for another number than the reader does."""
        names = {h[0].place + 1: name for name, h in self.reading.headers.items()}
        for new in self.columns:
            for row in self.reading.rows:
                for place, arg in enumerate(new.function.args):
                    served = new.served.get(arg.name)
                    name = names.get(served.column if served else 0)
                    if name and arg.kind == "number":
                        self._compare_cell(new, row, place, name)

    def _compare_cell(self, new: NewColumn, row: Row, place: int, name: str) -> None:
        number, arg = row.line.number, new.function.args[place]

        def of_row(column: int) -> CellValue:
            return self.grid.value(number, column)

        passed = call_arguments(new.function, new.served, new.system, of_row)[place]
        try:
            base = read_one(arg, passed, new.system)
        except InputError:
            return  # the cell will show an error, which the report explains
        ours = row.values.get(name)
        known = isinstance(ours, float)
        meant = to_base(ours, arg.dimension, new.system) if isinstance(ours, float) else 0.0
        if base is not None and not (known and abs(base - meant) <= 1e-9 * abs(meant)):
            cell = cell_name(number, new.served[arg.name].column)
            words = f"{cell} reads as {ours!r}, but a formula would take it for {passed!r}."
            self.reading.ask(("leave_out",), f"{words} Type it as a number.", (str(number),))

    def _first_free(self) -> int:
        """The first column to the right of everything in the list's rows and of merged cells."""
        used = [max(self.grid.in_row(row), default=0) for row in (self.header, *self.rows)]
        for area in self.grid.merged:
            if any(area.first_row <= row <= area.last_row for row in (self.header, *self.rows)):
                used.append(area.last_column)
        return self.grid.seen_from(max(used) + 1)

    def _refuse_other_contents(self, new: NewColumn) -> None:
        for row in self.rows:
            present = self.grid.formula(row, new.column)
            if not self.grid.is_empty(row, new.column) and present != new.formulas[row]:
                cell = cell_name(row, new.column)
                words = f"{cell} stands under {new.header!r} but holds something else;"
                question = Question(
                    ("headers", new.function.name), f"{words} what shall the new column be called?"
                )
                raise OpenQuestions((question,))

    def parts(
        self, contents: Contents, values: dict[tuple[int, int], CellValue] | None = None
    ) -> tuple[dict[str, bytes], set[tuple[int, int]]]:
        """The changed parts of the package, and the places of the new cells."""
        sheet = self.grid.sheet
        edits = SheetEdits(contents.package.read(sheet.part), contents.scan(sheet))
        styles = CellStyles(contents)
        added: set[tuple[int, int]] = set()
        for new in self.columns:
            if not new.present:
                style = self._style(self.header, new.column)
                words = value_xml(new.header)[1]
                edits.add_cell(self.header, new.column, "inlineStr", words, style=style)
                added.add((self.header, new.column))
            for row, formula in new.formulas.items():
                place = (row, new.column)
                if self.grid.formula(*place) is not None:
                    continue
                style = _number_style(styles, self._style(row, new.column), new.result)
                value = value_xml(values[place]) if values and place in values else ("n", None)
                edits.add_cell(row, new.column, *value, style=style, formula=formula)
                added.add(place)
        if not added:
            return {}, added
        edits.extend_dimension(max(self.rows), max(new.column for new in self.columns))
        parts = {sheet.part: edits.result()}
        new_styles = styles.result()
        if new_styles is not None:
            parts[styles.part] = new_styles
        return parts, added

    def _style(self, row: int, column: int) -> str:
        """The style of the nearest cell to the left that holds something."""
        left = [c for c in self.grid.in_row(row) if c < column]
        return self.grid.cells[row, left[-1]].style if left else ""


def _chosen(mapping: ListMapping) -> list[WorksheetFunction]:
    known = {function.name: function for function in one_a_row()}
    for name in mapping.add:
        if name not in known:
            raise WorkbookError(f"{name} is no function with one result a row; see `functions`")
    return [known[name] for name in mapping.add]


def _header(function: WorksheetFunction, system: str) -> str:
    result = function.results[0]
    unit = DIMENSIONS[result.dimension].unit(system)
    words = result.name.replace("_", " ").capitalize()
    return f"{words} ({unit})" if unit else words


def _number_style(styles: CellStyles, style: str, result: Result) -> str:
    if DIMENSIONS[result.dimension].kind != "number":
        return styles.like(style, GENERAL)
    if result.dimension == "count":
        return styles.like(style, WHOLE)
    return style if styles.is_plain_number(style) else styles.like(style, TWO_DECIMALS)
