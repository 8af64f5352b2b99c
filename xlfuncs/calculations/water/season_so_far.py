"""A season followed week by week: the log in, where every bed stands and this week's advice out.

What the log does not say was done as advised, so a week in which the advice was followed needs no
entry but the weather. The advice of past weeks is computed again from the log up to each of them;
nothing is kept between two calls. Depths in mm.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from xlfuncs.calculations.arrays import Dates, Flags, Floats, Integers
from xlfuncs.calculations.water.evapotranspiration import reference_et_from_temperature
from xlfuncs.calculations.water.garden_copies import (
    BedDays,
    Knowledge,
    after_reading,
    at_start,
    day_after,
)
from xlfuncs.calculations.water.soil_water import depletion_fraction
from xlfuncs.calculations.water.this_week import RULES, WEEK, Rules, WeekAdvice, advise

LATELY = 14  # days that say how the weather differs from the table's
CARRIES_ON = 0.4  # of that difference into the week to come; tried, see tests/trial
WITHIN = (0.5, 1.6)
ODD_WEEK = 20.0  # K between a week and its month; °C for °F misses by more from 12 °C on


@dataclass(frozen=True)
class Climate:
    """The table of a station by month, January first: what Penman-Monteith gives in mm/day, and
    over it what Hargreaves gives from the same table's temperatures."""

    latitude: float
    et: Floats
    scale: Floats


@dataclass(frozen=True)
class Reading:
    """How a bed was found on a day: the share of its available water used up, and how surely."""

    day: int
    bed: int
    used: float
    error: float


@dataclass(frozen=True)
class Log:
    """By day from the season's first; NaN where nothing was noted."""

    rain: Floats
    high: Floats
    low: Floats
    et: Floats
    followed: Floats  # share of the advised water that was given; 0 where it was skipped
    extra: Floats  # gross depth given beyond it, (days, beds)
    readings: tuple[Reading, ...] = ()


@dataclass(frozen=True)
class Valves:
    """Which beds open together, and the seconds that 1 mm takes in each."""

    number: Integers
    seconds: Floats

    def shared(self, advice: WeekAdvice, waters: Flags) -> WeekAdvice:
        """Beds of a valve get one time, midway between their mean by flow and the thirstiest."""
        rest, depth = advice.rest.copy(), advice.depth.copy()
        for valve in np.unique(self.number):
            of = np.flatnonzero((self.number == valve) & waters)
            if of.size > 1:
                rest[of] = rest[of].min()
                # What a bed wants in its week, spread over the days of the valve.
                week = advice.depth[of] * (WEEK - advice.rest[of]) / np.maximum(WEEK - rest[of], 1)
                times, flow = week * self.seconds[of], 1.0 / self.seconds[of]
                time = (np.average(times, weights=flow) + times.max()) / 2.0
                depth[of] = time / self.seconds[of]
        return replace(advice, rest=rest, depth=depth)


class Following:
    """The advice as it stands between two Mondays, and who rests."""

    def __init__(self, beds: BedDays, valves: Valves | None = None, rules: Rules = RULES) -> None:
        self.beds, self.valves, self.rules = beds, valves, rules
        self.know: Knowledge = at_start(beds)
        self.advice: WeekAdvice | None = None
        self.rest_until = np.zeros(beds.use.shape[1], dtype=np.int64)

    def monday(self, day: int, expected: Floats, lately: float) -> WeekAdvice:
        advice = advise(self.know, self.beds, day, expected, lately, self.rules)
        if self.valves is not None:
            grows = np.asarray((self.beds.use[day : day + WEEK] > 0.0).any(axis=0))
            advice = self.valves.shared(advice, grows)
        self.advice, self.since = advice, day
        self.rest_until = day + advice.rest
        return advice

    def after_rain(self, day: int, rain: float) -> None:
        """Rain of the day before: rest as the card of this week says."""
        assert self.advice is not None
        if rain >= self.rules.worth_a_rest:
            rests = (rain >= self.advice.rests_after).sum(axis=1)
            self.rest_until = np.maximum(self.rest_until, day + rests)

    def gross(self, day: int) -> Floats:
        assert self.advice is not None
        runs = (day >= self.rest_until) & (self.beds.use[day] > 0.0)
        hand = self.advice.by_hand if day == self.since else 0.0
        return np.where(runs, self.advice.depth, 0.0) + hand


@dataclass(frozen=True)
class SeasonSoFar:
    advice: WeekAdvice
    know: Knowledge
    given: Floats  # gross, (days, beds)
    depletion: Floats  # mean of the copies, (days, beds)
    et: Floats  # of the days
    rain: Floats


def season_so_far(
    beds: BedDays, climate: Climate, log: Log, today: int, valves: Valves | None = None,
    rules: Rules = RULES
) -> SeasonSoFar:  # fmt: skip
    """From the first day up to the Monday `today` (an index of the days; its own not included)."""
    table = climate.et[months(beds.days)]
    known = known_et(climate, beds.days, log)
    rain = np.nan_to_num(log.rain)
    following = Following(beds, valves, rules)
    given, depletion = np.zeros_like(beds.use), np.zeros_like(beds.use)
    mondays = is_monday(beds.days)
    for day in range(today + 1):
        for reading in log.readings:
            if reading.day == day:
                following.know = after_reading(
                    following.know, beds, day, reading.bed, reading.used, reading.error
                )
        if day in (0, today) or mondays[day]:
            lately = slice(max(day - LATELY, 0), day)
            ahead = expected_et(table[day : day + WEEK], known[lately], table[lately])
            following.monday(day, ahead, float(rain[max(day - 3, 0) : day].sum()))  # fmt: skip
        else:
            following.after_rain(day, rain[day - 1])
        if day < today:
            given[day] = following.gross(day) * log.followed[day] + log.extra[day]
            following.know = day_after(following.know, beds, day, known[day], rain[day], given[day])
            know = following.know
            depletion[day] = (know.depletion * know.weight).sum(axis=1)
    assert following.advice is not None
    return SeasonSoFar(following.advice, following.know, given, depletion, known, rain)


def need_beyond_rain(beds: BedDays, et: Floats, rain: Floats) -> Floats:
    """Net depth, (days, beds), that lines had to bring so that no bed was stressed.

    Whoever watered: just as much, day by day, as keeps a bed that starts as told within its readily
    available water; what weather asked of the lines, for the comparison of years.
    """
    use = beds.use[: len(et)] * et[:, None]
    total = beds.available[: len(et)]
    raw = depletion_fraction(beds.fraction[: len(et)], use) * total
    lost, brought = np.zeros(use.shape[1]), np.zeros_like(use)
    for day, fell in enumerate(rain):
        lost = np.where(beds.age[day] == 0.0, np.minimum(beds.start * total[day], raw[day]), lost)
        lost = np.maximum(lost + use[day] - fell * beds.rain_share, 0.0)
        brought[day] = np.where(use[day] > 0.0, np.maximum(lost - raw[day], 0.0), 0.0)
        lost = lost - brought[day]
    return brought


def odd_weeks(days: Dates, typed: Floats, monthly: Floats) -> Iterator[tuple[int, float]]:
    """Weeks whose mean of what is `typed` (°C; NaN for nothing) is so far from that of their months
    that it must be in another unit: the first row of each, and by how much it is beyond."""
    beyond, weeks = typed - monthly[months(days)], week_of(days)
    for week in np.unique(weeks[~np.isnan(beyond)]):
        rows = np.flatnonzero((weeks == week) & ~np.isnan(beyond))
        if abs(mean := float(beyond[rows].mean())) > ODD_WEEK:
            yield int(rows[0]), mean


def week_of(days: Dates) -> Integers:
    """A number for each week from Monday; day 0 of numpy is a Thursday."""
    return np.asarray((days.astype(int) + 3) // WEEK)


def months(days: Dates) -> Integers:
    return np.asarray(days.astype("datetime64[M]").astype(int) % 12)


def is_monday(days: Dates) -> Flags:
    return np.asarray((days.astype(int) + 3) % WEEK == 0)  # day 0 of numpy is a Thursday


def known_et(climate: Climate, days: Dates, log: Log) -> Floats:
    """Reference ET of each day: as a station gives it, else Hargreaves from the mean temperatures
    of the week, scaled by the month's Penman-Monteith over Hargreaves; else the month's."""
    month, week = months(days), np.cumsum(is_monday(days))
    count = np.maximum(np.bincount(week, weights=~np.isnan(log.high + log.low)), 1e-9)
    high, low = (
        (np.bincount(week, weights=np.where(np.isnan(log.high + log.low), 0.0, each)) / count)[week]
        for each in (log.high, log.low)
    )
    of_year = (days - days.astype("datetime64[Y]").astype("datetime64[D]")).astype(int) + 1.0
    by_temperature = climate.scale[month] * reference_et_from_temperature(
        high, low, climate.latitude, of_year
    )
    estimate = np.where(count[week] >= 1.0, by_temperature, climate.et[month])
    return np.where(np.isnan(log.et), estimate, log.et)


def measured_et_days(days: Dates, log: Log) -> Flags:
    """Whether a station or temperatures of its week say the reference ET of a day."""
    week = week_of(days)
    return np.isin(week, week[~np.isnan(log.high + log.low)]) | ~np.isnan(log.et)


def expected_et(table: Floats, lately: Floats, table_then: Floats) -> Floats:
    """Of days to come: the table's, and a part of how the last two weeks differed from it."""
    if not lately.size:
        return table
    beyond = np.clip(lately.sum() / max(table_then.sum(), 1e-9), *WITHIN)
    return np.asarray(table * (1.0 + CARRIES_ON * (beyond - 1.0)))
