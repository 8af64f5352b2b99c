"""Formulas of computed columns: calls of worksheet functions, cells in the units they take."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from xlfuncs.catalogue.declaration import WorksheetFunction
from xlfuncs.catalogue.registry import functions
from xlfuncs.units import DIMENSIONS, conversion
from xlfuncs.workbooks.adding_columns.serving import Served
from xlfuncs.xlsx.contents import CellValue

CellOf = Callable[[int], str]  # the reference to the row's cell of a column


def call(name: str, system: str, arguments: Mapping[str, str]) -> str:
    """The call of a worksheet function by argument names."""
    given = {**arguments, "units": f'"{system}"'}
    words = [given.get(arg.name, "") for arg in functions()[name].args]
    while not words[-1]:
        words.pop()
    return f"{name}({','.join(words)})"


def unless_blank(cells: Sequence[str], formula: str) -> str:
    """The formula, blank while one of the cells is.

    The guard stands in the formula because LibreOffice passes an empty cell as zero.
    """
    blanks = [f'{cell}=""' for cell in dict.fromkeys(cells)]
    if not blanks:
        return formula
    condition = blanks[0] if len(blanks) == 1 else f"OR({','.join(blanks)})"
    return f'IF({condition},"",{formula})'


def column_formula(
    function: WorksheetFunction, served: Mapping[str, Served], cell: CellOf, system: str
) -> str:
    """The formula (without its equals sign) of one row; blank while a required cell is blank."""
    given = {
        arg.name: taken(served[arg.name], arg.dimension, cell, system, required=arg.required)
        for arg in function.inputs
        if arg.name in served
    }
    needed = [cell(served[arg.name].column) for arg in function.inputs
              if arg.required and arg.name in served and served[arg.name].column]  # fmt: skip
    return unless_blank(needed, call(function.name, system, given))


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
