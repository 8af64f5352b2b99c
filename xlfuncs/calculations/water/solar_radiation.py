"""Radiation at a place and day of the year: FAO Irrigation and Drainage Paper 56, chapter 3.

Equation numbers are those of FAO-56 (Allen, Pereira, Raes, Smith 1998). Every function takes
floats or arrays that broadcast. Latitude is in degrees, south negative; the day of the year is
1 to 366; radiation is in MJ/m²/day, temperature in °C, vapour pressure in kPa. FAO-56 takes 365
days for a year; in a leap year day 366 is one day into the next cycle, as in the handbook.
"""

import numpy as np

from xlfuncs.calculations.arrays import Numbers

SOLAR_CONSTANT = 0.0820  # MJ/m²/min
STEFAN_BOLTZMANN = 4.903e-9  # MJ/K⁴/m²/day
ALBEDO = 0.23  # of the grass reference crop

# FAO-56, page 75, for the night: 0.4 to 0.6 in humid climates. Used where the sun stays down.
RELATIVE_RADIATION_AT_NIGHT = 0.5


def inverse_relative_distance(day_of_year: Numbers) -> Numbers:
    """Inverse relative distance of earth and sun (Eq. 23)."""
    return 1.0 + 0.033 * np.cos(2.0 * np.pi / 365.0 * day_of_year)


def solar_declination(day_of_year: Numbers) -> Numbers:
    """Solar declination in radians (Eq. 24)."""
    return 0.409 * np.sin(2.0 * np.pi / 365.0 * day_of_year - 1.39)


def sunset_hour_angle(latitude: Numbers, day_of_year: Numbers) -> Numbers:
    """Sunset hour angle in radians (Eq. 25): pi in the polar day, 0 in the polar night."""
    cosine = -np.tan(np.radians(latitude)) * np.tan(solar_declination(day_of_year))
    angle: Numbers = np.arccos(np.clip(cosine, -1.0, 1.0))
    return angle


def extraterrestrial_radiation(latitude: Numbers, day_of_year: Numbers) -> Numbers:
    """Radiation on a level surface above the atmosphere, Ra in MJ/m²/day (Eq. 21)."""
    phi = np.radians(latitude)
    delta = solar_declination(day_of_year)
    sunset = sunset_hour_angle(latitude, day_of_year)
    share = sunset * np.sin(phi) * np.sin(delta) + np.cos(phi) * np.cos(delta) * np.sin(sunset)
    daily = 24.0 * 60.0 / np.pi * SOLAR_CONSTANT * inverse_relative_distance(day_of_year)
    # In the polar night the two terms cancel but for rounding; radiation is never negative.
    radiation: Numbers = np.maximum(daily * share, 0.0)
    return radiation


def daylight_hours(latitude: Numbers, day_of_year: Numbers) -> Numbers:
    """Hours from sunrise to sunset, N (Eq. 34)."""
    return 24.0 / np.pi * sunset_hour_angle(latitude, day_of_year)


def solar_radiation_from_sunshine(
    extraterrestrial: Numbers, sunshine_hours: Numbers, daylight: Numbers
) -> Numbers:
    """Solar radiation Rs from hours of bright sunshine (Angstrom, Eq. 35, a = 0.25, b = 0.50)."""
    # Where the sun stays down the share of sunshine has no meaning, and Ra is 0 all the same.
    share = np.clip(np.divide(sunshine_hours, np.maximum(daylight, 1e-9)), 0.0, 1.0)
    return (0.25 + 0.50 * share) * extraterrestrial


def solar_radiation_from_temperature(
    extraterrestrial: Numbers,
    max_temperature: Numbers,
    min_temperature: Numbers,
    adjustment: Numbers = 0.16,
) -> Numbers:
    """Solar radiation Rs from the daily range of temperature (Hargreaves, Eq. 50).

    `adjustment` is kRs: 0.16 inland, 0.19 at a coast. FAO-56 advises averages of several days
    rather than single days for it; single days scatter.
    """
    spread = np.maximum(np.subtract(max_temperature, min_temperature), 0.0)
    return adjustment * np.sqrt(spread) * extraterrestrial


def clear_sky_radiation(extraterrestrial: Numbers, elevation: Numbers) -> Numbers:
    """Solar radiation of a cloudless day, Rso (Eq. 37); elevation in m."""
    return (0.75 + 2e-5 * elevation) * extraterrestrial


def net_shortwave_radiation(solar_radiation: Numbers, albedo: float = ALBEDO) -> Numbers:
    """Solar radiation that the crop keeps, Rns (Eq. 38)."""
    return (1.0 - albedo) * solar_radiation


def net_longwave_radiation(
    max_temperature: Numbers,
    min_temperature: Numbers,
    vapour_pressure: Numbers,
    solar_radiation: Numbers,
    clear_sky: Numbers,
) -> Numbers:
    """Net outgoing longwave radiation, Rnl (Eq. 39).

    The relative radiation Rs/Rso is held to 0.3 to 1.0 (upper limit FAO-56; lower limit
    ASCE-EWRI 2005, Eq. 18), and is 0.5 where the sun stays down.
    """
    clear = np.asarray(clear_sky, dtype=float)
    dark = clear <= 0.0
    relative = np.clip(np.divide(solar_radiation, np.where(dark, 1.0, clear)), 0.3, 1.0)
    relative = np.where(dark, RELATIVE_RADIATION_AT_NIGHT, relative)
    kelvin_max = np.add(max_temperature, 273.16)
    kelvin_min = np.add(min_temperature, 273.16)
    emission: Numbers = STEFAN_BOLTZMANN * (kelvin_max**4 + kelvin_min**4) / 2.0
    return emission * (0.34 - 0.14 * np.sqrt(vapour_pressure)) * (1.35 * relative - 0.35)
