"""Bills by meter over days: which days are on two bills, which on none, which are covered.

A bill is all lines of one kind, meter, period and reference. Bills that were taken back are none.
Dates are counted as numpy does; spans are half open, from the first day to the day after the last.
A fiscal year is named by the calendar year in which it ends.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise, permutations
from statistics import median
from typing import NamedTuple

import numpy as np

from xlfuncs.calculations.arrays import Dates, Flags, Floats, Integers

Span = tuple[date, date]
DaySpan = tuple[int, int]  # days since 1970
_1970 = date(1970, 1, 1).toordinal()


def fiscal_years(days: Dates, first_month: int) -> Integers:
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


LONGER = 1.25  # than usual a bill may well be
GIVEN_UP = 400  # days without a bill after which a meter is taken to be no more


@dataclass
class Bill:
    """Its lines by their rows, and the days that it is for."""

    rows: list[int]
    first: int
    after: int
    reference: str
    quantity: float = 0.0
    corrected: bool = False  # by a line that takes something back


class Shared(NamedTuple):
    """Dates that two bills of a meter are both for."""

    one: Bill
    other: Bill
    days: DaySpan


Meters = dict[tuple[str, str], list[Bill]]


def bills_by_meter(
    dates: Dates, period_starts: Dates, kinds: Sequence[str], meters: Sequence[str],
    quantities: Floats, references: Sequence[str], counted: Flags
) -> Meters:  # fmt: skip
    """The bills of each kind and meter in order of their days; `period_starts` as in Entries."""
    grouped: dict[tuple[str, str, int, int, str], Bill] = {}
    days = dates.astype("datetime64[D]").astype(np.int64)
    starts = period_starts.astype("datetime64[D]").astype(np.int64)
    measured = counted & ~np.isnat(period_starts) & ~np.isnat(dates) & ~np.isnan(quantities)
    for row in np.flatnonzero(measured & (starts < days)).tolist():
        kind, meter = kinds[row].strip().lower(), meters[row].strip().lower()
        reference = references[row].strip().lower()
        first, after = int(starts[row]) + 1, int(days[row]) + 1
        key = kind, meter, first, after, reference
        bill = grouped.setdefault(key, Bill([], first, after, reference))
        bill.rows.append(row)
        bill.quantity += float(quantities[row])
        bill.corrected |= bool(quantities[row] < 0)
    found: Meters = {}
    for (kind, meter, *_), bill in grouped.items():
        found.setdefault((kind, meter), []).append(bill)
    return {key: _standing(bills) for key, bills in found.items()}


def _standing(bills: list[Bill]) -> list[Bill]:
    """Without those that were taken back, in order of their days."""
    standing = [bill for bill in bills if bill.quantity >= -1e-9]
    for back in (bill for bill in bills if bill.quantity < -1e-9):
        same = [b for b in standing if (b.first, b.after) == (back.first, back.after)
                and abs(b.quantity + back.quantity) < 1e-6]  # fmt: skip
        if same:
            standing.remove(same[0])
    return sorted(
        (b for b in standing if b.quantity > 1e-9 or not b.corrected),
        key=lambda b: (b.first, b.after),
    )


def shared_days(bills: Iterable[Bill]) -> Iterator[Shared]:
    """Each bill that begins before the one that has reached furthest is over, with that one."""
    reach: Bill | None = None
    for bill in bills:
        if reach and bill.first < reach.after:
            yield Shared(reach, bill, (bill.first, min(bill.after, reach.after)))
        if reach is None or bill.after > reach.after:
            reach = bill


def missing_days(bills: Sequence[Bill]) -> Iterator[tuple[Bill, DaySpan]]:
    """Dates between two bills that are on none, with the bill that comes after them."""
    covered = united([(bill.first, bill.after) for bill in bills])
    for (_, end), (start, _) in pairwise(covered):
        yield next(bill for bill in bills if bill.first == start), (end, start)


def covered_days(by_meter: Mapping[tuple[str, str], Sequence[Bill]]) -> dict[str, list[DaySpan]]:
    """Of each kind the days on which every meter that was there is on a bill.

    A meter whose first bill follows another's last took its place. One without a bill for more
    than `GIVEN_UP` days, while others go on, is taken to be given up.
    """
    found: dict[str, list[DaySpan]] = {}
    for kind in {kind for kind, _ in by_meter}:
        chains: list[list[DaySpan]] = []
        spans = [united((b.first, b.after) for b in bills)
                 for (of, _), bills in by_meter.items() if of == kind and bills]  # fmt: skip
        for days in sorted(spans):
            old = next((c for c in chains if abs(c[-1][1] - days[0][0]) <= 1), None)
            if old is None:
                chains.append(days)
            else:
                old[:] = united([*old, (old[-1][1], days[0][1]), *days])
        if not chains:
            continue
        start, end = min(c[0][0] for c in chains), max(c[-1][1] for c in chains)
        covered = [(start, end)]
        for days in chains:
            after = [(days[-1][1], end)] if end - days[-1][1] > GIVEN_UP else []
            covered = common(covered, united([(start, days[0][0]), *days, *after]))
        found[kind] = covered
    return found


def as_one_meter(by_meter: Mapping[tuple[str, str], Sequence[Bill]], kind: str) -> list[Bill]:
    """The bills of a kind as they were had no meter been exchanged: the last of the old meter and
    the first of the new are one, where both together are no longer than is usual for a bill."""
    meters = [list(bills) for (of, _), bills in by_meter.items() if of == kind and bills]
    for old, new in permutations(meters, 2):
        others = [bill.after - bill.first for bill in (*old[:-1], *new[1:])]
        if not old or not others or abs(old[-1].after - new[0].first) > 1:
            continue
        last, first = old[-1], new[0]
        if first.after - last.first <= LONGER * median(others):
            rows, quantity = [*last.rows, *first.rows], last.quantity + first.quantity
            new[0] = Bill(rows, last.first, first.after, first.reference, quantity)
            old.pop()
    return [bill for bills in meters for bill in bills]


def in_words(days: DaySpan) -> str:
    """`31 days, 2024-03-01 to 2024-03-31`."""
    first, last = (np.datetime64(day, "D") for day in (days[0], days[1] - 1))
    count = days[1] - days[0]
    return f"1 day, {first}" if count == 1 else f"{count} days, {first} to {last}"
