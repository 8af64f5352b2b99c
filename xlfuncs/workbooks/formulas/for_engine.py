"""What all formulas that are written for the engine share: sheets, whole results, own functions.

The functions named here are registered with the engine by `recalculating`.
"""

from collections.abc import Collection
from typing import NamedTuple

from xlfuncs.workbooks.formulas.ordinary_functions import canonical
from xlfuncs.workbooks.formulas.origins import Offset, Origin, with_rows
from xlfuncs.workbooks.formulas.parsing import Node
from xlfuncs.workbooks.formulas.typed_cells import TypedCells
from xlfuncs.xlsx.cell_references import MAX_ROW, Area
from xlfuncs.xlsx.contents import CellValue, Contents

HELD = "HELD"  # the engine's sheet of whole results, a cell of its first column for each
NOTHING = f"{HELD}!$B$1"  # a blank cell: the engine passes an argument left out as zero
ITEM = "XLFUNCS.ITEM"  # (row of HELD, row, column): one item of a whole result
SINGLE = "XLFUNCS.SINGLE"  # (result): its first item
STRICT = "XLFUNCS.STRICT"  # (number of the formula, result): refuses more than one item
HOLD = "XLFUNCS.HOLD"  # (row of HELD, result): keeps it for ITEM and PICK
LATER = "XLFUNCS.LATER"  # (row of HELD, function, arguments): keeps a call until ITEM needs it
COMPARE = "XLFUNCS.COMPARE"  # (number of the formula, operator, left, right)
WHOLE = "XLFUNCS.WHOLE"  # (number of the formula, function, arguments): see corrections.CAREFUL
WORDS = "XLFUNCS.WORDS"  # (number of the formula, value): numbers as text
PICK = "XLFUNCS.PICK"  # (row of HELD, row, column): one cell of an array formula

HANDED = "\3"  # begins a text that stands for a range that is handed over

# These stand in a written formula for its own number and its own row until those are known.
OWN_NUMBER, OWN_ROW = "\1", "\2"


class HeldCall(NamedTuple):
    """A call whose whole result is held: its row of HELD, what it reads and what it converts."""

    row: int
    reads: list[Area]
    converts: list[Area]


class ForEngine:
    """The engine's side of one workbook; `functions` are the names of the callers' own."""

    def __init__(self, contents: Contents, functions: Collection[str], typed: TypedCells) -> None:
        self.contents, self.typed = contents, typed
        self.functions = {name.upper() for name in functions}
        self.sheets = {s.name: f"S{i}" for i, s in enumerate(contents.sheets, 1)}
        self.held: list[str] = []  # the formulas down the first column of HELD
        self.held_calls: dict[object, HeldCall] = {}  # by sheet and parsed call
        self._held_rows: dict[str, int] = {}
        self._addresses: dict[tuple[type, Area], str] = {}
        self.handed: dict[str, Area] = {}  # see `argument`

    def is_our_call(self, node: Node) -> bool:
        return node["node_type"] == "Function" and canonical(node["name"]) in self.functions

    def address(self, area: Area) -> str:
        """An area for the engine."""
        key = (type(area), area)
        if key not in self._addresses:
            self._addresses[key] = f"{self.sheets[area.sheet]}!{area.address()}"
        return self._addresses[key]

    def rows_read(self) -> dict[tuple[str, int], tuple[int, int]]:
        """By column the first and last row that the engine itself may read."""
        read: dict[tuple[str, int], tuple[int, int]] = {}
        for kind, area in self._addresses:
            rows = (1, MAX_ROW) if issubclass(kind, Offset) else (area.first_row, area.last_row)
            for column in range(area.first_column, area.last_column + 1):
                first, last = read.get((area.sheet, column), rows)
                read[area.sheet, column] = min(first, rows[0]), max(last, rows[1])
        return read

    def argument(self, area: Area) -> str:
        """A range that one of our functions takes: a text in its place where all of it is typed,
        which `recalculating` turns into the values."""
        if type(area) is not Area or area.single:
            return self.address(area)
        key = f"{HANDED}{self.sheets[area.sheet]}!{area.address()}"
        if key not in self.handed:
            if not self.typed.alone(area):
                return self.address(area)
            self.handed[key] = area
        return f'"{key}"'

    def handed_over(self, text: str) -> list[list[CellValue]] | None:
        """The values of the range that a text stands for."""
        area = self.handed.get(text)
        return None if area is None else self.typed.rows(area)

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


def finish(text: str, origin: Origin, *, elsewhere: bool) -> str:
    """A written formula for the column that it stands in, its rows still counted from its own, or
    for the one cell that has it computed elsewhere.

    In its own cell the engine knows the row; so the formulas of a column stay equal to the engine,
    which lays them out once. Their numbers count along the rows of the column.
    """
    row, number = "ROW()", f"({origin.number - origin.row}+ROW())"
    if elsewhere:
        row, number, text = str(origin.row), str(origin.number), with_rows(text, origin.row)
    return text.replace(OWN_NUMBER, number).replace(OWN_ROW, row)
