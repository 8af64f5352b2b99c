"""From the bed list and the plan to what the daily balance needs: roots that grow, stages fitted.

Soil in mm of available water for each m of depth, roots in m.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from xlfuncs.calculations.water.bed_calendar import Dates, refuse_faulty_plan
from xlfuncs.calculations.water.bed_crop_use import Planting, by_day, fitted
from xlfuncs.calculations.water.crop_coefficients import root_depth
from xlfuncs.calculations.water.garden_copies import BedDays, Floats

ROOTS_AT_FIRST = 0.15  # m, of a seedling or a plug; common practice, no published source


@dataclass(frozen=True)
class Beds:
    """By bed: what lies over and under the crop."""

    bed: npt.NDArray[np.object_]
    on: npt.NDArray[np.bool_]
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
