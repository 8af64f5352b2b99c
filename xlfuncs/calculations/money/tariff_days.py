"""Water bills by the tariffs of their own days, and two years of them compared.

A bill that spans a change of tariff is parted by days: each tariff's part of the days bears that
part of what the whole bill would be on it, its tiers and its fixed charge.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from xlfuncs.calculations.money.bill_periods import Bill
from xlfuncs.calculations.money.calendar_years import DaySpan, common, moved
from xlfuncs.calculations.money.effects import Effects, rounded_effects
from xlfuncs.calculations.money.tariffs import Tiers
from xlfuncs.errors import InputError

FloatArray = npt.NDArray[np.float64]
_FOREVER = 10**7


@dataclass(frozen=True)
class Tariff:
    """A price list from the day it holds; prices with the sewer's part."""

    first: int  # day since 1970
    tiers: Tiers
    fixed: float  # a bill


def tariffs_from_columns(
    valid_from: Sequence[int], fixed: FloatArray, sewer: FloatArray, tier_from: Sequence[int],
    tops: FloatArray, prices: FloatArray,
) -> list[Tariff]:  # fmt: skip
    """The tariffs in order of their first days; `sewer` is that of a unit of water."""
    found = []
    for i in np.argsort(np.asarray(valid_from)).tolist():
        rows = [k for k, day in enumerate(tier_from) if day == valid_from[i]]
        if not rows:
            raise InputError("tiers", f"has no row of the tariff from {_shown(valid_from[i])}")
        own = tops[rows]
        tiers = Tiers.from_tops(own[~np.isnan(own)], prices[rows] + sewer[i], "tiers")
        found.append(Tariff(int(valid_from[i]), tiers, float(fixed[i])))
    return found


def _shown(day: int) -> str:
    return str(np.datetime64(int(day), "D"))


def charges(
    tariffs: Sequence[Tariff], spans: Sequence[DaySpan], length: float, volume: float
) -> tuple[float, float]:
    """What spans of a bill's days bear of it: its water by tiers, and its fixed charge."""
    water = fixed = 0.0
    ends = [tariff.first for tariff in tariffs[1:]] + [_FOREVER]
    for span in spans:
        if not tariffs or span[0] < tariffs[0].first:
            raise InputError("tariffs", f"none holds on {_shown(span[0])}")
        for tariff, end in zip(tariffs, ends, strict=True):
            days = _count(common([span], [(tariff.first, end)]))
            if days:
                part = days / length
                volumes = np.array([volume])
                water += part * float(tariff.tiers.charge(volumes, "tiers")[0])
                fixed += part * tariff.fixed
    return water, fixed


def _count(spans: Sequence[DaySpan]) -> int:
    return sum(after - first for first, after in spans)


@dataclass(frozen=True)
class BilledYear:
    """The bills of a year, the days of it that are compared, and what the water was for."""

    bills: Sequence[Bill]
    one_meter: Sequence[Bill]  # what they were without an exchange of meters
    days: Sequence[DaySpan]
    borne: float = 1.0  # part of what is paid that the garden bears
    area: float = 1.0
    need: float = 1.0


def effects_by_days(
    tariffs: Sequence[Tariff], old: BilledYear, new: BilledYear
) -> tuple[Decimal, Decimal, Effects]:
    """Both years' bills on the compared days, and the change between them split into effects.

    The links of the chain: the old volumes on their own tariffs, on those of the same days a year
    later (price), for the new area, for the new need (weather), and the new volumes (use). All as
    if no meter had been exchanged in mid-period; what that changes stands apart.
    """

    def total(year: BilledYear, scale: float = 1.0, years: int = 0) -> tuple[float, float]:
        return of_bills(year.one_meter, year, scale, years)

    def of_bills(
        bills: Sequence[Bill], year: BilledYear, scale: float = 1.0, years: int = 0
    ) -> tuple[float, float]:
        water = fixed = 0.0
        for bill in bills:
            spans = common([(bill.first, bill.after)], year.days)
            length = float(bill.after - bill.first)
            if years:  # 29 February has no day a year later: the others stand for it
                there = [span for span in (moved(own, years) for own in spans) if span[0] < span[1]]
                length *= _count(there) / _count(spans) if there else 1.0
                spans = there or spans
            part = charges(tariffs, spans, length, bill.quantity * scale)
            water, fixed = water + part[0], fixed + part[1]
        return water, fixed

    same_area = new.area / old.area
    same_need = same_area * new.need / old.need
    before, after = total(old), total(new)
    links = [
        before[0] * old.borne,
        *(total(old, scale, 1)[0] * new.borne for scale in (1.0, same_area, same_need)),
        after[0] * new.borne,
    ]
    price, area, weather, use = (b - a for a, b in pairwise(links))
    fixed = after[1] * new.borne - before[1] * old.borne
    billed = [sum(of_bills(year.bills, year)) * year.borne for year in (old, new)]
    whole = [sum(bill) * year.borne for bill, year in ((before, old), (after, new))]
    exchange = (billed[1] - whole[1]) - (billed[0] - whole[0])
    effects = Effects(price, area, weather, use, fixed, exchange=exchange)
    return rounded_effects(billed[0], billed[1], effects)
