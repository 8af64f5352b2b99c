"""The quick way of a cell's call against the full way, which reads every argument by itself.

The full way is what the published values are checked through columns and words; here the two are
held together at every function's published inputs and examples, at the limits of its arguments and
just beyond them, and for blanks, text and numbers that are no quantities.
"""

from __future__ import annotations

import math
import re
from typing import Any

import pytest

from tests.catalogue.test_published_values import CHECKS
from xlfuncs.catalogue.arguments import limits
from xlfuncs.catalogue.calling import call_in_full, quick_call, quick_numbers
from xlfuncs.catalogue.declaration import WorksheetFunction
from xlfuncs.catalogue.registry import functions
from xlfuncs.errors import CellError, InputError
from xlfuncs.units import SYSTEMS, default_conversion

ELEMENTWISE = [name for name, function in functions().items() if function.elementwise]
# One of their arguments is text, yes or no, or a date.
NOT_OF_NUMBERS = {"COVERAGE", "LONGEST_GAP", "COVERED_SHARE", "WETTED_WIDTH", "RAIN_UNDER_COVER"}


def known_calls(name: str) -> list[tuple[list[Any], str]]:
    """Positional arguments and system of every published check and example of a function."""
    function = functions()[name]
    found = [
        ([check["inputs"].get(arg.name) for arg in function.inputs], check.get("units", "us"))
        for _, check in CHECKS
        if check.get("function") == name
    ]
    found += [(_arguments(example)[: len(function.inputs)], "us") for example in function.examples]
    return [(args, system) for args, system in found if not any(isinstance(a, list) for a in args)]


def _arguments(example: str) -> list[Any]:
    """The arguments of a formula: numbers, sums of them, percentages, texts, and omitted ones."""
    words = re.sub(r", *,", ", None,", re.sub(r"(\d+)%", r"\1/100", example))
    return list(eval(words.removeprefix(example.split("(")[0]).replace(")", ",)")))


def in_full(function: WorksheetFunction, args: list[Any], system: str) -> Any:
    try:
        return call_in_full(function, args, system)
    except InputError as error:
        return error.cell_error
    except Exception:
        return CellError.VALUE


def neighbours(function: WorksheetFunction, args: list[Any], system: str) -> list[list[Any]]:
    """The arguments with one of them changed: at a limit, beyond it, or nothing of the kind."""
    found = []
    for i, arg in enumerate(function.inputs):
        scale, offset = default_conversion(arg.dimension, system)
        low, _, high, _ = limits(arg)
        edges = [(limit - offset) / scale for limit in (low, high)]
        near = [math.nextafter(edge, toward) for edge in edges for toward in (-math.inf, math.inf)]
        odd = [0.0, -1.0, 1, 1.5, 1e300, math.nan, None, "", " ", "2", "3 ft", "soon", True,
               CellError.NOT_AVAILABLE]  # fmt: skip
        found += [[*args[:i], value, *args[i + 1 :]] for value in (*edges, *near, *odd)]
    return [*found, *(args[:count] for count in range(len(args))), [*args, 1.0]]


@pytest.mark.parametrize("name", [n for n in ELEMENTWISE if n not in NOT_OF_NUMBERS])
def test_both_ways_agree(name: str) -> None:
    function = functions()[name]
    calls = known_calls(name)
    assert calls
    answered = 0
    for args, system in calls:
        for changed in (args, *neighbours(function, args, system)):
            quick = quick_numbers(name, system)(changed)
            if quick is not None:
                answered += 1
                assert quick == in_full(function, changed, system), changed
    assert answered >= len(calls)


@pytest.mark.parametrize("name", [n for n in ELEMENTWISE if n not in NOT_OF_NUMBERS])
def test_what_is_known_is_answered_quickly(name: str) -> None:
    function = functions()[name]
    for args, system in known_calls(name):
        result = in_full(function, args, system)
        if isinstance(result, float):
            assert quick_numbers(name, system)(args) == result, args


@pytest.mark.parametrize("name", ELEMENTWISE)
def test_units_stand_where_they_are_declared(name: str) -> None:
    function = functions()[name]
    place = function.units_place
    for args, system in known_calls(name):
        padded = [*args, *[None] * (len(function.inputs) - len(args))]
        in_cell = [*padded[:place], system, *padded[place:]]
        assert quick_call(name)(in_cell) == quick_numbers(name, system)(padded)
        in_cell[place] = "imperial"
        assert quick_call(name)(in_cell) is None


def test_what_is_left_to_the_full_way() -> None:
    quick = {name for name in ELEMENTWISE for args, system in known_calls(name)
             if quick_numbers(name, system)(args) is not None}  # fmt: skip
    assert set(ELEMENTWISE) - quick == NOT_OF_NUMBERS
    assert {name for name in functions() if quick_call(name)([1.0] * 9) is not None} <= quick
    assert quick_call("NO_SUCH_FUNCTION")([1.0]) is None
    assert quick_call("BED_AREA")([1.0, [[2.0], [3.0]]]) is None
    # Excel hands over what is left out as nothing, `units` too
    without = quick_call("BED_AREA")([1.0, 2.0])
    assert without == quick_call("BED_AREA")([1.0, 2.0, None, None]) is not None
    assert quick_call("BED_AREA")([1.0, 2.0, None, [["us"]]]) is None
    assert set(SYSTEMS) == {"us", "metric"}
