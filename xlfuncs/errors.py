"""The errors of the package, and the one list of spreadsheet errors that they become."""

from collections.abc import Sequence
from enum import Enum


class CellError(Enum):
    """A spreadsheet error value. Our functions give the first four; the rest only pass through."""

    VALUE = "#VALUE!"  # the input cannot be understood, or has the wrong unit
    NUMBER = "#NUM!"  # understood, but outside the limits or without a finite result
    DIVISION = "#DIV/0!"  # a divisor is zero
    NOT_AVAILABLE = "#N/A"  # there is no answer for these inputs
    REFERENCE = "#REF!"
    NAME = "#NAME?"
    NULL = "#NULL!"

    def __str__(self) -> str:
        return self.value


class XlfuncsError(Exception):
    """Base of every error that the package raises on purpose."""


class InputError(XlfuncsError, ValueError):
    """An input that cannot be used; knows the words for a person and the error for a cell.

    `row` counts from 0 within the column that was passed; words for people count from 1.
    """

    def __init__(
        self, argument: str, message: str, *, cell_error: CellError = CellError.NUMBER,
        row: int | None = None, function: str | None = None,
    ) -> None:  # fmt: skip
        self.argument = argument
        self.message = message
        self.cell_error = cell_error
        self.row = row
        self.row_name = ""  # as the table calls the row
        self.function = function
        super().__init__(argument, message)

    def __str__(self) -> str:
        place = f"{self.function}: " if self.function else ""
        row = "" if self.row is None else f" (row {self.row + 1})"
        where = f" ({self.row_name})" if self.row_name else row
        return f"{place}{self.argument}{where}: {self.message}"


class UnitError(InputError):
    """A unit that is unknown, or of the wrong dimension."""

    def __init__(self, argument: str, message: str, **details: object) -> None:
        super().__init__(argument, message, cell_error=CellError.VALUE, **details)  # type: ignore[arg-type]


class UndeclaredError(XlfuncsError):
    """A calculation failed in a way that nobody foresaw: a mistake of ours, with the inputs."""

    def __init__(self, function: str, error: Exception, args: Sequence[object]) -> None:
        self.function = function
        given = ", ".join(repr(arg) if len(repr(arg)) < 200 else f"{arg!r:.200}..." for arg in args)
        super().__init__(
            f"{function}: this is a mistake of ours ({type(error).__name__}: {error}). Please"
            f" report it with these inputs: {given}"
        )


class DeclarationError(XlfuncsError):
    """A worksheet function that is declared wrongly; a mistake of the programmer's."""


class WorkbookError(XlfuncsError):
    """A workbook that cannot be read, or must not be written; the message says why."""


class InputWarning(UserWarning):
    """Rows of a column that were left without a result."""
