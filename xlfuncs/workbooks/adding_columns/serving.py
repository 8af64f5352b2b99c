"""Which column of a list serves which argument, and in which unit; the formulas of computed
columns: calls of worksheet functions, cells in the units they take."""

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from xlfuncs.catalogue.declaration import Arg, WorksheetFunction
from xlfuncs.catalogue.registry import functions
from xlfuncs.tables.columns import Column, Table
from xlfuncs.tables.garden.beds import BEDS
from xlfuncs.units import DIMENSIONS, conversion
from xlfuncs.workbooks.lists.doubts import Reading
from xlfuncs.workbooks.lists.lines import Measured, is_plain
from xlfuncs.workbooks.lists.mapping import ALIASES
from xlfuncs.xlsx.contents import CellValue


@dataclass(frozen=True)
class Served:
    """What an argument gets: a column (the unit of its plain numbers, how its texts write
    decimals, what its words mean where they are not ours), or a value."""

    column: int = 0
    unit: str = ""
    value: str | float | None = None
    mark: str = "."
    typed: bool = False  # some cells are plain numbers written as text
    words: tuple[tuple[str | bool, str], ...] = ()


def one_a_row() -> list[WorksheetFunction]:
    """The functions that give one result for each row."""
    return [function for function in functions().values() if function.elementwise
            and len(function.results) == 1 and not function.variadic]  # fmt: skip


@lru_cache(maxsize=1)
def columns_of_lists() -> Table:
    """Every column that a list may have: those of beds, and the arguments of functions."""
    return table_of(one_a_row())


def is_asked(arg: Arg) -> bool:
    """What the function needs, and what every bed list must say, such as the number of lines."""
    name = column_for(arg)
    return arg.required or (name in BEDS.names and BEDS[name].required)


def serve(reading: Reading, name: str, dimension: str) -> Served | None:
    """What the column of that name gives to an argument; None when the list has none."""
    if name in reading.mapping.values:
        value = reading.mapping.values[name]
        counts = DIMENSIONS[dimension].kind == "number" and re.fullmatch(r"\d+(\.\d+)?", str(value))
        return Served(value=float(value) if counts else value)
    headers = reading.headers.get(name, ())
    if len(headers) != 1 or headers[0].column.dimension != dimension:
        return None
    header, reader = headers[0], reading.reader
    if DIMENSIONS[dimension].kind != "number":
        return Served(header.place + 1, words=_words(reading, name))
    unit = reader.units.get(name) or header.unit or DIMENSIONS[dimension].unit(reading.system)
    shown = {cell.unit if isinstance(cell, Measured) else unit for cell in reading.numbers(name)
             if isinstance(cell, (float, Measured))}  # fmt: skip
    if len(shown) > 1:
        words = f"The cells under {header.text!r} show several units by their formats:"
        reading.ask((), f"{words} {', '.join(sorted(shown))}. Give them one.")
    unit = next(iter(shown), unit)
    texts = [cell for cell in reading.numbers(name) if isinstance(cell, str)]
    plain = any(map(is_plain, texts))
    mark = reader.mark if any("," in text for text in texts) else "."
    return Served(header.place + 1, unit, mark=mark, typed=plain)


def _words(reading: Reading, name: str) -> tuple[tuple[str | bool, str], ...]:
    """The words of a column that a formula has to turn into ours: Brache -> no."""
    found: dict[str | bool, str] = {}
    for row in reading.rows:
        cell, value = row.line.cell(reading.headers[name][0].place), row.values.get(name)
        meant = {True: "yes", False: "no"}.get(value, value) if value is not None else None
        if isinstance(cell, (str, bool)) and isinstance(meant, str) and cell != meant:
            found[cell] = meant
    return tuple(found.items())


def column_for(arg: Arg) -> str:
    """The column of lists that an argument is read from."""
    name = ALIASES.get(arg.name, arg.name)
    known = name in BEDS.names and BEDS[name].dimension == arg.dimension
    return name if known else arg.name


def table_of(functions: Sequence[WorksheetFunction]) -> Table:
    """The columns of beds, and of what the functions take."""
    found = {column.name: column for column in BEDS.columns}
    for function in functions:
        for arg in function.inputs:
            header = arg.name.replace("_", " ").capitalize()
            column = Column(arg.name, header, arg.dimension, arg.help)
            found.setdefault(column_for(arg), column)
    return Table("Lists", BEDS.help, tuple(found.values()))


CellOf = Callable[[int], str]  # the reference to the row's cell of a column
Found = tuple[str, str]  # a formula for a value, and the condition under which there is none
Find = Callable[[str, bool], Found | None]  # by the name of a column, and whether it is needed


def call(name: str, system: str, arguments: Mapping[str, str]) -> str:
    """The call of a worksheet function by argument names."""
    given = {**arguments, "units": f'"{system}"'}
    words = [given.get(arg.name, "") for arg in functions()[name].args]
    while not words[-1]:
        words.pop()
    return f"{name}({','.join(words)})"


def called(name: str, system: str, find: Find, **named: str) -> str:
    """The call of a function whose arguments are columns of the same names, or of those `named`;
    blank while a needed one is."""
    formula, blanks = unguarded(name, system, find, **named)
    return unless(blanks, formula)


def unguarded(name: str, system: str, find: Find, **named: str) -> tuple[str, list[str]]:
    """That call, and the conditions under which a needed argument is blank."""
    given, blanks = {}, []
    for arg in functions()[name].inputs:
        needed = is_asked(arg)
        if found := find(named.get(arg.name, column_for(arg)), needed):
            given[arg.name], blank = found
            blanks += [blank] if needed and blank else []
    return call(name, system, given), blanks


def unless(conditions: Sequence[str], formula: str) -> str:
    """The formula, blank while one of the conditions holds.

    The guard stands in the formula because LibreOffice passes an empty cell as zero.
    """
    blanks = list(dict.fromkeys(conditions))
    if not blanks:
        return formula
    condition = blanks[0] if len(blanks) == 1 else f"OR({','.join(blanks)})"
    return f'IF({condition},"",{formula})'


def find_in_list(
    columns: Mapping[str, tuple[Served, str]], cell: CellOf, system: str, name: str, needed: bool
) -> Found | None:
    """What a column of the list, with its dimension, gives to a formula of one of its rows."""
    if name not in columns:
        return None
    given, dimension = columns[name]
    blank = f'{cell(given.column)}=""' if given.column else ""
    return taken(given, dimension, cell, system, required=needed), blank


def passed(given: Served, cell: CellValue) -> CellValue:
    """What a formula passes to its function where the row's cell holds this."""
    if not given.column:
        return float(given.value) if isinstance(given.value, int) else given.value
    if isinstance(cell, float) and given.unit:
        cell = f"{cell:.15g} {given.unit}"
    elif isinstance(cell, str) and given.mark == ",":
        cell = cell.replace(".", "").replace(",", ".")
    if isinstance(cell, str) and given.typed and given.unit and cell[-1:].isdigit():
        cell = f"{cell} {given.unit}"
    return cell


def taken(given: Served, dimension: str, cell: CellOf, system: str, *, required: bool) -> str:
    """An argument from a row's cell, in the unit that plain numbers have in the call."""
    if not given.column:
        return _constant(given.value)
    place = cell(given.column)
    for typed, meant in given.words:
        place = f'IF({cell(given.column)}={_constant(typed)},"{meant}",{place})'
    converted = place if given.words else _converted(dimension, given, place, system)
    return converted if required else f'IF({cell(given.column)}="","",{converted})'


def _constant(value: str | float | None) -> str:
    if isinstance(value, bool):
        return str(value).upper()
    if isinstance(value, str):
        return '"' + value.replace('"', '""') + '"'
    return f"{value:.15g}"


def _converted(dimension: str, given: Served, cell: str, system: str) -> str:
    """A cell in the unit that plain numbers have in the call; text with its own unit as it is.

    Text with a decimal comma gets a point; text that is a bare number gets its column's unit.
    """
    text = cell if given.mark == "." else f'SUBSTITUTE(SUBSTITUTE({cell},".",""),",",".")'
    default = DIMENSIONS[dimension].unit(system)
    number = cell
    if given.unit and given.unit != default:
        scale, offset = conversion(given.unit, dimension)
        to_scale, to_offset = conversion(default, dimension)
        factor = float(f"{scale / to_scale:.15g}")
        shift = float(f"{(offset - to_offset) / to_scale:.12g}")
        if factor != 1 or shift:
            moved = "" if shift == 0 else f"{shift:+.12g}"
            number = f"{cell}*{factor:.15g}{moved}"
            if given.typed:
                text = f'{text}&IF(ISNUMBER(-RIGHT({cell}))," {given.unit}","")'
    return cell if number == text == cell else f"IF(ISNUMBER({cell}),{number},{text})"
