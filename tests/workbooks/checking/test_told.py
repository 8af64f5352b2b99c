"""What a person reads of a check: what a purchase rests on first, each matter in one line."""

from __future__ import annotations

import pytest
from click.testing import CliRunner

from xlfuncs.command_line.commands import check
from xlfuncs.workbooks.checking import input_checks
from xlfuncs.workbooks.checking.told import told
from xlfuncs.workbooks.our_tables.findings import EXAMPLES_USED, Finding


def test_what_is_to_fill_in_comes_first_and_what_may_wait_last() -> None:
    plan = [Finding("note", "Plan", row, col, f"B{row}: {name} is blank")
            for row in (5, 6, 7) for col, name in ((3, "From"), (4, "To"))]  # fmt: skip
    lines = told([
        *plan,
        Finding("wrong", "Setup", 17, 2, "Volume caught is blank"),
        Finding("wrong", "Setup", 19, 2, "Static pressure is blank"),
        Finding("note", "Setup", 31, 2, "Latitude is blank"),
        Finding("wrong", "Quoting", 26, 3, "all: Quantity is blank", 28),
        Finding("doubtful", "Plan", 5, 5, "B5, beet: From and To: both are needed"),
        *(Finding("doubtful", "Beds", row, 37,
                  f"F: lateral_diameter: is nominal (for F in Beds!A{row})")
          for row in (5, 6)),
        Finding("doubtful", "Beds", 5, 9, "B5: all at one place: 9 beds; fill in the distance"),
        Finding("doubtful", "Prices", 8, 4, "punch: the price is old"),
        Finding("doubtful", "Prices", 11, 4, "stake: the price is old"),
        Finding("note", "Lines", 9, 1, "2 invented examples are in use: tape, tube"),
        Finding("note", "Lines", 1, 1, "5 invented examples are not used: tape, tube"),
        Finding("note", "Supply", 1, 1, "1 invented examples are not used: barn tap"),
    ])  # fmt: skip
    assert lines == [
        "Invented, in use, to be typed over:",
        "  Lines 2 (at A9): tape, tube",
        "To fill in:",
        "  Setup!B17, B19: Volume caught, Static pressure",
        "  Quoting!C26:C28: Quantity in 3 rows",
        "  Beds!I5: B5: all at one place: 9 beds; fill in the distance",
        "Doubtful:",
        "  Beds!AK5 and 1 more: Lateral diameter: is nominal",
        "  Prices!D8 and 1 more: the price is old",
        "Invented, not in use, may stay: Lines 5, Supply 1 (barn tap)",
        "May wait (weather, crops, upkeep): Plan, Setup",
    ]


def test_examples_of_a_workbook_from_another_are_only_counted() -> None:
    used = [Finding("note", sheet, 1, 1, f"2 invented examples are in use: {names}")
            for sheet, names in (("Lines", "tape, tube"), ("Supply", "tap, timer"))]  # fmt: skip
    used.append(Finding("note", "Lines", 1, 1, "5 invented examples are not used: tape"))
    wanted = ["Invented, in use: 2 on Lines (from A1), 2 on Supply (from A1)"]
    rows = [Finding("doubtful", "Beds", row, 16, f"B{row}: gets {row} min of valve 4")
            for row in (5, 6)]  # fmt: skip
    same = ["Doubtful:", "  Beds!P5 and 1 more: gets 5 min of valve 4"]
    assert told([*used, *rows], named=False) == [*wanted, *same]
    assert len(told(rows)) == 3  # each with its figures


def test_nothing_found_is_nothing_told() -> None:
    assert told([]) == []


def test_a_blank_of_a_bed_beside_a_list_ends_without_a_colon() -> None:
    finding = Finding("doubtful", "Beds", 11, 16, "Length (ft): is blank")
    assert told([finding])[1].endswith(": Length (ft)")


@pytest.mark.parametrize(
    ("kind", "words", "ready"),
    [("note", "Timer: not filled in", True), ("note", "Rain is blank", True),
     ("note", f"3{EXAMPLES_USED}tap", False), ("doubtful", "the price is old", False)],
)  # fmt: skip
def test_check_says_ready_where_nothing_is_left_that_a_plan_rests_on(
    monkeypatch: pytest.MonkeyPatch, kind: str, words: str, ready: bool
) -> None:
    monkeypatch.setattr(input_checks, "check", lambda file: [Finding(kind, "Timer", 8, 2, words)])
    done = CliRunner().invoke(check.command, ["farm.xlsx"])
    assert done.exit_code == 0
    told_ready = "farm.xlsx is ready: nothing is missing, wrong or doubtful." in done.output
    assert told_ready == ready, done.output
