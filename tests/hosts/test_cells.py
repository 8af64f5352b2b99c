"""Cells in, cells out: section by section what a spreadsheet passes and gets.

The expected numbers are plain arithmetic of 231 cubic inches to the gallon (NIST Handbook 44).
"""

from __future__ import annotations

import datetime as dt
import math
from decimal import Decimal
from itertools import chain
from typing import Any

import numpy as np
import pytest

from xlfuncs.catalogue.registry import functions
from xlfuncs.errors import CellError
from xlfuncs.hosts import cells
from xlfuncs.hosts.cells import Cells, call_from_cells, worksheet_callables
from xlfuncs.hosts.memory import Memory

INCH_ON_600 = 600 * 144 / 231  # gallons

ROLL = [["Roll length", "Price"], [40.0, 9.0]]
OUTCOMES = [
    ((600.0, 1.0, 6.0), INCH_ON_600 / 6),
    ((600, 1, 6), INCH_ON_600 / 6),
    ((Decimal(600), 1.0, 6.0), INCH_ON_600 / 6),
    (("600", 1.0, "6 gpm"), INCH_ON_600 / 6),  # a number stored as text; text with a unit
    ((600.0, 1.0, "360 gph"), INCH_ON_600 / 6),
    (([[600.0]], 1.0, 6.0), INCH_ON_600 / 6),  # a range of one cell
    ((600.0, 1.0, 6.0, None, None, None), INCH_ON_600 / 6),  # optional blanks take defaults
    ((600.0, 1.0, 6.0, 2.0), INCH_ON_600 / 12),
    ((100.0, 10.0, 5.0, 1, 1, "metric"), 200.0),  # 1000 L at 5 L/min
    ((600.0, 1.0, 0.0), CellError.DIVISION),
    ((600.0, 1.0, None), ""),
    ((600.0, 1.0, "  "), ""),
    ((600.0, 1.0, -6.0), CellError.NUMBER),
    ((600.0, 1.0, "soon"), CellError.VALUE),
    ((600.0, 1.0, "6 psi"), CellError.VALUE),
    ((600.0, 1.0, True), CellError.VALUE),
    ((600.0, 1.0, dt.datetime(2026, 1, 2)), CellError.VALUE),
    ((600.0, 1.0, math.inf), CellError.NUMBER),
    ((600.0, 1.0, CellError.REFERENCE), CellError.REFERENCE),  # error in, same error out
    ((None, 1.0, CellError.NOT_AVAILABLE), CellError.NOT_AVAILABLE),  # an error outranks a blank
    ((600.0, 1.0, 6.0, 1, 2.0), CellError.NUMBER),  # efficiency over 1
    ((600.0, 1.0, 6.0, 1, 1, "imperial"), CellError.VALUE),
    ((600.0, 1.0, 6.0, 1, 1, "us", 7), CellError.VALUE),  # one argument too many
]


@pytest.mark.parametrize(("args", "outcome"), OUTCOMES)
def test_one_cell(args: tuple[Any, ...], outcome: Any) -> None:
    result = call_from_cells("RUN_MINUTES", args)
    assert result == (pytest.approx(outcome, rel=1e-12) if isinstance(outcome, float) else outcome)


@pytest.mark.parametrize(("args", "outcome"), OUTCOMES)
def test_input_check_says_why(args: tuple[Any, ...], outcome: Any) -> None:
    words = call_from_cells("INPUT_CHECK", ("RUN_MINUTES", *args))
    if isinstance(outcome, CellError):
        assert words not in ("ok", "") and ":" in words
    elif outcome == "":
        assert words == "RUN_MINUTES: nothing computed, flow is blank"
    else:
        assert words == "ok"


def test_a_bad_row_is_alone() -> None:
    column = [[600.0], [None], ["x"], [-1.0], [CellError.NAME], ["1 acre"], [True]]
    rows = call_from_cells("RUN_MINUTES", (column, 1.0, 6.0))
    assert [r[0] for r in rows[1:5]] == ["", CellError.VALUE, CellError.NUMBER, CellError.NAME]
    assert rows[0][0] == pytest.approx(INCH_ON_600 / 6)
    assert rows[5][0] == pytest.approx(43560 * 144 / 231 / 6)
    assert rows[6][0] is CellError.VALUE
    words = call_from_cells("INPUT_CHECK", ("RUN_MINUTES", column, 1.0, 6.0))
    assert len(words) == 7 and "'x'" in words[2][0] and "must be at least 0 ft²" in words[3][0]


def test_input_check_lies_as_the_cells_do() -> None:
    """A row spills to the right and a block as one, as the function that is checked does."""
    row = call_from_cells("INPUT_CHECK", ("BED_AREA", [[10.0, 20.0, -1.0]], 30.0))
    assert row[0][:2] == ["ok", "ok"] and len(row) == 1 and "at least 0 ft" in row[0][2]
    block = call_from_cells("INPUT_CHECK", ("BED_AREA", [[10.0], [20.0]], [[30.0, -2.0]]))
    assert [len(words) for words in block] == [2, 2] and "width" in block[1][1]


def test_column_with_row_broadcasts() -> None:
    column, row = [[100.0], [200.0]], [[1.0, 2.0, 3.0]]
    rows = call_from_cells("VOLUME_FROM_DEPTH", (column, row))
    assert np.shape(rows) == (2, 3)
    assert rows[1][2] == pytest.approx(200 * 3 * 144 / 231)


def test_ranges_of_different_size_are_an_error_in_words() -> None:
    args = ([[1.0], [2.0]], [[1.0], [2.0], [3.0]])
    assert call_from_cells("VOLUME_FROM_DEPTH", args) is CellError.VALUE
    words = call_from_cells("INPUT_CHECK", ("VOLUME_FROM_DEPTH", *args))
    assert "differ in size (area 2x1, depth 3x1)" in words


def test_a_number_that_makes_sense_in_another_unit_gets_a_hint() -> None:
    words = call_from_cells("INPUT_CHECK", ("RUN_MINUTES", 600, 1, 6, 1, 85))
    assert "must be at most 1" in words and "write 0.85" in words


def test_nominal_pipe_sizes_draw_a_doubt() -> None:
    assert "pipe table" in call_from_cells("INPUT_CHECK", ("FLOW_VELOCITY", 5, "3/4 in"))
    assert call_from_cells("INPUT_CHECK", ("FLOW_VELOCITY", 5, 0.824)) == "ok"


def test_very_short_and_long_runs_draw_a_doubt() -> None:
    assert "gph" in call_from_cells("INPUT_CHECK", ("RUN_MINUTES", 100, 0.1, 36))
    assert "12 hours" in call_from_cells("INPUT_CHECK", ("RUN_MINUTES", 4000, 1, 0.75))


SAMPLES: list[Any] = [
    1.0, 0.0, -1.0, 1e12, None, "", "x", "3 ft", "2 gpm", "85%", True, False, math.inf, math.nan,
    CellError.VALUE, CellError.NOT_AVAILABLE, dt.datetime(2026, 5, 1), Decimal("2.5"),
    [[1.0], [2.0]], [[1.0, None], ["x", 2.0]], [[CellError.NULL]], [[]], [],
]  # fmt: skip


@pytest.mark.parametrize("name", list(functions()))
def test_nothing_is_ever_raised_and_the_words_agree(name: str) -> None:
    """INPUT_CHECK and the outcome are held together for every function and odd value."""
    call = worksheet_callables()[name]
    count = len(functions()[name].args)
    for sample in SAMPLES:
        for place in range(count):
            args = [1.0] * count
            args[place] = sample
            args[-1] = "us" if place != count - 1 else sample
            outcome = call(args)
            words = call_from_cells("INPUT_CHECK", (name, *args))
            _agree(outcome, words, (name, args))


def _agree(outcome: Any, words: Any, where: object) -> None:
    if isinstance(outcome, list) and isinstance(words, list):
        for o, w in zip(chain(*outcome), chain(*words), strict=True):
            _agree(o, w, where)
        return
    if isinstance(words, list) or name_of(where) == "INPUT_CHECK":
        return
    good = words == "ok" or "doubtful" in words
    if isinstance(outcome, CellError):
        assert not good, (where, outcome, words)
    elif outcome == "":
        assert "nothing computed" in words or good, (where, words)
    else:
        assert good, (where, outcome, words)


def name_of(where: Any) -> str:
    return str(where[0])


def test_answers_on_the_whole_are_kept_by_their_arguments_alone() -> None:
    """Equal numbers of different kinds (1 and TRUE) must not share an answer."""
    for _ in range(2):
        assert call_from_cells("INPUT_CHECK", ("BED_AREA", 1.0, 12.0, 1.0)) == "ok"
        assert "TRUE" in call_from_cells("INPUT_CHECK", ("BED_AREA", True, 12.0, 1.0))


@pytest.mark.parametrize(
    "extra",
    [7.5, None, "text", CellError.NOT_AVAILABLE, dt.date(2026, 3, 1), dt.datetime(2026, 3, 1, 6)],
)
@pytest.mark.parametrize("piece", [10.0, -10.0])  # an answer, and a refusal
def test_an_answer_on_the_whole_is_computed_once(
    extra: Any, piece: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Errors and dates among the arguments do not keep an answer from being kept."""
    computed = []
    compute = cells.call_in_full

    def counted(*given: Any) -> Any:
        computed.append(given)
        return compute(*given)

    monkeypatch.setattr(cells, "call_in_full", counted)
    call_from_cells = Cells().call
    args = [[["Length", "Pieces"], [piece, 1.0], [extra, 1.0]], ROLL]
    first, second = (call_from_cells("CUT_LIST", args) for _ in range(2))
    assert first == second
    assert len(computed) == 1


def test_a_function_and_its_check_compute_once(monkeypatch: pytest.MonkeyPatch) -> None:
    computed = []
    compute = cells.call_in_full

    def counted(function: Any, *given: Any) -> Any:
        computed.append(function.name)
        return compute(function, *given)

    monkeypatch.setattr(cells, "call_in_full", counted)
    call_from_cells = Cells().call
    args = [[["Length", "Pieces"], [10.0, 1.0], [20.0, 1.0]], ROLL]
    assert call_from_cells("INPUT_CHECK", ["CUT_LIST", *args]) == "ok"
    assert len(call_from_cells("CUT_LIST", args)) == 2
    assert computed == ["CUT_LIST"]
    args[0] = [["Length", "Pieces"], [10.0, 1.0], [-20.0, 1.0]]
    assert "pieces: Length (row 2)" in call_from_cells("INPUT_CHECK", ["CUT_LIST", *args])


def test_answers_that_take_too_much_room_are_given_up() -> None:
    ours = Cells()
    ours.answers = Memory(2_000)
    for width in range(1, 100):
        ours.call("INPUT_CHECK", ("BED_AREA", 1.0, float(width), 1.0))
    assert 1 < len(ours.answers) < 50
    assert ours.call("INPUT_CHECK", ("BED_AREA", 1.0, 1.0, 1.0)) == "ok"


def test_rows_named_by_a_result_are_those_that_were_passed() -> None:
    """A blank row between two pieces does not shift the number of the second."""
    pieces = [["Length", "Pieces"], [10.0, 1.0], ["", ""], [20.0, 1.0]]
    rows = call_from_cells("CUT_LIST", (pieces, ROLL))
    assert {(row[2], row[4]) for row in rows} == {(1.0, 10.0), (3.0, 20.0)}


def test_a_long_range_that_calc_asks_again_is_computed_once() -> None:
    ours = Cells()
    lengths = tuple((20.0 + row,) for row in range(cells.LONG))
    first, second = (ours.call("LATERAL_FLOW", (tuple(lengths), 8.0, 0.25)) for _ in range(2))
    assert second is first
    other = ours.call("LATERAL_FLOW", (((32.0,), *lengths[1:]), 8.0, 0.25))
    assert other[0] == [12.0]  # 32 ft of one 0.25 gal/h emitter each 8 in: 48 of them
    assert other[1:] == first[1:]
