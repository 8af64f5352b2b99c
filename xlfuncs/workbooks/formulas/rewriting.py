"""Formulas of a workbook, rewritten for the engine.

The engine knows no tables and no defined names, and computes as a program with dynamic arrays
does; a plain formula in a file means what it meant before dynamic arrays. So each formula is
parsed and written anew with absolute references, and whatever would be ambiguous is refused with a
reason, so that the cell is listed instead of given a wrong value.
"""

import re
from collections.abc import Collection
from dataclasses import dataclass

from xlfuncs.workbooks.formulas.for_engine import ForEngine, finish
from xlfuncs.workbooks.formulas.origins import Origin, placed, with_offsets, with_rows
from xlfuncs.workbooks.formulas.parsing import UnreadableReference, parse
from xlfuncs.workbooks.formulas.surroundings import Takes
from xlfuncs.workbooks.formulas.typed_cells import TypedCells
from xlfuncs.workbooks.formulas.workbook_names import WorkbookNames
from xlfuncs.workbooks.formulas.writer import FormulaWriter
from xlfuncs.xlsx.cell_references import Area
from xlfuncs.xlsx.contents import Contents

_ERROR_AS_TEXT = re.compile(r'"#[A-Z]+[/A-Z0-9]*[!?]?"')


@dataclass(slots=True)
class Shared:
    """A written formula in the form that equal formulas of other rows share."""

    text: str
    reads: list[Area]
    converts: list[Area]  # single cells whose text becomes a number
    several: bool


@dataclass(slots=True)
class Translated:
    """A formula for the engine, and all the cells that it reads."""

    text: str
    row: int
    shared: Shared

    @property
    def reads(self) -> list[Area]:
        return placed(self.shared.reads, self.row)


class Translator:
    """Rewrites the formulas of one workbook; `functions` are the names of the callers' own."""

    def __init__(self, contents: Contents, functions: Collection[str], typed: TypedCells) -> None:
        self.names = WorkbookNames(contents)
        self.engine = ForEngine(contents, functions, typed)
        # Written formulas that hold for all cells of a sheet in the given rows.
        self._written: dict[tuple[str, str, bool], tuple[Shared, tuple[int, int]]] = {}
        # The last formula of each column, by what its numbers begin with: as written with offsets,
        # for the engine, and the rows in which it holds.
        self._above: dict[int, tuple[str, str, Shared, tuple[int, int]]] = {}

    def again(self, formula: str, row: int, number: int) -> Translated | None:
        """The formula in a further row of its column; None where it is another than above."""
        if above := self._above.get(number - row):
            source, text, shared, (first, last) = above
            if first <= row <= last and with_rows(source, row) == formula:
                return Translated(with_rows(text, row), row, shared)
        return None

    def translate(self, formula: str, origin: Origin, array: bool = False) -> Translated:
        """The formula (without its equals sign) for the engine; raises UnreadableReference."""
        key = (origin.sheet, with_offsets(formula, origin.row), array)
        written, rows = self._written.get(key, (None, (1, 0)))
        moved = origin.shift != (0, 0)
        if written is None or moved or not rows[0] <= origin.row <= rows[1]:
            if _ERROR_AS_TEXT.search(formula):
                raise UnreadableReference("holds text that looks like an error")
            writer = FormulaWriter(self.names, self.engine, origin)
            text = writer.write(parse(formula), Takes.ARRAY if array else Takes.CELL)
            written = Shared("=" + text, writer.reads, writer.converts, writer.several)
            rows = writer.references.rows if writer.references.shared and not moved else (1, 0)
            if rows != (1, 0):
                self._written[key] = written, rows
        text = finish(written.text, origin, elsewhere=array)
        if not array:
            self._above[origin.number - origin.row] = key[1], text, written, rows
        return Translated(with_rows(text, origin.row), origin.row, written)
