"""Water bills by tiers, the energy of pumping, and how a tiered bill changed.

A tier's price holds for the water between the tier's foot (the top of the tier below) and its
top, within one billing period. The last tier has no top.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise

import numpy as np

from xlfuncs.calculations.arrays import Floats, Number, Numbers
from xlfuncs.calculations.money.bill_periods import Bill, DaySpan, common, moved
from xlfuncs.calculations.money.year_on_year import Effects, rounded_effects
from xlfuncs.calculations.pressure.properties import pressure_from_head
from xlfuncs.errors import CellError, InputError

_JOULES_PER_KWH = 3.6e6


def pumping_energy(
    volume: Numbers, pressure: Numbers, efficiency: Numbers, lift: Number
) -> Numbers:
    """Energy (kWh) to raise `volume` (m³) by `lift` (m) and give it `pressure` (Pa).

    `efficiency` is that of the whole pumping plant, from the electricity meter to the water.
    """
    work = volume * (pressure + pressure_from_head(lift))
    return work / efficiency / _JOULES_PER_KWH


@dataclass(frozen=True)
class Tiers:
    """The volume part of a tariff: feet and prices of its tiers in order, and where it ends."""

    feet: Floats
    prices: Floats
    end: float

    @classmethod
    def from_tops(cls, tops: Floats, prices: Floats, argument: str) -> "Tiers":
        """From the tops of the tiers. The last tier needs no top; one given ends the tariff."""
        if not len(prices) - 1 <= len(tops) <= len(prices) or not len(prices):
            raise InputError(
                argument,
                f"{len(prices)} prices need {max(len(prices) - 1, 0)} tops, the last tier being "
                f"open; got {len(tops)}",
                cell_error=CellError.VALUE,
            )
        falls = np.diff(tops, prepend=0.0) <= 0
        if falls.any():
            row = int(np.argmax(falls))
            words = "tops must rise from tier to tier, from above 0; this one does not"
            raise InputError(argument, words, row=row)
        feet = np.concatenate([[0.0], tops[: len(prices) - 1]])
        return cls(feet, prices, tops[-1] if len(tops) == len(prices) else np.inf)

    def charge(self, volumes: Floats, argument: str) -> Floats:
        """The charge for each volume used in one billing period."""
        beyond = volumes > self.end
        if beyond.any():
            words = "is above the last tier's top; leave that top blank if the last price goes on"
            raise InputError(argument, words, row=int(np.argmax(beyond)))
        above = np.maximum(volumes[:, None] - self.feet, 0.0)
        charges: Floats = above @ np.diff(self.prices, prepend=0.0)
        return charges


def water_charge(
    volume: Floats, tier_tops: Floats, tier_prices: Floats, fixed: float, sewer_price: float,
    sewer_share: float, billed_unit: float,
) -> Floats:  # fmt: skip
    """The bill of each billing period: fixed part, tiers, and sewer on a share of the water.

    With a `billed_unit` only whole units are billed and the rest waits for the next bill, as a
    meter read in whole units does by itself.
    """
    billed = np.floor(volume / billed_unit + 1e-9) * billed_unit if billed_unit > 0 else volume
    tiers = Tiers.from_tops(tier_tops, tier_prices, "tier_tops")
    sewer = billed * (sewer_share * sewer_price)
    charge: Floats = fixed + tiers.charge(billed, "volume") + sewer
    return charge


@dataclass(frozen=True)
class WaterYear:
    """A year of water bills: billed volumes by period, tariff, and what the water was for."""

    volumes: Floats
    tiers: Tiers
    fixed: float  # a billing period
    area: float = 1.0
    need: float = 1.0  # depth that the crops needed beyond rain

    def fixed_charges(self) -> float:
        """The year's fixed charges."""
        return self.fixed * len(self.volumes)


def water_bill_effects(old: WaterYear, new: WaterYear) -> tuple[Decimal, Decimal, Effects]:
    """The old and the new year's bills, and the change between them split into effects.

    The links of the chain: the old volumes on the old tariff, on the new tariff (price), for the
    new area (area), for the new year's need (weather), and the new volumes (use). So the price
    effect weighs by the old year's volumes, and a dearer tier reached by using more is use.
    """
    if len(old.volumes) != len(new.volumes):
        raise InputError(
            "new_volumes",
            f"like for like needs as many billing periods in both years; got {len(old.volumes)} "
            f"and {len(new.volumes)}",
        )
    same_area = new.area / old.area
    same_need = same_area * new.need / old.need
    scales = (1.0, same_area, same_need)
    links = [
        float(old.tiers.charge(old.volumes, "old_volumes").sum()),
        *(float(new.tiers.charge(old.volumes * s, "old_volumes").sum()) for s in scales),
        float(new.tiers.charge(new.volumes, "new_volumes").sum()),
    ]
    price, area, weather, use = np.diff(links).tolist()
    fixed = new.fixed_charges() - old.fixed_charges()
    return rounded_effects(
        links[0] + old.fixed_charges(),
        links[-1] + new.fixed_charges(),
        Effects(price, area, weather, use, fixed),
    )


# --- water bills by the tariffs of their own days, and two years of them compared ---
# A bill that spans a change of tariff is parted by days: each tariff's part of the days bears that
# part of what the whole bill would be on it, its tiers and its fixed charge.
_FOREVER = 10**7


@dataclass(frozen=True)
class Tariff:
    """A price list from the day it holds; prices with the sewer's part."""

    first: int  # day since 1970
    tiers: Tiers
    fixed: float  # a bill


def tariffs_from_columns(
    valid_from: Sequence[int], fixed: Floats, sewer: Floats, tier_from: Sequence[int],
    tops: Floats, prices: Floats
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
