"""Declarations: reference evapotranspiration of a climate table, and what the crops of a bed plan
use of it, by bed and month; what the weather of a year asked of the lines, by the log."""

from typing import Any

import numpy as np

from xlfuncs.calculations.money.bill_periods import year_span
from xlfuncs.calculations.money.year_on_year import NEARLY
from xlfuncs.calculations.water import evapotranspiration
from xlfuncs.calculations.water import season_so_far as season
from xlfuncs.calculations.water.bed_calendar import ONE_DAY
from xlfuncs.calculations.water.bed_crop_use import MONTHS, Planting, month_uses
from xlfuncs.catalogue.declaration import UNITS, Result, table, worksheet_function
from xlfuncs.catalogue.sources import FAO56
from xlfuncs.catalogue.topics.time import season_reading as reading
from xlfuncs.catalogue.topics.time.this_week import WEEK_TABLES, settings_table
from xlfuncs.catalogue.topics.water_need import weather
from xlfuncs.errors import InputError
from xlfuncs.tables.garden import this_week as logs
from xlfuncs.tables.garden.beds import BED_PLAN, BEDS
from xlfuncs.tables.garden.crops import CROPS
from xlfuncs.tables.money.ledger import YEARS

MONTH_NAMES = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip


_STAGES = tuple(
    f"[{name}]: days, >=0, <=400, from crops.crop.{name}: Days of the {words} stage (blank: no"
    " stages, mid-season throughout)"
    for name, words in weather.STAGES.items()
)


@worksheet_function(
    "BED_CROP_USE",
    help="Depth that the crops of each bed use in each month, and days with a crop, by the bed"
    " plan. 0 where a bed is fallow or off. Of two crops on a day the thirstier counts; stages are"
    " stretched to the dates planted.",
    args=(
        table("beds", "The beds, a row each", BEDS,
            "bed on cover"),
        table("plan", "The bed plan: a row a crop in a bed", BED_PLAN,
            "bed=plan_bed start=plan_start end=plan_end",
            "kc_mid: number, >=0, <=2, from crops.crop.kc_mid: Crop coefficient of mid-season",
            "[kc_initial]: number, >=0, <=2, from crops.crop.kc_initial: That of the initial stage"
            " (blank: as mid-season)",
            "[kc_end]: number, >=0, <=2, from crops.crop.kc_end: That of the last day (blank: as"
            " mid-season)",
            *_STAGES),
        table("weather", "The months, each once", logs.MONTHLY_WEATHER,
            "month",
            "reference_et: et, >=0, <=20: Reference evapotranspiration of the month"),
        "season_start: date: First day that counts; a season lasts a year at most",
        table("crops", "The crops by name, for what the plan does not say of them", CROPS,
              default=None),
        "[season_end]: date: Last day that counts (default: a year from the start)",
        UNITS,
        "[counted=yes]: flag, selects, of plan: Whether each row of the plan counts; others are"
        " not even read",
    ),
    results=(
        *(Result(f"use_{name.lower()}", "depth", f"Use in {name}") for name in MONTH_NAMES),
        *(Result(f"days_{name.lower()}", "days", f"Days with a crop in {name}")
          for name in MONTH_NAMES),
    ),
    source=FAO56.at("Eq. 58 and 66, summed over days"),
    rows="beds",
    examples=("BED_CROP_USE(A1:P15, Plan!A1:D40, Weather!A1:I13, DATE(2026,3,1), Crops!A1:K30)",),
)  # fmt: skip
def bed_crop_use(
    bed: Any, month: Any, reference_et: Any, season_start: Any, plan_bed: Any, plan_start: Any,
    plan_end: Any, kc_mid: Any, kc_initial: Any, kc_end: Any, initial_days: Any,
    development_days: Any, mid_days: Any, late_days: Any, on: Any,
    season_end: Any, cover: Any,
) -> Any:  # fmt: skip
    if sorted(month) != [*range(1, MONTHS + 1)]:
        raise InputError("month", "must name each month from 1 to 12 once")
    plan = Planting(
        plan_bed, plan_start, plan_end,
        np.column_stack((initial_days, development_days, mid_days, late_days)),
        np.column_stack((kc_initial, kc_mid, kc_end)),
    )  # fmt: skip
    last = _last_day(season_start, season_end)
    share = np.array([logs.USE_SHARE[name] for name in cover])
    et = reference_et[np.argsort(month)]
    use, days = month_uses(bed, on, plan, et, season_start, last, share)
    return (*use.T, *days.T)


def _last_day(start: Any, end: Any) -> Any:
    """The season's last day, refused where the season has none or is longer than a year."""
    a_year_on = start.astype("datetime64[M]") + np.timedelta64(MONTHS, "M")
    limit = a_year_on.astype("datetime64[D]") + (start - start.astype("datetime64[M]")) - ONE_DAY
    if end is None:
        return limit
    if end < start or end > limit:
        raise InputError("season_end", f"must lie from {start} to {limit}, got {end}")
    return end


_BEDS, _PLAN, _WEATHER, _LOG, _, _, _CROPS = WEEK_TABLES
ENOUGH = NEARLY / 365.0  # of the days with a crop, as of a year's bills


@worksheet_function(
    "LOGGED_NEED",
    topic="time",
    help="What lines had to bring beside the rain in each year, by the weather log and the plan:"
    " mean depth over the planted area, on the days with a crop that the log covers.",
    args=(
        table("years", "The years, a row each", YEARS,
              "[year]: count, >=1900, <=2200, whole: The year"),
        _BEDS, _PLAN, _WEATHER, _LOG, settings_table(logs.LOGGED_SETTINGS, "first_month"), _CROPS,
    ),
    source=FAO56.at("chapter 8: what keeps the depletion within the readily available water"),
    rows="years",
    examples=("LOGGED_NEED(Years!A1:C6, A1:H13, J1:T20, A30:D42, F30:I90, K30:L33)",),
)  # fmt: skip
def logged_need(**given: Any) -> Any:
    climate, month = reading.climate(given), int(given["first_month"])
    reading.refuse_odd_weather(given)
    reading.take_flow(given)
    given["note_bed"] = ()
    return [(np.nan, "", "") if np.isnan(year) else _of_year(given, climate, int(year), month)
            for year in given["year"]]  # fmt: skip


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


_MONTHS = 12


@worksheet_function(
    "MONTHLY_REFERENCE_ET",
    help="Reference evapotranspiration of each month of a climate table, as REFERENCE_ET_PM gives"
    " it; once all twelve are there the heat that goes into the soil counts.",
    args=(
        table("weather", "The months, a row each", logs.MONTHLY_WEATHER,
            "month",
            weather.MAX_TEMPERATURE, weather.MIN_TEMPERATURE, *weather.MOIST_AIR),
        weather.LATITUDE,
        weather.ELEVATION,
        "[coast=no]: flag: yes at a coast, for radiation from temperature",
        UNITS,
        "[counted=yes]: flag, selects, of weather: Whether each month counts; others are not even"
        " read",
    ),
    results=(
        weather.REFERENCE,
        Result("soil_heat", "radiation", "Heat that goes into the soil in the month"),
    ),
    source=FAO56.at("Eq. 6 and 43; missing data by chapter 3"),
    rows="weather",
    examples=("MONTHLY_REFERENCE_ET(A1:I13, 45.2, 310)",),
)  # fmt: skip
def monthly_reference_et(
    month: Any, max_temperature: Any, min_temperature: Any, latitude: float, elevation: float,
    sunshine: Any, coast: bool, **air: Any,
) -> Any:  # fmt: skip
    swapped = np.flatnonzero(min_temperature > max_temperature)
    if swapped.size:
        words = "is above the greatest temperature of the month"
        raise InputError("min_temperature", words, row=int(swapped[0]))
    heat = _soil_heat(month, (max_temperature + min_temperature) / 2)
    et = evapotranspiration.reference_et_penman_monteith(
        max_temperature, min_temperature, latitude,
        np.take(logs.MID_MONTH_DAYS, month.astype(int) - 1).astype(float), elevation,
        sunshine_hours=sunshine / 3600.0, radiation_adjustment=0.19 if coast else 0.16,
        soil_heat_flux=heat, **air,
    )  # fmt: skip
    return et, heat


def _soil_heat(month: Any, mean: Any) -> Any:
    """By the months around each; 0 while not all twelve are there."""
    if sorted(month) != [*range(1, _MONTHS + 1)]:
        return np.zeros(len(month))
    by_month = np.empty(_MONTHS)
    by_month[month.astype(int) - 1] = mean
    before, after = (by_month[(month.astype(int) - 1 + step) % _MONTHS] for step in (-1, 1))
    return evapotranspiration.monthly_soil_heat_flux(before, mean, after)
