"""From meter readings, bills and a store of materials to what a year used and cost."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

import numpy as np

from xlfuncs.calculations.arrays import Dates, Flags, Floats, Numbers
from xlfuncs.calculations.money import bill_periods
from xlfuncs.calculations.money.bill_periods import fiscal_years, year_span
from xlfuncs.calculations.money.year_on_year import cents
from xlfuncs.errors import CellError, InputError


def entry_cost(amount: Numbers, tax: Numbers, recoverable: Numbers, share: Numbers) -> Numbers:
    """What an entry costs the garden: paid, less the tax that comes back, by the garden's share."""
    return (amount - tax * recoverable) * share


def garden_use(volume: Numbers, days: Numbers, household_per_day: Numbers) -> Numbers:
    """The garden's part of a shared meter: what is used beyond the household's daily use."""
    beyond: Numbers = np.maximum(volume - days * household_per_day, 0.0)
    return beyond


def meter_use(
    dates: Dates, readings: Floats, estimated: Flags, new_meter_readings: Floats, register: float
) -> Floats:
    """Volume used between each reading and the one before (the first has none: NaN).

    An estimated reading between two true ones is set aside, and the use between them is spread
    evenly over the days, so that a wrong estimate is neither lost nor counted twice; an estimate
    with no true reading after it is taken as it stands. Where a meter was replaced, the reading
    is the old meter's last and `new_meter_readings` the first of the new. `register` is the
    volume at which the register returns to zero, 0 where it is not known.
    """
    days = dates.astype("datetime64[D]").astype(np.int64)
    backward = np.diff(days) <= 0
    if backward.any():
        row = int(np.argmax(backward)) + 1
        raise InputError(
            "dates", f"readings go in order of date; {dates[row]} is not later", row=row
        )
    true = np.flatnonzero(~estimated)
    number = np.arange(len(days))
    between = (number > true.min(initial=len(days))) & (number < true.max(initial=-1))
    kept = np.flatnonzero(~(estimated & between))
    starts = np.where(np.isnan(new_meter_readings), readings, new_meter_readings)
    use = readings[kept[1:]] - starts[kept[:-1]]
    rolled = use < 0
    use = np.where(rolled, use + register, use)
    # A register that rolls over shows a small use; a large one is a mistyped reading.
    doubtful = rolled & ((use < 0) | (use > register / 2))
    if doubtful.any():
        row = int(kept[1:][np.argmax(doubtful)])
        words = f"the reading of {dates[row]} is below the one before, and no roll-over of the "
        words += "register explains it; correct it, or give the first reading of a new meter"
        raise InputError("readings", words, cell_error=CellError.VALUE, row=row)
    used_by = np.interp(days, days[kept], np.concatenate([[0.0], np.cumsum(use)]))
    return np.concatenate([[np.nan], np.diff(used_by)])


def checked_entries(
    dates: Dates, kinds: Sequence[str], amounts: Floats, quantities: Floats,
    taxes: Floats, recoverable: Floats, shares: Floats, period_starts: Dates,
    meters: Sequence[str], references: Sequence[str], currencies: Sequence[str], currency: str = ""
) -> tuple[list[str], Floats, Floats]:  # fmt: skip
    """Of each entry what is to be said of it, its cost to the garden, the garden's quantity.

    `ok, but ...` is said of what looks entered twice, takes money back and counts as use all the
    same, or has days that are on another bill or follow days on none. What is in no sum (no cost)
    is of another currency than `currency`, or has a reading before that is not before its date.
    """
    backward = period_starts >= dates
    others = [bool(c.strip()) and _folded(c) != _folded(currency) for c in currencies]
    out = backward | np.array(others, bool) if currency else backward
    first = currency or next((c for c in currencies if c.strip()), "")
    of_bills = _findings_on_bills(dates, kinds, quantities, references, period_starts, meters, ~out)
    texts = [map(_folded, words) for words in zip(kinds, references, meters, strict=True)]
    measured = (None if quantity != quantity else quantity for quantity in quantities.tolist())
    keys = [*zip(dates.tolist(), measured, amounts.tolist(), map(tuple, texts), strict=True)]
    back = Counter((day, quantity and -quantity, -amount, words)
                   for row, (day, quantity, amount, words) in enumerate(keys)
                   if amount < 0 and not out[row])  # fmt: skip
    seen: set[tuple[object, ...]] = set()
    said = []
    for row, (_, quantity, amount, _) in enumerate(keys):
        if out[row]:
            other = f"Currency: {currencies[row].strip()}, while the ledger is in {currency}"
            said.append("Previous reading date: is not before Date" if backward[row] else other)
            continue
        words = []
        if keys[row] in seen and not back[keys[row]]:
            words.append("same as an entry before it: entered twice?")
        elif keys[row] in seen:
            back[keys[row]] -= 1  # what was taken back may come again
        seen.add(keys[row])
        own = currencies[row].strip()
        if own and _folded(own) != _folded(first):
            words.append(f"in {own.upper()}, while the ledger is in {first.strip().upper()}")
        if amount < 0 and (quantity or 0) > 0:
            words.append("money back, but the quantity counts as use: negative, or blank?")
        words += of_bills.get(row, ())
        said.append(f"ok, but {'; '.join(words)}" if words else "ok")
    costs = np.asarray(entry_cost(amounts, taxes, recoverable, shares))
    return said, np.where(out, np.nan, costs), np.where(out, np.nan, quantities * shares)


def _folded(text: str) -> str:
    return text.strip().lower()


def _findings_on_bills(
    dates: Dates, kinds: Sequence[str], quantities: Floats, references: Sequence[str],
    period_starts: Dates, meters: Sequence[str], counted: Flags
) -> dict[int, list[str]]:  # fmt: skip
    """Days on two bills of a meter, and days between its bills that are on none."""
    found: dict[int, list[str]] = {}
    by_meter = bill_periods.bills_by_meter(
        dates, period_starts, kinds, meters, quantities, references, counted
    )
    for bills in by_meter.values():
        for shared in bill_periods.shared_days(bills):
            other = f"the bill to {dates[shared.one.rows[0]]} too"
            words = f"{bill_periods.in_words(shared.days)}, are on {other}: does one replace it?"
            found.setdefault(shared.other.rows[0], []).append(words)
        for bill, days in bill_periods.missing_days(bills):
            words = f"before it {bill_periods.in_words(days)}, are on no bill"
            found.setdefault(bill.rows[0], []).append(words)
    return found


def refuse_second_currency(currencies: Sequence[str]) -> None:
    """Raise InputError at the first entry in another currency than those before it."""
    seen = ""
    for row, currency in enumerate(currencies):
        own = currency.strip().upper()
        if own and seen and own != seen:
            words = f"one ledger has one currency; got {own} after {seen}"
            raise InputError("currencies", words, cell_error=CellError.VALUE, row=row)
        seen = own or seen


@dataclass(frozen=True)
class StockYear:
    """What a year took from the store of one kind, and what that had cost."""

    kind: str
    year: int
    last_day: date
    opening: float
    bought: float
    closing: float
    used: float
    used_cost: Decimal
    closing_value: Decimal


@dataclass(frozen=True)
class _Movement:
    day: date
    year: int
    bought: Fraction
    amount: Fraction
    in_store: Fraction | None


def stock_used(
    dates: Dates, kinds: Sequence[str], bought: Floats, amounts: Floats, in_store: Floats,
    first_month: int,
) -> list[StockYear]:  # fmt: skip
    """Each kind's years from its first to the register's last: opening + bought - closing = used.

    Valued by the weighted average of the periodic inventory procedure: what was there and what
    was bought in the year cost one average price. `in_store` is a count of what is left, blank
    (NaN) where nothing was counted; a kind that is never counted is used up as it is bought.
    """
    years = fiscal_years(dates, first_month)
    by_kind: dict[str, list[_Movement]] = {}
    columns = (dates.tolist(), years.tolist(), kinds, bought, amounts, in_store)
    for day, year, kind, quantity, amount, count in zip(*columns, strict=True):
        by_kind.setdefault(kind.strip().lower(), []).append(
            _Movement(day, year, _exact(quantity), _exact(amount), _count(count))
        )
    rows: list[StockYear] = []
    for key in sorted(by_kind):
        label = min(kind.strip() for kind in kinds if kind.strip().lower() == key)
        rows += _kind_of_stock(label, by_kind[key], int(years.max()), first_month)
    return rows


def _kind_of_stock(
    kind: str, movements: list[_Movement], last_year: int, first_month: int
) -> list[StockYear]:
    counted = any(m.in_store is not None for m in movements)
    opening, value = Fraction(0), Decimal(0)
    rows = []
    for year in range(min(m.year for m in movements), last_year + 1):
        of_year = [m for m in movements if m.year == year]
        bought = sum((m.bought for m in of_year), Fraction(0))
        available = opening + bought
        available_value = value + cents(sum((m.amount for m in of_year), Fraction(0)))
        closing = _closing(kind, year, of_year, available) if counted else Fraction(0)
        closing_value = (
            cents(Fraction(available_value) * closing / available) if available else Decimal(0)
        )
        last_day = year_span(year, first_month)[1] - timedelta(days=1)
        used = float(available - closing), available_value - closing_value
        begun = float(opening), float(bought), float(closing)
        rows.append(StockYear(kind, year, last_day, *begun, *used, closing_value))
        opening, value = closing, closing_value
    return rows


def _closing(kind: str, year: int, of_year: list[_Movement], available: Fraction) -> Fraction:
    """What the year's last count and the purchases after it leave in store."""
    counts = [m for m in of_year if m.in_store is not None]
    if not counts and available:
        raise InputError(
            "in_store", f"{kind} was counted in other years but not in {year}; count it, or enter 0"
        )
    if not counts:
        return Fraction(0)
    last = max(counts, key=lambda m: (m.day, m.in_store))
    closing = (last.in_store or Fraction(0)) + sum(
        (m.bought for m in of_year if m.day > last.day), Fraction(0)
    )
    if closing > available:
        words = f"{kind} in {year}: {float(closing):g} left, but only {float(available):g} "
        words += "were there; a purchase is missing or a count is wrong"
        raise InputError("in_store", words)
    return closing


def _exact(number: float) -> Fraction:
    return Fraction(0) if number != number else Fraction(repr(float(number)))


def _count(number: float) -> Fraction | None:
    return None if number != number else Fraction(repr(float(number)))
