"""Which column of a sheet serves which argument of which function, and in which unit."""

from __future__ import annotations

import tomllib
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from xlfuncs.catalogue.declaration import Arg, WorksheetFunction
from xlfuncs.errors import UnitError, WorkbookError
from xlfuncs.tables.garden.beds import BEDS
from xlfuncs.units import DIMENSIONS, conversion, default_conversion
from xlfuncs.workbooks.adding_columns.sheet_layout import Grid, Heading, Question, plain_words
from xlfuncs.xlsx.cell_references import column_letters, column_number

_BED_COLUMNS = {"width": "strip_width"}  # arguments that the bed list calls otherwise
_KEYS = {"header_row", "last_row", "units", "columns", "values", "add", "headers"}


@dataclass(frozen=True)
class Mapping:
    """The owner's answers, from a TOML file:

    header_row = 4
    last_row = 18                      # of the list, without its total row
    units = "us"                       # what a header without a unit means
    add = ["BED_AREA", "LATERAL_FLOW"]

    [columns]                          # argument = header or column letter
    length = "Bed length"
    width = { column = "C", unit = "in" }

    [values]                           # the same for every row
    emitter_spacing = "8 in"

    [headers]                          # of the new columns, when the usual one will not do
    BED_AREA = "Planted (ft²)"
    """

    header_row: int | None = None
    last_row: int | None = None
    units: str = ""
    add: tuple[str, ...] = ()
    columns: dict[str, tuple[str, str]] = field(default_factory=dict)  # header or letter, unit
    values: dict[str, str | float] = field(default_factory=dict)
    headers: dict[str, str] = field(default_factory=dict)


def read_mapping(path: Path) -> Mapping:
    """Read a mapping file; raises WorkbookError naming the key and what it must be."""
    try:
        raw = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise WorkbookError(f"{path}: cannot be read as a mapping file ({error})") from None
    return mapping_from(raw, path.name)


def mapping_from(raw: dict[str, Any], where: str) -> Mapping:
    unknown = raw.keys() - _KEYS
    if unknown:
        raise WorkbookError(f"{where}: unknown keys {sorted(unknown)}; known are {sorted(_KEYS)}")
    columns = {}
    for name, target in raw.get("columns", {}).items():
        given = target if isinstance(target, dict) else {"column": target}
        if not isinstance(given.get("column"), str) or given.keys() - {"column", "unit"}:
            raise WorkbookError(
                f"{where}: columns.{name} must be a header or a column letter, or "
                '{ column = "...", unit = "..." }'
            )
        columns[name] = (given["column"], str(given.get("unit", "")))
    for name, value in raw.get("values", {}).items():
        if isinstance(value, bool) or not isinstance(value, str | int | float):
            raise WorkbookError(f"{where}: values.{name} must be a number or text, not {value!r}")
    for key in ("header_row", "last_row"):
        number = raw.get(key)
        if number is not None and (not isinstance(number, int) or number < 1):
            raise WorkbookError(f"{where}: {key} must be a row number from 1, not {number!r}")
    units = raw.get("units", "")
    if units not in ("", "us", "metric"):
        raise WorkbookError(f'{where}: units must be "us" or "metric", not {units!r}')
    return Mapping(
        raw.get("header_row"),
        raw.get("last_row"),
        units,
        tuple(str(name).upper() for name in raw.get("add", ())),
        columns,
        dict(raw.get("values", {})),
        {str(name).upper(): str(text) for name, text in raw.get("headers", {}).items()},
    )


@dataclass(frozen=True)
class Served:
    """What an argument gets: a column (and the unit of its plain numbers), or a value."""

    column: int = 0
    unit: str = ""
    value: str | float | None = None


def known_words(functions: Sequence[WorksheetFunction]) -> dict[str, set[str]]:
    """Plain words of a header -> the arguments that they may name."""
    words: dict[str, set[str]] = defaultdict(set)
    for function in functions:
        for arg in function.inputs:
            for text in (arg.name, *_synonyms(arg)):
                words[plain_words(text)].add(arg.name)
    return words


def _synonyms(arg: Arg) -> tuple[str, ...]:
    name = _BED_COLUMNS.get(arg.name, arg.name)
    if name not in BEDS.names:
        return ()
    column = BEDS[name]
    return (column.header, *column.synonyms) if column.dimension == arg.dimension else ()


class Matcher:
    """Finds what each argument gets from the headings of a sheet; collects questions."""

    def __init__(
        self,
        grid: Grid,
        headings: Sequence[Heading],
        mapping: Mapping,
        words: dict[str, set[str]],
        rows: Sequence[int] = (),
    ) -> None:
        self.grid = grid
        self.headings = list(headings)
        self.mapping = mapping
        self.words = words
        self.rows = rows
        self.questions: dict[tuple[str, str], Question] = {}

    def serve(self, arg: Arg) -> Served | None:
        """What an argument gets; None when nothing does (a question is kept if it is needed)."""
        if arg.name in self.mapping.values:
            return Served(value=self.mapping.values[arg.name])
        found = self.heading_for(arg)
        if found is None:
            return None
        unit = self.unit(arg, *found)
        return None if unit is None else Served(found[0].column, unit)

    def heading_for(self, arg: Arg) -> tuple[Heading, str] | None:
        if arg.name in self.mapping.columns:
            target, unit = self.mapping.columns[arg.name]
            return self._named(arg, target), unit
        exact = [h for h in self.headings if arg.name in self.words.get(h.words, ())]
        same_name = [h for h in exact if h.words == plain_words(arg.name)]
        chosen = same_name if len(same_name) == 1 else exact
        if len(chosen) == 1:
            return chosen[0], ""
        if len(chosen) > 1:
            self.ask(arg, f"Several columns could be {arg.name}: {_listed(chosen)}.", chosen[0])
        elif arg.required:
            near = [h for h in self.headings if set(h.words.split()) & set(arg.name.split("_"))]
            words = f"Which column is {arg.name} ({arg.help.lower()})?"
            if near:
                words += f" Perhaps {_listed(near)}."
            self.ask(arg, words, near[0] if near else None)
        return None

    def _named(self, arg: Arg, target: str) -> Heading:
        wanted = plain_words(target)
        exact = [h for h in self.headings if h.text.strip() == target.strip()]
        for found in (exact, [h for h in self.headings if h.words == wanted]):
            if len(found) == 1:
                return found[0]
        if target.isalpha() and target.isupper() and len(target) <= 3:
            column = column_number(target)
            here = [h for h in self.headings if h.column == column]
            return here[0] if here else Heading(column, target, plain_words(target), "")
        raise WorkbookError(
            f"the mapping says columns.{arg.name} = {target!r}, but the headers are: "
            + _listed(self.headings)
        )

    def unit(self, arg: Arg, heading: Heading, given: str) -> str | None:
        """The unit of plain numbers in a column; None after a question."""
        dimension = DIMENSIONS[arg.dimension]
        if dimension.kind != "number" or not (dimension.us or dimension.metric):
            return ""
        unit = given or heading.unit
        if unit:
            try:
                conversion(unit, arg.dimension)
            except UnitError as error:
                self.ask(arg, f"{heading.text!r}: {error.message}.", heading, unit="...")
                return None
            return unit
        if not self.holds_numbers(heading.column):
            return dimension.unit(self.mapping.units or "us")  # every cell names its own
        if self.mapping.units:
            return dimension.unit(self.mapping.units)
        self.ask(
            arg,
            f"{heading.text!r} names no unit; what are its numbers in "
            f"({dimension.us} or {dimension.metric}, say)?",
            heading,
            unit=dimension.us,
        )
        return None

    def holds_numbers(self, column: int) -> bool:
        return any(isinstance(self.grid.value(row, column), float) for row in self.rows)

    def ask(self, arg: Arg, words: str, heading: Heading | None, unit: str = "") -> None:
        name = f'"{heading.text}"' if heading is not None else '"..."'
        answer = f'{{ column = {name}, unit = "{unit}" }}' if unit else name
        self.questions[arg.name, words] = Question(words, f"[columns] {arg.name} = {answer}")


def system_of(units: Sequence[tuple[str, str]], mapping: Mapping) -> str:
    """us or metric: as the mapping says, else the one that fits more of the (unit, dimension)."""
    if mapping.units:
        return mapping.units
    metric = sum(
        1
        for unit, dimension in units
        if unit
        and conversion(unit, dimension) == default_conversion(dimension, "metric")
        and conversion(unit, dimension) != default_conversion(dimension, "us")
    )
    american = sum(
        1
        for unit, dimension in units
        if unit
        and conversion(unit, dimension) == default_conversion(dimension, "us")
        and conversion(unit, dimension) != default_conversion(dimension, "metric")
    )
    return "metric" if metric > american else "us"


def _listed(headings: Sequence[Heading]) -> str:
    return ", ".join(f"{h.text!r} ({column_letters(h.column)})" for h in headings)
