"""Nothing wrong passes as ready: each planted fault is said in the same words everywhere."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from openpyxl import load_workbook

from tests.made_once import made_once
from tests.workbook_template.kept_open import KeptOpen
from tests.workbook_template.planted_faults import (
    ALL,
    BATCHES,
    KINDS,
    SYSTEMS,
    Fault,
    behind,
    one_at_a_time,
    planted,
    read,
    rows_of,
    typed,
    unsaid,
)
from workbook_template.build import Built, build, demo_inputs, starting_inputs
from workbook_template.print_findings import BEARING, FIRST_LINES
from workbook_template.print_sets import pages_of
from xlfuncs.workbooks.checking.input_checks import check
from xlfuncs.workbooks.checking.told import waits
from xlfuncs.workbooks.our_tables.findings import Finding

PICTURE = Path(__file__).parents[2] / "examples" / "pictures" / "map.png"
# What is planted in the example: a length, a price, and a set more than the timer has stations.
PLANTED = ("South 4: Length:", "the price is old", "Sets without a station in the timer")


def says(fault: Fault, found: list[tuple[str, str, str]]) -> list[str]:
    return [words for kind, sheet, words in found
            if kind == fault.kind and sheet == fault.sheet and fault.words in words]  # fmt: skip


def test_there_are_enough_faults() -> None:
    assert sum(len(batch) for batch in BATCHES) >= 60


@pytest.mark.parametrize("system", SYSTEMS)
def test_each_fault_alone_is_said_everywhere(tmp_path, system: str) -> None:
    """In the embedded engine; in Calc: tests/hosts/libreoffice/test_planted_in_calc.py."""
    path = tmp_path / "farm.xlsx"
    built = made_once(path, system, demo_inputs(system))
    workbook, silent = KeptOpen(path), []
    for fault in one_at_a_time(system, every=8):
        workbook.type(typed(built, fault))
        shown = {sheet: workbook.shown(sheet, *area) for sheet, area in read(built).items()}
        silent += [(fault.sheet, fault.words, where) for where in unsaid(built, fault, shown)]
    assert silent == []


# Every other one, in turns of both systems; XLFUNCS_FAULTS=1 for all of them in both.
CHOSEN = [(system, number) for number in range(len(BATCHES)) for system in SYSTEMS
          if ALL or number % 4 == 2 * SYSTEMS.index(system)]  # fmt: skip


@pytest.mark.parametrize(("system", "number"), CHOSEN)
def test_a_fault_is_said_by_the_command_too(tmp_path, system: str, number: int) -> None:
    faults, path = BATCHES[number], tmp_path / "farm.xlsx"
    built = build(path, system, planted(demo_inputs(system), faults))
    # Every other one as the command does, from the file alone; the others by what was computed.
    found, printed = behind(built.values), check(path, None if number % 8 < 4 else built.values)
    by_command = [(f.kind, f.sheet, f.words) for f in printed]
    paper = {name: _on_paper(name, built, system) for name in ("file", "shop", "field")}
    states = {cell: value for cell, value in built.values["Start"].items() if cell[1] == 4}
    for fault in faults:
        words = says(fault, found)
        assert words, (fault, [w for w in found if w[1] == fault.sheet])
        assert set(words) <= set(says(fault, by_command)), fault
        for said in words:
            may_wait = waits(Finding(fault.kind, fault.sheet, 1, 1, said))
            assert (said in paper["file"]) != may_wait, said
            for name in ("shop", "field"):
                if fault.kind == "wrong" and not may_wait:
                    _opens_with(fault.sheet, said, name, paper[name])
    shown = rows_of(built.values, 2, 3, 4)
    assert shown == [row for row in shown if row in found]
    assert [kind for kind, *_ in shown] == sorted((k for k, *_ in shown), key=KINDS.index)
    assert states
    unfit = [
        f.words.removesuffix(" for") for f in faults if f.sheet == "Timer" and "fit" in f.words
    ]
    assert all(words in built.named("timer_state") for words in unfit)
    _start_counts(built, found)
    _beds_say_it(built, found)


def _opens_with(sheet: str, said: str, name: str, shown: set[Any]) -> None:
    """The first lines of a set of pages say what bears on it, what is blank by its header."""
    lines = [str(w) for w in shown if str(w).startswith(("Wrong: ", "To fill in: "))]
    own = [line for line in lines if f"{sheet}!" in line or f"{sheet}'!" in line]
    words = said.rpartition(": ")[2].removesuffix(" is blank") if said.endswith("blank") else said
    apart = words.partition(": ")[2] or words
    assert len(lines) <= FIRST_LINES + 1
    if sheet not in BEARING[name]:
        assert not own
    elif len(lines) <= FIRST_LINES:
        assert any(apart in line for line in own), (name, said)


def _on_paper(name: str, built: Built, system: str) -> set[Any]:
    """All that stands on a set of printed pages."""
    pages = pages_of(name, built, system, "letter", lambda: PICTURE)[0]
    sheets = load_workbook(BytesIO(pages), read_only=True)
    return {value for sheet in sheets for row in sheet.iter_rows(values_only=True) for value in row}


def _start_counts(built: Built, found: list[tuple[str, str, str]]) -> None:
    """No sheet of which something wrong or doubtful is said is ready on Start."""
    names = {sheet for kind, sheet, _ in found if kind != "note"}
    states = {row: value for (row, col), value in built.values["Start"].items() if col == 10}
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
    built = made_once(tmp_path / "farm.xlsx", system, demo_inputs(system))
    assert [kind for kind, *_ in behind(built.values)] == ["wrong", "doubtful", "note"]
    for (_, _, words), begins in zip(behind(built.values), PLANTED, strict=True):
        assert begins in words


@pytest.mark.parametrize("system", SYSTEMS)
def test_a_new_workbook_is_never_ready_over_examples(tmp_path, system: str) -> None:
    path = tmp_path / "new.xlsx"
    built = made_once(path, system, starting_inputs(system))
    states = {row: value for (row, col), value in built.values["Start"].items() if col == 4}
    examples = {row: value for (row, col), value in built.values["Start"].items() if col == 6}
    assert sum(value > 0 for value in examples.values()) >= 6
    for row, count in examples.items():
        assert count == 0 or f"{count:g} of the example" in states[row]
