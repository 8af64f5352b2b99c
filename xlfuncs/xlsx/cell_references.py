"""A1 references: letters to numbers and back, and rectangles of cells."""

import re
from collections.abc import Iterator
from functools import lru_cache
from itertools import product
from typing import NamedTuple

MAX_ROW = 1_048_576
MAX_COLUMN = 16_384

_CELL = r"(\$?)([A-Za-z]{1,3})(\$?)([1-9][0-9]{0,6})"
_AREA = re.compile(f"{_CELL}(?::{_CELL})?")
_COLUMNS = re.compile(r"(\$?)([A-Za-z]{1,3}):(\$?)([A-Za-z]{1,3})")
_ROWS = re.compile(r"(\$?)([1-9][0-9]{0,6}):(\$?)([1-9][0-9]{0,6})")
_PLAIN_SHEET = re.compile(r"[^\W\d][\w.]*")


class Area(NamedTuple):
    """A rectangle of cells on one sheet, counted from 1, both ends included."""

    sheet: str
    first_row: int
    first_column: int
    last_row: int
    last_column: int

    @property
    def single(self) -> bool:
        return self.first_row == self.last_row and self.first_column == self.last_column

    def cells(self) -> int:
        return (self.last_row - self.first_row + 1) * (self.last_column - self.first_column + 1)

    def positions(self) -> Iterator[tuple[int, int]]:
        """All (row, column), row by row."""
        rows = range(self.first_row, self.last_row + 1)
        return product(rows, range(self.first_column, self.last_column + 1))

    def holds(self, sheet: str, row: int, column: int) -> bool:
        return (
            sheet == self.sheet
            and self.first_row <= row <= self.last_row
            and self.first_column <= column <= self.last_column
        )

    def meets(self, other: "Area") -> bool:
        """Whether two areas have a cell in common."""
        return (
            self.sheet == other.sheet
            and self.first_row <= other.last_row
            and other.first_row <= self.last_row
            and self.first_column <= other.last_column
            and other.first_column <= self.last_column
        )

    def address(self) -> str:
        """`$A$1:$B$2`, `$A:$A` or `$1:$3`, without the sheet."""
        left, right = column_letters(self.first_column), column_letters(self.last_column)
        if self.first_row == 1 and self.last_row == MAX_ROW:
            return f"${left}:${right}"
        if self.first_column == 1 and self.last_column == MAX_COLUMN:
            return f"${self.first_row}:${self.last_row}"
        first = f"${left}${self.first_row}"
        return first if self.single else f"{first}:${right}${self.last_row}"

    def __str__(self) -> str:
        return f"{quoted_sheet(self.sheet)}!{self.address()}"


def column_number(letters: str) -> int:
    number = 0
    for letter in letters.upper():
        number = number * 26 + ord(letter) - 64
    return number


@lru_cache(maxsize=MAX_COLUMN)
def column_letters(number: int) -> str:
    letters = ""
    while number:
        number, rest = divmod(number - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


def cell_name(row: int, column: int) -> str:
    return f"{column_letters(column)}{row}"


def quoted_sheet(name: str) -> str:
    if _PLAIN_SHEET.fullmatch(name) and not _AREA.fullmatch(name):
        return name
    return "'" + name.replace("'", "''") + "'"


def split_sheet(reference: str) -> tuple[str | None, str]:
    """`'My sheet'!A1` -> (`My sheet`, `A1`); no sheet gives None."""
    if reference.startswith("'"):
        end = reference.rfind("'!")
        if end > 0:
            return reference[1:end].replace("''", "'"), reference[end + 2 :]
    sheet, mark, rest = reference.rpartition("!")
    return (sheet, rest) if mark else (None, reference)


def parse_area(text: str, sheet: str, shift: tuple[int, int] = (0, 0)) -> Area | None:
    """`$A$1:B2`, `A1`, `A:C` or `1:3` as an Area; `shift` (rows, columns) moves relative parts."""
    down, right = shift
    if match := _AREA.fullmatch(text):
        r1, c1 = _moved(match[4], match[3], down), _moved_column(match[2], match[1], right)
        if match[8]:
            r2, c2 = _moved(match[8], match[7], down), _moved_column(match[6], match[5], right)
        else:
            r2, c2 = r1, c1
    elif match := _COLUMNS.fullmatch(text):
        r1, r2 = 1, MAX_ROW
        c1, c2 = _moved_column(match[2], match[1], right), _moved_column(match[4], match[3], right)
    elif match := _ROWS.fullmatch(text):
        c1, c2 = 1, MAX_COLUMN
        r1, r2 = _moved(match[2], match[1], down), _moved(match[4], match[3], down)
    else:
        return None
    area = Area(sheet, min(r1, r2), min(c1, c2), max(r1, r2), max(c1, c2))
    inside = area.first_row >= 1 and area.first_column >= 1
    if not inside or area.last_row > MAX_ROW or area.last_column > MAX_COLUMN:
        return None
    return area


def _moved(number: str, fixed: str, by: int) -> int:
    return int(number) + (0 if fixed else by)


def _moved_column(letters: str, fixed: str, by: int) -> int:
    return column_number(letters) + (0 if fixed else by)


def is_relative(text: str) -> bool:
    """Whether a reference without its sheet has a part that moves when the formula is copied."""
    return any(
        match and "" in [match[i] for i in marks if match[i + 1] is not None]
        for match, marks in (
            (_AREA.fullmatch(text), (1, 3, 5, 7)),
            (_COLUMNS.fullmatch(text), (1, 3)),
            (_ROWS.fullmatch(text), (1, 3)),
        )
    )
