"""What holds between two calls of one function."""

from __future__ import annotations

import math
from random import Random
from typing import Any

from tests.fuzz.calls import flat, from_cells, is_answer
from tests.fuzz.inputs import Inputs
from xlfuncs.catalogue.declaration import Arg, WorksheetFunction
from xlfuncs.errors import CellError
from xlfuncs.units import DIMENSIONS, default_conversion


def column_is_its_rows(function: WorksheetFunction, chance: Random) -> tuple[str, bool]:
    """Elementwise: a column gives what each of its rows gives alone."""
    several = [Inputs(function, chance, 0.1) for _ in range(chance.randint(2, 5))]
    system = several[0].system
    rows = []
    for inputs in several:
        inputs.system = system
        rows.append([
            system if arg.name == "units" else inputs.value(arg) for arg in function.positions
        ])  # fmt: skip
    columns: list[Any] = [
        system if arg.name == "units" else [[row[i]] for row in rows]
        for i, arg in enumerate(function.positions)
    ]
    whole = from_cells(function, columns)
    alone = [[from_cells(function, row)] for row in rows]
    fault = "" if _close(whole, alone, 1e-12) else f"rows {rows}: column {whole}, alone {alone}"
    return fault, is_answer(alone)


def units_do_not_matter(function: WorksheetFunction, chance: Random) -> tuple[str, bool]:
    """The same quantities in the other system give the same quantities."""
    inputs = Inputs(function, chance, 0.0)
    inputs.system = "us"
    place = function.units_place
    args = inputs.arguments()
    args += [None] * (place - len(args)) + (["us"] if len(args) <= place else [])
    other = [
        "metric" if i == place else _converted(function.positions[i], arg)
        for i, arg in enumerate(args)
    ]
    us, metric = from_cells(function, args), from_cells(function, other)
    fault = (
        "" if _same_quantities(function, us, metric) else f"{args}: {us!r:.300}, {metric!r:.300}"
    )
    return fault, is_answer(us)


def _converted(arg: Arg, value: Any) -> Any:
    if isinstance(value, list):
        return [[_converted(arg, cell)] for (cell,) in value]
    if arg.kind != "number" or type(value) is not float:
        return value
    (a, b), (c, d) = (default_conversion(arg.dimension, s) for s in ("us", "metric"))
    return (value * a + b - d) / c


def _same_quantities(function: WorksheetFunction, us: Any, metric: Any) -> bool:
    if isinstance(us, list) != isinstance(metric, list):
        return False
    if not isinstance(us, list):
        us, metric = [[us]], [[metric]]
    if len(us) != len(metric):
        return False
    for left, right in zip(us, metric, strict=True):
        results = function.results if len(function.results) == len(left) else function.results[:1]
        for place, (a, b) in enumerate(zip(left, right, strict=True)):
            dimension = results[min(place, len(results) - 1)].dimension
            if type(a) is not float or type(b) is not float:
                if DIMENSIONS[dimension].kind != "text" and a != b:
                    return False
                continue
            (c, d), (e, f) = (default_conversion(dimension, s) for s in ("us", "metric"))
            slack = 0.011 if dimension == "money" else 1e-9
            if not math.isclose(a * c + d, b * e + f, rel_tol=1e-6, abs_tol=slack):
                return False
    return True


def blank_rows_do_not_matter(function: WorksheetFunction, chance: Random) -> tuple[str, bool]:
    """On the whole: a wholly blank row among the others changes nothing."""
    inputs = Inputs(function, chance, 0.02)
    args = inputs.arguments()
    groups = sorted({a.group for a in function.positions if a.group})
    tables = [i for i, a in enumerate(function.positions[: len(args)]) if a.table]
    before = from_cells(function, args)
    if tables:
        place = chance.choice(tables)
        table = args[place]
        if not isinstance(table, list) or function.positions[place].settings or len(table) < 2:
            return "", False
        row = chance.randint(1, len(table))
        blank = [None] * len(table[0])
        args = [*args[:place], [*table[:row], blank, *table[row:]], *args[place + 1 :]]
        group, row = function.positions[place].name, row - 1
        args = [  # a column beside the table has its rows
            [*a[:row], [None], *a[row:]] if d.group == group and isinstance(a, list) else a
            for a, d in zip(args, function.positions, strict=False)
        ]
    elif groups:
        group = chance.choice(groups)
        sizes = {
            len(a) for a, d in zip(args, function.positions, strict=False)
            if d.group == group and isinstance(a, list)
        }  # fmt: skip
        if len(sizes) != 1 or not (size := sizes.pop()):
            return "", False
        row = chance.randint(0, size)
        args = [
            [*a[:row], [None], *a[row:]] if d.group == group and isinstance(a, list) else a
            for a, d in zip(args, function.positions, strict=False)
        ]
    else:
        return "", False
    after = from_cells(function, args)
    if isinstance(after, list) and function.rows == group:
        after = after[:row] + after[row + 1 :]
    elif any(result.row_of == group for result in function.results):
        return "", is_answer(before)  # the rows that it names are those of the range passed
    if before == "" and all(cell == "" for cell in flat(after)):  # of one cell, which is blank
        return "", False
    fault = "" if _close(before, after, 1e-12) else f"{args}: {before!r:.300}, then {after!r:.300}"
    return fault, is_answer(before)


def defaults_may_be_given(function: WorksheetFunction, chance: Random) -> tuple[str, bool]:
    """An argument that is left out is as its declared default."""
    inputs = Inputs(function, chance, 0.0)
    args = inputs.arguments()
    args += [None] * (len(function.positions) - len(args))
    args[function.units_place] = inputs.system
    given = [
        _default(arg, inputs.system) if value is None and not (arg.group or arg.table) else value
        for arg, value in zip(function.positions, args, strict=True)
    ]
    if given == args:
        return "", False
    before, after = from_cells(function, args), from_cells(function, given)
    fault = "" if _close(before, after, 1e-9) else f"{given}: {before!r:.300}, then {after!r:.300}"
    return fault, is_answer(before)


def _default(arg: Arg, system: str) -> Any:
    if arg.kind != "number" or arg.default is None or isinstance(arg.default, str):
        return arg.default
    scale, offset = default_conversion(arg.dimension, system)
    return (arg.base(arg.default) - offset) / scale


def order_of_columns_does_not_matter(
    function: WorksheetFunction, chance: Random
) -> tuple[str, bool]:
    """Tables are read by their headers, blocks of settings by their labels."""
    args = Inputs(function, chance, 0.0).arguments()
    turned = list(args)
    for place, arg in enumerate(function.positions[: len(args)]):
        if arg.table and args[place]:
            rows = args[place] if not arg.settings else list(zip(*args[place], strict=True))
            order = chance.sample(range(len(rows[0])), len(rows[0]))
            rows = [[row[column] for column in order] for row in rows]
            turned[place] = list(map(list, zip(*rows, strict=True))) if arg.settings else rows
    before, after = from_cells(function, args), from_cells(function, turned)
    fault = "" if _close(before, after, 1e-12) else f"{args}: {before!r:.300}, then {after!r:.300}"
    return fault, is_answer(before)


def _close(left: Any, right: Any, share: float) -> bool:
    if isinstance(left, CellError) or isinstance(right, CellError):
        return left is right
    a, b = flat(left), flat(right)
    return len(a) == len(b) and all(
        math.isclose(x, y, rel_tol=share, abs_tol=1e-300)
        if type(x) is float and type(y) is float
        else x == y
        for x, y in zip(a, b, strict=True)
    )


def relations_of(function: WorksheetFunction) -> list[Any]:
    if function.variadic:
        return []
    own = column_is_its_rows if function.elementwise else blank_rows_do_not_matter
    if any(arg.table for arg in function.positions):
        return [own, order_of_columns_does_not_matter, defaults_may_be_given]
    return [own, units_do_not_matter, defaults_may_be_given]
