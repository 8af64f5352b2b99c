"""What the crops of a bed plan use, by bed and calendar month.

Dates are numpy datetime64[D]; a crop stands from its first to its last day, both included.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from xlfuncs.calculations.water.bed_calendar import ONE_DAY, Dates, refuse_faulty_plan
from xlfuncs.calculations.water.crop_coefficients import crop_coefficient

Floats = npt.NDArray[np.float64]
MONTHS = 12
NO_STAGES = (0.0, 0.0, 1e9, 0.0)  # mid-season all along


@dataclass(frozen=True)
class Planting:
    """The rows of a bed plan: where, from when to when, and the crop's stages."""

    bed: npt.NDArray[np.object_]
    start: Dates
    end: Dates
    stage_days: Floats  # (rows, 4): initial, development, mid-season, late; NaN where not known
    coefficients: Floats  # (rows, 3): initial, mid-season, end; NaN where not known


def month_uses(
    beds: npt.NDArray[np.object_],
    is_on: npt.NDArray[np.bool_],
    plan: Planting,
    reference_et: Floats,
    first: np.datetime64,
    last: np.datetime64,
) -> tuple[Floats, Floats]:
    """Depth that each bed's crops use in mm, and days with a crop; both (beds, 12), January first.

    `reference_et` in mm/day holds January to December. The days from `first` to `last` count, at
    most a year of them.
    """
    refuse_faulty_plan(list(beds), list(plan.bed), plan.start, plan.end)
    days = np.arange(first, last + ONE_DAY)
    month = days.astype("datetime64[M]").astype(int) % MONTHS
    kc, planted = _by_day(beds, plan, days)
    kc, planted = kc * is_on[:, None], planted & is_on[:, None]
    in_month = (month[:, None] == np.arange(MONTHS)).astype(float)
    return (kc * reference_et[month]) @ in_month, planted.astype(float) @ in_month


def _by_day(
    beds: npt.NDArray[np.object_], plan: Planting, days: Dates
) -> tuple[Floats, npt.NDArray[np.bool_]]:
    """Coefficient and presence of a crop by bed and day; of two crops the thirstier counts."""
    row_of = {str(bed).casefold(): i for i, bed in enumerate(beds)}
    row = [row_of[str(bed).casefold()] for bed in plan.bed]
    stands = (days >= plan.start[:, None]) & (days <= plan.end[:, None])
    age = np.maximum((days - plan.start[:, None]).astype(float), 0.0)
    kc = np.zeros((len(beds), len(days)))
    planted = np.zeros(kc.shape, dtype=bool)
    np.maximum.at(kc, row, np.where(stands, _coefficients(age, plan), 0.0))
    np.logical_or.at(planted, row, stands)
    return kc, planted


def _coefficients(age: Floats, plan: Planting) -> Floats:
    """Coefficients while the crops stand, (rows, days); past its last stage the last one holds.

    Where stages are not known the mid-season one counts throughout, which errs on the wet side;
    so it does where the initial or the last coefficient is not known.
    """
    known = ~np.isnan(plan.stage_days).any(axis=1, keepdims=True)
    lengths = np.where(known, np.rint(plan.stage_days), NO_STAGES)
    kc = np.where(np.isnan(plan.coefficients), plan.coefficients[:, 1:2], plan.coefficients)
    initial, development, mid_season, late = lengths.T[:, :, None]
    age = np.minimum(age, lengths.sum(axis=1, keepdims=True))
    return np.asarray(
        crop_coefficient(age, initial, development, mid_season, late, *kc.T[:, :, None])
    )
