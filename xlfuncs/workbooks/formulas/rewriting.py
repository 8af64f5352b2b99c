"""Formulas of a workbook, rewritten for the engine.

The engine knows no tables and no defined names, and computes as a program with dynamic arrays
does; a plain formula in a file means what it meant before dynamic arrays. So each formula is
parsed and written anew with absolute references, and whatever would be ambiguous is refused with a
reason, so that the cell is listed instead of given a wrong value.
"""

from __future__ import annotations

import re
from collections.abc import Collection
from dataclasses import dataclass

import formualizer

from xlfuncs.workbooks.formulas.references import Origin
from xlfuncs.workbooks.formulas.table_references import UnreadableReference, offset, with_rows
from xlfuncs.workbooks.formulas.writer import (
    HOLD,
    LATER,
    FormulaWriter,
    Node,
    Place,
    finish,
    placed,
)
from xlfuncs.xlsx.cell_references import Area
from xlfuncs.xlsx.contents import Contents, DefinedName

_ERROR_AS_TEXT = re.compile(r'"#[A-Z]+[/A-Z0-9]*[!?]?"')
# A cell whose row is not fixed. Texts, brackets and quoted sheet names come first, so that nothing
# inside them is taken for a cell.
_MOVING_CELL = re.compile(
    r""""(?:[^"]|"")*"|\[[^\[\]]*\]|'(?:[^']|'')*'|(?<![\w.$\]])(\$?[A-Za-z]{1,3})(\d+)(?![\w.!\[]|\s*\()"""
)
_BARE_COLUMN = re.compile(r"(\[\[#This Row\],)([^\[\]]+)\]", re.IGNORECASE)  # as XlsxWriter has it


def _with_offsets(formula: str, row: int) -> str:
    """The formula with rows counted from its own, so that equal formulas of a column are equal."""

    def counted(match: re.Match[str]) -> str:
        return match[1] + offset(int(match[2]) - row) if match[2] else match[0]

    return _MOVING_CELL.sub(counted, formula)


def _tree(formula: str) -> Node:
    try:
        tree = formualizer.parse("=" + _BARE_COLUMN.sub(r"\1[\2]]", formula))
    except Exception as error:
        raise UnreadableReference(f"cannot be parsed ({error})") from None
    parsed: Node = tree.to_dict()
    return parsed


@dataclass(slots=True)
class Shared:
    """A written formula in the form that equal formulas of other rows share."""

    text: str
    reads: list[Area]
    converts: list[Area]
    several: bool


@dataclass(slots=True)
class Translated:
    """A formula for the engine, and all the cells that it reads."""

    text: str
    row: int
    shared: Shared

    @property
    def several(self) -> bool:
        """A plain formula may still give several values, and spill in the engine."""
        return self.shared.several

    @property
    def reads(self) -> list[Area]:
        return placed(self.shared.reads, self.row)

    @property
    def converts(self) -> list[Area]:
        """Single cells whose text becomes a number."""
        return placed(self.shared.converts, self.row)


class Translator:
    """Rewrites the formulas of one workbook; `functions` are the names of the callers' own."""

    def __init__(self, contents: Contents, functions: Collection[str]) -> None:
        self.contents = contents
        self.functions = {name.upper() for name in functions}
        self.engine_sheets = {s.name: f"S{i}" for i, s in enumerate(contents.sheets, 1)}
        self._sheet_names = {s.name.lower(): s.name for s in contents.sheets}
        self._names = {(d.sheet, d.name.lower()): d for d in contents.names}
        self.held: list[str] = []  # the formulas down the first column of HELD
        # Written formulas that hold for all cells of a sheet in the given rows.
        self._written: dict[tuple[str, str, bool], tuple[Shared, tuple[int, int]]] = {}
        self._above: dict[tuple[str, int], str] = {}  # the last formula of a column, with offsets
        self.targets: dict[tuple[str, str], Area | DefinedName | None] = {}  # by sheet and text
        self.named_areas: dict[DefinedName, Area | None] = {}
        self._addresses: dict[tuple[type, Area], str] = {}
        self._parsed: dict[str, Node] = {}
        self._held_rows: dict[str, int] = {}
        # the writers' own memory of whole calls: their row of HELD, what they read and convert
        self.known_calls: dict[object, tuple[int, list[Area], list[Area]]] = {}

    def translate(self, formula: str, origin: Origin, array: bool = False) -> Translated:
        """The formula (without its equals sign) for the engine; raises UnreadableReference."""
        key = (origin.sheet, self._with_offsets(formula, origin), array)
        written, rows = self._written.get(key, (None, (1, 0)))
        if written is None or origin.shift != (0, 0) or not rows[0] <= origin.row <= rows[1]:
            if _ERROR_AS_TEXT.search(formula):
                raise UnreadableReference("holds text that looks like an error")
            writer = FormulaWriter(self, origin)
            text = writer.write(_tree(formula), Place.ARRAY if array else Place.CELL)
            written = Shared("=" + text, writer.reads, writer.converts, writer.several)
            if writer.references.shared and origin.shift == (0, 0):
                self._written[key] = written, writer.references.rows
        text = finish(written.text, origin, elsewhere=array)
        return Translated(text, origin.row, written)

    def _with_offsets(self, formula: str, origin: Origin) -> str:
        """The formula with rows counted from its own; mostly the same as in the cell above."""
        column = origin.sheet, origin.column
        above = self._above.get(column)
        if above is None or with_rows(above, origin.row) != formula:
            above = self._above[column] = _with_offsets(formula, origin.row)
        return above

    def parse(self, formula: str) -> Node:
        """The parsed formula, such as a defined name's; equal ones are parsed once."""
        if formula not in self._parsed:
            self._parsed[formula] = _tree(formula)
        return self._parsed[formula]

    def hold(self, call: str, name: str = "") -> int:
        """The row of HELD that keeps the whole result of a call; equal calls share one.

        A call of the function `name` is computed when a cell first needs it: what an IF keeps
        from it may take minutes.
        """
        if call not in self._held_rows:
            self._held_rows[call] = row = len(self.held) + 1
            text = f"={HOLD}({row},{call})"
            if name:
                arguments = call[len(name) + 1 : -1]
                text = f'={LATER}({row},"{name}"{"," if arguments else ""}{arguments})'
            self.held.append(text)
        return self._held_rows[call]

    def refuse_hidden_or_subtotals(self, area: Area) -> None:
        """SUBTOTAL leaves out filtered rows and other subtotals; such areas are not computed."""
        scan = self.contents.scan(self.contents.sheet(area.sheet))
        if any(area.first_row <= row <= area.last_row for row in scan.hidden_rows):
            raise UnreadableReference(f"SUBTOTAL of {area}, which has hidden rows")
        for cell in scan.cells:
            inside = area.holds(area.sheet, cell.row, cell.column)
            if inside and "SUBTOTAL" in (cell.formula or "").upper():
                raise UnreadableReference(f"SUBTOTAL of {area}, which has other subtotals")

    def address(self, area: Area) -> str:
        """An area for the engine."""
        key = (type(area), area)
        if key not in self._addresses:
            self._addresses[key] = f"{self.engine_sheets[area.sheet]}!{area.address()}"
        return self._addresses[key]

    def name(self, text: str, sheet: str) -> DefinedName | None:
        lower = text.lower()
        return self._names.get((sheet, lower)) or self._names.get((None, lower))

    def has_sheet(self, text: str) -> bool:
        return text.lower() in self._sheet_names

    def sheet(self, text: str) -> str:
        if "[" in text:
            raise UnreadableReference("reads another workbook, which is never followed")
        if text.lower() in self._sheet_names:
            return self._sheet_names[text.lower()]
        kind = "reads across several sheets" if ":" in text else "there is no sheet"
        raise UnreadableReference(f"{kind}: {text}")
