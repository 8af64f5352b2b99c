"""Declaration: reference evapotranspiration of a climate table."""

from typing import Any

import numpy as np

from xlfuncs.calculations.water import evapotranspiration
from xlfuncs.catalogue.declaration import UNITS, Arg, Result, table, worksheet_function
from xlfuncs.catalogue.sources import FAO56
from xlfuncs.catalogue.topics.water.water_need import (
    ELEVATION,
    LATITUDE,
    MAX_TEMPERATURE,
    MIN_TEMPERATURE,
    MOIST_AIR,
    REFERENCE,
)
from xlfuncs.errors import InputError
from xlfuncs.tables.garden.weather import MID_MONTH_DAYS, MONTHLY_WEATHER

_MONTHS = 12


@worksheet_function(
    "MONTHLY_REFERENCE_ET",
    topic="water_need",
    help="Reference evapotranspiration of each month of a climate table, as REFERENCE_ET_PM gives"
    " it; once all twelve are there the heat that goes into the soil counts.",
    args=(
        table("weather", "The months, a row each", MONTHLY_WEATHER,
            "month",
            MAX_TEMPERATURE, MIN_TEMPERATURE, *MOIST_AIR),
        LATITUDE,
        ELEVATION,
        Arg("coast", "flag", "yes at a coast, for radiation from temperature (default no)",
            default=False),
        UNITS,
        Arg("counted", "flag", "Whether each month counts; others are not even read (default yes)",
            default=True, group="weather", selects=True),
    ),
    results=(
        REFERENCE,
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
        np.take(MID_MONTH_DAYS, month.astype(int) - 1).astype(float), elevation,
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
