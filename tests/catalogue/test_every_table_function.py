"""Every function that reads tables: the same numbers however a person writes them.

The calls are the published checks of tests/published_values, whose values are held there; here
each is made again with its columns backwards, in units that headings or cells state, in both
systems mixed, under German, French and Spanish headings.
"""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest

from tests.hosts.excel.played_windows import MISSING, ExcelRange, call
from tests.hosts.libreoffice.cases import Case, base_arguments, write
from tests.written_tables import WAYS, ways
from xlfuncs.catalogue.registry import functions
from xlfuncs.hosts.cells import call_from_cells, worksheet_callables
from xlfuncs.workbooks.recalculating.engine import evaluate

BASE = base_arguments()
READ_TABLES = [name for name, f in functions().items() if any(arg.table for arg in f.args)]
WRITTEN = [
    pytest.param(name, args, id=f"{name}: {words}")
    for name in READ_TABLES
    for words, args in ways(functions()[name], BASE[name])
]


def same(one: Any, other: Any) -> bool:
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(map(same, one, other))
    if isinstance(one, float | int) and isinstance(other, float | int):
        return math.isclose(one, other, rel_tol=1e-6, abs_tol=1e-9)
    if isinstance(one, str) and isinstance(other, str) and one.count(": ") == 1:
        one, other = (
            one.partition(": ")[2],
            other.partition(": ")[2],
        )  # words begin with the heading
    return bool(one == other) or {one, other} <= {None, ""}


def test_all_functions_on_tables_are_tried_in_every_way() -> None:
    assert len(READ_TABLES) >= 18
    tried = {words for name in READ_TABLES for words, _ in ways(functions()[name], BASE[name])}
    assert tried == set(WAYS)


@pytest.mark.parametrize(("name", "args"), WRITTEN)
def test_the_same_numbers_however_tables_are_written(name: str, args: list[Any]) -> None:
    got, wanted = (call_from_cells(name, given) for given in (args, BASE[name]))
    assert isinstance(wanted, list | float)
    assert same(got, wanted)
    excel = [MISSING if a is None else ExcelRange(a) if isinstance(a, list) else a
             for a in (_rows(arg) for arg in args)]  # fmt: skip
    assert same(_flat(call(name, *excel)), _flat(got))


def _flat(value: Any) -> list[Any]:
    return [v for x in value for v in _flat(x)] if isinstance(value, list | tuple) else [value]


def _rows(arg: Any) -> Any:
    return [r if isinstance(r, list) else [r] for r in arg] if isinstance(arg, list) else arg


def test_the_engine_gives_the_same(tmp_path: Path) -> None:
    calls = [Case(name, words, tuple(args)) for name in READ_TABLES
             for words, args in ways(functions()[name], BASE[name])]  # fmt: skip
    places = write(tmp_path / "calls.xlsx", calls)
    values = evaluate(tmp_path / "calls.xlsx", worksheet_callables()).values["Results"]
    for made, place in zip(calls, places, strict=True):
        row, wanted = int(place[1:]), made.in_python
        shown = wanted if isinstance(wanted, list) else [[wanted]]
        got = [[values.get((row + i, 1 + j)) for j in range(len(shown[0]))]
               for i in range(len(shown))]  # fmt: skip
        assert same(got, shown), (made.function, made.words)
