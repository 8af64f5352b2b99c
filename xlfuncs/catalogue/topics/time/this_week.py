"""Declaration: what to give each bed this week, from the plan, the climate table and the log."""

from collections.abc import Callable
from typing import Any

import numpy as np

from xlfuncs.calculations.timer.programs import day_list, days_text
from xlfuncs.calculations.water import season_so_far as season
from xlfuncs.calculations.water import this_week as advising
from xlfuncs.calculations.water.garden_copies import seeming_use
from xlfuncs.calculations.water.soil_water import depletion_fraction
from xlfuncs.calculations.water.this_week import WEEK, probe_due
from xlfuncs.catalogue.declaration import Arg, table, worksheet_function
from xlfuncs.catalogue.sources import FAO56
from xlfuncs.catalogue.topics.time import season_reading as reading
from xlfuncs.catalogue.topics.water_need.weather import STAGES
from xlfuncs.errors import InputError
from xlfuncs.tables.columns import Table
from xlfuncs.tables.garden.beds import BED_PLAN, BEDS
from xlfuncs.tables.garden.crops import CROPS
from xlfuncs.tables.garden.this_week import BED_NOTES, MONTHLY_WEATHER, WEATHER_LOG, WEEK_SETTINGS

CARD = (6.35, 12.7, 25.4)  # mm of rain: a quarter, half and one inch
YOUNG = 14  # days
FALLOW = 30  # days between two seasons


_STAGES = tuple(
    f"[{name}]: days, >=0, <=400, column {words.replace('-', '_')}_stage, from crops.crop.{name}:"
    f" Days of the {words} stage"
    for name, words in STAGES.items()
)


def settings_table(of: Table, *more: str) -> Arg:
    """Latitude, soil and the like as labels and values, with `more` settings of the same table."""
    return table(
        "settings", "Latitude, soil and the like: labels and values, down", of,
        "latitude soil_capacity week_from efficiency at_planting allowed_days",
        "[least_run=0]: time, >=0, <=86400: Shortest run that is worth filling the lines for",
        *more, settings=True,
    )  # fmt: skip


WEEK_TABLES = (  # those that the advice needs, the notes, and the crops
    table(
        "beds", "The beds, a row each, with planted area and flow", BEDS,
        "bed",
        "[area]: area, >0, column planted_area: Planted area",
        "[nominal_flow]: flow, >=0: Flow while it is watered",
        "[flow_delivered]: flow, >=0: Flow that arrives, where that is known",
        "[flow_measured]: flow, >=0: Flow measured in the field, which counts before the others",
        "valve cover on",
    ),
    table(
        "plan", "The bed plan; what it does not say of a crop is looked up among the crops",
        BED_PLAN,
        "bed=plan_bed start end",
        "kc_mid: number, >=0, <=2, column kc_mid_season, from crops.crop.kc_mid: Crop coefficient"
        " of mid-season",
        "root_depth: width, >0, <=5, from crops.crop.root_depth: Depth of the grown roots",
        "depletion_fraction: ratio, >=0.1, <=0.8, column depletion_fraction_of_the_crop, from"
        " crops.crop.depletion_fraction: Depletion fraction of the table",
        "[kc_initial]: number, >=0, <=2, from crops.crop.kc_initial: Coefficient of the initial"
        " stage (blank: as mid-season)",
        "[kc_end]: number, >=0, <=2, from crops.crop.kc_end: That of the last day (blank: as"
        " mid-season)",
        *_STAGES,
        "[wetted_fraction=1]: ratio, >0, <=1, column wetted_share_of_bed: Share of its planted"
        " width that lines wet (default all)",
        "[counted=yes]: flag, selects: yes where the row counts",
    ),
    table(
        "weather", "The climate table, twelve months with reference ET", MONTHLY_WEATHER,
        "month",
        "month_et: et, >=0, <=20, column reference_et: Reference evapotranspiration of the month",
        "max_temperature=month_high min_temperature=month_low",
    ),
    table(
        "log", "The weather log: days with rain, temperatures, what was watered", WEATHER_LOG,
        "date rain max_temperature min_temperature reference_et watered",
    ),
    settings_table(WEEK_SETTINGS),
    table(
        "notes", "What was found or given in a bed: hand, probe, extra water", BED_NOTES,
        "date=note_date bed=note_bed finding probe",
        Arg.of("extra_minutes: time, >=0, <=86400: Minutes of water beyond the"
               " advice", default=0.0),
        default=None,
    ),
    table("crops", "The crops by name, for what the plan does not say", CROPS, default=None),
)  # fmt: skip


@worksheet_function(
    "THIS_WEEK",
    help="What to give each bed in the week from a Monday: daily water balances since planting by"
    " the log, corrected by probe readings. What the log does not say was done as advised.",
    args=WEEK_TABLES,
    source=FAO56.at("chapter 8; rules of watering by trial on daily weather"),
    rows="beds",
    examples=(
        "THIS_WEEK(A1:H13, J1:T20, A30:D42, F30:I90, K30:L33)",
        "THIS_WEEK(A1:H13, J1:T20, A30:D42, F30:I90, K30:L33, N30:R35)",
    ),
)
def this_week(**given: Any) -> Any:
    climate = reading.climate(given)
    reading.refuse_odd_weather(given)
    reading.take_flow(given)
    today = _today(given)
    beds, rows = reading.bed_days(given, today)
    at = int((today - beds.days[0]).astype(int))
    valves = reading.valves(given)
    log = reading.log(given, beds, rows)
    result = season.season_so_far(beds, climate, log, at, valves)
    return _columns(given, beds, valves, log, result, at)


def _today(given: dict[str, Any]) -> Any:
    if given["week_from"] is not None:
        return given["week_from"]
    if not len(given["date"]):
        raise InputError("week_from", "is missing, and the log is empty")
    return given["date"].max() + np.timedelta64(1, "D")


def _columns(
    given: dict[str, Any], beds: Any, valves: Any, log: Any, result: Any, today: int
) -> tuple[Any, ...]:
    advice = result.advice
    grows = beds.use[today : today + WEEK] > 0.0
    planted = grows.any(axis=0)
    first = np.where(planted, np.argmax(grows, axis=0), WEEK)
    daily = advice.depth * valves.seconds
    week_seconds = np.where(planted, daily * (WEEK - advice.rest), 0.0)
    every, waterings, a_week = _rhythm(given, advice, beds.days[today], daily)
    runs = (week_seconds > 0) & (waterings > 0)
    minutes = np.where(runs, week_seconds / np.maximum(waterings, 1), 0.0)
    hand = advice.by_hand * valves.seconds
    seems, age = seeming_use(result.know), beds.age[today]
    read = {found.bed for found in log.readings}
    past = slice(_since(beds.use[:today]), today)
    et = beds.use[past] * result.et[past, None]
    raw = depletion_fraction(beds.fraction[past], et) * beds.available[past]
    grown = beds.use[past] > 0.0
    names = range(len(given["bed"]))
    silent = reading.weeks_without_weather(given, beds, today)
    waits = reading.waited_for(given, valves, planted)
    flows = ["; ".join(filter(None, each)) for each in zip(given["flow_words"], waits, strict=True)]
    return (
        [advising.what_to_do(beds.days[today], int(first[i]), rest, minutes[i] / 60,
                               advising.often(int(every[i]), days), hand[i] / 60)
         for i, (rest, days) in enumerate(map(_days(given, beds.days[today]), advice.rest))],
        minutes, np.where(runs, every, 0), np.where(planted, advice.rest, 0), hand,
        minutes * waterings + hand, np.where(planted, advice.depletion, np.nan),
        *(np.where(planted, (rain >= advice.rests_after).sum(axis=1), np.nan) for rain in CARD),
        ["due" if planted[i] and probe_due(beds, today, i) else "" for i in names],
        [advising.why(advice.depletion[i], advice.low[i], advice.high[i], advice.store_days[i],
                        seems[i], i in read, bool(age[i] < YOUNG), flows[i], int(silent[i]))
         if planted[i] else "" for i in names],
        et.sum(axis=0), (grown * result.rain[past, None] * beds.rain_share).sum(axis=0),
        result.given[past].sum(axis=0), (grown & (result.depletion[past] > raw)).sum(axis=0),
        season.need_beyond_rain(beds, result.et[:today], result.rain[:today])[past].sum(axis=0),
        np.where(runs, a_week, 0),
    )  # fmt: skip


def _days(given: dict[str, Any], monday: Any) -> Callable[[int], tuple[int, str]]:
    """Of a rest in days: the one that ends on a day that may have water, and those days by name."""
    allowed, first = day_list(given["allowed_days"]), int((monday.astype(int) + 3) % WEEK)

    def after(rest: int) -> tuple[int, str]:
        left = [later for later in range(rest, WEEK) if allowed[(first + later) % WEEK]]
        days = days_text(sorted((first + later) % WEEK for later in left))
        return (left[0] if rest and left else int(rest)), "" if all(allowed) else days

    return after


def _since(use: Any) -> int:
    """The first day of the season: after the last 30 days or more without any crop."""
    grown = np.flatnonzero((use > 0.0).any(axis=1))
    after = np.flatnonzero(np.diff(grown) > FALLOW)
    return int(grown[after[-1] + 1]) if after.size else 0


def _rhythm(given: dict[str, Any], advice: Any, monday: Any, daily: Any) -> tuple[Any, Any, Any]:
    """A watering every so many days, how many there are in the week after the rest, and without.

    Fewer and longer runs where a day's would not be worth filling the lines for, as long as the
    soil lasts: at most half of what is easy to get between two. Days that may not have water
    leave their share to the others.
    """
    allowed = np.array(day_list(given["allowed_days"]))
    if not allowed.all():
        from_monday = np.roll(allowed, -int((monday.astype(int) + 3) % WEEK))
        left = np.array([from_monday[rest:].sum() for rest in advice.rest])
        all_days = np.full(len(left), allowed.sum())
        return np.ceil(WEEK / np.maximum(all_days, 1)), left, all_days
    most = np.clip(np.floor(0.5 * advice.store_days), 1, 3)
    every = np.clip(np.ceil(given["least_run"] / np.maximum(daily, 1e-9) - 1e-9), 1, most)
    left = np.where(advice.rest < WEEK, np.ceil((WEEK - advice.rest) / every), 0)
    return every, left, np.ceil(WEEK / every)
