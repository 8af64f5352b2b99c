"""Fiscal years, spans of days, and the same days of two years.

A fiscal year is named by the calendar year in which it ends. Spans of days are half open: from
the first day to the day after the last.
"""

from collections.abc import Iterable, Sequence
from datetime import date, timedelta

import numpy as np
import numpy.typing as npt

Days = npt.NDArray[np.datetime64]
Span = tuple[date, date]
DaySpan = tuple[int, int]  # days since 1970
_1970 = date(1970, 1, 1).toordinal()


def fiscal_years(days: Days, first_month: int) -> npt.NDArray[np.int64]:
    """The fiscal year of each day, where years begin on the first of `first_month`."""
    months = days.astype("datetime64[M]").astype(np.int64)  # since January 1970
    return 1970 + (months + (13 - first_month) % 12) // 12


def year_span(year: int, first_month: int) -> Span:
    """First day of a fiscal year, and of the next."""
    start = date(year if first_month == 1 else year - 1, first_month, 1)
    return start, start.replace(year=start.year + 1)


def day_span(span: Span) -> DaySpan:
    """The same in days since 1970, as numpy counts them."""
    first, after = (day.toordinal() - _1970 for day in span)
    return first, after


def same_days(
    year: int, first_month: int, known: Sequence[DaySpan]
) -> tuple[list[DaySpan], list[DaySpan]]:
    """The days of a year, and of the year before, that are known in both."""
    this, before = (common([day_span(year_span(y, first_month))], known) for y in (year, year - 1))
    same = common(this, [moved(span, 1) for span in before])
    return same, [moved(span, -1) for span in same]


def united(spans: Iterable[DaySpan]) -> list[DaySpan]:
    """The same days as spans that neither meet nor overlap, in order."""
    found: list[DaySpan] = []
    for first, after in sorted(spans):
        if found and first <= found[-1][1]:
            found[-1] = found[-1][0], max(found[-1][1], after)
        else:
            found.append((first, after))
    return found


def common(one: Iterable[DaySpan], other: Sequence[DaySpan]) -> list[DaySpan]:
    """The days that are in both."""
    both = ((max(a, c), min(b, d)) for a, b in one for c, d in other)
    return united((first, after) for first, after in both if first < after)


def moved(span: DaySpan, years: int) -> DaySpan:
    """The same days of another year."""
    first, after = (_years_later(date.fromordinal(day + _1970), years) for day in span)
    return day_span((first, after))


def _years_later(day: date, years: int) -> date:
    try:
        return day.replace(year=day.year + years)
    except ValueError:  # 29 February
        return day.replace(year=day.year + years, day=28) + timedelta(days=1)
