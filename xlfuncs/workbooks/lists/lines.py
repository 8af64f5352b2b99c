"""The lines of a list, as an editor or a spreadsheet program shows them."""

import datetime as dt
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import combinations, pairwise
from typing import Any

import numpy as np

from xlfuncs.tables.header_words import UnreadableError
from xlfuncs.tables.headers import unit_in
from xlfuncs.units import FOOT_MARKS, INCH_MARKS
from xlfuncs.workbooks.lists.numbers import UnsettledError, decimal_mark, read_number
from xlfuncs.workbooks.lists.questions import Question

_DATE = re.compile(r"\d ?[./-] ?\d{1,2} ?[./-] ?\d|\d\W*[^\W\d]{3,}\W*\d"
                   r"|^[^\W\d]{3,}\W+\d+\W+\d{4}"
                   r"|^(?:19|20)\d\d(?:0[1-9]|1[0-2])(?:0[1-9]|[12]\d|3[01])$")  # fmt: skip


def is_date(cell: Any) -> bool:
    return isinstance(cell, dt.date) or bool(_DATE.search(str(cell)))


@dataclass(frozen=True)
class Measured:
    """A number whose cell shows a unit or a per cent sign by its format."""

    value: float
    unit: str

    def __str__(self) -> str:
        return f"{self.value:.15g}{'' if self.unit == '%' else ' '}{self.unit}"


def is_plain(cell: Any) -> bool:
    """A number without a unit, also as text."""
    if isinstance(cell, str):
        return not any(c.isalpha() or c in f"{FOOT_MARKS}{INCH_MARKS}%" for c in cell)
    return isinstance(cell, (int, float)) and not isinstance(cell, (bool, Measured))


def measured(cell: Any) -> tuple[str, ...]:
    """The figure of a cell and the unit behind it; () of another cell."""
    found = re.match(r"(-?\d[\d., ]*?) ?([^\d.,\s]\S*)$", str(cell))
    return found.groups() if found and unit_in(found[2]) == found[2] else ()


@dataclass(frozen=True)
class FileLine:
    """One line with its number as an editor or spreadsheet program shows it; blank cells None."""

    number: int
    cells: tuple[Any, ...]
    formulas: Mapping[int, str] = field(default_factory=dict)  # by place
    hidden: bool = False

    def cell(self, place: int) -> Any:
        return self.cells[place] if 0 <= place < len(self.cells) else None

    @property
    def blank(self) -> bool:
        return self.cells.count(None) == len(self.cells) and not self.formulas

    @property
    def filled(self) -> list[Any]:
        return [cell for cell in self.cells if cell is not None]

    @property
    def text(self) -> str:
        """The line as words, for a report."""
        words = " | ".join(map(shown, self.cells)).strip(" |")
        return words if len(words) <= 120 else words[:117] + "..."


@dataclass(frozen=True)
class ListFile:
    """All lines of one list, what there is to tell about how it was read, and its sheet."""

    lines: tuple[FileLine, ...]
    remarks: tuple[str, ...] = ()
    questions: tuple[Question, ...] = ()
    sheet: str = ""
    across: frozenset[tuple[int, int]] = frozenset()  # line and place of cells merged sideways
    down: Mapping[tuple[int, int], Any] = field(default_factory=dict)  # values of cells merged down


def shown(cell: Any) -> str:
    """A cell as words; a whole number without a decimal point."""
    return "" if cell is None else f"{cell:.15g}" if isinstance(cell, float) else str(cell)


def tidy(cell: Any) -> Any:
    """Text without double, narrow and outer blanks, None where nothing is left; dates as days."""
    if isinstance(cell, str):
        return " ".join(cell.split()) or None
    return cell.date() if isinstance(cell, dt.datetime) else cell


# --- the figures of columns ---

LINES = 200  # that are added up to see what is the sum of what


def in_cents(below: Sequence[FileLine], places: Sequence[int]) -> np.ndarray | None:
    """The figures of columns, a row a line that has two or more; None where they cannot be told."""
    cells = [[line.cell(place) for place in places] for line in below[:LINES]]
    texts = [(0, cell) for row in cells for cell in row if isinstance(cell, str)]
    try:
        settled = decimal_mark("", texts)
    except UnsettledError:
        return None
    mark = settled.value if settled else "."

    def cents(cell: Any) -> float:
        cell = cell.value if isinstance(cell, Measured) else cell
        if isinstance(cell, str):
            try:
                cell = float(read_number(cell, mark))
            except UnreadableError:
                return np.nan
        return round(cell * 100, 3) if isinstance(cell, (int, float)) else np.nan

    table = np.array([[cents(cell) for cell in row] for row in cells], dtype=float)
    filled = table[(~np.isnan(table)).sum(axis=1) > 1] if table.size else table
    return np.array(np.nan_to_num(filled))


def parts_of(figures: np.ndarray, whole: int) -> tuple[int, ...]:
    """The fewest other columns that add up to a column on nearly every line; () where none do."""
    lines = figures[figures[:, whole] != 0]
    others = [i for i in range(figures.shape[1]) if i != whole and lines[:, i].any()][:9]
    sizes = range(2, min(len(others), 7) + 1)
    every = [parts for count in sizes for parts in combinations(others, count) if len(lines)]
    right = [(np.abs(lines[:, list(parts)].sum(axis=1) - lines[:, whole]) <= 1.01).mean()
             for parts in every]  # fmt: skip
    best = max(right, default=0)
    return every[right.index(best)] if best >= 0.8 else ()


def counts_up(cells: list[str]) -> bool:
    """Whether cells number the lines, of each paper anew."""
    numbers = [*map(int, filter(str.isdecimal, cells))]
    pairs = [*pairwise(numbers)]
    return (len(numbers) == len(cells) and numbers[0] == 1 and any(b == 2 for _, b in pairs)
            and all(b in (1, a + 1) for a, b in pairs))  # fmt: skip
