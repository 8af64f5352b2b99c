"""Single crop coefficients over a season: FAO Irrigation and Drainage Paper 56, chapters 6 to 8.

Equation and table numbers are those of FAO-56. Lengths of stages and ages are in days, heights and
root depths in m. Every function takes floats or arrays that broadcast.
"""

from __future__ import annotations

import numpy as np

from xlfuncs.calculations.solar_radiation import Numbers


def crop_et(reference_et: Numbers, crop_coefficient: Numbers) -> Numbers:
    """Water that a well-watered crop uses, ETc in mm/day (Eq. 58)."""
    return reference_et * crop_coefficient


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


def partly_wetted_coefficient(initial: Numbers, wetted_fraction: Numbers) -> Numbers:
    """The initial coefficient where lines wet only part of the soil (Eq. 60): fw x Kc ini."""
    return initial * wetted_fraction


def crop_coefficient(
    age: Numbers,
    initial_days: Numbers,
    development_days: Numbers,
    mid_days: Numbers,
    late_days: Numbers,
    initial: Numbers,
    mid: Numbers,
    end: Numbers,
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
    value = initial + rise * np.subtract(mid, initial) + fall * np.subtract(end, mid)
    return np.where(np.less(age, 0) | np.greater(fading, late_days), 0.0, value)


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


def monthly_mean_coefficient(
    planting_day: Numbers,
    initial_days: Numbers,
    development_days: Numbers,
    mid_days: Numbers,
    late_days: Numbers,
    initial: Numbers,
    mid: Numbers,
    end: Numbers,
) -> Numbers:
    """Mean crop coefficient of the twelve months, one row a crop, days without the crop as 0.

    `planting_day` is the day of a common year, 1 to 365; a crop that stands over the new year
    runs on into the next January. Shape: (12,) for one crop, (crops, 12) for several.
    """
    days = np.arange(1, 366)
    columns = [
        np.asarray(each, dtype=float)[..., None]
        for each in (initial_days, development_days, mid_days, late_days, initial, mid, end)
    ]
    age = np.mod(days - np.asarray(planting_day, dtype=float)[..., None], 365)
    daily = np.asarray(crop_coefficient(age, *columns))
    starts = np.cumsum([0, 31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30])
    lengths = np.diff(np.append(starts, 365))
    return np.add.reduceat(daily, starts, axis=-1) / lengths
