"""What packages of columns rest on, as sections of a sheet: supply, target, lines, months."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property, partial

from xlfuncs.tables.columns import Column, columns_of
from xlfuncs.workbooks.adding_columns.serving import Found, call, called, unless

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
Cells = Mapping[str, str]  # those of a section's values by name, or of single values
Formula = Callable[[Cells, str], str]  # from the cells that it may read, and the system


@dataclass(frozen=True)
class Section:
    """A part of the sheet: single values one below the other, or a table of so many rows. Its
    columns are rows of tables/data/columns.csv; some are computed beside the others. Of each group
    of `either` a row of the table needs one."""

    name: str
    title: str
    rows: int = 0
    either: tuple[str, ...] = ()
    needed: bool = True  # a table that must have a row
    declared: str = ""  # its name there, where it is another

    @cached_property
    def all_columns(self) -> tuple[Column, ...]:
        return columns_of(self.declared or f"Water settings, {self.name}")

    @cached_property
    def columns(self) -> list[Column]:
        return [column for column in self.all_columns if column.name not in _FORMULAS]

    @cached_property
    def names(self) -> list[str]:
        return [column.name for column in self.all_columns]

    @cached_property
    def formulas(self) -> dict[str, Formula]:
        return {name: _FORMULAS[name] for name in self.names if name in _FORMULAS}

    @property
    def height(self) -> int:
        """Rows from the title on; a table has words on each column above its headings."""
        return self.rows + 4 if self.rows else 1 + len(self.names)

    @property
    def needs(self) -> list[tuple[str, tuple[str, ...]]]:
        """What a row of a table must say beside its name: words for it, and the columns of which
        one will do."""
        found: list[tuple[str, tuple[str, ...]]]
        found = [(c.header, (c.name,)) for c in self.columns[1:] if c.required]
        if self.either:
            first, *others = (c.header for c in self.columns if c.name in self.either)
            found.append((" or ".join([first, *map(str.lower, others)]), self.either))
        return found

    def need(self, column: Column) -> str:
        """Whether a column must be filled in, in words."""
        if column.name in self.formulas:
            return "computed"
        blank = "one of the two" if column.name in self.either else "may stay blank"
        return "needed" if column.required else blank


def _by(function: str, cells: Cells, system: str, **named: str) -> str:
    """The call of a function on cells; blank while one that it needs is."""

    def find(name: str, needed: bool) -> Found | None:
        cell = cells.get(name)
        return (cell, f'{cell}=""') if cell else None

    return called(function, system, find, **named)


def _flow_of_emitter(cells: Cells, system: str) -> str:
    own = cells["emitter_flow"]
    return f'IF({own}<>"",{own},{_by("EMITTER_FLOW_FROM_TAPE", cells, system)})'


def _to_give(cells: Cells, system: str, *, rained: bool) -> str:
    use = f"{cells['reference_et']}*{cells['kc']}"
    rain = call("EFFECTIVE_RAIN", system, {"rain": cells["rain"], "crop_use": use})
    net = call("NET_IRRIGATION", system,
               {"crop_use": use, "effective_rain": rain if rained else "0"})  # fmt: skip
    gross = call("GROSS_IRRIGATION", system,
                 {"net_depth": net, "efficiency": cells["efficiency"]})  # fmt: skip
    return unless([f'{cells[name]}=""' for name in ("reference_et", "kc", "rain")], gross)


TOGETHER = ALL_OPEN, EACH_ALONE = "all", "each bed alone"  # as columns.csv says of what to type
_FORMULAS: dict[str, Formula] = {
    "measured_flow": partial(_by, "SUPPLY_FLOW", volume="bucket_volume", seconds="bucket_seconds"),
    "flow_of_emitter": _flow_of_emitter,
    "open": partial(_to_give, rained=True),
    "covered": partial(_to_give, rained=False),
}
SUPPLY = Section("supply", "Supply and valves")
TARGET = Section("target", "Target")
DISTANCES = Section("distances", "Distance to the beds, where the list has no column for it", 12)
LINES = Section("lines", "Drip lines, by their data sheets", 12,
                either=("emitter_flow", "flow_per_length"))  # fmt: skip
PIPES = Section("pipes", "Pipes", 6)
HEAD = Section("head_parts",
               "Head assembly, in the order of the flow; a filter's loss when it is dirty", 6,
               needed=False)  # fmt: skip
SEASON = Section("months", "Months", 12)
BUYING = Section("buying", "Purchase")
ROLLS = Section("rolls", "Rolls of these lines", 12, needed=False)
SECTIONS = (SUPPLY, TARGET, DISTANCES, LINES, PIPES, HEAD, SEASON, BUYING, ROLLS)
