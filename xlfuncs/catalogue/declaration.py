"""How a worksheet function is declared: once, with its units, limits, help and source.

    @worksheet_function(
        "BED_AREA",
        help="Planted area of a bed: length times strip width times number of strips.",
        args=(
            "length: length, >=0, <=3000: Length of the planted strips",
            "width: width, >=0, <=30: Width of one planted strip",
            "[strips=1]: count, >=1, whole: Planted strips side by side",
        ),
        results=(Result("area", "area", "Planted area"),),
        source=DEFINITION.at("area of a rectangle"),
        plain="{length}*{width}*{strips}",
    )
    def bed_area(length, width, strips): ...

An argument is a text, which `Arg.of` reads, or an `Arg` that several functions share.

Where the declaration adds nothing to a calculation, the calculation itself is declared:
`worksheet_function("BED_AREA", ...)(beds.bed_area)`. Arguments arrive by name. The function sees
and gives base units (see `xlfuncs.units.DIMENSIONS`).

* elementwise, where no group, table or second result says otherwise: receives floats, or numpy
  arrays that broadcast; gives the same. An optional argument that was left out, with
  `default=None`, arrives as NaN (numbers) or "" (text).
* whole: an argument with `columns` is a table: a range with its header row, which names its columns
  in any order and by any words that `Arg.table` has for them. The calculation gets the columns by
  name, and nothing of the table itself. The last argument may hold tables (`holds`), given in any
  order and known by their headers. A column may be looked up by a name in another table. What
  is not given takes its default. With `settings` a table is read by its labels, down a column.
  Columns and other arguments with a `group` arrive as 1-D arrays of equal length within
  their group (text as object arrays, flags as bool, dates as datetime64[D]); arguments without
  one are scalars (None when left out with `default=None`; inside a column NaN, "" or NaT). Wholly
  blank rows, and rows whose `selects` flag is false, never reach the function, nor that flag. It
  returns one 1-D sequence a result column, as a tuple in declared order (or the one sequence or
  scalar itself), or of several results a list of rows: tuples, or objects whose attributes are
  called as the results are. `rows` names the group whose rows the result follows, else its length
  is free. It raises `InputError(argument, words, row=i)` for what limits and relations cannot say.
  With `row_words`, the name of a text result, a row that cannot be read spoils no other: what is
  wrong with it stands there, as ROW_CHECK says it.

Every function also takes `units` ("us" or "metric") as its last worksheet argument. Once a
function is published that position is fixed: put `UNITS` in `args` and add what is new after it.

`plain` is the same computation as an ordinary spreadsheet formula in base units, for copies that
must work without Python; `{name}` stands for an argument. Use only functions that every
spreadsheet program has (IF, MIN, MAX, INT, SQRT, EXP, LN, PI, ROUND ...).
"""

import sys
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, TypeVar

from xlfuncs.catalogue.parts_of_a_declaration import (
    HELP_LIMIT,
    REQUIRED,
    SHOWN,
    UNITS,
    Arg,
    LookedUp,
    Relation,
    Result,
    arguments,
    table,
    tables_of_results,
)  # fmt: skip
from xlfuncs.catalogue.reserved_names import objection
from xlfuncs.catalogue.sources import Citation
from xlfuncs.errors import DeclarationError
from xlfuncs.units import DIMENSIONS

__all__ = [  # the parts too: who declares a function finds all that it takes here
    "FUNCTIONS", "HELP_LIMIT", "REQUIRED", "SHOWN", "TOPICS", "UNITS", "Arg", "LookedUp",
    "Relation", "Result", "WorksheetFunction", "arguments", "table", "worksheet_function",
]  # fmt: skip

_Function = TypeVar("_Function", bound=Callable[..., Any])


@dataclass(frozen=True)
class WorksheetFunction:
    """A declaration: everything that hosts, pages and checks need to know of a function."""

    name: str
    topic: str
    help: str
    args: tuple[Arg, ...]
    results: tuple[Result, ...]
    source: Citation
    compute: Callable[..., Any]
    elementwise: bool = True
    rows: str = ""
    row_words: str = ""
    relations: tuple[Relation, ...] = ()
    plain: str = ""
    doubt: Callable[[float], str] | None = None  # words on a result (base unit) that looks odd
    examples: tuple[str, ...] = field(default=())

    @property
    def python_name(self) -> str:
        return self.name.lower()

    @cached_property
    def positions(self) -> tuple[Arg, ...]:
        """What may stand in a call, in order: of tables in any order that of the declaration."""
        return tuple(one for arg in self.args for one in arg.holds or (arg,))

    @cached_property
    def inputs(self) -> tuple[Arg, ...]:
        """The arguments without `units`."""
        return tuple(arg for arg in self.positions if arg.name != "units")

    @cached_property
    def values(self) -> tuple[Arg, ...]:
        """What the calculation gets: the columns of tables and the other inputs."""
        found: list[Arg] = []
        for arg in self.inputs:
            if arg.single is not None:
                found.append(arg.single)
            if arg not in SHOWN:
                found += arg.columns if arg.table else [arg]
        return tuple(found)

    @cached_property
    def described(self) -> tuple[tuple[str, Arg], ...]:
        """All that a person may give, by the name to show: a table is followed by its columns."""
        found = []
        for arg in self.inputs:
            found.append((arg.name if arg.required else f"[{arg.name}]", arg))
            for column in arg.columns:
                assert arg.table is not None
                name = column.column or column.name
                own = arg.table[name].header if name in arg.table.names else name
                words = own.replace("_", " ").capitalize() if own == name else own
                found.append((words if column.required else f"[{words}]", column))
        return tuple(found)

    @cached_property
    def table_of(self) -> dict[str, Arg]:
        """The table, if any, in which each of these values is looked for."""
        tables = {arg.name: arg for arg in self.inputs if arg.table}
        found = {value.name: tables[value.group] for value in self.values if value.group in tables}
        return found | {c.name: arg for arg in tables.values() for c in arg.columns}

    @cached_property
    def units_place(self) -> int:
        """Which worksheet argument `units` is, from 0."""
        return next(i for i, arg in enumerate(self.args) if arg.name == "units")

    @property
    def repeats(self) -> bool:
        """Whether the last argument may be given any number of times."""
        return self.args[-1].variadic

    @property
    def variadic(self) -> bool:
        """Whether it also gets those as they are."""
        return self.repeats and not self.args[-1].holds

    @property
    def signature(self) -> str:
        """As people write it: BED_AREA(length, width, [strips], [units])."""
        words = (a.name + ", ..." if a.variadic else a.name for a in self.args)
        marked = (w if a.required else f"[{w}]" for a, w in zip(self.args, words, strict=True))
        return f"{self.name}({', '.join(marked)})"


TOPICS = {
    "flow": "Area, volume, flow",
    "time": "Time",
    "pressure": "Pressure",
    "water_need": "Water need",
    "buying": "Buying",
    "money": "Money",
    "checks": "Checks",
}
FUNCTIONS: dict[str, WorksheetFunction] = {}


def worksheet_function(
    name: str, *, help: str, args: tuple[Arg | str, ...], source: Citation,
    results: tuple[Result, ...] = (), elementwise: bool | None = None, rows: str = "",
    row_words: str = "", relations: tuple[Relation, ...] = (), plain: str = "",
    doubt: Callable[[float], str] | None = None, examples: tuple[str, ...] = (), topic: str = "",
) -> Callable[[_Function], _Function]:  # fmt: skip
    """Declare the decorated function as a worksheet function; refuses a faulty declaration.

    Its topic is the room under `topics` in which it is declared, where `topic` names no other; a
    table of results is rows of results.csv.
    """
    results = results or tables_of_results().get(name, ())
    rooms = sys._getframe(1).f_globals["__name__"].split(".")
    topic = topic or next((room for room in rooms if room in TOPICS), "")

    def register(compute: _Function) -> _Function:
        read = arguments(args)
        repeats = read[-1].variadic
        with_units = read if repeats or UNITS in read else (*read, UNITS)
        if any(arg.table for arg in read) and len(results) > 1 and not repeats:
            with_units += SHOWN
        alone = not (
            rows or len(results) > 1 or any(a.group or a.table or a.variadic for a in read)
        )
        function = WorksheetFunction(
            name, topic, help, with_units, results, source, compute,
            alone if elementwise is None else elementwise, rows,
            row_words, relations, plain, doubt, examples,
        )  # fmt: skip
        _refuse_faulty(function)
        FUNCTIONS[name] = function
        return compute

    return register


def _refuse_faulty(function: WorksheetFunction) -> None:
    name = function.name
    for fault in _faults(function):
        raise DeclarationError(f"{name}: {fault}")


def _faults(function: WorksheetFunction) -> list[str]:
    """What is wrong with a declaration, in words."""
    faults = []
    if function.topic not in TOPICS:
        faults.append(f"no topic {function.topic!r}")
    if not function.results:
        faults.append("no result, and results.csv has none of it")
    if function.name in FUNCTIONS:
        faults.append("declared twice")
    if words := objection(function.name):
        faults.append(words)
    items: list[Arg | Result] = [*function.args, *function.values, *function.results]
    for text in (function.help, *(item.help for item in items)):
        if len(text) > HELP_LIMIT:
            faults.append(f"help over {HELP_LIMIT} characters: {text[:40]}...")
    for item in items:
        if item.dimension not in DIMENSIONS:
            faults.append(f"{item.name}: no dimension {item.dimension!r}")
        if not item.name.isidentifier() or item.name != item.name.lower():
            faults.append(f"{item.name}: names are lower-case with underscores")
    groups = {arg.group for arg in function.values}
    optional_seen = False
    for arg in function.args:
        if arg.required and optional_seen and not arg.variadic:
            faults.append(f"{arg.name}: a required argument after an optional one")
        optional_seen = optional_seen or not arg.required
        if function.elementwise and (arg.group or arg.selects):
            faults.append(f"{arg.name}: an elementwise function has no groups")
    if function.elementwise and len(function.results) != 1:
        faults.append("an elementwise function has one result")
    for result in function.results:
        if result.row_of and result.row_of not in groups:
            faults.append(f"{result.name}: rows of {result.row_of!r}, which no argument names")
    if function.rows and function.rows not in groups:
        faults.append(f"rows follow {function.rows!r}, which no argument names")
    return faults
