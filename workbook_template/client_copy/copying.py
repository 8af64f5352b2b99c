"""The consultant's client copy: a new workbook without macros, Python, costs or notes.

    copy = client_copy(Path("farm.xlsx"), worksheet_callables())
    copy.content   # the bytes of the new .xlsx
    print(copy)    # what is in it, what was left out, and why some results are values

The copy is written afresh from what is wanted, part by part and element by element, rather than
cleaned of what is not: what nobody asked for cannot come along. Each of our formulas becomes its
plain formula where it has one, else its value, which then knows the inputs behind it. Every plain
formula is computed again in the finished copy, without our functions; one that does not give what
the worksheet function gave becomes a value too.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path

from workbook_template.client_copy.cells import CopyCells, CopyPlan, differences
from workbook_template.client_copy.inputs import FormulaGraph
from workbook_template.client_copy.prices import SellingPrices
from workbook_template.client_copy.quantities import note_argument_quantities
from workbook_template.client_copy.scope import scope_of
from workbook_template.client_copy.writing import CopyWriter
from xlfuncs.errors import WorkbookError
from xlfuncs.workbooks.formulas.formula_cells import Position
from xlfuncs.workbooks.formulas.rewriting import Translator
from xlfuncs.workbooks.recalculating.engine import WorksheetCallable, evaluate
from xlfuncs.xlsx.cell_references import cell_name
from xlfuncs.xlsx.contents import Contents
from xlfuncs.xlsx.package import Package

MOST_ROUNDS = 8  # of freezing formulas that differ and looking again


@dataclass(frozen=True)
class Wishes:
    """What the consultant asks for; `markup` None takes the workbook's own."""

    markup: float | None = None
    include: Collection[str] = ()
    leave_out: Collection[str] = ()
    values_only: bool = False
    protect: bool = False


@dataclass
class ClientCopy:
    """The finished copy; `str()` of it reads as a short report."""

    content: bytes
    name: str
    sheets: list[str]
    left_out: list[str]
    plain: int
    frozen: Mapping[Position, str]
    left_blank: Mapping[Position, str]
    values_only: Callable[[], bytes]
    notes: list[str] = field(default_factory=list)

    @cached_property
    def pages(self) -> bytes:
        """The same with values only, for printing: it shows what the copy shows."""
        return self.values_only()

    def __str__(self) -> str:
        lines = [
            f"Sheets: {', '.join(self.sheets)}",
            f"Left out: {', '.join(self.left_out) or 'none'}",
            f"{self.plain} plain formulas; {len(self.frozen)} results as values",
        ]
        lines += _by_reason(self.frozen)
        if self.left_blank:
            lines.append("Left blank, for they could not be computed:")
            lines += [f"  {_named(place)}: {why}" for place, why in self.left_blank.items()]
        return "\n".join(lines + self.notes)


def client_copy(
    source: Path | bytes, functions: Mapping[str, WorksheetCallable], wishes: Wishes | None = None
) -> ClientCopy:
    """Make the client's copy of a workbook; the source is only read.

    Raises WorkbookError for a file that is refused, one that says no markup, or one that has no
    sheet for a client.
    """
    wishes = wishes or Wishes()
    contents = Contents(Package.open(source))
    scope = scope_of(contents, wishes.include, wishes.leave_out)
    translator = Translator(contents, functions)
    graph = FormulaGraph.of(scope, translator)
    note_argument_quantities(scope, graph, translator.names)
    prices = SellingPrices(scope, functions, wishes.markup, translator)
    plan = CopyPlan(scope, prices, graph, translator.names)
    writer = CopyWriter(plan, protect=wishes.protect)
    for _ in range(MOST_ROUNDS):
        cells = plan.cells(formulas=not wishes.values_only)
        content = writer.written(cells)
        wrong = _wrong(content, writer, cells)
        if not wrong:
            return _report(content, writer, cells)
        plan.freeze(wrong)
    raise WorkbookError(f"{contents.package.name}: its plain formulas never came to agree")


def _wrong(content: bytes, writer: CopyWriter, cells: CopyCells) -> dict[Position, str]:
    """Formulas of the copy that, computed without our functions, give something else.

    One that could not be computed again counts too, but not those that merely read it.
    """
    evaluation = evaluate(content, {})
    if changed := writer.delivered_changes(evaluation.values):
        raise WorkbookError(f"the copy takes inputs for changed ones from the start: {changed}")
    missing = {(c.sheet, c.row, c.column): c.reason for c in evaluation.unevaluated}
    roots = {p: why for p, why in missing.items() if not why.endswith("was not evaluated")}
    found = {p: why for p, why in roots.items() if p in cells.cells and cells.cells[p].formula}
    return found | {
        place: why
        for place, why in differences(cells, evaluation.values).items()
        if place not in missing
    }


def _report(content: bytes, writer: CopyWriter, cells: CopyCells) -> ClientCopy:
    scope = writer.plan.scope
    sheets, left_out = [part.name for part in writer.parts], writer.art.left_out
    plain = sum(bool(cell.formula) for cell in cells.cells.values())
    copy = ClientCopy(
        content, scope.contents.package.name, sheets, scope.left_out,
        plain, cells.frozen, cells.left_blank,
        lambda: writer.written(writer.plan.cells(formulas=False)),
    )  # fmt: skip
    copy.notes += [f"Left out: {words}" for words in left_out]
    return copy


def _by_reason(frozen: Mapping[Position, str]) -> list[str]:
    """The reasons for values, most frequent first, each with its first cell."""
    places: dict[str, list[Position]] = {}
    for place, reason in frozen.items():
        places.setdefault(reason.partition(", which is not in")[0], []).append(place)
    ordered = sorted(places.items(), key=lambda item: -len(item[1]))
    return [f"  {len(found)} ({_named(found[0])} ...): {why}" for why, found in ordered[:12]]


def _named(place: Position) -> str:
    return f"{place[0]}!{cell_name(place[1], place[2])}"
