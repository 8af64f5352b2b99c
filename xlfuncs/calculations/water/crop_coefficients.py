"""Single crop coefficients over a season: FAO Irrigation and Drainage Paper 56, chapters 6 to 8.

Equation and table numbers are those of FAO-56. Lengths of stages and ages are in days, heights and
root depths in m. Every function takes floats or arrays that broadcast.
"""

import numpy as np

from xlfuncs.calculations.water.solar_radiation import Numbers


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
    age: Numbers,
    initial_days: Numbers,
    development_days: Numbers,
    mid_days: Numbers,
    late_days: Numbers,
    kc_initial: Numbers,
    kc_mid: Numbers,
    kc_end: Numbers,
) -> Numbers:
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
