"""The advice for the week followed blindly through seasons of daily weather: how dry beds get.

On request only: `python tests/trial/season_trial.py FOLDER`, with FOLDER holding the weather files
(`*_climate.txt`) that the package aquacrop 3.1.0 ships (`pip download --no-deps aquacrop`; its
series for Tunis, Brussels, Champion, Hyderabad and others). Prints the table; every draw has a
fixed seed. What the grower types is Monday's mean temperatures and the gauge; what is true differs
by random errors that the advice is not told.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from xlfuncs.calculations.water import bed_crop_use as kc
from xlfuncs.calculations.water import evapotranspiration as et
from xlfuncs.calculations.water import garden_copies as copies
from xlfuncs.calculations.water import season_so_far as season
from xlfuncs.calculations.water import this_week as week
from xlfuncs.calculations.water.irrigation_need import effective_rain_tr21
from xlfuncs.calculations.water.soil_water import depletion_fraction, soil_water_balance
from xlfuncs.calculations.water.this_week import RULES

# FAO-56 tables 11, 12, 22: Kc initial, mid, end; stages in days; roots in m; p.
CROPS = {
    "tomato": ((0.6, 1.15, 0.80), (30, 40, 45, 30), 0.7, 0.40),
    "lettuce": ((0.7, 1.00, 0.95), (20, 30, 15, 10), 0.3, 0.30),
    "onion": ((0.7, 1.05, 0.75), (15, 25, 70, 40), 0.3, 0.30),
    "cabbage": ((0.7, 1.05, 0.95), (40, 60, 50, 15), 0.5, 0.45),
}
SOILS = {"loamy sand": 80.0, "loam": 130.0, "clay loam": 150.0}  # mm/m, FAO-56 table 19
ROOTS_AT_FIRST = 0.15  # m
PROBE = 0.08  # error of a probe, of the available water


@dataclass(frozen=True)
class Climate:
    file: str
    latitude: float  # from memory
    planted: tuple[int, int]  # month, day
    length: int


CLIMATES = {
    "dry season": Climate("hyderabad", 17.4, (12, 1), 130),
    "dry summer": Climate("tunis", 36.8, (4, 1), 145),
    "continental": Climate("champion", 40.4, (5, 10), 130),
    "humid": Climate("brussels", 50.8, (4, 20), 145),
    "monsoon": Climate("hyderabad", 17.4, (6, 15), 130),
    "summer rain (not tuned on)": Climate("cordoba", -31.4, (10, 10), 140),
    "humid, cool (not tuned on)": Climate("suffolk", 52.2, (4, 20), 145),
}


@dataclass(frozen=True)
class Weather:
    days: np.ndarray
    low: np.ndarray
    high: np.ndarray
    rain: np.ndarray
    et: np.ndarray


def read(path: Path) -> Weather:
    raw = np.loadtxt(path, skiprows=1)
    dates = np.array(
        [f"{int(y):04d}-{int(m):02d}-{int(d):02d}" for d, m, y in raw[:, :3]], dtype="datetime64[D]"
    )
    return Weather(dates, *raw[:, 3:7].T)


def month_of(days: np.ndarray) -> np.ndarray:
    return days.astype("datetime64[M]").astype(int) % 12


def day_of_year(days: np.ndarray) -> np.ndarray:
    return (days - days.astype("datetime64[Y]").astype("datetime64[D]")).astype(int) + 1.0


@dataclass(frozen=True)
class Table:
    """The climate table that a grower has: means of all years by month."""

    et: np.ndarray
    rain: np.ndarray
    scale: np.ndarray  # Penman-Monteith over Hargreaves


def climate_table(weather: Weather, latitude: float) -> Table:
    month = month_of(weather.days)
    mean = lambda values: np.array([values[month == m].mean() for m in range(12)])  # noqa: E731
    middle = np.array([15, 46, 74, 105, 135, 166, 196, 227, 258, 288, 319, 349], dtype=float)
    by_temperature = et.reference_et_from_temperature(
        mean(weather.high), mean(weather.low), latitude, middle
    )
    return Table(mean(weather.et), mean(weather.rain), mean(weather.et) / by_temperature)


def part_of(weather: Weather, climate: Climate, year: int):
    start = np.datetime64(f"{year}-{climate.planted[0]:02d}-{climate.planted[1]:02d}")
    first = int(np.searchsorted(weather.days, start))
    if first + climate.length + 7 > len(weather.days) or weather.days[first] != start:
        return None
    return slice(first, first + climate.length + 7)


def beds_of(days: np.ndarray, length: int) -> copies.BedDays:
    age = np.arange(len(days), dtype=float)
    columns = []
    for coefficients, stages, roots, fraction in CROPS.values():
        lengths = kc.fitted_stages(np.array([stages], dtype=float), np.array([length]))[0]
        stands = age < length
        use = np.where(
            stands, kc.crop_coefficient(np.minimum(age, length), *lengths, *coefficients), 0
        )
        depth = kc.root_depth(age, lengths[0], lengths[1], ROOTS_AT_FIRST, roots)
        for capacity in SOILS.values():
            columns.append((use, capacity * depth, np.full(len(days), fraction)))
    use, available, fractions = (np.array(each).T for each in zip(*columns, strict=True))
    n = use.shape[1]
    ages = np.repeat(np.where(age < length, age, np.nan)[:, None], n, axis=1)
    return copies.BedDays(
        days, use, available, fractions, ages, np.ones(n), np.full(n, 0.3), np.full(n, 0.9)
    )


@dataclass(frozen=True)
class Truth:
    use: np.ndarray
    soil: np.ndarray
    efficiency: np.ndarray
    start: np.ndarray
    gauge: float


def truth_of(rng: np.random.Generator, n: int) -> Truth:
    return Truth(
        rng.uniform(0.85, 1.15, n),
        rng.uniform(0.8, 1.2, n),
        np.full(n, rng.uniform(0.75, 0.95)),
        rng.uniform(0.0, 0.5, n),
        rng.uniform(0.8, 1.2),
    )


class TrueBeds:
    def __init__(self, beds: copies.BedDays, truth: Truth, et: np.ndarray, rain: np.ndarray):
        self.use = beds.use * et[:, None] * truth.use
        self.total = beds.available * truth.soil
        self.raw = depletion_fraction(beds.fraction, self.use) * self.total
        self.rain, self.truth, self.fraction = rain, truth, beds.fraction
        self.depletion = truth.start * self.total[0]
        self.fine, self.gross = [], np.zeros(beds.use.shape[1])

    def day(self, d: int, gross: np.ndarray) -> None:
        net = gross * self.truth.efficiency
        balance = soil_water_balance(
            self.use[d][None],
            self.rain[d] + 0 * net[None],
            net[None],
            self.total[d][None],
            self.fraction[d][None],
            self.depletion,
        )
        self.depletion = balance.depletion[0]
        self.fine.append(self.depletion <= self.raw[d] + 1e-9)
        self.gross += gross

    def perfect(self, d: int) -> np.ndarray:
        """Gross depth that keeps the bed from passing its readily available water, no more."""
        wanted = self.depletion + self.use[d] - self.rain[d] - self.raw[d]
        return np.maximum(wanted, 0.0) / self.truth.efficiency


def run_perfect(beds, truth, et, rain, length):
    bed = TrueBeds(beds, truth, et, rain)
    for d in range(length):
        bed.day(d, bed.perfect(d))
    return bed


def run_advice(beds, truth, w, climate, table, length, rng, rules=RULES, probes=True):
    """Monday's advice, followed; the card for rain read on the days between."""
    bed = TrueBeds(beds, truth, w.et, w.rain)
    gauge, n = w.rain * truth.gauge, beds.use.shape[1]
    nothing = np.full(len(w.days), np.nan)
    log = season.Log(gauge, w.high, w.low, nothing, nothing, nothing)
    known = season.known_et(season.Climate(climate.latitude, table.et, table.scale), w.days, log)
    monday, by_table = season.is_monday(w.days), table.et[season.months(w.days)]
    following = season.Following(beds, None, rules)
    for d in range(length):
        if d == 0 or monday[d]:
            for b in range(n):
                if probes and week.probe_due(beds, d, b):
                    used = bed.depletion[b] / bed.total[d, b] + rng.normal(0, PROBE)
                    following.know = copies.after_reading(
                        following.know, beds, d, b, float(np.clip(used, 0, 1))
                    )
            lately = slice(max(d - season.LATELY, 0), d)
            ahead = season.expected_et(by_table[d : d + 7], known[lately], by_table[lately])
            following.monday(d, ahead, float(gauge[max(d - 3, 0) : d].sum()))
        else:
            following.after_rain(d, gauge[d - 1])
        gross = following.gross(d)
        bed.day(d, gross)
        following.know = copies.day_after(following.know, beds, d, known[d], gauge[d], gross)
    return bed


def run_timer(beds, truth, w, table, length):
    """The monthly timer: the month's use less its mean rain (TR-21), three days a week."""
    bed = TrueBeds(beds, truth, w.et, w.rain)
    month = month_of(w.days)
    weekday = (w.days.astype(int) + 3) % 7
    gross = np.zeros_like(beds.use)
    for m in np.unique(month[:length]):
        of = np.flatnonzero(month[:length] == m)
        use = (beds.use[of] * table.et[m]).sum(axis=0)
        rain = table.rain[m] * len(of)
        full = beds.available[length - 1]
        storage = np.clip(depletion_fraction(beds.fraction[0], 6.0) * full, 7.62, 177.8)
        net = np.maximum(use - effective_rain_tr21(rain, use, storage), 0.0)
        gross[of] = np.where(
            np.isin(weekday[of], (0, 2, 4))[:, None], net / 0.9 / (len(of) * 3 / 7), 0
        )
    for d in range(length):
        bed.day(d, gross[d])
    return bed


@dataclass(frozen=True)
class Outcome:
    """Of one season and its twelve beds; water as gross depth in mm, beyond a perfect schedule."""

    within: float
    worst: float
    beyond: float
    perfect: float
    timer_within: float
    timer_beyond: float

    @property
    def beyond_share(self) -> float:
        return self.beyond / self.perfect


def one_season(weather, years_before, climate, year, rules=RULES, probes=True, seed=1):
    """None where the series does not hold the season; `years_before` makes the climate table."""
    part = part_of(weather, climate, year)
    if part is None:
        return None
    table = climate_table(years_before, climate.latitude)
    w = Weather(*(getattr(weather, name)[part] for name in ("days", "low", "high", "rain", "et")))
    beds = beds_of(w.days, climate.length)
    rng = np.random.default_rng([seed, year])
    truth = truth_of(rng, beds.use.shape[1])
    best = run_perfect(beds, truth, w.et, w.rain, climate.length)
    ours = run_advice(beds, truth, w, climate, table, climate.length, rng, rules, probes)
    timer = run_timer(beds, truth, w, table, climate.length)
    fine, by_timer = np.array(ours.fine), np.array(timer.fine)
    return Outcome(
        fine.mean(), 1 - fine.mean(axis=0).min(), (ours.gross - best.gross).mean(),
        best.gross.mean(), by_timer.mean(), (timer.gross - best.gross).mean(),
    )  # fmt: skip


def trial(folder: Path, years=lambda year: True, **options) -> dict[str, list[Outcome]]:
    rows = {}
    for name, climate in CLIMATES.items():
        weather = read(folder / f"{climate.file}_climate.txt")
        known = np.unique(weather.days.astype("datetime64[Y]").astype(int) + 1970)
        results = (
            one_season(weather, weather, climate, int(y), **options) for y in known if years(y)
        )
        rows[name] = [result for result in results if result]
    return rows


HEADINGS = ("seasons", "within %", "worst bed dry %", "beyond mm", "beyond %", "perfect mm",
            "timer within %", "timer beyond %")  # fmt: skip


def show(title: str, rows: dict[str, list[Outcome]]) -> None:
    print(f"\n{title}\n{'':28s}" + "".join(f"{each:>17s}" for each in HEADINGS))
    for name, seasons in rows.items():
        within, worst, beyond, perfect, timer, more = np.mean(
            [(s.within, s.worst, s.beyond, s.perfect, s.timer_within, s.timer_beyond)
             for s in seasons], axis=0,
        )  # fmt: skip
        figures = (len(seasons), 100 * within, 100 * worst, beyond, 100 * beyond / perfect, perfect,
                   100 * timer, 100 * more / perfect)  # fmt: skip
        print(f"{name:28s}" + "".join(f"{each:17.1f}" for each in figures))


if __name__ == "__main__":
    where = Path(sys.argv[1])
    show("All years", trial(where))
    show("Odd years, on which the rules were tuned", trial(where, lambda year: year % 2 == 1))
    show("Even years, with other errors", trial(where, lambda year: year % 2 == 0, seed=7))
    show("All years, nobody reads a probe", trial(where, probes=False, seed=3))
