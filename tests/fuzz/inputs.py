"""Arguments for any worksheet function, from its declaration and a seed: as people give them, and
as nobody should."""

from __future__ import annotations

import math
from dataclasses import replace
from random import Random
from typing import Any

from xlfuncs.catalogue.arguments import EPOCH, limits
from xlfuncs.catalogue.declaration import SHOWN, Arg, WorksheetFunction
from xlfuncs.catalogue.registry import functions
from xlfuncs.errors import CellError
from xlfuncs.units import DIMENSIONS, default_conversion

LITRE_AN_HOUR = 1 / 3.6e6
# What farms have, in base units: from, to. Chosen so that most inputs together have an answer.
TYPICAL = {
    "length": (4, 60), "width": (0.1, 1.2), "elevation": (-2, 2), "head": (5, 40),
    "diameter": (0.012, 0.03), "wall": (1e-4, 4e-4), "roughness": (1e-6, 2e-6), "depth": (2, 30),
    "area": (2, 100), "volume": (0.05, 5), "billed_volume": (5, 500), "velocity": (0.1, 2),
    "slope": (-0.02, 0.02), "temperature": (-5, 35),
    "emitter_flow": (0.5 * LITRE_AN_HOUR, 4 * LITRE_AN_HOUR),
    "lateral_flow": (30 * LITRE_AN_HOUR, 400 * LITRE_AN_HOUR), "flow": (1e-4, 1e-3),
    "flow_per_length": (4 * LITRE_AN_HOUR, 9 * LITRE_AN_HOUR), "pressure": (6e4, 4e5),
    "intake_rate": (3, 50), "et": (1, 8), "available_water": (60, 200), "salinity": (0.3, 4),
    "time": (300, 7200), "seconds": (5, 60), "hours": (3600, 36000), "days": (1, 30),
    "clock": (3600, 36000),
    "years": (1, 15), "radiation": (5, 30), "vapour_pressure": (0.5, 3), "wind": (0.5, 5),
    "latitude": (-60, 60), "ratio": (0.05, 0.95), "energy": (1, 900), "power": (0.2, 5),
    "count": (1, 6), "number": (1, 50), "money": (1, 300), "money_per_area": (0.1, 9),
    "money_per_length": (0.05, 2), "money_per_billed_volume": (0.5, 8),
}  # fmt: skip
NAMES = ("north", "south", "tape", "drip line", "tee", "1")
HOSTILE = (
    None, "", " ", 0.0, -1.0, 1.0, 5e-324, 1e-300, 1e15, 1e27, 1e308, -1e308, 0.1 + 0.2, 2958465.0,
    True, False, "x", "3 ft", "2 gpm", "85%", "1e999", "½ in", "=1+1", "ü" * 300, "2026-02-30",
    CellError.NOT_AVAILABLE, CellError.VALUE,
)  # fmt: skip
SEARCH_SECONDS = 0.4
# What some functions want to be given at all: so many rows of a group, a column that rises (1) or
# falls (-1), both years or neither.
ROWS = {"head": 3, "supply": 3, "weather": 12, "months": 12, "curve": 3, "years": 2,
        "old_tiers": 3, "new_tiers": 3, "old periods": 2, "new periods": 2, "tops": 2,
        "prices": 3, "tariffs": 1, "tiers": 2}  # fmt: skip
RISING = {"supply_flow": 1, "supply_pressure": -1, "curve_flow": 1, "curve_head": -1,
          "tier_tops": 1, "old_tops": 1, "new_tops": 1, "tops": 1, "flow": 1,
          "readings": 1}  # fmt: skip
OPEN = {"old_tops", "new_tops", "tops"}  # the last row is blank
LIVES = ("shortest_lives", "likely_lives", "longest_lives")  # rise along each row
# Days after the first one (or before), where a period has a beginning and an end.
APART = {"end": 120, "plan_end": 120, "valid_from": -400, "tier_from": -400}
# By the name of the argument, where its dimension says too little.
NAMED = {
    "max_temperature": (22, 35), "min_temperature": (2, 18), "month_high": (22, 35),
    "month_low": (2, 18), "piece_lengths": (5, 28), "roll_lengths": (30, 150),
    "distance": (1, 60), "branch_start": (0, 1), "emitter_spacing": (0.15, 0.5),
    "flows": (2e-5, 2e-4), "supply_flow": (2e-4, 1e-3), "row_gap": (0.05, 0.3),
    "latitude": (20, 55), "beds_strip_width": (0.1, 0.3), "beds_bed_top_width": (0.9, 1.2),
    "beds_strips": (1, 3), "wanted_share": (0.5, 0.8), "wanted_uniformity": (0.5, 0.8),
}  # fmt: skip
WORDS = {
    "allowed_days": ("Mon, Wed, Fri", "Mon Tue Wed Thu Fri Sat Sun", ""),
    "rules_counted_by": ("main length", "line"), "rules_only_line": ("",),
    "head_kind": ("filter", "regulator"), "lines_kind": ("tape", "drip line"),
    "kinds": ("water", "water", "Water", "line"), "meters": ("",), "currencies": ("USD",),
    "inlets": ("hose thread 3/4 in female", "barb 0.6 in", "barb 16 mm"),
    "outlets": ("hose thread 3/4 in male", "barb 0.6 in", "compression 16 mm"),
}  # fmt: skip
EITHER = {"margin"}  # or markup
WHOLE_GARDENS = {"DESIGNS", "PURCHASE_LIST"}
TOGETHER = {"old_area", "new_area", "old_need", "new_need"}
# What some functions need much of, and which of them need most columns of their tables.
MANY = {"RAIN_REACHED": ("years", 10, 30), "TARIFF_YEAR_ON_YEAR": ("entries", 20, 30)}
FULL = {"DESIGNS", "WATER_YEAR_ON_YEAR", "TARIFF_YEAR_ON_YEAR", "WATER_BILL"}


class Inputs:
    """Arguments for one function. `hostile` is the share of values that nobody should give."""

    def __init__(self, function: WorksheetFunction, chance: Random, hostile: float) -> None:
        self.function, self.chance = function, chance
        self._hostile = hostile
        self._rows: dict[str, int] = {}
        self._first_day = chance.randint(44000, 46500)
        usual = {"SOIL_WATER_BALANCE": 1, "TARIFF_YEAR_ON_YEAR": 31}.get(function.name)
        self._step = usual or chance.choice((1, 7, 31))
        self._names = chance.sample(NAMES, chance.choice((1, 1, 2, 3)))  # so that lists agree
        if function.name in WHOLE_GARDENS:  # where all rows must speak of the same things
            self._names, self._rows = self._names[:1], {"rules": 2, "beds": chance.randint(1, 3)}
        self.system = chance.choice(("us", "metric"))

    def arguments(self) -> list[Any]:
        """In worksheet order with `units` in its place; scalars, columns and tables of rows."""
        if self.function.variadic:
            return self._about_another()
        given = []
        last = self._last_given()
        for place, arg in enumerate(self.function.positions):
            if place > last and place > self.function.units_place:
                break
            given.append(self.system if arg.name == "units" else self._argument(arg, place > last))
        return given

    def _about_another(self) -> list[Any]:
        """For functions that look at the arguments of others, or at their tables."""
        tables = self.function.name == "FINDINGS"
        names = [
            name for name, f in functions().items()
            if not f.variadic and (f.rows or self.function.name == "INPUT_CHECK")
            and (not tables or any(arg.table and arg.columns for arg in f.positions))
        ]  # fmt: skip
        other = Inputs(functions()[self.chance.choice(sorted(names))], self.chance, self._hostile)
        if not tables:
            return [other.function.name, *other.arguments()]
        given = [other._table(arg) for arg in other.function.positions if arg.table and arg.columns]
        return [other.system, *given]

    def _last_given(self) -> int:
        args = self.function.positions
        required = max((i for i, arg in enumerate(args) if arg.required), default=0)
        return self.chance.randint(required, len(args) - 1)

    def _argument(self, arg: Arg, left_out: bool) -> Any:
        if arg.name == "time_limit":
            return SEARCH_SECONDS
        if arg in SHOWN:  # a data frame has its headers beside its rows
            return None
        if arg.table:  # one that is only looked into for what another lacks is left out
            return self._table(arg) if arg.columns and not left_out else None
        if arg.name in TOGETHER:
            left_out = True
        asked = 0.1 if self.function.name in WHOLE_GARDENS else 0.4
        if left_out or (not arg.required and self.chance.random() < asked):
            return None
        if not arg.group:
            return self.value(arg)
        return [[value] for value in self._column(arg)]

    def _count(self, group: str) -> int:
        many, low, high = MANY.get(self.function.name, ("", 0, 0))
        if group == many:
            self._rows.setdefault(group, self.chance.randint(low, high))
        if group in ROWS and self.chance.random() < 0.9:
            self._rows.setdefault(group, ROWS[group])
        if group not in self._rows:
            self._rows[group] = self.chance.choice((0, 1, 1, 2, 2, 3, 4, 6)) if (
                self.chance.random() < 0.9
            ) else self.chance.randint(0, 25)  # fmt: skip
        return self._rows[group]

    def _column(self, arg: Arg) -> list[Any]:
        size = self._count(arg.group)
        if arg.kind == "date":
            begins = self._first_day + APART.get(arg.name, 0)
            begins -= self._step if arg.name.startswith("period_start") else 0
            step = 0 if arg.name in ("valid_from", "tier_from") else self._step
            return [self.spoilt(float(begins + step * i)) for i in range(size)]
        if arg.name == "month" and size == 12:
            return [self.spoilt(float(month)) for month in range(1, 13)]
        values = [self.value(arg) for _ in range(size)]
        if arg.name == "rules_counted_by":  # by each of them
            values = [self.spoilt(WORDS[arg.name][row % 2]) for row in range(size)]
        numbers = all(type(value) is float for value in values)
        if numbers and self.chance.random() < (0.9 if arg.name in RISING else 0.4):
            values.sort(reverse=RISING.get(arg.name, self.chance.choice((1, -1))) < 0)
        if arg.name in OPEN and values:
            values[-1] = None
        return values

    def _table(self, arg: Arg) -> list[list[Any]]:
        """A range with its headers, in any order; with `settings` labels beside their values."""
        share = self.chance.choice((0.3, 0.6, 1.0, 1.0))
        if self.function.name in FULL and self.chance.random() < 0.8:
            share = 1.0
        if not any(column.required for column in arg.columns):
            share = 1.0
        columns = [
            column for column in arg.columns
            if column.required or self.chance.random() < (0.2 if column.name in EITHER else share)
        ]  # fmt: skip
        self.chance.shuffle(columns)
        heads = [self._heading(arg, column) for column in columns]
        if arg.settings:
            return [[head, self.value(c)] for head, c in zip(heads, columns, strict=True)]
        self._rows[arg.name] = max(1, self._count(arg.name))
        filled = [self._column(replace(column, group=arg.name)) for column in columns]
        lives = [i for i, column in enumerate(columns) if column.name in LIVES]
        lives.sort(key=lambda i: LIVES.index(columns[i].name))
        for row in range(self._rows[arg.name]):
            rising = sorted((filled[i][row] for i in lives), key=_as_number)
            for i, value in zip(lives, rising, strict=True):
                filled[i][row] = value
        key = arg.table.columns[0]
        for column, cells in zip(columns, filled, strict=True):
            if key.dimension == "text" and (column.column or column.name) == key.name:
                cells[:] = [self.spoilt(self._name_of(row)) for row in range(len(cells))]
        if key.dimension == "text" and key.name not in {
            column.column or column.name for column in columns
        }:
            heads.insert(0, key.header)  # by which other tables look a row up
            filled.insert(0, [self._name_of(row) for row in range(self._rows[arg.name])])
        return [heads, *map(list, zip(*filled, strict=True))]

    def _name_of(self, row: int) -> str:
        """Each name before one comes again, so that what other tables name is there."""
        return self._names[row % len(self._names)]

    def _heading(self, arg: Arg, column: Arg) -> str:
        name = column.column or column.name
        if name in arg.table.names:
            own = arg.table[name]
            return str(own.heading(self.system) if self.chance.random() < 0.5 else own.header)
        return str(name.replace("_", " ").capitalize())

    def value(self, arg: Arg) -> Any:
        """A value for a scalar argument, or one cell of a column."""
        if arg.kind == "number":
            return self.spoilt(self._number(arg))
        if arg.kind == "date":
            return self.spoilt(float(self._first_day))
        if arg.kind == "flag":
            yes = arg.name in ("beds_on", "beds_laid") and self.chance.random() < 0.8
            return self.spoilt(yes or self.chance.choice((True, False, "yes", "no", 1.0)))
        return self.spoilt(self.chance.choice(WORDS.get(arg.name, arg.choices or self._names)))

    def spoilt(self, value: Any) -> Any:
        return self.chance.choice(HOSTILE) if self.chance.random() < self._hostile else value

    def _number(self, arg: Arg) -> float:
        if arg.name == "explained":
            return float((EPOCH + self._first_day).astype("datetime64[Y]").astype(int) + 1971)
        low, low_open, high, high_open = limits(arg)
        scale, offset = default_conversion(arg.dimension, self.system)
        if self._hostile and self.chance.random() < min(
            0.06, 3 * self._hostile
        ):  # on a limit, or just beyond
            edge = self.chance.choice(
                [limit for limit in (low, high) if math.isfinite(limit)] or [0]
            )
            nudge = self.chance.choice((0.0, 1e-9, -1e-9, 1.0, -1.0))
            return (edge + nudge - offset) / scale
        least, most = NAMED.get(arg.name) or TYPICAL.get(arg.dimension, (1, 10))
        number = isinstance(arg.default, (int, float, str)) and not isinstance(arg.default, bool)
        if number and (usual := float(arg.base(arg.default))):
            least, most = sorted((usual * 0.7, usual * 1.4))
        least = max(least, low + (1e-6 * abs(low) if low_open else 0.0))
        most = min(most, high - (1e-6 * abs(high) if high_open else 0.0))
        if least > most:
            least, most = (low, low + 1) if math.isfinite(low) else (high - 1, high)
            if math.isfinite(high):
                most = min(most, high)
        base = self.chance.uniform(least, most)
        if arg.whole:
            return (float(min(max(round(base), low), high)) - offset) / scale
        return (base - offset) / scale


def _as_number(value: Any) -> float:
    return value if type(value) is float else 0.0


def kinds_of_results(function: WorksheetFunction) -> list[str]:
    return [DIMENSIONS[result.dimension].kind for result in function.results]
