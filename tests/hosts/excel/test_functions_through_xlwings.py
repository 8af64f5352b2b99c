"""Every worksheet function by the path that Excel takes, through xlwings' own Windows code."""

from __future__ import annotations

import datetime as dt
import math
import tomllib
import warnings
from decimal import Decimal
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import xlfuncs
from tests.hosts.excel.played_windows import MISSING, ComTime, ExcelRange, call, error_code
from tests.worksheet_arguments import worksheet_arguments
from xlfuncs.catalogue.declaration import WorksheetFunction
from xlfuncs.catalogue.registry import functions
from xlfuncs.hosts.excel.wrapper import MARK
from xlfuncs.units import DIMENSIONS

FOLDER = Path(__file__).parents[2] / "published_values"
NOT_AVAILABLE, VALUE_ERROR, SPILL_ERROR = 2042, 2015, 2045


def _published() -> list[tuple[str, dict[str, Any]]]:
    found = []
    for path in sorted(FOLDER.glob("*.toml")):
        for check in tomllib.loads(path.read_text("utf-8"))["check"]:
            if "function" in check:
                found.append((f"{path.stem}: {check['place']}: {check['function']}", check))
    return found


PUBLISHED = _published()
BASE = {check["function"]: check for _, check in reversed(PUBLISHED)}
ELEMENTWISE = [name for name in BASE if functions()[name].elementwise]


def _excel_value(value: Any) -> Any:
    """A Python value as Excel's cell would hold it."""
    if value is None or isinstance(value, bool | str):
        return value
    if isinstance(value, dt.date):
        return ComTime(value.year, value.month, value.day)
    return float(value)


def _excel_arguments(check: dict[str, Any]) -> list[Any]:
    """The arguments of a published check in order; what it does not give is left out."""
    args = []
    for value in worksheet_arguments(check):
        if value is None:
            args.append(MISSING)
        elif isinstance(value, list):
            rows = [v if isinstance(v, list) else [v] for v in value]
            args.append(ExcelRange([[_excel_value(v) for v in row] for row in rows]))
        else:
            args.append(_excel_value(value))
    return args


def _flat(result: Any) -> list[Any]:
    """Every value of a result in reading order; blanks and NaN as empty text."""
    if isinstance(result, tuple | list):
        return [value for item in result for value in _flat(item)]
    if hasattr(result, "to_numpy"):
        result = result.to_numpy()
    if isinstance(result, np.ndarray):
        return _flat(result.tolist())
    if isinstance(result, dt.datetime | dt.date | np.datetime64) or hasattr(
        result, "to_datetime64"
    ):
        day = np.datetime64(str(result)[:10], "D")
        return [float((day - np.datetime64("1899-12-30", "D")).astype(float))]
    if result is None or result != result:
        return [""]
    return [result]


def _agree(first: Any, second: Any) -> bool:
    if isinstance(first, str) or isinstance(second, str):
        return bool(first == second)
    return math.isclose(first, second, rel_tol=1e-12, abs_tol=1e-12)


def _same(first: Any, second: Any) -> None:
    one, two = _flat(first), _flat(second)
    assert len(one) == len(two)
    assert all(map(_agree, one, two)), (one, two)


@pytest.mark.parametrize("check", [c for _, c in PUBLISHED], ids=[n for n, _ in PUBLISHED])
def test_published_values_come_out_as_in_python(check: dict[str, Any]) -> None:
    function = functions()[check["function"]]
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        python = getattr(xlfuncs, function.python_name)(
            **check["inputs"], units=check.get("units", "us")
        )
    _same(call(function.name, *_excel_arguments(check)), python)


def test_the_comparison_sees_a_difference() -> None:
    with pytest.raises(AssertionError):
        _same([[1.0], [2.0]], [1.0, 2.1])
    with pytest.raises(AssertionError):
        _same("", 0.0)


@pytest.mark.parametrize("name", BASE)
def test_a_cell_counts_like_the_value_in_it(name: str) -> None:
    args = _excel_arguments(BASE[name])
    cells = [a if a == MISSING or isinstance(a, ExcelRange) else ExcelRange(a) for a in args]
    _same(call(name, *cells), call(name, *args))


@pytest.mark.parametrize("name", BASE)
def test_currency_counts_like_a_number(name: str) -> None:
    args = _excel_arguments(BASE[name])
    currency = [Decimal(str(a)) if isinstance(a, float) else a for a in args]
    _same(call(name, *currency), call(name, *args))


@pytest.mark.parametrize("name", BASE)
def test_whole_numbers_from_vba_count_like_numbers(name: str) -> None:
    args = _excel_arguments(BASE[name])
    whole = [int(a) if isinstance(a, float) and a == int(a) else a for a in args]
    _same(call(name, *whole), call(name, *args))


@pytest.mark.parametrize("name", BASE)
def test_an_empty_optional_cell_counts_like_an_argument_left_out(name: str) -> None:
    args = _excel_arguments(BASE[name])
    blank = [ExcelRange(None) if a == MISSING else a for a in args]
    _same(call(name, *blank), call(name, *args))


def _numbers(function: WorksheetFunction, args: list[Any]) -> list[int]:
    """Places of the single numbers among the arguments."""
    pairs = zip(function.positions, args, strict=True)
    return [i for i, (a, v) in enumerate(pairs) if a.kind == "number" and isinstance(v, float)]


@pytest.mark.parametrize("name", BASE)
def test_a_quantity_as_text_counts_like_the_number(name: str) -> None:
    function, check = functions()[name], BASE[name]
    args = _excel_arguments(check)
    system = check.get("units", "us")
    texts = list(args)
    for i in _numbers(function, args):
        texts[i] = f"{args[i]!r} {DIMENSIONS[function.positions[i].dimension].unit(system)}".strip()
    for one, two in zip(_flat(call(name, *texts)), _flat(call(name, *args)), strict=True):
        assert one == two or math.isclose(one, two, rel_tol=1e-9)


@pytest.mark.parametrize("name", ELEMENTWISE)
@pytest.mark.parametrize(
    ("cell", "answer"),
    [
        (error_code(NOT_AVAILABLE), f"{MARK}#N/A"),
        (error_code(SPILL_ERROR), f"{MARK}#VALUE!"),  # an error that xlwings does not know
        (ComTime(2026, 1, 2), f"{MARK}#VALUE!"),  # 1/2 that Excel took for a date
        ("3 bananas", f"{MARK}#VALUE!"),
        (True, f"{MARK}#VALUE!"),
        (None, ""),
    ],
)
def test_a_bad_cell_spoils_only_its_own_row(name: str, cell: Any, answer: str) -> None:
    function = functions()[name]
    args = [a.first if isinstance(a, ExcelRange) else a for a in _excel_arguments(BASE[name])]
    good = call(name, *args)
    for i in _numbers(function, args):
        wanted = good if cell is None and not function.positions[i].required else answer
        if function.positions[i].required:
            assert call(name, *args[:i], ExcelRange(cell), *args[i + 1 :]) == wanted
        column = ExcelRange([[args[i]], [cell], [args[i]]])
        result = call(name, *args[:i], column, *args[i + 1 :])
        assert _agree(result[0][0], good)
        assert _agree(result[2][0], good)
        if function.positions[i].required:
            assert result[1][0] == wanted


@pytest.mark.parametrize("name", [n for n in BASE if not functions()[n].elementwise])
def test_an_error_in_an_argument_of_a_whole_function_comes_out_as_that_error(name: str) -> None:
    function = functions()[name]
    args = _excel_arguments(BASE[name])
    for i, arg in enumerate(function.positions):
        if arg.required and not arg.group and not function.variadic:
            changed = [*args[:i], error_code(NOT_AVAILABLE), *args[i + 1 :]]
            assert call(name, *changed) == f"{MARK}#N/A"


@pytest.mark.parametrize("name", functions())
def test_nothing_is_ever_raised(name: str) -> None:
    """xlwings writes an exception into the cell as text, which SUM silently skips."""
    function = functions()[name]
    for rubbish in (MISSING, None, "x", error_code(VALUE_ERROR), error_code(9999), -1.5, 1e308, ""):
        for shape in (rubbish, ExcelRange(rubbish), ExcelRange([[rubbish, 1.0], ["", rubbish]])):
            count = 2 if function.variadic else len(function.args)
            result = call(name, *[shape] * count)
            assert all(isinstance(v, float | str | bool) for v in _flat(result))


def test_words_say_what_is_wrong_by_this_path_too() -> None:
    words = call("INPUT_CHECK", "BED_AREA", -48.0, ExcelRange(30.0))
    assert words == "BED_AREA: length: must be at least 0 ft, is -48 ft"
    assert "needs a number, got the date" in call("INPUT_CHECK", "BED_AREA", ComTime(2026, 1, 2))
    assert call("INPUT_CHECK", "BED_AREA", MISSING, 30.0).endswith("length is blank")


def test_a_row_of_cells_gives_a_row() -> None:
    row = call("BED_AREA", ExcelRange([[12.0, 24.0]]), 12.0)
    assert row == pytest.approx([12.0, 24.0])


def test_text_can_not_be_taken_for_an_error() -> None:
    """Somebody who types the mark gets the text back with the mark doubled, which VBA undoes."""
    words = call("INPUT_CHECK", f"{MARK}#N/A", 1.0)
    assert not words.startswith(f"{MARK}#")


def test_import_functions_finds_nothing() -> None:
    """xlwings' own wrappers would leave the marked text in the cells."""
    call("BED_AREA", 48.0, 30.0)
    import xlwings.udfs  # only now: it needs the stubs

    from xlfuncs.hosts.excel import functions as module

    assert hasattr(module.BED_AREA, "__xlfunc__")
    assert not [n for n in dir(module) if hasattr(getattr(module, n), "__xlfunc__")]
    assert xlwings.udfs.udf_modules["xlfuncs.hosts.excel.functions"]["module"] is module


@pytest.mark.parametrize("name", functions())
def test_xlwings_knows_topic_and_help(name: str) -> None:
    from xlfuncs.hosts.excel import functions as module

    call("BED_AREA", 48.0, 30.0)
    function = functions()[name]
    seen = getattr(module, name).__xlfunc__
    assert [a["doc"] for a in seen["args"]] == [a.help for a in function.args]
    assert all(a["options"] == {"ndim": 2, "err_to_str": True} for a in seen["args"])
    assert [a for a in seen["args"] if "optional" in a] == [
        a for a, d in zip(seen["args"], function.args, strict=True) if not d.required
    ]
