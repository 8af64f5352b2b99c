"""How long the money functions take: `python -m tests.bench.bench_money`."""

from __future__ import annotations

import time

import numpy as np

import xlfuncs
from xlfuncs.calculations.money.tariffs import water_charge
from xlfuncs.calculations.money.year_on_year import Entries, Surroundings, year_on_year

ENTRIES = 50_000
KINDS = ("Water", "Electricity", "Tape", "Tubing", "Fittings", "Filters", "Fertiliser", "Labour")


def seconds(work: object, repeats: int = 5) -> float:
    """The median of some runs."""
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        work()  # type: ignore[operator]
        times.append(time.perf_counter() - start)
    return sorted(times)[repeats // 2]


def main() -> None:
    """Ten years of entries compared, and a column of bills."""
    rng = np.random.default_rng(7)
    dates = np.datetime64("2015-01-01") + rng.integers(0, 3652, ENTRIES)
    kinds = [KINDS[k] for k in rng.integers(0, len(KINDS), ENTRIES)]
    quantities = np.where(rng.random(ENTRIES) < 0.2, np.nan, rng.integers(1, 5000, ENTRIES) / 10)
    amounts = rng.integers(-500, 50_000, ENTRIES) / 100
    billed = np.where(rng.random(ENTRIES) < 0.25, dates - 61, np.datetime64("NaT"))
    years = range(2014, 2025)
    around = Surroundings(
        {year: 1000.0 + 10 * year for year in years},
        {year: 300.0 + year for year in years},
        frozenset({"water"}),
    )

    def compare(period_starts: object) -> None:
        columns = dates, kinds, quantities, amounts, period_starts
        year_on_year(Entries.from_columns(*columns), around=around)  # type: ignore[arg-type]

    points = np.full(ENTRIES, np.datetime64("NaT", "D"))
    print(f"{ENTRIES} entries over ten years, dated: {seconds(lambda: compare(points)):.3f} s")
    print(f"the same, a quarter of them bills of 61 days: {seconds(lambda: compare(billed)):.3f} s")
    serials = (dates - np.datetime64("1899-12-30")).astype(float)  # as a cell holds dates
    years_ = [float(year) for year in years]
    entries = {"Date": serials, "Kind": kinds, "Amount": amounts, "Quantity": quantities}
    around = {"Year": years_, "Planted area": [1000.0] * len(years_)}
    xlfuncs.year_on_year(entries, around)  # loads everything
    sheet = seconds(lambda: xlfuncs.year_on_year(entries, around))
    print(f"the first through YEAR_ON_YEAR, as from a sheet: {sheet:.3f} s")
    volumes, tops, prices = rng.random(100_000) * 50, np.array([10.0, 20.0]), np.array([1.0, 2, 3])
    bills = seconds(lambda: water_charge(volumes, tops, prices, 12.0, 1.5, 0.5, 0.0))
    print(f"100,000 water bills of three tiers: {bills * 1000:.1f} ms")


if __name__ == "__main__":
    main()
