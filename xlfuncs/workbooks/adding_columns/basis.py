"""What packages of columns rest on, as sections of a sheet: supply, target, lines, months."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, partial

from xlfuncs.tables import settings
from xlfuncs.tables.columns import Column
from xlfuncs.tables.garden import lines
from xlfuncs.tables.garden.head_assembly import HEAD_PARTS, SUPPLIES
from xlfuncs.workbooks.adding_columns.serving import Found, call, called, unless

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
Cells = Mapping[str, str]  # those of a section's values by name, or of single values
Formula = Callable[[Cells, str], str]  # from the cells that it may read, and the system


@dataclass(frozen=True)
class Section:
    """A part of the sheet: single values one below the other, or a table of so many rows, with
    formulas beside them. Of each group of `either` a row of the table needs one."""

    name: str
    title: str
    columns: tuple[Column, ...]
    rows: int = 0
    computed: tuple[tuple[Column, Formula], ...] = ()
    either: tuple[str, ...] = ()
    needed: bool = True  # a table that must have a row

    @cached_property
    def all_columns(self) -> list[Column]:
        return [*self.columns, *(column for column, _ in self.computed)]

    @cached_property
    def names(self) -> list[str]:
        return [column.name for column in self.all_columns]

    @cached_property
    def formulas(self) -> dict[str, Formula]:
        return {column.name: formula for column, formula in self.computed}

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


def _of(columns: Sequence[Column], *names: str) -> tuple[Column, ...]:
    return tuple(next(c for c in columns if c.name == name) for name in names)


def _by(function: str, cells: Cells, system: str, **named: str) -> str:
    """The call of a function on cells; blank while one that it needs is."""

    def find(name: str, needed: bool) -> Found | None:
        cell = cells.get(name)
        return (cell, f'{cell}=""') if cell else None

    return called(function, system, find, **named)


def _measured(cells: Cells, system: str) -> str:
    return _by("SUPPLY_FLOW", cells, system, volume="bucket_volume", seconds="bucket_seconds")


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


ALL_OPEN, EACH_ALONE = "all", "each bed alone"
SUPPLY = Section(
    "supply", "Supply and valves",
    (*_of(settings.SUPPLY.settings, "bucket_volume", "bucket_seconds", "static_pressure"),
     Column("open_together", "Open together", "text", "Beds behind one valve: the column of the"
            f" list that says it, {ALL_OPEN!r}, or {EACH_ALONE!r}", required=True),
     *_of(SUPPLIES.columns, "gauge_flow", "gauge_pressure")),
    computed=((Column("measured_flow", "Measured flow", "flow", "By the bucket test, taken as that"
                      " of the open tap, with no pressure left"), _measured),),
)  # fmt: skip
DISTANCES = Section(
    "distances", "Distance to the beds, where the list has no column for it",
    (Column("beds", "Beds", "text", f"Those of one valve, or {ALL_OPEN!r}", required=True),
     Column("distance", "Distance", "length", "Along the pipe, from the tap to where they branch"
            " off", required=True)), 12,
)  # fmt: skip
TARGET = Section(
    "target", "Target",
    tuple(column for column in settings.TARGET.settings if column.name != "efficiency_by"),
)  # fmt: skip
LINES = Section(
    "lines", "Drip lines, by their data sheets",
    _of(lines.LINES.columns, "line", "emitter_spacing", "emitter_flow", "flow_per_length",
        "rated_pressure", "inside_diameter", "exponent", "min_pressure", "max_pressure"), 12,
    computed=((Column("flow_of_emitter", "Flow of an emitter", "emitter_flow",
                      "From the flow of one, or per length"), _flow_of_emitter),),
    either=("emitter_flow", "flow_per_length"),
)  # fmt: skip
PIPES = Section("pipes", "Pipes", _of(lines.PIPES.columns, "pipe", "inside_diameter"), 6)
HEAD = Section(
    "head_parts", "Head assembly, in the order of the flow; a filter's loss when it is dirty",
    tuple(replace(c, help="Pressure lost at the flow beside it, from the part's box")
          if c.name == "loss" else c
          for c in _of(HEAD_PARTS.columns, "part", "loss", "loss_flow", "opening_loss", "preset")),
    6,
    needed=False,
)  # fmt: skip
SEASON = Section(
    "months", "Months",
    (
        Column("month", "Month", "text", "Month"),
        Column("days", "Days", "count", "Days with a crop in the month"),
        Column("reference_et", "Reference ET", "depth",
               "Reference evapotranspiration of the whole month, from a climate table"),
        Column("rain", "Rain", "depth", "Rain of the month"),
        Column("kc", "Crop coefficient", "number", "Crop use over reference ET, as tables give it"),
    ), 12,
    computed=(
        (Column("open", "To give, open ground", "depth", "Use less the rain that counts"),
         partial(_to_give, rained=True)),
        (Column("covered", "To give, no rain", "depth", "Under plastic mulch or in a tunnel"),
         partial(_to_give, rained=False)),
    ),
)  # fmt: skip
BUYING = Section(
    "buying",
    "Purchase",
    (Column("plan_date", "Plan date", "date", "Day of the prices", required=True),),
)
ROLLS = Section(
    "rolls", "Rolls of these lines",
    (lines.LINES["line"], Column("roll_length", "Roll length", "length", "Length of a roll"),
     Column("roll_price", "Roll price", "money", "Price of a roll")), 12, needed=False,
)  # fmt: skip
SECTIONS = (SUPPLY, TARGET, DISTANCES, LINES, PIPES,
            HEAD, SEASON, BUYING, ROLLS)  # fmt: skip
