"""The formulas of a computed column: one call of a worksheet function a row, blanks guarded."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from xlfuncs.catalogue.declaration import Arg, WorksheetFunction
from xlfuncs.units import DIMENSIONS, conversion
from xlfuncs.workbooks.adding_columns.serving import Served
from xlfuncs.xlsx.cell_references import cell_name
from xlfuncs.xlsx.contents import CellValue


def column_formula(
    function: WorksheetFunction, served: Mapping[str, Served], row: int, system: str
) -> str:
    """The formula (without its equals sign) of one row; blank while a required cell is blank.

    The guard stands in the formula because LibreOffice passes an empty cell as zero.
    """
    arguments = []
    blanks = []
    for arg in function.args:
        if arg.name == "units":
            arguments.append(f'"{system}"')
            continue
        given = served.get(arg.name)
        if given is None:
            arguments.append("")
            continue
        if given.column and arg.required:
            blanks.append(f'{cell_name(row, given.column)}=""')
        arguments.append(_argument(arg, given, row, system))
    while arguments and not arguments[-1]:
        arguments.pop()
    call = f"{function.name}({','.join(arguments)})"
    if not blanks:
        return call
    condition = blanks[0] if len(blanks) == 1 else f"OR({','.join(blanks)})"
    return f'IF({condition},"",{call})'


def call_arguments(
    function: WorksheetFunction,
    served: Mapping[str, Served],
    system: str,
    value: Callable[[int], CellValue],
) -> list[CellValue]:
    """What a row's formula passes to its function; `value` gives the row's cell of a column."""
    arguments: list[CellValue] = []
    for arg in function.args:
        given = served.get(arg.name)
        if arg.name == "units" or given is None:
            arguments.append(system if arg.name == "units" else None)
        elif not given.column:
            constant = given.value
            arguments.append(float(constant) if isinstance(constant, int) else constant)
        else:
            cell = value(given.column)
            if isinstance(cell, float) and given.unit:
                cell = f"{cell:.15g} {given.unit}"
            elif isinstance(cell, str) and given.mark == ",":
                cell = cell.replace(".", "").replace(",", ".")
            if isinstance(cell, str) and given.typed and given.unit and cell[-1:].isdigit():
                cell = f"{cell} {given.unit}"
            arguments.append(cell)
    return arguments


def _argument(arg: Arg, given: Served, row: int, system: str) -> str:
    if not given.column:
        return _constant(given.value)
    cell = cell_name(row, given.column)
    converted = _converted(arg, given, cell, system)
    return converted if arg.required else f'IF({cell}="","",{converted})'


def _constant(value: str | float | None) -> str:
    if isinstance(value, str):
        return '"' + value.replace('"', '""') + '"'
    return repr(value)


def _converted(arg: Arg, given: Served, cell: str, system: str) -> str:
    """A cell in the unit that plain numbers have in the call; text with its own unit as it is.

    Text with a decimal comma gets a point; text that is a bare number gets its column's unit.
    """
    text = _with_point(cell, given.mark)
    default = DIMENSIONS[arg.dimension].unit(system)
    number = cell
    if given.unit and given.unit != default:
        scale, offset = conversion(given.unit, arg.dimension)
        to_scale, to_offset = conversion(default, arg.dimension)
        factor = float(f"{scale / to_scale:.15g}")
        shift = float(f"{(offset - to_offset) / to_scale:.12g}")
        if factor != 1 or shift:
            moved = "" if shift == 0 else f"{shift:+.12g}"
            number = f"{cell}*{factor:.15g}{moved}"
            if given.typed:
                text = f'{text}&IF(ISNUMBER(-RIGHT({cell}))," {given.unit}","")'
    return cell if number == text == cell else f"IF(ISNUMBER({cell}),{number},{text})"


def _with_point(cell: str, mark: str) -> str:
    if mark == ".":
        return cell
    return f'SUBSTITUTE(SUBSTITUTE({cell},".",""),",",".")'
