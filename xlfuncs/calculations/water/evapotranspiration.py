"""Reference evapotranspiration: FAO Irrigation and Drainage Paper 56, chapters 2 to 4.

Equation numbers are those of FAO-56 (Allen, Pereira, Raes, Smith 1998). Every function takes
floats or arrays that broadcast: temperature in °C, vapour pressure in kPa, relative humidity as a
ratio, wind in m/s, radiation in MJ/m²/day, elevation in m, evapotranspiration in mm/day.
A missing optional value is NaN, element by element, and is replaced by FAO-56's own rules.
"""

import numpy as np

from xlfuncs.calculations.arrays import Numbers
from xlfuncs.calculations.water import solar_radiation as solar

MISSING = float("nan")
WIND_WHERE_MISSING = 2.0  # m/s, the mean of 2000 stations, FAO-56 page 63


def atmospheric_pressure(elevation: Numbers) -> Numbers:
    """Air pressure in kPa at an elevation in m (Eq. 7)."""
    return 101.3 * ((293.0 - 0.0065 * elevation) / 293.0) ** 5.26


def psychrometric_constant(pressure: Numbers) -> Numbers:
    """Psychrometric constant in kPa/°C for an air pressure in kPa (Eq. 8)."""
    return 0.665e-3 * pressure


def saturation_vapour_pressure(temperature: Numbers) -> Numbers:
    """Saturation vapour pressure in kPa at a temperature in °C (Eq. 11)."""
    return 0.6108 * np.exp(17.27 * temperature / (temperature + 237.3))


def mean_saturation_vapour_pressure(max_temperature: Numbers, min_temperature: Numbers) -> Numbers:
    """Saturation vapour pressure of a day or month: the mean of that at both extremes (Eq. 12)."""
    return (
        saturation_vapour_pressure(max_temperature) + saturation_vapour_pressure(min_temperature)
    ) / 2.0


def slope_of_saturation_vapour_pressure(temperature: Numbers) -> Numbers:
    """Slope of the saturation vapour pressure curve in kPa/°C (Eq. 13)."""
    return 4098.0 * saturation_vapour_pressure(temperature) / (temperature + 237.3) ** 2


def actual_vapour_pressure(
    max_temperature: Numbers, min_temperature: Numbers, dew_point: Numbers = MISSING,
    max_humidity: Numbers = MISSING, min_humidity: Numbers = MISSING,
    mean_humidity: Numbers = MISSING,
) -> Numbers:  # fmt: skip
    """Actual vapour pressure in kPa from the best humidity at hand, in FAO-56's order.

    Dew point (Eq. 14); greatest and least relative humidity (Eq. 17); the greatest alone
    (Eq. 18); the mean (Eq. 19); and without any, the dew point taken as the night's minimum
    temperature (Eq. 48), which is 2 to 3 °C too high in a dry climate.
    """
    at_max = saturation_vapour_pressure(max_temperature)
    at_min = saturation_vapour_pressure(min_temperature)
    in_order = (
        saturation_vapour_pressure(dew_point),
        (at_min * max_humidity + at_max * min_humidity) / 2.0,
        at_min * max_humidity,
        (at_max + at_min) / 2.0 * mean_humidity,
    )
    result: Numbers = at_min
    for better in reversed(in_order):
        result = np.where(np.isnan(better), result, better)
    return result


def wind_at_two_metres(wind: Numbers, height: Numbers = 2.0) -> Numbers:
    """Wind at 2 m above grass from that at another height in m (Eq. 47); 2 m/s where missing."""
    at_two = np.where(
        np.isclose(height, 2.0), wind, wind * 4.87 / np.log(67.8 * np.asarray(height) - 5.42)
    )
    return np.where(np.isnan(at_two), WIND_WHERE_MISSING, at_two)


def monthly_soil_heat_flux(
    previous_temperature: Numbers, temperature: Numbers, next_temperature: Numbers = MISSING
) -> Numbers:
    """Soil heat flux of a month in MJ/m²/day from mean monthly temperatures in °C.

    From the months before and after (Eq. 43); from the month before and this one (Eq. 44) where
    the next is not known; 0 where the month before is not known.
    """
    both = 0.07 * np.subtract(next_temperature, previous_temperature)
    before = 0.14 * np.subtract(temperature, previous_temperature)
    return np.nan_to_num(np.where(np.isnan(both), before, both), nan=0.0)


def solar_radiation(
    max_temperature: Numbers, min_temperature: Numbers, latitude: Numbers, day_of_year: Numbers,
    elevation: Numbers = 0.0, measured: Numbers = MISSING, sunshine_hours: Numbers = MISSING,
    adjustment: Numbers = 0.16,
) -> Numbers:  # fmt: skip
    """Solar radiation Rs in MJ/m²/day from the best that is known.

    Measured; from hours of sunshine (Eq. 35); from the range of temperature (Eq. 50), which is
    held to that of a cloudless day.
    """
    extraterrestrial = solar.extraterrestrial_radiation(latitude, day_of_year)
    from_temperature = np.minimum(
        solar.solar_radiation_from_temperature(
            extraterrestrial, max_temperature, min_temperature, adjustment
        ),
        solar.clear_sky_radiation(extraterrestrial, elevation),
    )
    from_sunshine = solar.solar_radiation_from_sunshine(
        extraterrestrial, sunshine_hours, solar.daylight_hours(latitude, day_of_year)
    )
    without = np.where(np.isnan(from_sunshine), from_temperature, from_sunshine)
    return np.where(np.isnan(measured), without, measured)


def penman_monteith(
    net_radiation: Numbers, soil_heat_flux: Numbers, temperature: Numbers, wind: Numbers,
    saturation: Numbers, vapour_pressure: Numbers, psychrometric: Numbers,
) -> Numbers:  # fmt: skip
    """The FAO Penman-Monteith equation (Eq. 6) on its own terms; wind at 2 m."""
    slope = slope_of_saturation_vapour_pressure(temperature)
    radiation_term = 0.408 * slope * np.subtract(net_radiation, soil_heat_flux)
    deficit = np.maximum(np.subtract(saturation, vapour_pressure), 0.0)
    wind_term = psychrometric * 900.0 / (temperature + 273.0) * wind * deficit
    return (radiation_term + wind_term) / (slope + psychrometric * (1.0 + 0.34 * wind))


def reference_et_penman_monteith(
    max_temperature: Numbers, min_temperature: Numbers, latitude: Numbers, day_of_year: Numbers,
    elevation: Numbers, *, wind: Numbers = MISSING, wind_height: Numbers = 2.0,
    dew_point: Numbers = MISSING, max_humidity: Numbers = MISSING, min_humidity: Numbers = MISSING,
    mean_humidity: Numbers = MISSING, radiation: Numbers = MISSING,
    sunshine_hours: Numbers = MISSING, radiation_adjustment: Numbers = 0.16,
    soil_heat_flux: Numbers = 0.0,
) -> Numbers:  # fmt: skip
    """Grass reference evapotranspiration by Penman-Monteith in mm/day (FAO-56 Eq. 6).

    For a day the soil heat flux is 0 (Eq. 42); for a month give `monthly_soil_heat_flux` and the
    day of the year of its 15th. Missing humidity, wind and radiation follow FAO-56 chapter 3,
    "missing climatic data". Where the equation is negative (dew on a dark winter day) the result
    is 0, for dew waters no bed.
    """
    rs = solar_radiation(
        max_temperature, min_temperature, latitude, day_of_year, elevation,
        radiation, sunshine_hours, radiation_adjustment,
    )  # fmt: skip
    clear = solar.clear_sky_radiation(
        solar.extraterrestrial_radiation(latitude, day_of_year), elevation
    )
    vapour_pressure = actual_vapour_pressure(
        max_temperature, min_temperature, dew_point, max_humidity, min_humidity, mean_humidity
    )
    net_radiation = solar.net_shortwave_radiation(rs) - solar.net_longwave_radiation(
        max_temperature, min_temperature, vapour_pressure, rs, clear
    )
    result = penman_monteith(
        net_radiation, soil_heat_flux, np.add(max_temperature, min_temperature) / 2.0,
        wind_at_two_metres(wind, wind_height),
        mean_saturation_vapour_pressure(max_temperature, min_temperature), vapour_pressure,
        psychrometric_constant(atmospheric_pressure(elevation)),
    )  # fmt: skip
    return np.maximum(result, 0.0)


def reference_et_from_temperature(
    max_temperature: Numbers, min_temperature: Numbers, latitude: Numbers, day_of_year: Numbers
) -> Numbers:
    """Grass reference evapotranspiration from temperature alone in mm/day (Hargreaves, Eq. 52).

    Ra enters as its equivalent of evaporation, 0.408 mm for each MJ/m² (Eq. 20). FAO-56 advises
    it for spans of ten days or a month; it runs high where it is humid and low where it is windy.
    """
    spread = np.maximum(np.subtract(max_temperature, min_temperature), 0.0)
    mean = np.add(max_temperature, min_temperature) / 2.0
    evaporation = 0.408 * solar.extraterrestrial_radiation(latitude, day_of_year)
    return np.maximum(0.0023 * (mean + 17.8) * np.sqrt(spread) * evaporation, 0.0)
