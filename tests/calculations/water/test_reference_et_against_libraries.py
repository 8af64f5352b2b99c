"""Two years of daily reference evapotranspiration against refet, pyfao56 and pyet.

The days are those of tests/weather (a leap year and a common one). Humidity is taken from the
night's minimum and radiation from the range of temperature, both FAO-56 rules for missing data, or
from invented but plausible courses of humidity, so that each path is compared. refet and pyfao56
follow ASCE-EWRI 2005, which differs from FAO-56 in the last digits of its constants.
"""

from __future__ import annotations

import numpy as np
import pytest

from xlfuncs.calculations.water import evapotranspiration as et

TOLERANCE = 0.02  # mm/day


@pytest.fixture
def year(weather):
    return weather


def _radiation(year):
    """Eq. 50 with Eq. 21, written out once more."""
    j = 2 * np.pi / 365 * year.day_of_year
    delta, phi = 0.409 * np.sin(j - 1.39), np.radians(year.latitude)
    ws = np.arccos(-np.tan(phi) * np.tan(delta))
    ra = 37.586 * (1 + 0.033 * np.cos(j)) * (
        ws * np.sin(phi) * np.sin(delta) + np.cos(phi) * np.cos(delta) * np.sin(ws)
    )  # fmt: skip
    return 0.16 * np.sqrt(year.max_temperature - year.min_temperature) * ra


def test_refet(year):
    refet = pytest.importorskip("refet")
    radiation = _radiation(year)
    theirs = refet.Daily(
        tmin=year.min_temperature, tmax=year.max_temperature, rs=radiation, uz=year.wind, zw=10.0,
        elev=year.elevation, lat=year.latitude, doy=year.day_of_year, tdew=year.min_temperature,
    ).eto()  # fmt: skip
    ours = et.reference_et_penman_monteith(
        year.max_temperature, year.min_temperature, year.latitude, year.day_of_year, year.elevation,
        wind=year.wind, wind_height=10.0, radiation=radiation,
    )  # fmt: skip
    assert np.abs(ours - np.maximum(theirs, 0)).max() < TOLERANCE


def test_pyfao56(year):
    reference = pytest.importorskip("pyfao56.refet")
    radiation = _radiation(year)
    damp = 0.75 + 0.2 * np.cos(2 * np.pi * year.day_of_year / 365)
    dry = 0.50 + 0.2 * np.cos(2 * np.pi * year.day_of_year / 365)
    theirs = [
        reference.ascedaily(
            "S", year.elevation, year.latitude, day, rs, tmax, tmin,
            rhmax=100 * high, rhmin=100 * low, wndsp=wind, wndht=10.0,
        )
        for day, rs, tmax, tmin, high, low, wind in zip(
            year.day_of_year, radiation, year.max_temperature, year.min_temperature, damp, dry,
            year.wind, strict=True,
        )
    ]  # fmt: skip
    ours = et.reference_et_penman_monteith(
        year.max_temperature, year.min_temperature, year.latitude, year.day_of_year, year.elevation,
        wind=year.wind, wind_height=10.0, radiation=radiation, max_humidity=damp, min_humidity=dry,
    )  # fmt: skip
    assert np.abs(ours - np.maximum(theirs, 0)).max() < TOLERANCE


def test_pyfao56_in_the_south(year):
    """The same weather half a world away: the sign of the latitude goes right through."""
    reference = pytest.importorskip("pyfao56.refet")
    theirs = [
        reference.ascedaily("S", 0.0, -35.0, day, 12.0, tmax, tmin, tdew=tmin, wndsp=2.0)
        for day, tmax, tmin in zip(
            year.day_of_year, year.max_temperature, year.min_temperature, strict=True
        )
    ]
    ours = et.reference_et_penman_monteith(
        year.max_temperature, year.min_temperature, -35.0, year.day_of_year, 0.0, radiation=12.0
    )
    assert np.abs(ours - np.maximum(theirs, 0)).max() < TOLERANCE


def _series(year, values):
    pandas = pytest.importorskip("pandas")
    days = pandas.date_range(f"{year.year}-01-01", periods=len(year.day_of_year))
    return pandas.Series(values, index=days)


@pytest.mark.reference
def test_pyet_penman_monteith(year):
    pyet = pytest.importorskip("pyet")
    tmax, tmin = (_series(year, each) for each in (year.max_temperature, year.min_temperature))
    sunshine = _series(year, np.clip(4 + 3 * np.sin(year.day_of_year), 0, 8))
    theirs = pyet.pm_fao56(
        (tmax + tmin) / 2, _series(year, year.wind), elevation=year.elevation, tmax=tmax, tmin=tmin,
        lat=np.radians(year.latitude), rhmax=_series(year, 90.0), rhmin=_series(year, 55.0),
        n=sunshine,
    )  # fmt: skip
    ours = et.reference_et_penman_monteith(
        year.max_temperature, year.min_temperature, year.latitude, year.day_of_year, year.elevation,
        wind=year.wind, max_humidity=0.90, min_humidity=0.55, sunshine_hours=sunshine.to_numpy(),
    )  # fmt: skip
    assert np.abs(ours - theirs.to_numpy()).max() < TOLERANCE


@pytest.mark.reference
def test_pyet_hargreaves(year):
    """pyet divides by the latent heat of the day, FAO-56 Eq. 52 by that of 20 C, 2.45 MJ/kg."""
    pyet = pytest.importorskip("pyet")
    tmax, tmin = (_series(year, each) for each in (year.max_temperature, year.min_temperature))
    theirs = pyet.hargreaves((tmax + tmin) / 2, tmax, tmin, np.radians(year.latitude), method=0)
    mean = (year.max_temperature + year.min_temperature) / 2
    theirs = theirs.to_numpy() * (2.501 - 0.002361 * mean) * 0.408
    ours = et.reference_et_from_temperature(
        year.max_temperature, year.min_temperature, year.latitude, year.day_of_year
    )
    assert np.abs(ours - theirs).max() < TOLERANCE
