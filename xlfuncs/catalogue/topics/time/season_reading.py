"""What THIS_WEEK reads in its tables, in the terms of the calculation. It declares no function."""

from typing import Any

import numpy as np

from xlfuncs.calculations.water import season_so_far as season
from xlfuncs.calculations.water.bed_crop_use import MONTHS, Beds, Planting, Roots
from xlfuncs.calculations.water.bed_crop_use import bed_days as days_of_beds
from xlfuncs.calculations.water.evapotranspiration import reference_et_from_temperature
from xlfuncs.calculations.water.garden_copies import READING_ERROR
from xlfuncs.calculations.water.this_week import WEEK, odd_week
from xlfuncs.catalogue.topics.water_need.weather import STAGES
from xlfuncs.errors import InputError
from xlfuncs.tables.garden.this_week import AT_PLANTING, MID_MONTH_DAYS, RAIN_SHARE, USE_SHARE

# Share of the available water used up at planting; and what a hand feels, in shares of the
# readily available water, with its error in the available: common practice, no published source.
USED_AT_PLANTING = dict(zip(AT_PLANTING, (0.1, 0.3, 0.6), strict=True))
FELT = {"dry": (1.1, 0.2), "fine": (0.5, 0.25), "wet": (0.05, 0.15)}
SLOW_BED = 1.2  # times as long for the same depth as the beds of its valve need: worth a word


def bed_days(given: dict[str, Any], today: Any) -> tuple[Any, dict[str, int]]:
    """The days from the first planting to a week from today, and the row of each bed."""
    names = given["bed"]
    plan = Planting(
        given["plan_bed"], given["start"], given["end"],
        np.column_stack([given[name] for name in STAGES]),
        np.column_stack([given[name] for name in ("kc_initial", "kc_mid", "kc_end")]),
    )  # fmt: skip
    # A crop that ended before the last year has nothing to say of this one.
    recent = plan.end > today - np.timedelta64(366, "D")
    first = min([*plan.start[recent], today])
    days = np.arange(first, today + np.timedelta64(WEEK, "D"))
    n = len(names)
    watered = given["on"] & (np.nan_to_num(given["area"]) > 0) & (np.nan_to_num(given["flow"]) > 0)
    beds = Beds(
        names, watered, np.full(n, given["soil_capacity"]),
        np.array([RAIN_SHARE[cover] for cover in given["cover"]]),
        np.array([USE_SHARE[cover] for cover in given["cover"]]),
        np.full(n, USED_AT_PLANTING[given["at_planting"]]), np.full(n, given["efficiency"]),
    )  # fmt: skip
    roots = Roots(given["root_depth"], given["depletion_fraction"], given["wetted_fraction"])
    rows = {str(name).casefold(): i for i, name in enumerate(names)}
    return days_of_beds(beds, plan, roots, days), rows


def climate(given: dict[str, Any]) -> season.Climate:
    if sorted(given["month"]) != [*range(1, MONTHS + 1)]:
        raise InputError("month", "must name each month from 1 to 12 once")
    et, high, low = (
        given[name][np.argsort(given["month"])] for name in ("month_et", "month_high", "month_low")
    )
    by_temperature = reference_et_from_temperature(
        high, low, given["latitude"], np.array(MID_MONTH_DAYS, dtype=float)
    )
    known = np.maximum(by_temperature, 0.1)  # a polar night has nothing to scale
    return season.Climate(given["latitude"], et, np.clip(et / known, 0.3, 3.0))


def refuse_odd_weather(given: dict[str, Any]) -> None:
    """Temperatures that are swapped, or of a week that must be in another unit."""
    swapped = np.flatnonzero(given["min_temperature"] > given["max_temperature"])
    if swapped.size:
        when = given["date"][swapped[0]]  # whatever the row of the sheet
        words = f"of {when} is above max_temperature: are they swapped?"
        raise InputError("min_temperature", words)
    for name, monthly in (("max_temperature", "month_high"), ("min_temperature", "month_low")):
        usual = given[monthly][np.argsort(given["month"])]
        for row, beyond in season.odd_weeks(given["date"], given[name], usual):
            raise InputError(name, f"of {given['date'][row]} is {odd_week(beyond)}")


def noted_days(given: dict[str, Any], days: Any) -> Any:
    """The days whose week has an entry in the log."""
    return np.isin(season.week_of(days), season.week_of(given["date"]))


def weeks_without_weather(given: dict[str, Any], beds: Any, today: int) -> Any:
    """How many weeks of the crop on each bed have no entry in the log."""
    week, noted = season.week_of(beds.days), noted_days(given, beds.days)
    age = np.nan_to_num(beds.age[today], nan=-1.0).astype(int)
    return [len(set(week[max(today - n, 0) : today][~noted[max(today - n, 0) : today]]))
            if n > 0 else 0 for n in age]  # fmt: skip


def take_flow(given: dict[str, Any]) -> None:
    """The flow of each bed: measured, else what arrives, else nominal; and which it is."""
    measured, delivered = given.pop("flow_measured"), given.pop("flow_delivered")
    flow = np.where(np.isnan(delivered), given.pop("nominal_flow"), delivered)
    given["flow"] = np.where(np.isnan(measured), flow, measured)
    given["flow_words"] = np.select(
        [~np.isnan(measured), ~np.isnan(delivered)], ["by the flow measured", ""],
        "by the nominal flow, as none is measured or solved",
    )  # fmt: skip


def valves(given: dict[str, Any]) -> season.Valves:
    names = [str(v).casefold() or f"bed {i}" for i, v in enumerate(given["valve"])]
    number = np.unique(names, return_inverse=True)[1]
    flow = np.nan_to_num(given["flow"])
    seconds = np.nan_to_num(given["area"]) / 1000.0 / np.where(flow > 0, flow, np.inf)
    return season.Valves(number, np.maximum(seconds, 1e-9))


def waited_for(given: dict[str, Any], valves: season.Valves, waters: Any) -> list[str]:
    """By bed the words on the one of its valve that makes the run long, if there is one."""
    words = [""] * len(valves.seconds)
    for valve in np.unique(valves.number):
        of = np.flatnonzero((valves.number == valve) & waters)
        if of.size > 1:
            times = valves.seconds[of]
            slow = of[np.argmax(times)]
            if times.max() > SLOW_BED * np.average(times, weights=1.0 / times):
                said = (
                    f"the valve runs longer for {given['bed'][slow]}, whose lines give least for"
                    " its area: a valve of its own, or more lines, would save water"
                )
                for bed in of:
                    words[bed] = said
    return words


def log(given: dict[str, Any], beds: Any, rows: dict[str, int]) -> season.Log:
    days, n = len(beds.days), beds.use.shape[1]
    rain, followed = np.zeros(days), np.ones(days)
    high, low, et = (np.full(days, np.nan) for _ in range(3))
    place = (given["date"] - beds.days[0]).astype(int)
    inside = (place >= 0) & (place < days)
    np.add.at(rain, place[inside], np.nan_to_num(given["rain"][inside]))
    for target, name in ((high, "max_temperature"), (low, "min_temperature"), (et, "reference_et"),
                         (followed, "watered")):  # fmt: skip
        target[place[inside]] = given[name][inside]
    extra = np.zeros((days, n))
    readings = []
    for i, bed in enumerate(given["note_bed"]):
        at = int((given["note_date"][i] - beds.days[0]).astype(int))
        row = rows.get(str(bed).casefold())
        if row is None:
            when = given["note_date"][i]
            raise InputError("note_bed", f"of {when}: {bed!r} is not in the bed list")
        if not 0 <= at < days:
            continue
        seconds = given["extra_minutes"][i]
        if seconds and given["flow"][row] > 0:
            extra[at, row] += seconds * given["flow"][row] / given["area"][row] * 1000.0
        readings += _reading(at, row, given["probe"][i], given["finding"][i],
                             float(beds.fraction[at, row]))  # fmt: skip
    return season.Log(rain, high, low, et, followed, extra, tuple(readings))


def _reading(day: int, bed: int, probe: float, felt: str, fraction: float) -> list[season.Reading]:
    found = []
    if not np.isnan(probe):
        found.append(season.Reading(day, bed, 1.0 - probe, READING_ERROR))
    if felt:
        used, error = FELT[felt]
        found.append(season.Reading(day, bed, used * fraction, error))
    return found
