"""How long a year of water need takes: `python -m tests.bench.bench_water_need`."""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np

import xlfuncs
from xlfuncs.calculations.timer import programs as timer
from xlfuncs.calculations.timer.weekly_schedule import AllowedHours
from xlfuncs.calculations.water import bed_crop_use, evapotranspiration, soil_water

BEDS, DAYS = 200, 365
HOUR = 3600


def seconds(work: Callable[[], object], repeats: int = 7) -> float:
    """The median of some runs, the first one left out."""
    times = []
    for _ in range(repeats + 1):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return sorted(times[1:])[repeats // 2]


def main() -> None:
    rng = np.random.default_rng(6)
    day = np.arange(1.0, DAYS + 1)
    warm = 18 - 9 * np.cos(2 * np.pi * (day - 20) / 365)
    rain = np.where(rng.random(DAYS) < 0.3, rng.gamma(1.0, 8.0, DAYS), 0.0)
    reference = evapotranspiration.reference_et_penman_monteith(
        warm + 6, warm - 6, 45.0, day, 100.0
    )
    planted = rng.integers(60, 200, BEDS)
    age = day[:, None] - planted
    kc = bed_crop_use.crop_coefficient(age, 25, 35, 40, 25, 0.6, 1.1, 0.8)
    use = np.asarray(reference)[:, None] * kc
    total, fraction = rng.uniform(20, 120, BEDS), rng.uniform(0.2, 0.5, BEDS)
    none = np.zeros((DAYS, BEDS))

    def balance() -> object:
        return soil_water.soil_water_balance(use, rain[:, None], none, total, fraction)

    def by_function() -> None:
        dates = np.arange("2013-01-01", "2014-01-01", dtype="datetime64[D]")
        for bed in range(BEDS):
            xlfuncs.soil_water_balance(
                dates, use[:, bed], rain, total[bed], fraction[bed], units="metric"
            )

    def reference_cells() -> object:
        return xlfuncs.reference_et_pm(warm + 6, warm - 6, 45.0, day, 100.0, units="metric")

    sets = [timer.WateringSet(i, 60.0 * int(rng.integers(10, 60)), 3, 2) for i in range(24)]
    limits = timer.Timer(stations=24, programs=4, starts=4)
    night = AllowedHours(20 * HOUR, 8 * HOUR)

    def week() -> object:
        return timer.timer_program(sets, limits, night, soak=1800)

    for words, took in (
        (f"soil water, {BEDS} beds x {DAYS} days, one call", seconds(balance)),
        (f"soil water, {BEDS} worksheet calls of {DAYS} days", seconds(by_function, 3)),
        (f"Penman-Monteith, a column of {DAYS} days", seconds(reference_cells)),
        ("timer program, 24 sets, 4 programs", seconds(week)),
    ):
        print(f"{words:50s} {took * 1e3:8.1f} ms")


if __name__ == "__main__":
    main()
