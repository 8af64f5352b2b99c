"""A ledger compared year by year and kind by kind, with each change split into effects.

Amounts are summed as whole millionths of the currency, so neither the order of the entries nor
the splitting of one changes a total. An entry that covers a period (a water bill) is spread
evenly over its days. Within a kind, entries without a quantity are its fixed charges.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from fractions import Fraction
from functools import cache
from math import fsum
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from xlfuncs.calculations.money.calendar_years import Days, Span, fiscal_years, same_part, year_span
from xlfuncs.calculations.money.effects import Effects, cents, cents_adding_up, rounded_effects
from xlfuncs.errors import InputError

FloatArray = npt.NDArray[np.float64]
_MILLION = 10**6
_EXACT = 2.0**53  # whole numbers up to here are exact as floats


class Total(NamedTuple):
    """What was used and paid in a span of days: `charge` goes with the quantity, `fixed` not."""

    quantity: Fraction
    charge: Fraction
    fixed: Fraction

    @property
    def amount(self) -> Fraction:
        return self.charge + self.fixed


NOTHING = Total(Fraction(0), Fraction(0), Fraction(0))


@dataclass(frozen=True)
class YearOfKind:
    """One row of the comparison: a kind in a year, beside the year before."""

    kind: str
    year: int
    total: Total
    amount: Decimal
    area: float | None = None
    compared: Decimal | None = None
    before: Decimal | None = None
    effects: Effects | None = None

    @property
    def unit_price(self) -> float | None:
        quantity = self.total.quantity
        return float(self.total.charge / quantity) if quantity else None

    @property
    def per_area(self) -> float | None:
        return float(self.amount) / self.area if self.area else None


@dataclass(frozen=True)
class Surroundings:
    """What changes from year to year beside the ledger: areas, and needs beyond rain."""

    areas: dict[int, float] = field(default_factory=dict)
    needs: dict[int, float] = field(default_factory=dict)
    need_kinds: frozenset[str] = frozenset()  # whose use follows the need, in lower case


@dataclass(frozen=True)
class Entries:
    """The ledger's columns, checked and ready to be summed."""

    kinds: list[str]
    kind_of: npt.NDArray[np.intp]
    starts: Days  # first day of the period
    ends: Days  # day after its last day
    quantities: FloatArray  # NaN where the entry has none
    amounts: FloatArray  # whole millionths

    @classmethod
    def from_columns(
        cls,
        dates: Days,
        kinds: Sequence[str],
        quantities: FloatArray,
        amounts: FloatArray,
        period_starts: Days,
    ) -> Entries:
        """`period_starts` are the dates of the readings before, NaT where there is no period."""
        ends = dates + np.timedelta64(1, "D")
        starts = np.where(np.isnat(period_starts), dates, period_starts + np.timedelta64(1, "D"))
        backward = starts > dates
        if backward.any():
            row = int(np.argmax(backward))
            raise InputError(
                "period_starts",
                f"a period starts before it ends; {period_starts[row]} is not before {dates[row]}",
                row=row,
            )
        millionths = np.rint(amounts * _MILLION)
        if np.abs(millionths).sum() >= _EXACT:
            raise InputError("amounts", "the amounts exceed nine billion in all; use larger units")
        names, kind_of = _numbered(kinds)
        return cls(names, kind_of, starts, ends, quantities, millionths)

    def totals(self, span: Span) -> list[Total]:
        """The total of each kind over a span of days."""
        first, last = (np.datetime64(day, "D") for day in span)
        inside = (np.minimum(self.ends, last) - np.maximum(self.starts, first)).astype(np.int64)
        length = (self.ends - self.starts).astype(np.int64)
        whole = inside == length
        part = (inside > 0) & ~whole
        measured = ~np.isnan(self.quantities)
        charges = self._amounts(whole & measured, part & measured, inside, length)
        fixed = self._amounts(whole & ~measured, part & ~measured, inside, length)
        used: list[list[float]] = [[] for _ in self.kinds]
        rows = np.flatnonzero((whole | part) & measured)
        shares = self.quantities[rows] * (inside[rows] / length[rows])
        for kind, share in zip(self.kind_of[rows].tolist(), shares.tolist(), strict=True):
            used[kind].append(share)
        # fsum gives the float nearest the exact sum, whatever the order
        return [Total(_exact(fsum(q)), c, f) for q, c, f in zip(used, charges, fixed, strict=True)]

    def _amounts(
        self,
        whole: npt.NDArray[np.bool_],
        part: npt.NDArray[np.bool_],
        inside: npt.NDArray[np.int64],
        length: npt.NDArray[np.int64],
    ) -> list[Fraction]:
        """Exact sums by kind of the entries that lie in a span as a whole or in part."""
        sums = np.bincount(
            self.kind_of[whole], weights=self.amounts[whole], minlength=len(self.kinds)
        )
        exact = [Fraction(int(s)) for s in sums]
        by_length: dict[tuple[int, int], int] = {}
        for row in np.flatnonzero(part).tolist():
            key = int(self.kind_of[row]), int(length[row])
            by_length[key] = by_length.get(key, 0) + int(self.amounts[row]) * int(inside[row])
        for (kind, days), amount in by_length.items():
            exact[kind] += Fraction(amount, days)
        return [amount / _MILLION for amount in exact]


def year_on_year(
    entries: Entries,
    first_month: int = 1,
    known_from: date | None = None,
    known_through: date | None = None,
    around: Surroundings | None = None,
) -> list[YearOfKind]:
    """Every kind in every year, by kind and year.

    The ledger is complete from `known_from` through `known_through` (by default, throughout its
    years); a year known in part is compared with the same part of the year before, and not at all
    where no part is known in both.
    """
    if not entries.kinds:
        return []
    around = around or Surroundings()
    first = int(fiscal_years(entries.starts, first_month).min())
    last = int(fiscal_years(entries.ends - np.timedelta64(1, "D"), first_month).max())
    years = range(first, last + 1)
    known = (
        known_from or year_span(first, first_month)[0],
        # half open, so the day after
        date.fromordinal(known_through.toordinal() + 1)
        if known_through
        else year_span(last, first_month)[1],
    )
    totals_of = cache(entries.totals)
    totals = [totals_of(year_span(year, first_month)) for year in years]
    parts = {year: same_part(year, first_month, known) for year in years[1:]}
    spans = {year: (this, before) for year, (this, before) in parts.items() if this[0] < this[1]}
    _refuse_missing(sorted({y for year in spans for y in (year - 1, year)}), around)
    pairs = {year: (totals_of(before), totals_of(this)) for year, (this, before) in spans.items()}
    rows = []
    for k, kind in enumerate(entries.kinds):
        of_years = [total[k] for total in totals]
        whole = cents(sum((t.amount for t in of_years), Fraction(0)))
        amounts = cents_adding_up([t.amount for t in of_years], whole)
        for year, total, amount in zip(years, of_years, amounts, strict=True):
            row = YearOfKind(kind, year, total, amount, around.areas.get(year))
            if year in pairs:
                full = spans[year] == (
                    year_span(year, first_month),
                    year_span(year - 1, first_month),
                )
                shown = (amounts[year - first - 1], amount) if full else None
                old, new = (side[k] for side in pairs[year])
                row = _compared(row, old, new, shown, around, full)
            if row.effects or total != NOTHING:
                rows.append(row)
    return rows


def _compared(
    row: YearOfKind,
    old: Total,
    new: Total,
    shown: tuple[Decimal, Decimal] | None,
    around: Surroundings,
    full: bool,
) -> YearOfKind:
    """The row with its comparison. `shown` are the amounts of whole years as the table has them."""
    area, need = (
        _exact(values[row.year]) / _exact(values[row.year - 1]) if use else Fraction(1)
        for values, use in (
            (around.areas, bool(around.areas)),
            # the need of a whole year says nothing of a part of it
            (around.needs, full and bool(around.needs) and row.kind.lower() in around.need_kinds),
        )
    )
    before, compared = shown or (old.amount, new.amount)
    before, compared, effects = rounded_effects(
        before, compared, change_effects(old, new, area, need)
    )
    return YearOfKind(
        row.kind, row.year, row.total, row.amount, row.area, compared, before, effects
    )


def change_effects(old: Total, new: Total, area: Fraction, need: Fraction) -> Effects:
    """The exact effects; `area` and `need` are ratios of the new year to the old.

    Where one year has no quantity no price is known, so the price of the other stands in. Where
    an amount stands against no quantity, or the quantity is negative, all the change is fixed.
    """
    odd = any(t.quantity < 0 or (t.quantity == 0 and t.charge != 0) for t in (old, new))
    if odd or (old.quantity == 0 and new.quantity == 0):
        nothing = Fraction(0)
        return Effects(nothing, nothing, nothing, nothing, new.amount - old.amount)
    new_price = new.charge / new.quantity if new.quantity else old.charge / old.quantity
    same_use = old.quantity * area
    return Effects(
        price=new_price * old.quantity - old.charge,
        area=new_price * (same_use - old.quantity),
        weather=new_price * same_use * (need - 1),
        use=new_price * (new.quantity - same_use * need),
        fixed=new.fixed - old.fixed,
    )


def _exact(number: float) -> Fraction:
    """The decimal number that a person reads, rather than the binary one beside it."""
    return Fraction(repr(float(number)))


def _numbered(kinds: Sequence[str]) -> tuple[list[str], npt.NDArray[np.intp]]:
    """The kinds in order, and each entry's number in it; case and outer spaces do not count."""
    keys = [kind.strip().lower() for kind in kinds]
    spellings: dict[str, str] = {}
    for key, kind in zip(keys, kinds, strict=True):
        spelt = kind.strip()
        spellings[key] = min(spellings.get(key, spelt), spelt)
    order = {key: number for number, key in enumerate(sorted(spellings))}
    return [spellings[key] for key in order], np.array([order[key] for key in keys], dtype=np.intp)


def _refuse_missing(years: Sequence[int], around: Surroundings) -> None:
    """Areas and needs are positive, and given for all the compared years or for none."""
    for argument, values in (("areas", around.areas), ("needs", around.needs)):
        for year in years if values else ():
            if year not in values:
                raise InputError(
                    argument,
                    f"the ledger has the year {year}, this list has not; add it, or say with "
                    "known_from and known_through which days the ledger covers",
                )
            if not values[year] > 0:
                raise InputError(argument, f"must be above 0; got {values[year]:g} for {year}")
