"""Declaration: what the weather of a year asked of the lines, by the log, for the years' costs."""

from typing import Any

import numpy as np

from xlfuncs.calculations.money.calendar_years import year_span
from xlfuncs.calculations.money.year_on_year import NEARLY
from xlfuncs.calculations.water import season_so_far as season
from xlfuncs.catalogue.declaration import Arg, Result, table, worksheet_function
from xlfuncs.catalogue.sources import FAO56
from xlfuncs.catalogue.topics.water import season_reading as reading
from xlfuncs.catalogue.topics.water.this_week import WEEK_TABLES, settings_table
from xlfuncs.tables.garden.this_week import LOGGED_SETTINGS
from xlfuncs.tables.money.years import YEARS

_BEDS, _PLAN, _WEATHER, _LOG, _, _, _CROPS = WEEK_TABLES
ENOUGH = NEARLY / 365.0  # of the days with a crop, as of a year's bills


@worksheet_function(
    "LOGGED_NEED",
    topic="time",
    help="What lines had to bring beside the rain in each year, by the weather log and the plan:"
    " mean depth over the planted area, on the days with a crop that the log covers.",
    args=(
        table("years", "The years, a row each", YEARS,
              Arg("year", "count", "The year", default=None, whole=True)),
        _BEDS, _PLAN, _WEATHER, _LOG, settings_table(LOGGED_SETTINGS, "first_month"), _CROPS,
    ),
    results=(
        Result("need", "depth", "Net depth beside the rain on those days"),
        Result("whole", "text", "yes where those are all days with a crop, or nearly all"),
        Result("words", "text", "Which days those are"),
    ),
    source=FAO56.at("chapter 8: what keeps the depletion within the readily available water"),
    elementwise=False,
    rows="years",
    examples=("LOGGED_NEED(Years!A1:C6, A1:H13, J1:T20, A30:D42, F30:I90, K30:L33)",),
)  # fmt: skip
def logged_need(**given: Any) -> Any:
    climate, month = reading.climate(given), int(given["first_month"])
    reading.refuse_odd_weather(given)
    reading.take_flow(given)
    given["note_bed"] = ()
    rows = [(np.nan, "", "") if np.isnan(year) else _of_year(given, climate, int(year), month)
            for year in given["year"]]  # fmt: skip
    return tuple(list(column) for column in zip(*rows, strict=True)) if rows else ([], [], [])


def _of_year(given: Any, climate: season.Climate, year: int, month: int) -> tuple[float, str, str]:
    first, after = (np.datetime64(day, "D") for day in year_span(year, month))
    beds, rows = reading.bed_days(given, after)
    log = reading.log(given, beds, rows)
    grows = (beds.use > 0.0).any(axis=1) & (beds.days >= first) & (beds.days < after)
    noted = grows & reading.noted_days(given, beds.days)
    if not noted.any():
        return np.nan, "no", "the log has no day of a crop in it"
    brought = season.need_beyond_rain(beds, season.known_et(climate, beds.days, log), log.rain)
    area = np.where(given["on"], np.nan_to_num(given["area"]), 0.0)
    need = float((brought[noted] @ area).sum() / max(area.sum(), 1e-9))
    whole = noted.sum() >= ENOUGH * grows.sum()
    days = beds.days[noted]
    words = f"{noted.sum()} of {grows.sum()} days with a crop, {days[0]} to {days[-1]}"
    by_month = int((noted & ~season.measured_et_days(beds.days, log)).sum())
    words += f"; warmth by the month on {by_month}" if by_month else ""
    return need, "yes" if whole else "no", words if whole else f"{words}: not the whole season"
