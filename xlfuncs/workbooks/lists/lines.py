"""The lines of a list, as an editor or a spreadsheet program shows them."""

import datetime as dt
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from xlfuncs.tables.header_words import plain
from xlfuncs.workbooks.lists.questions import Question

_DATE = re.compile(r"\d ?[./-] ?\d{1,2} ?[./-] ?\d|\d\W*[^\W\d]{3,}\W*\d"
                   r"|^[^\W\d]{3,}\W+\d+\W+\d{4}")  # fmt: skip


def is_date(cell: Any) -> bool:
    return isinstance(cell, dt.date) or bool(_DATE.search(str(cell)))


@dataclass(frozen=True)
class Measured:
    """A number whose cell shows a unit or a per cent sign by its format."""

    value: float
    unit: str

    def __str__(self) -> str:
        return f"{self.value:.15g}{'' if self.unit == '%' else ' '}{self.unit}"


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
        return all(cell is None for cell in self.cells) and not self.formulas

    @property
    def filled(self) -> list[Any]:
        return [cell for cell in self.cells if cell is not None]

    @cached_property
    def words(self) -> list[str]:
        """What its cells say, in plain words."""
        return [plain(shown(cell)) for cell in self.filled]

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
