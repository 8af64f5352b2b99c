"""A hundred copies of every bed, each with other errors, and how a reading sorts them.

Nobody knows a bed exactly: its crop uses more or less than the table says, its soil holds more or
less, the rain gauge and the lines err. So the daily balance of FAO-56 runs for copies that differ
by such errors, and a probe reading counts those copies more that foretold it. That corrects use,
soil and gauge, not only the level of the day, and can't ratchet upwards: no copy leaves the bounds.
The copies are the same every time (a Halton sequence), so the same log gives the same advice.
Depths in mm; gross is what the lines give, before any loss.
"""

from dataclasses import dataclass, replace

import numpy as np

from xlfuncs.calculations.arrays import Dates, Floats, Integers
from xlfuncs.calculations.water.soil_water import soil_water_balance

COPIES = 128
# How far a copy may differ from what is told; a little more than the errors the trial draws. Of
# the efficiency more falls short than exceeds, for 0.9 is what lines in order reach.
USE, RAIN, SOIL, EFFICIENCY = (0.80, 1.20), (0.75, 1.25), (0.75, 1.25), (0.80, 1.08)
READING_ERROR = 0.12  # of the available water, of a probe; common practice, no published source
FLUKE = 0.01  # of a reading's weight: no copy is ruled out by one, it may be plain wrong


@dataclass(frozen=True)
class BedDays:
    """The season by day and bed, (days, beds); (beds,) where nothing changes."""

    days: Dates
    use: Floats  # crop coefficient, cover counted; 0 without a crop
    available: Floats  # TAW of the wetted root zone
    fraction: Floats  # p of the table
    age: Floats  # days since planting, NaN without a crop
    rain_share: Floats
    start: Floats  # share of the available water that was used up at planting
    efficiency: Floats


@dataclass(frozen=True)
class Knowledge:
    """Where the copies of every bed stand, and how much each counts: (beds, copies)."""

    depletion: Floats
    weight: Floats


def _halton(base: int) -> Floats:
    values = np.zeros(COPIES)
    for i in range(COPIES):
        n, part = i + 1, 1.0
        while n:
            n, digit = divmod(n, base)
            part /= base
            values[i] += part * digit
    return values


use_factor, rain_factor, soil_factor, efficiency_factor = (
    low + _halton(base) * (high - low)
    for base, (low, high) in zip((2, 3, 5, 7), (USE, RAIN, SOIL, EFFICIENCY), strict=True)
)


def at_start(beds: BedDays) -> Knowledge:
    shape = (beds.use.shape[1], COPIES)
    return Knowledge(np.zeros(shape), np.full(shape, 1.0 / COPIES))


def available(beds: BedDays, day: int | Integers) -> Floats:
    """Available water of the copies, (beds, copies); a day for all beds or one for each."""
    every = np.arange(beds.available.shape[1])
    return np.asarray(np.maximum(beds.available[day, every][:, None] * soil_factor, 1e-6))


def day_after(
    know: Knowledge, beds: BedDays, day: int, reference_et: float, rain: float, gross: Floats
) -> Knowledge:
    """The copies after one day's use, rain and watering (`gross`, by bed)."""
    total = available(beds, day)
    planted = (beds.age[day] == 0.0)[:, None]
    start = np.where(planted, beds.start[:, None] * total, know.depletion)
    # A new crop: what was learnt of lines, soil and gauge still holds, its own use is new.
    weight = np.where(planted, np.sqrt(know.weight), know.weight)
    use = beds.use[day][:, None] * reference_et * use_factor
    fell = rain * beds.rain_share[:, None] * rain_factor
    given = (gross * beds.efficiency)[:, None] * efficiency_factor
    fraction = np.broadcast_to(beds.fraction[day][:, None], use.shape)
    balance = soil_water_balance(
        use[None], fell[None], given[None], total[None], fraction[None], start
    )
    return Knowledge(balance.depletion[0], weight / weight.sum(axis=1, keepdims=True))


def after_reading(
    know: Knowledge, beds: BedDays, day: int, bed: int, used: float, error: float = READING_ERROR
) -> Knowledge:
    """What a reading says of a bed: the share of its available water that is used up."""
    miss = (know.depletion[bed] / available(beds, day)[bed] - used) / error
    weight = know.weight.copy()
    weight[bed] *= np.exp(-0.5 * miss**2) + FLUKE
    weight[bed] /= weight[bed].sum()
    return replace(know, weight=weight)


def quantile(values: Floats, weight: Floats, share: Floats | float) -> Floats:
    """The value of each row that this share of its copies, by weight, does not pass."""
    order = np.argsort(values, axis=1)
    reached = np.cumsum(np.take_along_axis(weight, order, axis=1), axis=1)
    first = np.argmax(reached >= np.reshape(share, (-1, 1)) - 1e-9, axis=1)
    at = np.take_along_axis(order, first[:, None], axis=1)
    return np.asarray(np.take_along_axis(values, at, axis=1)[:, 0])


def seeming_use(know: Knowledge) -> Floats:
    """What a bed seems to use up of what the table says, its lines' losses counted in."""
    return np.asarray((know.weight * use_factor / efficiency_factor).sum(axis=1))
