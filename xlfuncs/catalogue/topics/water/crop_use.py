"""Declaration: what the crops of a bed plan use, by bed and month."""

from typing import Any

import numpy as np

from xlfuncs.calculations.water.bed_calendar import ONE_DAY
from xlfuncs.calculations.water.bed_crop_use import MONTHS, Planting, month_uses
from xlfuncs.catalogue.declaration import UNITS, Arg, LookedUp, Result, table, worksheet_function
from xlfuncs.catalogue.sources import FAO56
from xlfuncs.errors import CellError, InputError
from xlfuncs.tables.garden.bed_plan import BED_PLAN
from xlfuncs.tables.garden.beds import BEDS
from xlfuncs.tables.garden.crops import CROPS
from xlfuncs.tables.garden.weather import MONTHLY_WEATHER, USE_SHARE

MONTH_NAMES = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip


def _of_crop(name: str, dimension: str, help: str, **limits: Any) -> Arg:
    return Arg(name, dimension, help, looked_up=LookedUp("crops", "crop", name), **limits)


_STAGES = tuple(
    _of_crop(f"{name}_days", "days", f"Days of the {words} stage (blank: no stages, mid-season"
             " throughout)", default=None, minimum=0, maximum=400)
    for name, words in (
        ("initial", "initial"), ("development", "development"),
        ("mid", "mid-season"), ("late", "late"),
    )
)  # fmt: skip


@worksheet_function(
    "BED_CROP_USE",
    topic="water_need",
    help="Depth that the crops of each bed use in each month, and days with a crop, by the bed"
    " plan. 0 where a bed is fallow or off. Of two crops on a day the thirstier counts; stages are"
    " stretched to the dates planted.",
    args=(
        table("beds", "The beds, a row each", BEDS,
            "bed on cover"),
        table("plan", "The bed plan: a row a crop in a bed", BED_PLAN,
            "bed=plan_bed start=plan_start end=plan_end",
            _of_crop("kc_mid", "number", "Crop coefficient of mid-season", minimum=0, maximum=2),
            _of_crop("kc_initial", "number", "That of the initial stage (blank: as mid-season)",
                     default=None, minimum=0, maximum=2),
            _of_crop("kc_end", "number", "That of the last day (blank: as mid-season)",
                     default=None, minimum=0, maximum=2),
            *_STAGES),
        table("weather", "The months, each once", MONTHLY_WEATHER,
            "month",
            Arg("reference_et", "et", "Reference evapotranspiration of the month", minimum=0,
                maximum=20)),
        Arg("season_start", "date", "First day that counts; a season lasts a year at most"),
        table("crops", "The crops by name, for what the plan does not say of them", CROPS,
              default=None),
        Arg("season_end", "date", "Last day that counts (default: a year from the start)",
            default=None),
        UNITS,
        Arg("counted", "flag", "Whether each row of the plan counts; others are not even read"
            " (default yes)", default=True, group="plan", selects=True),
    ),
    results=(
        *(Result(f"use_{name.lower()}", "depth", f"Use in {name}") for name in MONTH_NAMES),
        *(Result(f"days_{name.lower()}", "days", f"Days with a crop in {name}")
          for name in MONTH_NAMES),
    ),
    source=FAO56.at("Eq. 58 and 66, summed over days"),
    elementwise=False,
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
    share = np.array([USE_SHARE[name] for name in cover])
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
        raise InputError(
            "season_end", f"must lie from {start} to {limit}, got {end}",
            cell_error=CellError.NUMBER,
        )  # fmt: skip
    return end
