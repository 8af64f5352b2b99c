"""What files of accounts need of the calculations on money: days of bills, years, exact cents."""

from xlfuncs.calculations.money.bill_periods import (
    Bill,
    Meters,
    Shared,
    bills_by_meter,
    fiscal_years,
    in_words,
    missing_days,
    shared_days,
    year_span,
)
from xlfuncs.calculations.money.year_on_year import NEARLY, cents, cents_adding_up

__all__ = [
    "NEARLY", "Bill", "Meters", "Shared", "bills_by_meter", "cents", "cents_adding_up",
    "fiscal_years", "in_words", "missing_days", "shared_days", "year_span",
]  # fmt: skip
