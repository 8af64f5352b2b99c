"""Formulas of computed columns: calls of worksheet functions, cells in the units they take."""

from collections.abc import Callable, Mapping, Sequence

from xlfuncs.catalogue.registry import functions
from xlfuncs.units import DIMENSIONS, conversion
from xlfuncs.workbooks.adding_columns.serving import Served, column_for, is_asked
from xlfuncs.xlsx.contents import CellValue

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
    given, blanks = {}, []
    for arg in functions()[name].inputs:
        needed = is_asked(arg)
        if found := find(named.get(arg.name, column_for(arg)), needed):
            given[arg.name], blank = found
            blanks += [blank] if needed and blank else []
    return unless(blanks, call(name, system, given))


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
    return repr(value)


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
