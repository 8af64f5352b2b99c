"""Water need through the worksheet functions: a year of months, both scales, and bad input."""

from __future__ import annotations

import warnings
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

import xlfuncs
from xlfuncs.errors import InputError, InputWarning
from xlfuncs.tables.garden.this_week import MID_MONTH_DAYS

LATITUDE, ELEVATION = 47.45, 122.0
LENGTHS = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
FILE = Path(__file__).parents[1] / "weather" / "seattle_2012_2013.csv"


@pytest.fixture(scope="module")
def daily() -> pd.DataFrame:
    table = pd.read_csv(FILE, parse_dates=["date"])
    return table[table["date"].dt.year == 2013].reset_index(drop=True)


@pytest.fixture(scope="module")
def monthly(daily: pd.DataFrame) -> pd.DataFrame:
    month = daily["date"].dt.month
    means = daily.groupby(month)[["temp_max", "temp_min", "wind"]].mean()
    means["rain"] = daily.groupby(month)["precipitation"].sum()
    return means.reset_index(drop=True)


def test_months_and_days_agree_on_the_year(daily: pd.DataFrame, monthly: pd.DataFrame) -> None:
    """FAO-56 takes Penman-Monteith for days and months alike: the two must give about one year."""
    by_day = xlfuncs.reference_et_pm(
        daily["temp_max"], daily["temp_min"], LATITUDE, daily["date"].dt.day_of_year, ELEVATION,
        wind=daily["wind"], units="metric",
    )  # fmt: skip
    mean = (monthly["temp_max"] + monthly["temp_min"]) / 2
    heat = xlfuncs.monthly_soil_heat_flux(
        np.roll(mean, 1), mean.to_numpy(), np.roll(mean, -1), units="metric"
    )
    by_month = xlfuncs.reference_et_pm(
        monthly["temp_max"], monthly["temp_min"], LATITUDE, list(MID_MONTH_DAYS), ELEVATION,
        wind=monthly["wind"], soil_heat_flux=heat, units="metric",
    )  # fmt: skip
    assert float(by_month @ LENGTHS) == pytest.approx(float(by_day.sum()), rel=0.04)


def test_a_year_from_weather_to_minutes(monthly: pd.DataFrame) -> None:
    """The whole chain for a bed of 20 m² of lettuce-like crop, once in metric, once in US units."""
    minutes = {}
    for units in ("metric", "us"):
        us = units == "us"
        tmax, tmin = monthly["temp_max"], monthly["temp_min"]
        if us:
            tmax, tmin = tmax * 9 / 5 + 32, tmin * 9 / 5 + 32
        rain = monthly["rain"] / (25.4 if us else 1)
        et = xlfuncs.reference_et(tmax, tmin, LATITUDE, list(MID_MONTH_DAYS), units=units)
        use = xlfuncs.crop_et(et, 1.0, units=units) * LENGTHS
        effective = xlfuncs.effective_rain(rain, use, 1.5 if us else 38.1, units=units)
        net = xlfuncs.net_irrigation(use, effective, units=units)
        gross = xlfuncs.gross_irrigation(net, 0.9, units=units)
        minutes[units] = xlfuncs.season_minutes(gross, LENGTHS, 3, "20 m²", "5 L/min", units=units)
    np.testing.assert_allclose(minutes["us"], minutes["metric"], rtol=1e-9)
    assert minutes["us"].idxmax() == 6  # July 2013 had no rain at all there
    assert (minutes["us"][[0, 11]] == 0).all()  # a wet maritime winter needs no lines
    # July by hand: the volume of the month over its 13.29 waterings of 5 L/min
    july = xlfuncs.reference_et(
        monthly["temp_max"][6], monthly["temp_min"][6], LATITUDE, 196, units="metric"
    )
    assert minutes["metric"][6] == pytest.approx(july * 31 / 0.9 * 20 / 5 / (3 * 31 / 7))


def test_fahrenheit_and_celsius_are_one() -> None:
    celsius = xlfuncs.reference_et(30, 15, 40, 196, units="metric")
    fahrenheit = xlfuncs.reference_et(86, 59, 40, 196)
    spelt = xlfuncs.reference_et("30 °C", "15 °C", 40, 196)
    assert fahrenheit * 25.4 == pytest.approx(celsius)
    assert spelt == pytest.approx(fahrenheit)


def test_a_missing_month_leaves_the_others() -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", InputWarning)
        result = xlfuncs.reference_et([20, None, 24], [10, 11, 12], 45, [105, 135, 166])
    assert np.isnan(result[1])
    assert np.isfinite(result[[0, 2]]).all()


def test_least_above_greatest_is_refused() -> None:
    with pytest.raises(InputError, match="must not be above max_temperature"):
        xlfuncs.reference_et(50, 60, 45, 196)
    with pytest.raises(InputError, match="min_temperature"):
        xlfuncs.reference_et_pm(50, 60, 45, 196, 300)


def test_celsius_typed_as_fahrenheit_stays_possible_but_fahrenheit_as_celsius_is_refused() -> None:
    with pytest.raises(InputError, match=r"max_temperature.*at most 60 °C, is 86"):
        xlfuncs.reference_et(86, 59, 40, 196, units="metric")


def test_southern_latitude_is_negative() -> None:
    south, north = xlfuncs.reference_et(86, 59, [-35, 35], 15)
    assert south > 2 * north
    with pytest.raises(InputError, match="latitude"):
        xlfuncs.reference_et(86, 59, 135, 15)


def test_polar_night_and_day_366() -> None:
    assert xlfuncs.extraterrestrial_radiation(80, 366) == 0
    assert xlfuncs.extraterrestrial_radiation(-80, 366) > 40
    with pytest.raises(InputError, match="day_of_year"):
        xlfuncs.extraterrestrial_radiation(45, 367)


def test_salty_water_is_refused_in_words() -> None:
    with pytest.raises(InputError, match="no leaching keeps the soil that fresh"):
        xlfuncs.leaching_fraction(5, 1.5)


def test_a_gap_in_the_weather_log_is_named() -> None:
    with pytest.raises(InputError, match=r"row 3.*2013-06-05 comes after 2013-06-02"):
        xlfuncs.soil_water_balance(
            ["2013-06-01", "2013-06-02", "2013-06-05"], 0.2, [0, 0, 0], 2.5, 0.4
        )
    with pytest.raises(InputError, match=r"rain.*blank"):
        xlfuncs.soil_water_balance(["2013-06-01", "2013-06-02"], 0.2, [0, None], 2.5, 0.4)


def test_timer_program_as_a_person_copies_it() -> None:
    plan = xlfuncs.timer_program(
        minutes=[30, 40, 25],
        waterings=[3, 3, 2],
        stations=2,
        allowed_from=5,
        allowed_to=8,
        cycles=[1, 2, 1],
    )
    assert plan["station"].tolist()[:2] == [1, 2]
    assert np.isnan(plan["station"][2])
    assert "by hand" in plan["notes"][2]
    assert plan["minutes"].tolist() == [30, 20, 25]
    assert plan["weekly_minutes"].tolist() == [90, 120, 0]
    with pytest.raises(InputError, match=r"allowed_days.*Funday"):
        xlfuncs.timer_program(
            minutes=[30],
            watering_days=3,
            stations=2,
            allowed_from=5,
            allowed_to=8,
            allowed_days="Mon Funday",
        )


def test_valve_verdicts() -> None:
    table = xlfuncs.shared_valve_minutes([10, 20, 30], [2, 1, 1], ["A", "A", None])
    assert table["verdict"].tolist() == ["too much", "too little", "ok"]
    assert (table["surplus"] * [2, 1, 1]).sum() == pytest.approx(0)  # the water is the same
