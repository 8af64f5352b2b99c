"""Adding computed columns beside a list on a sheet of any layout.

The sheet stays as it is; new cells are put to the right of the list, or into its table. What else
may change in the file is written down in ADDING_MAY_CHANGE, and the tests compare every other byte.
"""

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from collections.abc import Mapping as Callables
from dataclasses import dataclass, field, replace
from pathlib import Path

from xlfuncs.errors import CellError, WorkbookError
from xlfuncs.workbooks.adding_columns.new_cells import NewCells
from xlfuncs.workbooks.adding_columns.placing import NewColumn
from xlfuncs.workbooks.adding_columns.planning import Plan
from xlfuncs.workbooks.adding_columns.serving import passed
from xlfuncs.workbooks.adding_columns.text_lists import as_workbook
from xlfuncs.workbooks.adding_columns.wanted import wanted_by
from xlfuncs.workbooks.adding_columns.working_sheet import OFF
from xlfuncs.workbooks.lists.files import SHEET_FILES
from xlfuncs.workbooks.lists.mapping import ListMapping
from xlfuncs.workbooks.lists.sheets import Grid
from xlfuncs.workbooks.our_tables.read_inputs import SETTINGS_SHEET
from xlfuncs.workbooks.recalculating import engine
from xlfuncs.workbooks.recalculating.values import changed_parts
from xlfuncs.xlsx.cell_references import cell_name, column_letters
from xlfuncs.xlsx.contents import CellValue, Contents
from xlfuncs.xlsx.package import Package
from xlfuncs.xlsx.saving import refuse_if_open, save
from xlfuncs.xlsx.sheet_edits import same_value

ADDING_MAY_CHANGE = {
    "the worksheet part of the sheet": (
        "new cells in empty places to the right of the list, the `spans` of their rows and the "
        "`dimension` of the sheet"
    ),
    "the styles part": "cell formats appended at the end of `cellXfs`, and its `count`",
    "the part of the list's table, if it is one": "columns behind its last one, and its extent",
    "sheets of packages": "added at the end, with their entries in the workbook part, its"
    " relationships and the content types",
}
# What is said of most lists, and how it is told in one line.
_USUAL = (
    (r"Column (.+) is taken as (.+)\.", "Taken"),
    (r"Column (.+) is not used: it names nothing of the list\.", "Columns not used"),
    (r"Row (\d+) is not used, a total: .*", "Rows not used, totals"),
    (r"Row (\d+) stands above the table: .*", ""),
    (r"Blank rows: (.+)\.", ""),
)  # fmt: skip


@dataclass
class AddedColumns:
    """What was added; `str()` of it reads as a short report."""

    name: str
    sheet: str
    header_row: int
    rows: list[int]
    columns: list[NewColumn]
    new_cells: int
    sheets: list[str]
    values: dict[tuple[int, int], CellValue] = field(default_factory=dict)
    unevaluated: list[engine.Unevaluated] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)  # cells that show an error, and why
    changed: list[str] = field(default_factory=list)  # settings, by answers that changed
    renewed: int = 0  # beds of which a value is another than before
    beds: dict[int, str] = field(default_factory=dict)  # names by row
    remarks: list[str] = field(default_factory=list)  # how the list was read
    to_fill_in: list[str] = field(default_factory=list)  # on the sheet of settings
    notes: list[str] = field(default_factory=list)  # what the results rest on
    dry_run: bool = False
    backup: Path | None = None

    def __str__(self) -> str:
        verb = "would be added" if self.dry_run else "added"
        lines = [f"- {remark}" for remark in folded(self.remarks)]
        lines.append(
            f"{self.name}, {self.sheet}: {len(self.rows)} rows, {self.rows[0]} to {self.rows[-1]},"
            f" headings in row {self.header_row}; {self.new_cells} cells {verb}"
        )
        if self.renewed:
            verb = "would change" if self.dry_run else "changed"
            lines[-1] += f", values of {self.renewed} beds {verb}"
        would = " would be" if self.dry_run else ""
        lines += [f"settings{would} changed: {words}" for words in self.changed]
        if aside := [new for new in self.columns if new.aside]:
            names = (new.header.partition(" (")[0] for new in aside)
            lines.append(f"  of each bed: {', '.join(names)}")
        for new in self.columns:
            if new.aside:
                continue
            letters = column_letters(new.column)
            words = f"{new.words}; " if new.function else ""
            lines.append(f"  {letters}  {new.header}: {words}{self._shown(new)}")
        lines += [f"  {error}" for error in self.errors]
        lines += [f"  not computed: {cell}" for cell in self.unevaluated]
        lines += self.notes
        if self.sheets:
            lines.append(f"Sheets for them: {', '.join(self.sheets)}")
        if self.to_fill_in:
            lines.append(f"To be filled in on {SETTINGS_SHEET}: {', '.join(self.to_fill_in)}")
        if self.backup is not None:
            lines.append(f"backup: {self.backup}")
        return "\n".join(lines)

    def _shown(self, new: NewColumn) -> str:
        """From the least to the greatest; of words how many say what; of a function the first."""
        values = [self.values.get((row, new.column)) for row in self.rows]
        if new.function is None and (numbers := [v for v in values if isinstance(v, float)]):
            ends = dict.fromkeys(f"{end:.3g}" for end in (min(numbers), max(numbers)))
            return " to ".join(ends)
        texts = [value for value in values if value and isinstance(value, str)]
        if new.function is None and texts:
            said = Counter(text.partition(":")[0] for text in texts)
            told = ", ".join(f"{kind} {count}" for kind, count in said.items())
            odd = next((
                f" ({name}: {text})" if (name := self.beds.get(row)) else f" ({text})"
                for row in self.rows if ":" in (text := str(self.values.get((row, new.column))))
                and OFF not in text
            ), "")  # fmt: skip
            return told + odd
        for row in self.rows:
            value = self.values.get((row, new.column))
            if value not in (None, ""):
                text = f"{value:.6g}" if isinstance(value, float) else str(value)
                return f"in row {row} {text}"
        return "blank as yet"


def add_columns(
    path: Path | str, sheet: str, callables: Callables[str, engine.WorksheetCallable],
    mapping: ListMapping | None = None, *, dry_run: bool = False, backup: bool = False,
) -> AddedColumns:  # fmt: skip
    """Add the columns that `mapping.add` names to the list on `sheet`, with their values.

    Without a name of a sheet it is the one with a list. Of a list that is a text, such as a CSV,
    a workbook is made beside it.

    `callables` compute the values (see `engine`). Raises OpenQuestions when a header, a unit or
    the extent of the list is not beyond doubt; nothing is written then. Running it again changes
    nothing, or fills the rows that were added since.
    """
    path, mapping = Path(path), mapping or ListMapping()
    target = path if path.suffix.lower() in SHEET_FILES else path.with_suffix(".xlsx")
    if target != path and target.exists():
        raise WorkbookError(f"{target.name} is there already: add the columns to it, or move it")
    if not dry_run:
        refuse_if_open(target)
    if target == path:
        contents = Contents(Package.open(path))
        content = path.read_bytes()
    else:
        content, mapping = as_workbook(path, wanted_by(mapping), mapping)
        contents = Contents(Package.open(content, target.name))
    plan = Plan(contents, sheet, mapping)
    cells = NewCells(contents, content)
    new_cells = plan.written(cells)
    name = plan.place.sheet
    report = AddedColumns(
        target.name, name, plan.place.header, plan.place.rows, plan.place.columns, len(new_cells),
        [other for other in cells.cells if other != name],
    )  # fmt: skip
    report.dry_run, report.remarks = dry_run, plan.reading.report
    report.to_fill_in = plan.to_fill_in
    report.changed = plan.changed
    evaluation = engine.evaluate(cells.with_values({}), callables)
    computed = evaluation.values[name]
    for new in plan.place.columns:
        for row in plan.place.rows:
            if (row, new.column) in computed:
                report.values[row, new.column] = computed[row, new.column]
    report.beds = {row.line.number: str(row.values.get("bed", "")) for row in plan.reading.rows}
    given = plan.own.get("valve_minutes", (0,))[0]
    report.notes = plan.notes(minutes=any(isinstance(report.values.get((row, given)), float)
                                          for row in plan.place.rows))  # fmt: skip
    report.renewed = len({
        row for new in plan.place.columns if new.present for row in plan.place.rows
        if (old := plan.grid.value(row, new.column)) is not None
        and not same_value(old, report.values.get((row, new.column)))
    })  # fmt: skip
    report.errors = list(_errors(plan, report.values, callables))
    report.unevaluated = [
        cell
        for cell in evaluation.unevaluated
        if (cell.row, cell.column) in cells.cells.get(cell.sheet, ())
    ]
    result = cells.written(evaluation.values)
    if any(new.present for new in plan.place.columns):
        result = _renewed(result, target.name, report, evaluation)
    if not dry_run and (target != path or _differ(contents.package, result)):
        report.backup = save(target, result, backup=backup)
    return report


def _renewed(
    content: bytes, name: str, report: AddedColumns, evaluation: engine.Evaluation
) -> bytes:
    """The file with the values that are reported, where columns that were there before got others:
    then all that reads them gets its own too."""
    contents = Contents(Package.open(content, name))
    grid = Grid(contents, contents.sheet(report.sheet))
    if all(same_value(grid.value(*place), value) for place, value in report.values.items()):
        return content
    values_only = replace(evaluation, unevaluated=[], spills={}, cells=[])
    return contents.package.with_parts(changed_parts(contents, values_only)[0])


def _differ(package: Package, content: bytes) -> bool:
    other = Package.open(content, package.name)
    return package.names() != other.names() or any(
        package.read(part) != other.read(part) for part in other.names())  # fmt: skip


def _errors(
    plan: Plan,
    values: dict[tuple[int, int], CellValue],
    callables: Callables[str, engine.WorksheetCallable],
) -> Iterator[str]:
    """New cells that show an error, each with the words of INPUT_CHECK; those of packages in one
    line with the words beside the first, since one bad cell may spoil them all."""
    check = callables.get("INPUT_CHECK")
    of_packages: list[str] = []
    for (row, column), value in values.items():
        if not isinstance(value, CellError):
            continue
        new = next(new for new in plan.place.columns if new.column == column)
        if new.function is None:
            of_packages.append(cell_name(row, column))
        elif check is not None:
            arguments = [new.function.name, *_arguments(plan, new, row, values)]
            yield f"{cell_name(row, column)} shows {value}: {check(arguments)}"
    if of_packages:
        count = f"{len(of_packages)} cells show an error, the first is {of_packages[0]}"
        row = next(row for (row, _), value in values.items() if isinstance(value, CellError))
        said = values.get((row, plan.own.get("pressure_check", (0,))[0]))
        told = said if said and isinstance(said, str) else "look at what is typed in its row"
        yield f"{count}: {told}"


def _arguments(
    plan: Plan, new: NewColumn, row: int, values: dict[tuple[int, int], CellValue]
) -> Iterator[CellValue]:
    """What a row's formula passes to its function."""
    assert new.function is not None
    for arg in new.function.args:
        given = new.served.get(arg.name)
        if arg.name == "units" or given is None:
            yield plan.system if arg.name == "units" else None
        else:
            place = (row, given.column)
            yield passed(given, values.get(place, plan.grid.value(*place)))


def folded(remarks: Sequence[str]) -> Iterator[str]:
    """How the list was read, the usual in a line each, whatever is odd as it stands."""
    usual: dict[str, list[str]] = {}
    odd = []
    for remark in remarks:
        for pattern, words in _USUAL:
            if match := re.fullmatch(pattern, remark):
                usual.setdefault(words, []).append(" as ".join(match.groups()))
                break
        else:
            odd.append(remark)
    yield from odd
    usual.pop("", None)
    for words, found in usual.items():
        yield f"{words}: {', '.join(found)}"
