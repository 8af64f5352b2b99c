"""Radiation against worked examples of FAO-56, as the tests of PyETo and pyet quote them."""

from __future__ import annotations

import numpy as np
import pytest

from xlfuncs.calculations.water import solar_radiation as solar

# FAO-56 example 8: 3 September (day 246) at 20 degrees south; example 9: its hours of daylight.


def test_fao56_example_8_and_its_terms():
    assert solar.inverse_relative_distance(246) == pytest.approx(0.985, abs=5e-4)
    assert solar.solar_declination(246) == pytest.approx(0.120, abs=5e-4)
    assert solar.sunset_hour_angle(-20, 246) == pytest.approx(1.527, abs=5e-4)
    assert solar.extraterrestrial_radiation(-20, 246) == pytest.approx(32.2, abs=0.05)


def test_fao56_example_9_daylight():
    assert solar.daylight_hours(-20, 246) == pytest.approx(11.7, abs=0.05)


def test_fao56_example_10_sunshine():
    assert solar.solar_radiation_from_sunshine(25.1, 7.1, 10.9) == pytest.approx(14.5, abs=0.06)


def test_fao56_example_11_longwave():
    result = solar.net_longwave_radiation(25.1, 19.1, 2.1, 14.5, 18.8)
    assert result == pytest.approx(3.5, abs=0.05)


def test_fao56_example_12_shortwave():
    # The text prints 11.1; 0.77 x 14.5 is 11.165.
    assert solar.net_shortwave_radiation(14.5) == pytest.approx(11.1, abs=0.1)


def test_fao56_example_15_temperature():
    result = solar.solar_radiation_from_temperature(40.6, 26.6, 14.8)
    assert result == pytest.approx(22.3, abs=0.05)


def test_polar_night_and_polar_day():
    assert solar.extraterrestrial_radiation(70, 355) == 0.0
    assert solar.daylight_hours(70, 355) == 0.0
    assert solar.daylight_hours(70, 172) == pytest.approx(24.0)
    # In the long day the closed form is the mean of the sine of the sun's height over 24 h.
    angle = (np.arange(20000) + 0.5) / 20000 * 2 * np.pi - np.pi
    phi, delta = np.radians(70), solar.solar_declination(172)
    sine = np.sin(phi) * np.sin(delta) + np.cos(phi) * np.cos(delta) * np.cos(angle)
    mean = 1440 * 0.0820 * solar.inverse_relative_distance(172) * np.mean(sine)
    assert solar.extraterrestrial_radiation(70, 172) == pytest.approx(mean, rel=1e-6)


@pytest.mark.parametrize(("latitude", "day"), [(47.45, 80), (-33.9, 10), (66.0, 172), (66.0, 355)])
def test_is_the_integral_over_the_day(latitude, day):
    """The radiation on a level surface is the sine of the sun's height, summed while it is up."""
    angle = (np.arange(20000) + 0.5) / 20000 * 2 * np.pi - np.pi
    phi, delta = np.radians(latitude), solar.solar_declination(day)
    sine = np.sin(phi) * np.sin(delta) + np.cos(phi) * np.cos(delta) * np.cos(angle)
    mean = 1440 * 0.0820 * solar.inverse_relative_distance(day) * np.mean(np.maximum(sine, 0))
    assert solar.extraterrestrial_radiation(latitude, day) == pytest.approx(mean, abs=1e-4)


def test_hemispheres_mirror_half_a_year_apart():
    """South in January is bright, north is not: the sign of the latitude counts."""
    assert solar.extraterrestrial_radiation(-35, 15) > 40
    assert solar.extraterrestrial_radiation(35, 15) < 20


def test_poles_are_finite():
    days = np.arange(1, 367)
    for latitude in (-90, 90):
        assert np.isfinite(solar.extraterrestrial_radiation(latitude, days)).all()
