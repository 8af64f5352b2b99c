"""Fiscal years, and the same part of two of them.

A fiscal year is named by the calendar year in which it ends. Spans of days are half open: from
the first day to the day after the last.
"""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import numpy.typing as npt

Days = npt.NDArray[np.datetime64]
Span = tuple[date, date]


def fiscal_years(days: Days, first_month: int) -> npt.NDArray[np.int64]:
    """The fiscal year of each day, where years begin on the first of `first_month`."""
    months = days.astype("datetime64[M]").astype(np.int64)  # since January 1970
    return 1970 + (months + (13 - first_month) % 12) // 12


def year_span(year: int, first_month: int) -> Span:
    """First day of a fiscal year, and of the next."""
    start = date(year if first_month == 1 else year - 1, first_month, 1)
    return start, start.replace(year=start.year + 1)


def same_part(year: int, first_month: int, known: Span) -> tuple[Span, Span]:
    """The part of a year, and of the year before, that is known in both."""
    this, before = year_span(year, first_month), year_span(year - 1, first_month)
    start = max(this[0], known[0], _years_later(max(before[0], known[0])))
    end = min(this[1], known[1], _years_later(min(before[1], known[1])))
    end = max(start, end)
    return (start, end), (_years_later(start, -1), _years_later(end, -1))


def _years_later(day: date, years: int = 1) -> date:
    try:
        return day.replace(year=day.year + years)
    except ValueError:  # 29 February
        return day.replace(year=day.year + years, day=28) + timedelta(days=1)
