"""What equipment costs a year, and when its parts fall due.

Symbols: P price, S salvage value, n life in years, i interest a year as a fraction. The annual
cost is the capital recovery of engineering economy, (P - S) (A/P, i, n) + S i, where the factor
(A/P, i, n) = i (1 + i)^n / ((1 + i)^n - 1) tends to 1/n as i tends to 0: without interest the
same formula is straight-line depreciation.
"""

import numpy as np

from xlfuncs.calculations.arrays import Floats, Numbers
from xlfuncs.errors import InputError

# Interest below this a year changes no digit of the factor; it stands in for 0, which would be 0/0.
_NO_INTEREST = 1e-14


def capital_recovery_factor(interest: Numbers, years: Numbers) -> Numbers:
    """(A/P, i, n): the yearly payment that repays 1 in `years` with `interest` a year."""
    i = np.maximum(interest, _NO_INTEREST)
    factor: Numbers = i / -np.expm1(-years * np.log1p(i))
    return factor


def annual_cost(
    price: Numbers, life_years: Numbers, interest: Numbers, salvage: Numbers
) -> Numbers:
    """Depreciation and interest a year of what costs `price` and brings `salvage` at its end."""
    return (price - salvage) * capital_recovery_factor(interest, life_years) + salvage * interest


def replacement_plan(
    costs: Floats, shortest: Floats, likely: Floats, longest: Floats, ages: Floats, years: int
) -> tuple[Floats, Floats, Floats, Floats]:
    """Cost of replacements in each of the next `years`, for short, likely and long lives.

    One element a part in the arguments, one element a year in the results, the first of which
    numbers the years from 1. Prices are today's; the first purchase is not a replacement. A part
    that has outlived its life already is replaced in year 1.
    """
    disorder = (shortest > likely) | (likely > longest)
    if disorder.any():
        row = int(np.argmax(disorder))
        words = "a short life must not exceed the likely one, nor that the long one; got "
        words += f"{shortest[row]:g}, {likely[row]:g} and {longest[row]:g} years"
        raise InputError("lives", words, row=row)
    short, middle, long = (
        costs @ _replacements(life, ages, years) for life in (shortest, likely, longest)
    )
    return np.arange(1.0, years + 1), short, middle, long


def _replacements(life: Floats, ages: Floats, years: int) -> Floats:
    """How often each part (row) is replaced in each year (column)."""
    first = np.maximum(life - ages, 0.0)
    ends = np.arange(years + 1.0)
    # A part that wears out exactly at a year's end is bought for the next; the small number
    # keeps 10 times a tenth of a year from counting as a hair over one.
    due_before = np.ceil((ends - first[:, None]) / life[:, None] - 1e-9)
    counts: Floats = np.diff(np.maximum(due_before, 0.0), axis=1)
    return counts
