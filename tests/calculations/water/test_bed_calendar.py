"""Days in use against counting the days one by one with the standard library's calendar."""

from __future__ import annotations

import calendar
import datetime as dt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from xlfuncs.calculations.water.bed_calendar import days_in_use, month_of
from xlfuncs.errors import InputError

BEDS = ("North 1", "North 2", "Tunnel")
days = st.dates(dt.date(2025, 10, 1), dt.date(2027, 3, 31))
periods = st.tuples(st.sampled_from(BEDS), days, st.integers(0, 200))


def _days(values: list[dt.date]) -> np.ndarray:
    return np.array(values, dtype="datetime64[D]")


@settings(deadline=None)
@given(st.lists(periods, max_size=8), days, st.lists(st.booleans(), min_size=3, max_size=3))
def test_days_are_those_that_one_counts(
    plan: list[tuple[str, dt.date, int]], day: dt.date, on: list[bool]
) -> None:
    ends = [start + dt.timedelta(days=length) for _, start, length in plan]
    first, last = month_of(np.datetime64(day, "D"))
    got = days_in_use(
        BEDS, np.array(on), [b for b, _, _ in plan], _days([s for _, s, _ in plan]), _days(ends),
        first, last,
    )  # fmt: skip
    in_month = [
        dt.date(day.year, day.month, d)
        for d in range(1, calendar.monthrange(day.year, day.month)[1] + 1)
    ]
    for i, bed in enumerate(BEDS):
        wanted = sum(
            any(b == bed and s <= d <= e for (b, s, _), e in zip(plan, ends, strict=True))
            for d in in_month
        )
        assert got[i] == (wanted if on[i] else 0)


def test_names_of_beds_are_compared_without_case() -> None:
    first, last = month_of(np.datetime64("2026-06-09"))
    got = days_in_use(
        BEDS, np.ones(3, bool), ["TUNNEL"], _days([dt.date(2026, 1, 1)]),
        _days([dt.date(2026, 12, 31)]), first, last,
    )  # fmt: skip
    assert got.tolist() == [0, 0, 30]


@pytest.mark.parametrize(
    ("bed", "end", "words"),
    [("South", "2026-07-01", "not in the bed list"), ("Tunnel", "2026-05-01", "before the start")],
)
def test_a_faulty_plan_is_refused_with_its_row(bed: str, end: str, words: str) -> None:
    first, last = month_of(np.datetime64("2026-06-09"))
    with pytest.raises(InputError, match=words) as caught:
        days_in_use(
            BEDS, np.ones(3, bool), ["Tunnel", bed], _days([dt.date(2026, 6, 1)] * 2),
            np.array(["2026-06-02", end], dtype="datetime64[D]"), first, last,
        )  # fmt: skip
    assert caught.value.row == 1
