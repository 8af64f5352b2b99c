"""Bringing every computed value of a workbook up to date, and nothing else in it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

from xlfuncs.errors import CellError
from xlfuncs.workbooks.recalculating.collecting import collection_put_off
from xlfuncs.workbooks.recalculating.engine import (
    Evaluation,
    Unevaluated,
    WorksheetCallable,
    evaluate,
)
from xlfuncs.workbooks.recalculating.values import changed_parts
from xlfuncs.workbooks.recalculating.with_libreoffice import evaluate_with_libreoffice
from xlfuncs.xlsx.cell_references import cell_name, quoted_sheet
from xlfuncs.xlsx.contents import Contents
from xlfuncs.xlsx.package import Package
from xlfuncs.xlsx.saving import refuse_if_open, save


@dataclass
class Recalculation:
    """What a recalculation did; `str()` of it reads as a short report."""

    name: str
    formulas: int
    changed_cells: int
    unevaluated: list[Unevaluated]
    notes: list[str] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)  # cells that show one
    backup: Path | None = None

    def __str__(self) -> str:
        done, new = self.formulas - len(self.unevaluated), f"{self.changed_cells} values changed"
        lines = [f"{self.name} is up to date: {done} formulas computed, {new}"]
        if self.unevaluated:
            lines = [f"{self.name}: {done} of {self.formulas} formulas computed, {new}"]
        if self.errors:
            first = f"{len(self.errors)} of them show an error, the first {self.errors[0]}"
            lines[0] += f"; {first}"
        if self.backup is not None:
            lines.append(f"backup: {self.backup}")
        if self.unevaluated:
            lines.append("not computed, old value kept and marked as stale:")
            lines += [f"  {cell}" for cell in self.unevaluated]
        return "\n".join(lines + self.notes)


@collection_put_off()
def recalculate(
    path: Path | str, functions: Mapping[str, WorksheetCallable], *,
    with_libreoffice: bool = False, output: Path | str | None = None, backup: bool = False,
    now: datetime | None = None,
) -> Recalculation:  # fmt: skip
    """Compute all formulas of a workbook file and write the values into it.

    With `with_libreoffice`, LibreOffice computes a temporary copy in place of our engine.
    `functions` are the worksheet functions by name (see `engine`). The file is replaced in one
    step, or `output` is written instead. A formula that cannot be computed keeps its old value,
    is listed, and is marked in the file as needing a calculation; so is every formula that reads
    it. `fullCalcOnLoad` is never set: a program without the functions would then turn the good
    values into #NAME?. Raises WorkbookError when the file is open elsewhere, or is refused.
    """
    path = Path(path)
    target = Path(output) if output is not None else path
    refuse_if_open(target)
    contents = Contents(Package.open(path))
    if with_libreoffice:
        evaluation = evaluate_with_libreoffice(contents, path.read_bytes())
    else:
        evaluation = evaluate(contents, functions, now=now)
    content, result = recalculated(contents, evaluation)
    if target != path or content is not None:
        if content is None:
            content = path.read_bytes()
        keep = backup and target.exists()
        result.backup = save(target, content, backup=keep)
    return result


def recalculated(contents: Contents, evaluation: Evaluation) -> tuple[bytes | None, Recalculation]:
    """The new bytes of the workbook (None: nothing changes) and the report."""
    parts, changed = changed_parts(contents, evaluation)
    result = Recalculation(
        contents.package.name, evaluation.formulas, changed, evaluation.unevaluated
    )
    result.notes += evaluation.failures
    result.errors = [
        f"{quoted_sheet(sheet)}!{cell_name(*place)}: {value}"
        for sheet, values in evaluation.values.items()
        for place, value in sorted((p, v) for p, v in values.items() if isinstance(v, CellError))
    ]
    if contents.recalculates_on_opening:
        result.notes.append(
            "the workbook asks for a full calculation on opening; a program without these "
            "functions will then show #NAME? in their cells"
        )
    return (contents.package.with_parts(parts) if parts else None), result
