"""The ledger's entries, ready to be summed over any days, exactly and in any order.

Amounts are summed as whole millionths of the currency, so neither the order of the entries nor
the splitting of one changes a total. An entry that covers a period (a water bill) is spread
evenly over its days. Within a kind, entries without a quantity are its fixed charges.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from math import fsum
from typing import NamedTuple

import numpy as np

from xlfuncs.calculations.arrays import Dates, Flags, Floats, Indices, Integers
from xlfuncs.calculations.money.bill_periods import DaySpan, bills_by_meter, covered_days
from xlfuncs.errors import InputError

_MILLION = 10**6
_QUARTER = 92  # days
_EXACT = 2.0**53  # whole numbers up to here are exact as floats


class Total(NamedTuple):
    """What was used and paid in a span of days: `charge` goes with the quantity, `fixed` not, nor
    do `credits`, which are money back (below 0)."""

    quantity: Fraction
    charge: Fraction
    fixed: Fraction
    credits: Fraction = Fraction(0)

    @property
    def amount(self) -> Fraction:
        return self.charge + self.fixed + self.credits


NOTHING = Total(Fraction(0), Fraction(0), Fraction(0))


@dataclass(frozen=True)
class Entries:
    """The ledger's columns, checked and ready to be summed."""

    kinds: list[str]
    kind_of: Indices
    starts: Dates  # first day of the period
    ends: Dates  # day after its last day
    quantities: Floats  # NaN where the entry has none
    amounts: Floats  # whole millionths
    covered: dict[str, list[DaySpan]]  # by kind in lower case, where all its bills go by days
    item_of: Indices | None = None  # number of each entry's item: its words and unit; -1: unnamed
    mixed: frozenset[int] = frozenset()  # kinds whose quantities are in several units

    @classmethod
    def from_columns(
        cls, dates: Dates, kinds: Sequence[str], quantities: Floats, amounts: Floats,
        period_starts: Dates, meters: Sequence[str] | None = None, items: Sequence[str] = (),
        units: Sequence[str] = (),
    ) -> "Entries":  # fmt: skip
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
        every = np.ones(len(dates), dtype=bool)
        nothing = [""] * len(dates)
        meters = nothing if meters is None else meters
        bills = bills_by_meter(dates, period_starts, kinds, meters, quantities, nothing, every)
        loose = set(kind_of[np.isnat(period_starts) & (quantities > 0)].tolist())
        by_days = {name.lower() for k, name in enumerate(names) if k not in loose}
        covered = {k: days for k, days in covered_days(bills).items() if k in by_days}
        items, units = (list(words) or nothing for words in (items, units))
        item_of, mixed = _items(kind_of, quantities, items, units, loose)
        return cls(names, kind_of, starts, ends, quantities, millionths, covered, item_of, mixed)

    def begun_until(self, begins: int, otherwise: int) -> int:
        """The day after the last entry, where the last year (by the day that it begins on) has some
        in its first quarter alone, and the year before in its last: it is but begun."""
        ends = self.ends.astype("datetime64[D]").astype(int)
        until, before = int(ends.max()), int(ends[ends <= begins].max(initial=0))
        return until if until - _QUARTER <= begins <= before + _QUARTER else otherwise

    @cached_property
    def _loose(self) -> Flags:
        """Which entries are of kinds that are not billed by days."""
        kinds = [k for k, name in enumerate(self.kinds) if name.lower() not in self.covered]
        return np.isin(self.kind_of, kinds)

    def bought_until(self, day: int) -> int:
        """The day after the last entry before a day of the kinds that are not billed by days."""
        ends = self.ends[self._loose].astype("datetime64[D]").astype(int)
        return int(ends[ends <= day].max(initial=0))

    @cached_property
    def by_item(self) -> "tuple[Entries, list[int]]":
        """What carries a quantity, each item that is there more than once as a kind of its own, and
        the kinds that they are of; none of kinds that are billed by days."""
        item_of = np.zeros(len(self.kind_of), np.intp) if self.item_of is None else self.item_of
        loose = self._loose & ~np.isnan(self.quantities) & (item_of >= 0)
        pairs = self.kind_of * (item_of.max(initial=0) + 1) + item_of
        found, counts = np.unique(pairs[loose], return_counts=True)
        found = found[counts > 1]
        rows = np.flatnonzero(loose & np.isin(pairs, found))
        several = Entries(
            [""] * len(found), np.searchsorted(found, pairs[rows]), self.starts[rows],
            self.ends[rows], self.quantities[rows], self.amounts[rows], {},
        )  # fmt: skip
        return several, (found // (item_of.max(initial=0) + 1)).tolist()

    @cached_property
    def taken_back(self) -> Flags:
        """Which entries without a quantity cancel an equal one of the same kind and days."""
        found = np.zeros(len(self.amounts), bool)
        rows = np.flatnonzero(np.isnan(self.quantities) & (self.amounts != 0)).tolist()
        keys = {r: (self.kind_of[r], self.starts[r], self.ends[r], abs(self.amounts[r]))
                for r in rows}  # fmt: skip
        paid = Counter(key for row, key in keys.items() if self.amounts[row] > 0)
        for row in (row for row in rows if self.amounts[row] < 0):
            found[row] = paid[keys[row]] > 0
            paid[keys[row]] -= 1
        return found

    def totals(self, *spans: DaySpan) -> list[Total]:
        """The total of each kind over spans of days."""
        parts = [self._totals(span) for span in spans]
        return [
            Total(*(sum(amounts, Fraction(0)) for amounts in zip(*of_kind, strict=True)))
            for of_kind in zip(*parts, strict=True)
        ]

    def _totals(self, span: DaySpan) -> list[Total]:
        first, last = (np.datetime64(day, "D") for day in span)
        inside = (np.minimum(self.ends, last) - np.maximum(self.starts, first)).astype(np.int64)
        length = (self.ends - self.starts).astype(np.int64)
        whole = inside == length
        part = (inside > 0) & ~whole
        measured = ~np.isnan(self.quantities)
        back = ~measured & (self.amounts < 0) & ~self.taken_back
        charges, fixed, credits = (
            self._amounts(whole & of, part & of, inside, length)
            for of in (measured, ~measured & ~back, back)
        )
        used: list[list[float]] = [[] for _ in self.kinds]
        rows = np.flatnonzero((whole | part) & measured)
        shares = self.quantities[rows] * (inside[rows] / length[rows])
        for kind, share in zip(self.kind_of[rows].tolist(), shares.tolist(), strict=True):
            used[kind].append(share)
        # fsum gives the float nearest the exact sum, whatever the order
        amounts = zip(used, charges, fixed, credits, strict=True)
        return [Total(exact(fsum(quantities)), *rest) for quantities, *rest in amounts]

    def _amounts(
        self, whole: Flags, part: Flags, inside: Integers, length: Integers
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


def exact(number: float) -> Fraction:
    """The decimal number that a person reads, rather than the binary one beside it."""
    return Fraction(repr(float(number)))


def _items(
    kind_of: Indices,
    quantities: Floats,
    items: Sequence[str],
    units: Sequence[str],
    loose: set[int],
) -> tuple[Indices, frozenset[int]]:
    """The number of each entry's item, and the kinds in several units. Of a kind in one unit and
    without words all is one item; beside words, or in several units, what has none is unnamed.
    No unit is that of pieces in a `loose` kind, which is not billed by days."""
    rows = np.flatnonzero(~np.isnan(quantities)).tolist()
    units = [unit.strip().lower() for unit in units]
    pairs = {(int(kind_of[r]), units[r]) for r in rows}
    found = Counter(kind for kind, unit in pairs if unit or kind in loose)
    mixed = frozenset(kind for kind, several in found.items() if several > 1)
    named = np.array([bool(item.strip()) for item in items], bool)
    of_names = np.isin(kind_of, [*mixed, *np.unique(kind_of[named])])
    words = [f"{' '.join(item.split())}\n{unit}" for item, unit in zip(items, units, strict=True)]
    return np.where(of_names & ~named, -1, _numbered(words)[1]), mixed


def _numbered(kinds: Sequence[str]) -> tuple[list[str], Indices]:
    """The kinds in order, and each entry's number in it; case and outer spaces do not count."""
    keys = [kind.strip().lower() for kind in kinds]
    spellings: dict[str, str] = {}
    for key, kind in zip(keys, kinds, strict=True):
        spelt = kind.strip()
        spellings[key] = min(spellings.get(key, spelt), spelt)
    order = {key: number for number, key in enumerate(sorted(spellings))}
    return [spellings[key] for key in order], np.array([order[key] for key in keys], dtype=np.intp)
