"""Crop coefficients against FAO-56 chapter 6 and pyfao56's course of a season."""

from __future__ import annotations

import numpy as np
import pytest

from xlfuncs.calculations.water import bed_crop_use as kc


@pytest.mark.parametrize(
    ("wind", "humidity", "printed"),
    [(1.3, 0.75, 1.07), (4.6, 0.44, 1.30)],  # a humid calm climate, an arid windy one
)
def test_fao56_example_27_maize(wind, humidity, printed):
    """FAO-56 example 27, maize 2 m high, 1.20 in table 12: from memory."""
    assert kc.adjusted_crop_coefficient(1.20, wind, humidity, 2.0) == pytest.approx(
        printed, abs=0.005
    )


@pytest.mark.parametrize(("day", "printed"), [(20, 0.15), (40, 0.77), (70, 1.19), (95, 0.56)])
def test_fao56_example_28_dry_beans(day, printed):
    """FAO-56 example 28, stages of 25, 25, 30 and 20 days: from memory."""
    value = kc.crop_coefficient(day, 25, 25, 30, 20, 0.15, 1.19, 0.35)
    assert value == pytest.approx(printed, abs=0.005)


def test_adjustment_leaves_dried_crops_and_standard_climate_alone():
    """FAO-56 Eq. 65 counts from 0.45 on. At 3 m high and 4 m/s it adds 0.04 (4 - 2), by hand."""
    assert kc.adjusted_crop_coefficient(0.35, 5.0, 0.25, 1.0) == 0.35
    assert kc.adjusted_crop_coefficient(0.449, 4.0, 0.45, 3.0) == 0.449
    assert kc.adjusted_crop_coefficient(0.451, 4.0, 0.45, 3.0) == pytest.approx(0.531)
    assert kc.adjusted_crop_coefficient(1.05, 2.0, 0.45, 0.3) == pytest.approx(1.05)


def test_adjustment_holds_the_climate_to_its_range():
    wild = kc.adjusted_crop_coefficient(1.05, 15.0, 0.05, 0.3)
    assert wild == kc.adjusted_crop_coefficient(1.05, 6.0, 0.20, 0.3)


def test_no_crop_no_coefficient():
    ages = np.array([-1.0, 0.0, 100.0, 101.0])
    values = kc.crop_coefficient(ages, 25, 25, 30, 20, 0.7, 1.05, 0.95)
    np.testing.assert_allclose(values, [0.0, 0.7, 0.95, 0.0])


def test_stages_of_no_length_do_not_divide_by_zero():
    ages = np.arange(0.0, 31.0)
    values = kc.crop_coefficient(ages, 10, 0, 20, 0, 0.7, 1.0, 0.9)
    assert np.isfinite(values).all()
    assert values[9] == pytest.approx(0.7)
    assert values[15] == pytest.approx(1.0)


# Stages and coefficients of FAO-56 tables 11 and 12: lettuce, tomato, zucchini.
SEASONS = [
    (20, 30, 15, 10, 0.7, 1.00, 0.95),
    (30, 40, 45, 30, 0.6, 1.15, 0.80),
    (25, 35, 25, 15, 0.5, 0.95, 0.75),
]


@pytest.mark.parametrize("season", SEASONS)
def test_season_against_pyfao56(season):
    """pyfao56's Kcm day by day, from its own model run."""
    pyfao56 = pytest.importorskip("pyfao56")
    pandas = pytest.importorskip("pandas")
    lini, ldev, lmid, lend, ini, mid, end = season
    parameters = pyfao56.Parameters(
        Kcmini=ini, Kcmmid=mid, Kcmend=end, Lini=lini, Ldev=ldev, Lmid=lmid, Lend=lend
    )
    days = pandas.date_range("2013-04-01", periods=lini + ldev + lmid + lend + 1)
    weather = pyfao56.Weather()
    weather.rfcrp, weather.z, weather.lat, weather.wndht = "S", 100.0, 45.0, 2.0
    weather.wdata = pandas.DataFrame(
        dict.fromkeys(weather.cnames, 0.0), index=days.strftime("%Y-%j")
    )
    weather.wdata[["ETref", "Tmax", "Tmin", "RHmin", "Wndsp"]] = [5.0, 25.0, 15.0, 45.0, 2.0]
    start, finish = days[0].strftime("%Y-%j"), days[-1].strftime("%Y-%j")
    model = pyfao56.Model(start, finish, parameters, weather)
    model.run()
    ours = kc.crop_coefficient(np.arange(len(days)), *season)
    np.testing.assert_allclose(ours, model.odata["Kcm"].to_numpy(dtype=float), atol=1e-9)


def test_roots_grow_with_the_development_stage():
    ages = np.array([0, 20, 35, 50, 75])
    depths = kc.root_depth(ages, 20, 30, 0.10, 0.40)
    np.testing.assert_allclose(depths, [0.10, 0.10, 0.25, 0.40, 0.40])


def test_monthly_means_are_means_of_days():
    """Lettuce planted on 1 April, counted day by day."""
    season = SEASONS[0]
    first = np.array([-31, 0, 30, 61, 91])  # the first of March to July
    last = first + np.array([30, 29, 30, 29, 30])
    months = kc.mean_crop_coefficient(first, last, *season)
    april = np.mean([kc.crop_coefficient(age, *season) for age in range(30)])
    june = np.sum([kc.crop_coefficient(age, *season) for age in range(61, 76)]) / 30
    assert months[1] == pytest.approx(april)
    assert months[3] == pytest.approx(june)
    assert months[0] == months[4] == 0
    assert kc.mean_crop_coefficient(0, 29, *season) == pytest.approx(april)


def test_means_of_many_crops_and_months_at_once():
    first = np.arange(0, 150, 30)[None, :]
    columns = np.array(SEASONS, dtype=float).T[:, :, None]
    together = kc.mean_crop_coefficient(first, first + 29, *columns)
    assert together.shape == (3, 5)
    for row, season in enumerate(SEASONS):
        alone = kc.mean_crop_coefficient(first[0], first[0] + 29, *season)
        np.testing.assert_allclose(together[row], alone)


def test_a_blank_row_stays_blank():
    means = kc.mean_crop_coefficient(np.array([0.0, np.nan]), np.array([29.0, np.nan]), *SEASONS[0])
    assert np.isfinite(means[0])
    assert np.isnan(means[1])
