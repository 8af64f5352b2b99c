"""Cells that a formula would take for another number than the reader does; columns of ours."""

from collections.abc import Iterable, Mapping

from xlfuncs.catalogue.arguments import as_argument, read_one
from xlfuncs.errors import InputError
from xlfuncs.units import DIMENSIONS, to_base
from xlfuncs.workbooks.adding_columns.placing import NewColumn, is_ours
from xlfuncs.workbooks.adding_columns.serving import Served, passed
from xlfuncs.workbooks.lists.doubts import ListRow, Reading
from xlfuncs.workbooks.lists.rows import not_used
from xlfuncs.workbooks.lists.sheets import Grid
from xlfuncs.xlsx.cell_references import cell_name


def compare(
    reading: Reading, grid: Grid, columns: Iterable[NewColumn],
    of_packages: Mapping[str, tuple[Served, str]],
) -> None:  # fmt: skip
    """Asks about each such cell of the columns that formulas read."""
    by_place = {headers[0].place + 1: name for name, headers in reading.headers.items()}
    used = {served for new in columns for served in new.served.values()}
    for given in used | {served for served, _ in of_packages.values()}:
        name = by_place.get(given.column)
        if name and DIMENSIONS[reading.wanted.table[name].dimension].kind == "number":
            for row in reading.rows:
                _compare_cell(reading, grid, given, row, name)


def leave_out_own(reading: Reading, grid: Grid) -> None:
    """Columns that were added before are none of the list's."""
    own = {place: text for place, text in reading.unused.items()
           if any(is_ours(grid.formula(row.line.number, place + 1)) for row in reading.rows)
           }  # fmt: skip
    reading.unused = {place: text for place, text in reading.unused.items() if place not in own}
    told = {not_used(text) for text in own.values()}
    reading.report = [words for words in reading.report if words not in told]


def _compare_cell(reading: Reading, grid: Grid, given: Served, row: ListRow, name: str) -> None:
    number = row.line.number
    arg = as_argument(reading.headers[name][0].column)
    meant = passed(given, grid.value(number, given.column))
    try:
        base = read_one(arg, meant, reading.system)
    except InputError:
        return  # the cell will show an error, which the report explains
    ours = row.values.get(name)
    own = to_base(ours, arg.dimension, reading.system) if isinstance(ours, float) else None
    if base is not None and (own is None or abs(base - own) > 1e-9 * abs(own)):
        cell = cell_name(number, given.column)
        words = f"{cell} reads as {ours!r}, but a formula would take it for {meant!r}."
        reading.ask(("leave_out",), f"{words} Type it as a number.", (str(number),))
