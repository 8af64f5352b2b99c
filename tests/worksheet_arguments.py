"""The inputs of a published check as the arguments of a worksheet, tables with their headers."""

from __future__ import annotations

from typing import Any

from xlfuncs.catalogue.declaration import Arg
from xlfuncs.catalogue.registry import functions


def worksheet_arguments(check: dict[str, Any]) -> list[Any]:
    """In order, None for what is left out: a column is a list, a table a list of rows."""
    function = functions()[check["function"]]
    given = {**check["inputs"], "units": check.get("units", "us")}
    headers = {column: name.strip("[]") for name, column in function.described}
    return [_argument(arg, given, headers) for arg in function.positions]


def _argument(arg: Arg, given: dict[str, Any], headers: dict[Arg, str]) -> Any:
    columns = {headers[c]: given[c.name] for c in arg.columns if c.name in given}
    if isinstance(given.get(arg.name), dict):
        columns = given[arg.name]
    elif arg.table is None or arg.name in given:
        return given.get(arg.name)
    if not columns:
        return given.get(arg.single.name) if arg.single is not None else None
    if arg.settings:
        return [[label, value] for label, value in columns.items()]
    rows = max((len(values) for values in columns.values() if isinstance(values, list)), default=1)
    filled = [v if isinstance(v, list) else [v] * rows for v in columns.values()]
    return [list(columns), *map(list, zip(*filled, strict=True))]
