"""A ledger compared year by year and kind by kind, with each change split into effects."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal, localcontext
from fractions import Fraction
from functools import cache
from typing import NamedTuple

import numpy as np

from xlfuncs.calculations.money.bill_periods import (
    DaySpan,
    common,
    day_span,
    fiscal_years,
    same_days,
    year_span,
)  # fmt: skip
from xlfuncs.calculations.money.ledger_entries import NOTHING, Entries, Total, exact
from xlfuncs.calculations.money.rounding import round_money
from xlfuncs.errors import InputError

Amount = Decimal | Fraction | float
_CENT = Decimal("0.01")


class Effects(NamedTuple):
    """What a change is due to. Each link of the chain keeps what the links before it changed.

    price: the old quantity at the new price; area: the old use per area on the new area, at the
    new price; weather: that use in proportion to the new year's need; use: what is left, on the
    new area at the new price; fixed: amounts that carry no quantity, beside what does; credits:
    money back that carries none; exchange: what the bills of two meters in one period cost more
    than one would; not_split: what has no quantity to split by, or not in both years.
    """

    price: Amount
    area: Amount
    weather: Amount
    use: Amount
    fixed: Amount
    credits: Amount = Fraction(0)
    exchange: Amount = Fraction(0)
    not_split: Amount = Fraction(0)


def cents(amount: Amount) -> Decimal:
    """An amount in whole cents."""
    if isinstance(amount, Fraction):
        with localcontext() as context:
            context.prec = 60  # beyond any tie: a half cent has a finite decimal
            amount = Decimal(amount.numerator) / Decimal(amount.denominator)
            return round_money(amount)
    if isinstance(amount, float):
        amount = round(amount, 9)  # beyond a billionth a sum of floats is noise, and spoils ties
    return round_money(amount)


def cents_adding_up(parts: Sequence[Amount], total: Decimal) -> list[Decimal]:
    """The parts in whole cents that sum to `total`.

    A cent that is left over goes to the part that lost the most by rounding, of equals to the
    largest, so that a part in whole cents stays as it is.
    """
    rounded = [cents(part) for part in parts]
    left_over = total - sum(rounded, Decimal(0))
    if left_over.is_nan():  # of parts that are beyond all numbers
        raise OverflowError("more than money can be")
    sign = -1 if left_over < 0 else 1

    def lost(k: int) -> tuple[Fraction, Decimal]:
        exact = Fraction(round(part, 9)) if isinstance(part := parts[k], float) else Fraction(part)
        return sign * (exact - Fraction(rounded[k])), abs(rounded[k])

    each, more = divmod(int(abs(left_over) / _CENT), len(parts))
    for place, k in enumerate(sorted(range(len(parts)), key=lost, reverse=True)):
        rounded[k] += sign * _CENT * (each + (place < more))
    rounded[max(range(len(parts)), key=lost)] += total - sum(rounded, Decimal(0))
    return rounded


def rounded_effects(
    before: Amount, after: Amount, effects: Effects
) -> tuple[Decimal, Decimal, Effects]:
    """Both amounts in cents, and the effects in cents that sum to their difference exactly."""
    old, new = cents(before), cents(after)
    return old, new, Effects(*cents_adding_up(effects, new - old))


NEARLY = 350  # days that stand for a year: bills seldom end with it


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
    covered: int = 0  # days of the year that its bills cover; all where it has no bills by days
    days: int = 0  # that are compared
    words: str = ""  # why not whole years are compared
    mixed: bool = False  # units that are not to be added up

    @property
    def quantity(self) -> float | None:
        return None if self.mixed else float(self.total.quantity)

    @property
    def unit_price(self) -> float | None:
        return float(self.total.charge) / quantity if (quantity := self.quantity) else None

    @property
    def per_area(self) -> float | None:
        return float(self.amount) / self.area if self.area else None


@dataclass(frozen=True)
class Surroundings:
    """What changes from year to year beside the ledger: areas, and needs beyond rain."""

    areas: dict[int, float] = field(default_factory=dict)
    needs: dict[int, float] = field(default_factory=dict)
    need_kinds: frozenset[str] = frozenset()  # whose use follows the need, in lower case
    # that are one thing, whatever the words; of the others each thing has a price of its own
    alike: frozenset[str] = frozenset(("water", "sewer", "electricity", "labor", "labour"))


def year_on_year(
    entries: Entries, first_month: int = 1, known_from: date | None = None,
    known_through: date | None = None, around: Surroundings | None = None,
) -> list[YearOfKind]:  # fmt: skip
    """Every kind in every year, by kind and year.

    The ledger is complete from `known_from` through `known_through`; by default throughout its
    years, or as far as the bills by days go. Compared are the days that are known in both years,
    of a kind that is billed by days those on bills; a year is not compared where there are none.
    """
    if not entries.kinds:
        return []
    around = around or Surroundings()
    first = int(fiscal_years(entries.starts, first_month).min())
    papers = fiscal_years(entries.ends - np.timedelta64(1, "D"), first_month)
    years = range(first, int(papers.max()) + 1)
    whole = {year: day_span(year_span(year, first_month)) for year in years}
    known = (
        day_span((known_from, known_from))[0] if known_from else whole[first][0],
        day_span((known_through, known_through))[0] + 1 if known_through else whole[years[-1]][1],
    )
    until = known[1] if known_through else _billed_until(entries, whole, known[1])
    billed = known[0] if known_from else whole[int(papers.min())][0], until
    totals_of = cache(entries.totals)
    items, kinds_of_items = entries.by_item
    items_of = cache(items.totals)
    totals = [totals_of(whole[year]) for year in years]
    rows = []
    needed: set[int] = set()
    for k, kind in enumerate(entries.kinds):
        covered = entries.covered.get(kind.lower())
        days = [billed] if covered is None else common(covered, [known])
        undated = covered is None and kind.lower() in around.need_kinds
        alike = covered is not None or kind.lower() in around.alike
        of_years = [total[k] for total in totals]
        amounts = cents_adding_up(
            [t.amount for t in of_years], cents(sum((t.amount for t in of_years), Fraction(0)))
        )
        for year, total, amount in zip(years, of_years, amounts, strict=True):
            on_bills = [] if undated else common([whole[year]], days)
            row = YearOfKind(kind, year, total, amount, around.areas.get(year),
                             covered=_count(on_bills), mixed=k in entries.mixed)  # fmt: skip
            both: list[tuple[Total, Total]] = []
            this, before = same_days(year, first_month, days) if year > first else ([], [])
            need = _need_ratio(around, kind, year, _count(this))
            if this:
                needed |= {year - 1, year}
                _refuse_missing(sorted(needed), around)
                full = (this, before) == ([whole[year]], [whole[year - 1]])
                shown = (amounts[year - first - 1], amount) if full else None
                old, new = totals_of(*before)[k], totals_of(*this)[k]
                pairs = zip(kinds_of_items, items_of(*before), items_of(*this), strict=True)
                both = [(one, other) for of, one, other in pairs
                        if of == k and min(one.quantity, other.quantity) > 0]  # fmt: skip
                both = [(old, new)] if alike else both
                row = _compared(row, old, new, shown, around.areas, need, both)
            words = [_words(this, whole[year], covered, known[0])]
            if row.effects and not alike and (row.effects.not_split or len(both) > 1):
                words.append(f"items of both years: {len(both) or 'none'}")
            words += ["by the day of each bill, for none says its period"] * undated
            words += ["weather counts as use, for a need beyond rain is missing"] * (need is None)
            row = replace(row, days=_count(this), words="; ".join(filter(None, words)))
            if row.effects or total != NOTHING:
                rows.append(row)
    return rows


def _billed_until(entries: Entries, whole: Mapping[int, DaySpan], otherwise: int) -> int:
    """The day after the last that is known by the bills or by a later purchase, or the end of a
    year that is known nearly whole."""
    ends = [days[-1][1] for days in entries.covered.values()]
    if not ends and len(whole) > 1:
        return entries.begun_until(whole[max(whole)][0], otherwise)
    for first, after in whole.values() if ends else ():
        if first < min(ends) <= after:
            until = max(min(ends), entries.bought_until(after))
            return after if until - first >= NEARLY else until
    return otherwise


def _words(this: Sequence[DaySpan], whole: DaySpan, covered: object | None, begins: int) -> str:
    """Which days are compared, where it is not the whole year."""
    if whole[0] <= begins:
        return "first year" if begins < whole[1] else "before the ledger's first day"
    of = "on bills" if covered is not None else "known"
    if not this:
        return f"no day is {of} in both years"
    length = whole[1] - whole[0]
    return "" if _count(this) == length else f"{_count(this)} of {length} days are {of} in both"


def _count(days: Iterable[DaySpan]) -> int:
    return sum(after - first for first, after in days)


def _compared(
    row: YearOfKind, old: Total, new: Total, shown: tuple[Decimal, Decimal] | None,
    areas: Mapping[int, float], need: Fraction | None, items: Sequence[tuple[Total, Total]],
) -> YearOfKind:  # fmt: skip
    """The row with its comparison. `shown` are the amounts of whole years as the table has them."""
    area = exact(areas[row.year]) / exact(areas[row.year - 1]) if areas else Fraction(1)
    before, compared = shown or (old.amount, new.amount)
    before, compared, effects = rounded_effects(
        before, compared, _effects(old, new, area, need or Fraction(1), items)
    )
    return replace(row, compared=compared, before=before, effects=effects)


def _need_ratio(around: Surroundings, kind: str, year: int, days: int) -> Fraction | None:
    """The year's need over that before; 1 where it does not count, None where one is missing.

    The need of a whole year says nothing of a part of it.
    """
    if days < NEARLY or kind.lower() not in around.need_kinds or not around.needs:
        return Fraction(1)
    this, before = (around.needs.get(each) for each in (year, year - 1))
    return exact(this) / exact(before) if this is not None and before is not None else None


def needs_known(around: Surroundings, row: YearOfKind) -> bool:
    """Whether weather is told from use: by needs of both years, which are compared whole."""
    whole = row.days >= NEARLY or row.kind.lower() not in around.need_kinds
    return whole and {row.year - 1, row.year} <= around.needs.keys()


def _effects(
    old: Total, new: Total, area: Fraction, need: Fraction, parts: Sequence[tuple[Total, Total]]
) -> Effects:
    """The exact effects on a kind: the sum of those on its parts, and what is in none of them."""
    of_parts = [change_effects(*part, area, need) for part in parts]
    split = [sum((Fraction(each[i]) for each in of_parts), Fraction(0)) for i in range(5)]
    split.append(new.credits - old.credits)
    return Effects(*split)._replace(not_split=new.amount - old.amount - sum(split))


def change_effects(old: Total, new: Total, area: Fraction, need: Fraction) -> Effects:
    """The exact effects on one thing; `area` and `need` are ratios of the new year to the old.

    The price effect is the new price less the old by the old quantity, so that over many things a
    change of their mix is use (price-volume-mix analysis). Without a quantity in both years there
    is no price to compare.
    """
    no, credits = Fraction(0), new.credits - old.credits
    if min(old.quantity, new.quantity) <= 0:
        return Effects(no, no, no, no, no, credits, not_split=new.amount - old.amount - credits)
    new_price = new.charge / new.quantity
    same_use = old.quantity * area
    price = new_price * old.quantity - old.charge
    by_area, weather = new_price * (same_use - old.quantity), new_price * same_use * (need - 1)
    use = new.charge - old.charge - price - by_area - weather
    return Effects(price, by_area, weather, use, new.fixed - old.fixed, credits)


def _refuse_missing(years: Sequence[int], around: Surroundings) -> None:
    """Areas are given for all the compared years or for none; they and needs are positive."""
    for year in years if around.areas else ():
        if year not in around.areas:
            words = f"the ledger has the year {year}, this list has not; add it, or say with "
            words += "known_from and known_through which days the ledger covers"
            raise InputError("areas", words)
    for argument, values in (("areas", around.areas), ("needs", around.needs)):
        for year in years:
            if not values.get(year, 1.0) > 0:
                raise InputError(argument, f"must be above 0; got {values[year]:g} for {year}")
