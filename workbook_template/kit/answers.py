"""The answer of a function on the whole, as cells read it item by item."""

from dataclasses import dataclass
from functools import cached_property

from xlfuncs.catalogue.declaration import WorksheetFunction
from xlfuncs.catalogue.registry import functions


@dataclass(frozen=True)
class Answer:
    """One call, which cells read by its `name`: for Excel of the cells that its answer fills."""

    call: str
    name: str
    sheet: str  # whose cells read it
    rows: int  # of the answer that are read
    spills: bool

    @cached_property
    def function(self) -> WorksheetFunction:
        return functions()[self.call.partition("(")[0]]

    @property
    def check(self) -> str:
        """The call of INPUT_CHECK for the same arguments."""
        return f'INPUT_CHECK("{self.function.name}",{self.call.partition("(")[2]}'

    @property
    def asked(self) -> str:
        """The name of the call, also where `name` is that of the cells."""
        return self.name.replace("_result", "_call") if self.spills else self.name

    @property
    def count(self) -> str:
        """How many rows the answer has; where it spills the cells of the name are more."""
        return f"ROWS({self.asked})"

    def item(self, column: int | str, row: int | str = "{n}") -> str:
        """An item by its column, a name or a number from 1, and its row.

        Without a row that of the cell's own row in a grid (see Page.grid).
        """
        if isinstance(column, str):
            column = [result.name for result in self.function.results].index(column) + 1
        return f"INDEX({self.name},{row},{column})"
