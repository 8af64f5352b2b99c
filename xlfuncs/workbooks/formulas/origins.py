"""Where a formula stands, and rows counted from there: equal formulas of a column have one text."""

import re
from functools import lru_cache
from typing import NamedTuple

from xlfuncs.xlsx.cell_references import Area, column_letters

MARK = "\0"  # around a row that is counted from the formula's own
# A cell whose row is not fixed. Texts, brackets and quoted sheet names come first, so that nothing
# inside them is taken for a cell.
_MOVING_CELL = re.compile(
    r""""(?:[^"]|"")*"|\[[^\[\]]*\]|'(?:[^']|'')*'|(?<![\w.$\]])(\$?[A-Za-z]{1,3})(\d+)(?![\w.!\[]|\s*\()"""
)


class Origin(NamedTuple):
    """Where a formula stands, and how far it was copied from where it was written."""

    number: int  # its own among all formulas; in a column it grows with the row
    sheet: str
    row: int
    column: int
    shift: tuple[int, int] = (0, 0)


class Moving(Area):
    """Cells that move down with the formula that reads them, where they lie for one formula."""

    def seen_from(self, row: int) -> "Offset":
        """The same for the formulas of all rows, given the row of this one."""
        return Offset(*self._replace(first_row=self.first_row - row, last_row=self.last_row - row))


class Offset(Area):
    """Cells whose rows are counted from the row of the formula that reads them."""

    def address(self) -> str:
        """Without dollar signs: the engine then lays out equal formulas of a column only once."""
        left, right = column_letters(self.first_column), column_letters(self.last_column)
        first = f"{left}{offset(self.first_row)}"
        return first if self.single else f"{first}:{right}{offset(self.last_row)}"

    def at(self, row: int) -> Area:
        rows = self.first_row + row, self.last_row + row
        return Area(self.sheet, rows[0], self.first_column, rows[1], self.last_column)


class Growing(Area):
    """Cells from a fixed row down to one that moves, as in a running total, for one formula."""

    def seen_from(self, row: int) -> "Grown":
        return Grown(*self._replace(last_row=self.last_row - row))


class Grown(Offset):
    """The same for the formulas of all rows in which they are more than one cell."""

    single = False

    def address(self) -> str:
        left, right = column_letters(self.first_column), column_letters(self.last_column)
        return f"{left}${self.first_row}:{right}{offset(self.last_row)}"

    def at(self, row: int) -> Area:
        return Area(*self._replace(last_row=self.last_row + row))


def placed(areas: list[Area], row: int) -> list[Area]:
    """What a written formula reads, for the cell in a row."""
    return [area.at(row) if isinstance(area, Offset) else area for area in areas]


def offset(rows: int) -> str:
    """A row in a written formula, counted from the formula's own until that is known."""
    return f"{MARK}{rows}{MARK}"


def with_offsets(formula: str, row: int) -> str:
    """The formula with rows counted from its own, so that equal formulas of a column are equal."""

    def counted(match: re.Match[str]) -> str:
        return match[1] + offset(int(match[2]) - row) if match[2] else match[0]

    return _MOVING_CELL.sub(counted, formula)


def with_rows(text: str, row: int) -> str:
    """A written formula for the cell in a row."""
    for mark, rows in _moving_rows(text):
        text = text.replace(mark, str(row + rows))
    return text


@lru_cache(maxsize=10_000)  # a column has one text for all its rows
def _moving_rows(text: str) -> list[tuple[str, int]]:
    return [(offset(rows), rows) for rows in set(map(int, text.split(MARK)[1::2]))]
