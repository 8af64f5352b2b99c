"""How the columns of an input table are declared: once, for workbooks, imports and checks alike."""

from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from xlfuncs.units import DIMENSIONS, from_base, rows_of


@dataclass(frozen=True)
class Column:
    """One column of an input table. Limits are numbers in the dimension's base unit."""

    name: str  # snake_case, as in Python
    header: str  # as people read it, without the unit
    dimension: str
    help: str
    required: bool = False
    choices: tuple[str, ...] = ()
    above: float | None = None
    minimum: float | None = None
    maximum: float | None = None
    default: object = None
    synonyms: tuple[str, ...] = ()  # other headers that people type
    former: tuple[str, ...] = ()  # its headers in older workbooks, in small letters
    one_of: tuple[str, str] | None = None  # a table and its column that the value should be from
    internal: bool = False  # never in a client's copy (purchase prices, notes)

    def unit(self, system: str) -> str:
        """The unit of plain numbers in this column, '' where there is none."""
        return DIMENSIONS[self.dimension].unit(system)

    def heading(self, system: str) -> str:
        """The header with its unit, as a workbook shows it: 'Length (ft)'."""
        unit = self.unit(system)
        return f"{self.header} ({unit})" if unit else self.header

    def default_in(self, system: str) -> Any:
        """In the system's unit; round where the other system has another: 15 cm beside 6 in."""
        if not isinstance(self.default, (int, float)) or isinstance(self.default, bool):
            return self.default
        value = from_base(self.default, self.dimension, system)
        alike = self.unit("us") == self.unit("metric")
        return value if alike else float(f"{value:.2g}")


@dataclass(frozen=True)
class Table:
    """A table of inputs: its PascalCase name in the workbook and its columns in order.

    `begins` is what a new workbook has of the example's rows: "all" of things to choose from, a
    "row" to be replaced, or "none" of what was measured, paid or offered, for that is one's own
    and a row of another's would stand in the sums. `most` rows are the limit that is stated: up to
    it a workbook is built and recalculated in less than a gigabyte.
    """

    name: str
    help: str
    columns: tuple[Column, ...]
    begins: Literal["all", "row", "none"] = "row"
    most: int = 5_000

    def __getitem__(self, name: str) -> Column:
        for column in self.columns:
            if column.name == name:
                return column
        raise KeyError(name)

    @property
    def names(self) -> tuple[str, ...]:
        return tuple(column.name for column in self.columns)


def data_rows(file: str) -> list[dict[str, str]]:
    """The rows of a data file of this room."""
    return rows_of(Path(__file__).with_name("data") / file)
