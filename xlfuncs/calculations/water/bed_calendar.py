"""Which beds are watered in a month, by the bed plan: a bed without a crop lies fallow and is off.

Dates are numpy datetime64[D]; a period runs from its first to its last day, both included.
"""

from collections.abc import Sequence
from typing import Any

import numpy as np

from xlfuncs.calculations.arrays import Dates, Flags, Floats
from xlfuncs.errors import InputError

ONE_DAY, ONE_MONTH = np.timedelta64(1, "D"), np.timedelta64(1, "M")


def month_of(day: np.datetime64) -> tuple[np.datetime64, np.datetime64]:
    """First and last day of the month that a day is in."""
    month = day.astype("datetime64[M]")
    return month.astype("datetime64[D]"), (month + ONE_MONTH).astype("datetime64[D]") - ONE_DAY


def refuse_faulty_plan(
    beds: Sequence[str], plan_beds: Sequence[str], starts: Dates, ends: Dates
) -> None:
    """InputError where the plan names an unknown bed or ends before it starts."""
    known = {str(bed).casefold() for bed in beds}
    for row, (bed, start, end) in enumerate(zip(plan_beds, starts, ends, strict=True)):
        if str(bed).casefold() not in known:
            raise InputError("plan_bed", f"{bed!r} is not in the bed list", row=row)
        if end < start:
            raise InputError("plan_end", f"{end} is before the start {start}", row=row)


def days_in_use(
    beds: Sequence[str], is_on: Flags, plan_beds: Sequence[str], starts: Dates, ends: Dates,
    first: np.datetime64, last: np.datetime64,
) -> Floats:  # fmt: skip
    """Days from `first` to `last` on which each bed has a crop; a day with two counts once."""
    refuse_faulty_plan(beds, plan_beds, starts, ends)
    days = np.arange(first, last + ONE_DAY)
    plan = np.array([str(bed).casefold() for bed in plan_beds], dtype=object)
    counts = np.zeros(len(beds))
    for i, bed in enumerate(beds):
        planted: Any = np.zeros(days.size, dtype=bool)
        for row in np.flatnonzero(plan == str(bed).casefold()):
            planted |= (days >= starts[row]) & (days <= ends[row])
        counts[i] = np.count_nonzero(planted) if is_on[i] else 0
    return counts
