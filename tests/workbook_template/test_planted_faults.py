"""Nothing wrong passes as ready: each planted fault is said in the same words everywhere."""

from __future__ import annotations

import pytest

from tests.workbook_template.planted_faults import BATCHES, Fault, planted
from workbook_template.build import Built, build, demo_inputs, starting_inputs
from xlfuncs.workbooks.checking.input_checks import check

SYSTEMS = ("us", "metric")
# What is planted in the example: a length, a price, and a set more than the timer has stations.
PLANTED = ("South 4: Length:", "the price is old", "Sets without a station in the timer")


def listed(built: Built) -> list[tuple[str, str, str]]:
    """The rows of the list on Checks: kind, sheet and words."""
    cells = built.values["Checks"]
    rows = [
        (cells.get((row, 2)), cells.get((row, 3)), cells.get((row, 4))) for row in range(1, 400)
    ]
    return [(kind, place.split(", ")[0], words) for kind, place, words in rows
            if kind in ("wrong", "doubtful", "note")]  # fmt: skip


def behind(built: Built) -> list[tuple[str, str, str]]:
    """All that is found, more than the list has room for."""
    cells = built.values["Checks"]
    rows = {row for row, column in cells if column == 6}
    found = [(cells.get((row, 6)), cells.get((row, 10)), cells.get((row, 7))) for row in rows]
    return [(kind, sheet, words) for kind, sheet, words in found if kind]


def says(fault: Fault, found: list[tuple[str, str, str]]) -> list[str]:
    return [words for kind, sheet, words in found
            if kind == fault.kind and sheet == fault.sheet and fault.words in words]  # fmt: skip


def test_there_are_enough_faults() -> None:
    assert sum(len(batch) for batch in BATCHES) >= 60


@pytest.mark.parametrize("system", SYSTEMS)
@pytest.mark.parametrize("number", range(len(BATCHES)))
def test_a_fault_is_said_everywhere(tmp_path, system: str, number: int) -> None:
    faults = BATCHES[number]
    path = tmp_path / "farm.xlsx"
    built = build(path, system, planted(demo_inputs(system), faults))
    found, printed = behind(built), check(path)
    by_command = [(f.kind, f.sheet, f.words) for f in printed]
    states = {cell: value for cell, value in built.values["Start"].items() if cell[1] == 4}
    for fault in faults:
        words = says(fault, found)
        assert words, (fault, [w for w in found if w[1] == fault.sheet])
        assert set(words) <= set(says(fault, by_command)), fault
    shown = listed(built)
    assert shown == [row for row in shown if row in found]
    assert [kind for kind, *_ in shown] == sorted((k for k, *_ in shown), key=KINDS.index)
    assert states
    _start_counts(built, found)
    _beds_say_it(built, found)


KINDS = ("wrong", "doubtful", "note")


def _start_counts(built: Built, found: list[tuple[str, str, str]]) -> None:
    """No sheet of which something wrong or doubtful is said is ready on Start."""
    names = {sheet for kind, sheet, _ in found if kind != "note"}
    states = {row: value for (row, col), value in built.values["Start"].items() if col == 9}
    counts = {row: [built.values["Start"].get((row, col)) for col in (5, 7, 8)] for row in states}
    said = sum(sum(numbers) > 0 for numbers in counts.values())
    assert said >= min(len(names), 1)
    for row, words in states.items():
        assert (words == "ready, ") <= (sum(counts[row]) == 0)


def _beds_say_it(built: Built, found: list[tuple[str, str, str]]) -> None:
    """The Check column of a bed has the words of the list."""
    words = {w for _, sheet, w in found if sheet == "Beds"}
    for row in built.rows("Beds"):
        if row["bed"]:
            assert row["check"] == "ok" or row["check"] in words or any(
                w.endswith(row["check"]) for w in words
            )  # fmt: skip


@pytest.mark.parametrize("system", SYSTEMS)
def test_the_untouched_example_has_only_what_was_planted_wrong(tmp_path, system: str) -> None:
    built = build(tmp_path / "farm.xlsx", system, demo_inputs(system))
    assert [kind for kind, *_ in behind(built)] == ["wrong", "doubtful", "note"]
    for (_, _, words), begins in zip(behind(built), PLANTED, strict=True):
        assert begins in words


@pytest.mark.parametrize("system", SYSTEMS)
def test_a_new_workbook_is_never_ready_over_examples(tmp_path, system: str) -> None:
    path = tmp_path / "new.xlsx"
    built = build(path, system, starting_inputs(system))
    states = {row: value for (row, col), value in built.values["Start"].items() if col == 4}
    examples = {row: value for (row, col), value in built.values["Start"].items() if col == 6}
    assert sum(value > 0 for value in examples.values()) >= 6
    for row, count in examples.items():
        assert count == 0 or f"{count:g} examples still there" in states[row]
