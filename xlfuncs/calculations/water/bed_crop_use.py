"""What the crops of a bed plan use, by bed and calendar month.

Dates are numpy datetime64[D]; a crop stands from its first to its last day, both included.

Single crop coefficients over a season are those of FAO Irrigation and Drainage Paper 56, chapters 6
to 8; equation and table numbers too. Lengths of stages and ages are in days, heights and root
depths in m; functions take floats or arrays that broadcast.
"""

from dataclasses import dataclass

import numpy as np

from xlfuncs.calculations.arrays import Dates, Flags, Floats, Integers, Numbers, Texts
from xlfuncs.calculations.water.bed_calendar import ONE_DAY, refuse_faulty_plan
from xlfuncs.calculations.water.garden_copies import BedDays


def crop_et(reference_et: Numbers, kc: Numbers) -> Numbers:
    """Water that a well-watered crop uses, ETc in mm/day (Eq. 58)."""
    return reference_et * kc


def adjusted_crop_coefficient(
    tabulated: Numbers, wind: Numbers, min_humidity: Numbers, height: Numbers
) -> Numbers:
    """A tabulated mid- or end-season coefficient in another climate (Eq. 62 and 65).

    The tables are for wind of 2 m/s and a least relative humidity of 45 %. Wind is held to 1 to
    6 m/s, humidity to 20 to 80 %, height to 0.1 to 10 m. A coefficient under 0.45, of a crop that
    has dried off, is not adjusted.
    """
    wind_part = 0.04 * (np.clip(wind, 1.0, 6.0) - 2.0)
    humidity_part = 0.004 * (100.0 * np.clip(min_humidity, 0.20, 0.80) - 45.0)
    change = (wind_part - humidity_part) * (np.clip(height, 0.1, 10.0) / 3.0) ** 0.3
    return np.where(np.less(tabulated, 0.45), tabulated, tabulated + change)


def crop_coefficient(
    age: Numbers, initial_days: Numbers, development_days: Numbers, mid_days: Numbers,
    late_days: Numbers, kc_initial: Numbers, kc_mid: Numbers, kc_end: Numbers,
) -> Numbers:  # fmt: skip
    """The crop coefficient at an age in days (Eq. 66): level, rising, level, falling.

    Age 0 is the day of planting. Before planting and after the last day it is 0: with no crop
    there is nothing to water.
    """
    growing = np.subtract(age, initial_days)
    fading = growing - development_days - mid_days
    # Stages of no length are allowed; their share is then a step.
    rise = np.clip(growing / np.maximum(development_days, 1e-9), 0.0, 1.0)
    fall = np.clip(fading / np.maximum(late_days, 1e-9), 0.0, 1.0)
    value = kc_initial + rise * np.subtract(kc_mid, kc_initial) + fall * np.subtract(kc_end, kc_mid)
    return np.where(np.less(age, 0) | np.greater(fading, late_days), 0.0, value)


def fitted_stages(stage_days: Numbers, days: Numbers) -> Numbers:
    """Lengths of the four stages stretched to the days that a crop stands, (rows, 4) and (rows,).

    Each stage keeps its share of the table's season, in whole days; the remainder goes to
    mid-season. FAO-56 gives lengths for one region and date; the dates planted are the grower's.
    """
    lengths = np.asarray(stage_days, dtype=float)
    whole = np.maximum(lengths.sum(axis=-1, keepdims=True), 1e-9)
    fitted = np.rint(lengths * np.asarray(days, dtype=float)[..., None] / whole)
    fitted[..., 2] += np.asarray(days, dtype=float) - fitted.sum(axis=-1)
    return np.asarray(fitted)


def root_depth(
    age: Numbers,
    initial_days: Numbers,
    development_days: Numbers,
    least: Numbers,
    greatest: Numbers,
) -> Numbers:
    """Depth of the roots at an age in days: least at first, greatest from mid-season on.

    FAO-56 annex 8 grows the roots in step with the crop coefficient of the development stage.
    """
    grown = np.subtract(age, initial_days) / np.maximum(development_days, 1e-9)
    return least + np.clip(grown, 0.0, 1.0) * np.subtract(greatest, least)


def mean_crop_coefficient(first_age: Numbers, last_age: Numbers, *stages: Numbers) -> Numbers:
    """The mean coefficient of the days from one age to another, both counted; 0 without the crop.

    `stages` as in `crop_coefficient`. For a month give the ages of its first and last day.
    """
    first, last = np.asarray(first_age, dtype=float), np.asarray(last_age, dtype=float)
    length = np.subtract(last, first) + 1.0
    days = np.arange(np.nanmax(length, initial=1.0))
    ages = first[..., None] + days
    daily = crop_coefficient(ages, *(np.asarray(each)[..., None] for each in stages))
    result: Numbers = np.where(days < length[..., None], daily, 0.0).sum(axis=-1) / length
    return result


MONTHS = 12
NO_STAGES = (0.0, 0.0, 1e9, 0.0)  # mid-season all along


@dataclass(frozen=True)
class Planting:
    """The rows of a bed plan: where, from when to when, and the crop's stages."""

    bed: Texts
    start: Dates
    end: Dates
    stage_days: Floats  # (rows, 4): initial, development, mid-season, late; NaN where not known;
    # of the table, and stretched here to the days that the crop stands
    coefficients: Floats  # (rows, 3): initial, mid-season, end; NaN where not known


def month_uses(
    beds: Texts, is_on: Flags, plan: Planting, reference_et: Floats, first: np.datetime64,
    last: np.datetime64, use_share: Floats | float = 1.0,
) -> tuple[Floats, Floats]:  # fmt: skip
    """Depth that each bed's crops use in mm, and days with a crop; both (beds, 12), January first.

    `reference_et` in mm/day holds January to December. The days from `first` to `last` count, at
    most a year of them. `use_share` by bed: what a cover leaves of the use in the open.
    """
    refuse_faulty_plan(list(beds), list(plan.bed), plan.start, plan.end)
    days = np.arange(first, last + ONE_DAY)
    month = days.astype("datetime64[M]").astype(int) % MONTHS
    kc, row = by_day(beds, plan, days)
    counts = is_on.astype(float)[:, None]
    kc, planted = kc * counts * np.reshape(use_share, (-1, 1)), (row >= 0) * counts
    in_month = (month[:, None] == np.arange(MONTHS)).astype(float)
    return (kc * reference_et[month]) @ in_month, planted @ in_month


def by_day(beds: Texts, plan: Planting, days: Dates) -> tuple[Floats, Integers]:
    """Coefficient by bed and day, and the row of the plan that it is of; -1 without a crop.

    Of two crops at once the thirstier counts.
    """
    bed_of = {str(bed).casefold(): i for i, bed in enumerate(beds)}
    stands = (days >= plan.start[:, None]) & (days <= plan.end[:, None])
    age = np.maximum((days - plan.start[:, None]).astype(float), 0.0)
    of_rows = np.where(stands, coefficients(age, plan), -1.0)
    kc = np.zeros((len(beds), len(days)))
    row = np.full(kc.shape, -1)
    for i, bed in enumerate(plan.bed):
        at = bed_of[str(bed).casefold()]
        counts = stands[i] & ((of_rows[i] > kc[at]) | (row[at] < 0))
        kc[at], row[at] = np.where(counts, of_rows[i], kc[at]), np.where(counts, i, row[at])
    return kc, row


def fitted(plan: Planting) -> Floats:
    """Stages of each row in days, stretched to its dates; one stage all along where not known.

    The first day is age 0, as in FAO-56, so the last has the age of all stages together.
    """
    known = ~np.isnan(plan.stage_days).any(axis=1, keepdims=True)
    days = (plan.end - plan.start).astype(float)
    return np.where(known, fitted_stages(np.nan_to_num(plan.stage_days), days), NO_STAGES)


def coefficients(age: Floats, plan: Planting) -> Floats:
    """Coefficients while the crops stand, (rows, days).

    Where stages are not known the mid-season one counts throughout, which errs on the wet side;
    so it does where the initial or the last coefficient is not known.
    """
    lengths = fitted(plan)
    kc = np.where(np.isnan(plan.coefficients), plan.coefficients[:, 1:2], plan.coefficients)
    initial, development, mid_season, late = lengths.T[:, :, None]
    age = np.minimum(age, lengths.sum(axis=1, keepdims=True))
    return np.asarray(
        crop_coefficient(age, initial, development, mid_season, late, *kc.T[:, :, None])
    )


# --- from the bed list and the plan to what the daily balance needs: roots that grow, stages fitted
# Soil in mm of available water for each m of depth, roots in m.
ROOTS_AT_FIRST = 0.15  # m, of a seedling or a plug; common practice, no published source


@dataclass(frozen=True)
class Beds:
    """By bed: what lies over and under the crop."""

    bed: Texts
    on: Flags
    capacity: Floats  # mm/m
    rain_share: Floats
    use_share: Floats
    start: Floats  # share of the available water used up at planting
    efficiency: Floats


@dataclass(frozen=True)
class Roots:
    """By row of the plan."""

    greatest: Floats
    fraction: Floats
    wetted: Floats  # share of the bed that its lines wet


def bed_days(beds: Beds, plan: Planting, roots: Roots, days: Dates) -> BedDays:
    """Each bed's crop, roots and store on each day; a bed off or without a crop uses nothing."""
    refuse_faulty_plan(list(beds.bed), list(plan.bed), plan.start, plan.end)
    kc, row = by_day(beds.bed, plan, days)
    planted = (row >= 0) & beds.on[:, None]
    stages = fitted(plan)
    # Row -1, of a day without a crop, is what is appended here.
    start, initial, development, greatest, fraction, wetted = (
        np.append(each, without)[row]
        for each, without in (
            (plan.start.astype(float), 0.0), (stages[:, 0], 1.0), (stages[:, 1], 1.0),
            (roots.greatest, ROOTS_AT_FIRST), (roots.fraction, 0.5), (roots.wetted, 1.0),
        )
    )  # fmt: skip
    age = np.where(planted, days.astype(float) - start, np.nan)
    least = np.minimum(ROOTS_AT_FIRST, greatest)
    depth = root_depth(np.nan_to_num(age), initial, development, least, greatest)
    # Without a crop the store is that of the roots that come first.
    available = beds.capacity[:, None] * wetted * np.where(planted, depth, ROOTS_AT_FIRST)
    use = np.where(planted, kc * beds.use_share[:, None], 0.0)
    return BedDays(days, use.T, available.T, np.where(planted, fraction, 0.5).T, age.T,
                   beds.rain_share, beds.start, beds.efficiency)  # fmt: skip
