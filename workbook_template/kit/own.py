"""What a person added to a workbook of the template, and takes along into a new one."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple

Look = Mapping[str, Any]  # properties of an XlsxWriter format


class OwnCell(NamedTuple):
    """A cell: its value, and the formula without its equals sign ('' for a typed value)."""

    value: Any
    formula: str = ""
    look: Look = {}  # noqa: RUF012 - never changed
    comment: str = ""


@dataclass(frozen=True)
class OwnColumn:
    """A column that a person added to a table of the template; rows as in the table."""

    header: str
    cells: Sequence[OwnCell]
    width: float = 12

    @property
    def name(self) -> str:
        return f"own column {self.header}"


@dataclass(frozen=True)
class OwnSheet:
    """A sheet that a person added; cells by row and column from 1."""

    name: str
    cells: Mapping[tuple[int, int], OwnCell]
    widths: Mapping[int, float] = field(default_factory=dict)
    heights: Mapping[int, float] = field(default_factory=dict)
    merged: Sequence[str] = ()
    tables: Mapping[str, str] = field(default_factory=dict)  # -> area
    frozen: tuple[int, int] | None = None
    hidden: bool = False
    landscape: bool = False


@dataclass
class Own:
    """All of it; `words` say what could not be taken along."""

    columns: dict[str, list[OwnColumn]] = field(default_factory=dict)  # by table
    sheets: list[OwnSheet] = field(default_factory=list)
    names: dict[str, str] = field(default_factory=dict)  # -> formula without its equals sign
    words: list[str] = field(default_factory=list)
    lost: dict[tuple[str, int, int], str] = field(default_factory=dict)  # formulas left blank
