"""Days on two bills, on none, and covered: counted by hand on the calendar."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from xlfuncs.calculations.money.bill_periods import (
    bills_by_meter,
    covered_days,
    in_words,
    missing_days,
    shared_days,
)  # fmt: skip

Row = tuple[str, str, str, float]  # meter, reading before, date, quantity


def meters(*rows: Row, references: str = "") -> dict:
    names, starts, ends, quantities = zip(*rows, strict=True)
    return bills_by_meter(
        np.array(ends, dtype="datetime64[D]"), np.array(starts, dtype="datetime64[D]"),
        ["water"] * len(rows), names, np.array(quantities),
        list(references) or [""] * len(rows), np.ones(len(rows), dtype=bool),
    )  # fmt: skip


def test_days_on_two_bills_and_on_none() -> None:
    bills = meters(
        ("A", "2023-12-31", "2024-02-29", 9), ("A", "2024-02-29", "2024-04-30", 14),
        ("A", "2024-02-29", "2024-05-31", 12), ("A", "2024-06-30", "2024-08-31", 3),
    )["water", "a"]  # fmt: skip
    assert [in_words(s.days) for s in shared_days(bills)] == ["61 days, 2024-03-01 to 2024-04-30"]
    assert [in_words(d) for _, d in missing_days(bills)] == ["30 days, 2024-06-01 to 2024-06-30"]


def test_what_was_taken_back_is_no_bill_and_two_tiers_are_one() -> None:
    bills = meters(
        ("", "2024-02-29", "2024-04-30", 14), ("", "2024-02-29", "2024-04-30", -14),
        ("", "2024-02-29", "2024-04-30", 10), ("", "2024-02-29", "2024-04-30", 2.2),
        references="abcc",
    )["water", ""]  # fmt: skip
    assert [(bill.reference, bill.quantity) for bill in bills] == [("c", 12.2)]


def test_a_meter_that_took_anothers_place_is_no_gap_and_a_second_one_must_be_billed_too() -> None:
    day = np.datetime64("2024-01-01").astype(int)
    changed = meters(("A", "2023-12-31", "2024-06-15", 9), ("B", "2024-06-15", "2024-12-31", 9))
    assert covered_days(changed) == {"water": [(day, day + 366)]}
    two = meters(("A", "2023-12-31", "2024-12-31", 9), ("B", "2024-01-31", "2024-06-30", 9))
    assert covered_days(two) == {"water": [(day, day + 182)]}


@pytest.mark.parametrize(
    ("read", "days"),
    [("2024-06-14", 366), ("2024-06-15", 366), ("2024-06-16", 366), ("2024-06-17", 167),
     ("2024-06-13", 167)],
)  # fmt: skip
def test_a_meter_read_first_within_a_day_of_the_others_last_took_its_place(read, days) -> None:
    """From 1 January to 15 June are 31 + 29 + 31 + 30 + 31 + 15 days."""
    first = np.datetime64("2024-01-01").astype(int)
    two = meters(("A", "2023-12-31", "2024-06-15", 9), ("B", read, "2024-12-31", 9))
    assert covered_days(two) == {"water": [(first, first + days)]}


@given(st.lists(st.tuples(st.integers(0, 60), st.integers(1, 40)), min_size=1, max_size=12))
def test_missing_and_covered_days_are_those_of_a_calendar(periods: list[tuple[int, int]]) -> None:
    start = np.datetime64("2024-01-01")
    rows = [("", str(start + a), str(start + a + n), 1.0) for a, n in periods]
    by_meter = meters(*rows, references="abcdefghijkl"[: len(rows)])
    on_a_bill = {a + 1 + i for a, n in periods for i in range(n)}
    zero = start.astype(int)
    covered = {d - zero for a, b in covered_days(by_meter)["water"] for d in range(a, b)}
    assert covered == on_a_bill
    missing = {d - zero for _, (a, b) in missing_days(by_meter["water", ""]) for d in range(a, b)}
    assert missing == set(range(min(on_a_bill), max(on_a_bill))) - on_a_bill
