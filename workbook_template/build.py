"""Building a workbook: the sheets in the order of the work, written twice (see book)."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from workbook_template.book import Book, save
from workbook_template.inputs import Inputs, invented_farm
from workbook_template.sheets import beds, lines, setup, summary
from xlfuncs.errors import WorkbookError
from xlfuncs.tables.beds import BEDS
from xlfuncs.tables.columns import Column, Table
from xlfuncs.tables.lines import LINES, PIPES
from xlfuncs.tables.settings import SECTIONS

# Written in this order (a sheet may use the tables of those before it); shown in it too.
SHEETS = (setup, lines, beds, summary)
TABLES: tuple[Table, ...] = (LINES, PIPES, BEDS)
SETTINGS: tuple[Column, ...] = tuple(s for section in SECTIONS for s in section.settings)


def demo_inputs(system: str) -> Inputs:
    """The invented farm."""
    return invented_farm(system, TABLES, SETTINGS)


def write(system: str, inputs: Inputs, values: Any = None) -> bytes:
    """One writing of all sheets."""
    book = Book(system, inputs, values)
    for sheet in SHEETS:
        sheet.write(book)
    return book.finish()


def build(path: Path, system: str, inputs: Inputs) -> dict[str, dict[tuple[int, int], Any]]:
    """Write the workbook with every value computed; gives the values by sheet and cell."""
    from xlfuncs.hosts.cells import worksheet_callables
    from xlfuncs.workbooks.engine import evaluate

    evaluation = evaluate(write(system, inputs), worksheet_callables())
    refuse_gaps(evaluation.unevaluated, evaluation.failures)
    save(path, write(system, inputs, evaluation.values))
    return evaluation.values


def refuse_gaps(unevaluated: Sequence[object], failures: Sequence[str]) -> None:
    """A workbook with a cell that was not computed is not handed to anybody."""
    gaps = [*map(str, unevaluated), *failures]
    if gaps:
        raise WorkbookError(f"{len(gaps)} cells were not computed: {'; '.join(gaps[:3])}")
