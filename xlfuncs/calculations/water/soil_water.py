"""Water that the root zone holds, and its daily balance: FAO-56 chapter 8, single coefficient.

Equation numbers are those of FAO-56. Depths in mm, root depth in m, available water in mm/m,
evapotranspiration in mm/day, water contents as ratios by volume.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from xlfuncs.calculations.arrays import Dates, Floats, Numbers
from xlfuncs.errors import InputError


def available_water_capacity(field_capacity: Numbers, wilting_point: Numbers) -> Numbers:
    """Available water of a soil in mm for each m of depth (Eq. 82 for a root depth of 1 m)."""
    return 1000.0 * np.subtract(field_capacity, wilting_point)


def available_water(water_capacity: Numbers, root_depth: Numbers) -> Numbers:
    """Total available water of the root zone, TAW in mm (Eq. 82); water_capacity in mm/m."""
    return water_capacity * root_depth


def depletion_fraction(tabulated: Numbers, crop_et: Numbers) -> Numbers:
    """Share of the available water that a crop uses before it suffers, p for the day's demand.

    p = p of table 22 + 0.04 (5 - ETc), held to 0.1 to 0.8 (FAO-56 page 162 and table 22).
    """
    return np.clip(tabulated + 0.04 * (5.0 - np.asarray(crop_et)), 0.1, 0.8)


def allowable_depletion(available_water: Numbers, depletion_fraction: Numbers) -> Numbers:
    """Readily available water, RAW in mm (Eq. 83): what may be used before watering."""
    return available_water * depletion_fraction


def wetted_fraction(laterals: Numbers, wetted_width: Numbers, bed_width: Numbers) -> Numbers:
    """Share of the planted width that lines wet: strips of soil side by side, at most all of it."""
    return np.minimum(laterals * np.divide(wetted_width, bed_width), 1.0)


def irrigation_interval(
    depletion: Numbers, crop_et: Numbers, wetted_fraction: Numbers = 1.0
) -> Numbers:
    """Most days between waterings: the allowable depletion of the wetted soil over daily use.

    RAW x wetted fraction / ETc (USDA NEH 623 chapter 7). NaN where the crop uses nothing.
    """
    use = np.asarray(crop_et, dtype=float)
    return np.divide(np.multiply(depletion, wetted_fraction), np.where(use > 0.0, use, np.nan))


@dataclass(frozen=True)
class SoilWaterBalance:
    """Each day's end: arrays of the shape of the inputs, days first, depths in mm."""

    depletion: Floats
    stress: Floats
    actual_et: Floats
    percolation: Floats


def soil_water_balance(
    crop_et: Floats, rain: Floats, irrigation: Floats, total: Floats | float,
    fraction: Floats | float, initial_depletion: Floats | float = 0.0,
) -> SoilWaterBalance:  # fmt: skip
    """The daily water balance of root zones (Eq. 85 to 88), for one bed or many at once.

    Arrays have days along the first axis and may have beds along the second; `total` (TAW) and
    `fraction` (p of table 22, adjusted here to each day's ETc) may vary by bed and by day. Rain is
    what enters the soil, irrigation is net: what reaches the roots. The stress of a day follows
    from the depletion with which it starts; water above field capacity percolates the same day.
    Raises InputError where a day's number is missing.
    """
    shape = np.broadcast_shapes(np.shape(crop_et), np.shape(rain), np.shape(irrigation))
    for name, values in (("crop_et", crop_et), ("rain", rain), ("irrigation", irrigation)):
        _refuse_missing(name, values)
    use = np.broadcast_to(np.asarray(crop_et, dtype=float), shape)
    water = np.broadcast_to(np.add(rain, irrigation), shape)
    taw = np.broadcast_to(np.asarray(total, dtype=float), shape)
    p = np.asarray(depletion_fraction(fraction, use))
    # What of the store is hard to get, never quite nothing, for it divides.
    hard = np.maximum((1.0 - p) * taw, 1e-9)
    start = np.broadcast_to(np.asarray(initial_depletion, dtype=float), shape[1:])
    if len(shape) == 1:  # one bed: plain floats are several times faster than arrays of one
        lists = use.tolist(), water.tolist(), taw.tolist(), hard.tolist()
        days = _day_by_day(*lists, float(start), min, max)
    else:
        days = _day_by_day(use, water, taw, hard, start, np.minimum, np.maximum)
    depletion, stress, actual, percolation = (np.array(each) for each in zip(*days, strict=True))
    return SoilWaterBalance(depletion, stress, actual, percolation)


def _day_by_day(
    use: Iterable[Any], water: Iterable[Any], total: Iterable[Any], hard: Iterable[Any],
    depletion: Any, least: Callable[[Any, Any], Any], most: Callable[[Any, Any], Any],
) -> Iterator[tuple[Any, Any, Any, Any]]:  # fmt: skip
    """Each day's depletion, stress, use and percolation, in floats or in rows of beds alike.

    Stress is Eq. 84, use Eq. 81, the balance Eq. 85, percolation Eq. 88.
    """
    for et, gained, taw, hard_to_get in zip(use, water, total, hard, strict=True):
        stress = least(most((taw - depletion) / hard_to_get, 0.0), 1.0)
        actual = stress * et
        left = depletion + actual - gained
        depletion = least(most(left, 0.0), taw)
        yield depletion, stress, actual, most(-left, 0.0)


def _refuse_missing(name: str, values: Floats) -> None:
    missing = np.isnan(np.asarray(values, dtype=float))
    if missing.any():
        row = int(np.argwhere(missing)[0][0])
        raise InputError(name, "is missing; the balance needs a number for every day", row=row)


def refuse_gaps(dates: Dates) -> None:
    """Raises InputError where a day is left out, given twice or out of order."""
    steps = np.diff(dates).astype("timedelta64[D]").astype(int)
    wrong = np.flatnonzero(steps != 1)
    if wrong.size:
        row = int(wrong[0]) + 1
        words = f"{dates[row]} comes after {dates[row - 1]}; the balance needs every day in order"
        raise InputError("dates", words, row=row)


# --- cycle and soak: how long a line may run before water passes the roots or ponds ---
# The rate that counts is the one over the strip of soil that a line wets, not the mean over the
# bed: a strip of 12 in under a tape takes three times the rate of a 36 in bed. Likewise the store
# is that of the wetted root zone. Flow per length in m²/s, widths in m, depths in mm, rates in
# mm/h, times in s.
MM_PER_HOUR = 3.6e6  # of 1 m/s
SURFACE_STORAGE = 5.0  # mm that may stand beside a line; common practice, no published source


def strip_application_rate(flow_per_length: Numbers, wetted_width: Numbers) -> Numbers:
    """Rate at which a line waters the strip that it wets, in mm/h."""
    return MM_PER_HOUR * np.divide(flow_per_length, wetted_width)


def max_cycle_seconds(
    flow_per_length: Numbers,
    wetted_width: Numbers,
    soil_storage: Numbers,
    intake_rate: Numbers = np.inf,
    surface_storage: Numbers = SURFACE_STORAGE,
) -> Numbers:
    """Longest run in one go: until the wetted root zone is full or water stands on the surface.

    `soil_storage` is the depletion that the wetted root zone may take up (its allowable depletion,
    watered on the day it is due). Above the soil's long-term `intake_rate` the surplus first fills
    `surface_storage`, the depth that may stand in hollows and beside the line. Conservation of
    water; without a limit of intake only the storage counts.
    """
    rate = np.asarray(strip_application_rate(flow_per_length, wetted_width), dtype=float)
    until_full = 3600.0 * soil_storage / rate
    surplus = rate - intake_rate
    ponds = surplus > 0.0
    until_ponded = np.where(
        ponds, 3600.0 * np.asarray(surface_storage) / np.where(ponds, surplus, 1.0), np.inf
    )
    return np.minimum(until_full, until_ponded)


def cycles_needed(seconds: Numbers, max_cycle: Numbers) -> Numbers:
    """Into how many equal runs a watering is split so that none is longer than `max_cycle`."""
    # A watering of just the allowed length is one run, whatever the last bit of the division.
    return np.maximum(np.ceil(np.divide(seconds, max_cycle) - 1e-9), 1.0)


def soak_seconds(surface_storage: Numbers, intake_rate: Numbers) -> Numbers:
    """Pause until the water that stands on the surface has soaked in."""
    return 3600.0 * np.divide(surface_storage, intake_rate)
