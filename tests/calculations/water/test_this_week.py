"""The advice for the week: a short trial on the tests' own weather, and what its rules promise.

The long trial, with the table of the shows, is tests/trial/season_trial.py.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.trial import season_trial as trial
from xlfuncs.calculations.water import garden_copies as copies
from xlfuncs.calculations.water import season_so_far as season
from xlfuncs.calculations.water import this_week as week
from xlfuncs.calculations.water.evapotranspiration import reference_et_penman_monteith

SEATTLE = trial.Climate("seattle", 47.45, (4, 20), 145)
MONDAY = np.datetime64("2012-04-16")
NOTHING = np.full(200, np.nan)


@pytest.fixture
def weather_days(weather):
    et = reference_et_penman_monteith(
        weather.max_temperature, weather.min_temperature, weather.latitude, weather.day_of_year,
        weather.elevation, wind=weather.wind,
    )  # fmt: skip
    days = np.datetime64(f"{weather.year}-01-01") + np.arange(len(et))
    return trial.Weather(days, weather.min_temperature, weather.max_temperature, weather.rain, et)


def test_a_wet_spring_and_a_dry_summer(weather_days):
    """The shows of a dry summer: 92 % of days within the readily available water, a quarter more
    water than perfect days would take, the worst of twelve beds dry on at most 17 %."""
    result = trial.one_season(weather_days, weather_days, SEATTLE, 2012 if len(
        weather_days.days) == 366 else 2013, seed=5)  # fmt: skip
    assert result.within >= 0.92
    assert result.worst <= 0.17
    assert result.beyond_share <= 0.50 and result.timer_within < 0.85


def _beds(days: int = 60, **changes) -> copies.BedDays:
    """One bed of a crop in full growth: 60 mm available, half of it readily."""
    flat = np.ones((days, 1))
    beds = copies.BedDays(
        MONDAY + np.arange(days), flat, 60.0 * flat, 0.5 * flat, np.arange(days)[:, None] + 0.0,
        np.ones(1), np.zeros(1), np.full(1, 0.9),
    )  # fmt: skip
    return replace(beds, **changes)


def _log(rain, days: int = 60, readings=()) -> season.Log:
    rain = np.concatenate([rain, np.zeros(days - len(rain))])
    nothing = np.full(days, np.nan)
    return season.Log(rain, nothing, nothing, np.full(days, 5.0), np.ones(days),
                      np.zeros((days, 1)), readings)  # fmt: skip


CLIMATE = season.Climate(45.0, np.full(12, 5.0), np.ones(12))


def test_a_dry_week_is_given_what_it_uses():
    """5 mm a day at Kc 1 and 0.9: 5.6 mm a day, a little more for those copies that want it."""
    result = season.season_so_far(_beds(), CLIMATE, _log([]), 35)
    assert result.given[14:35].mean() == pytest.approx(5.0 / 0.9, rel=0.15)
    assert result.advice.depletion[0] < 0.6
    assert not result.advice.by_hand.any()


def test_nothing_is_brought_to_a_bed_without_a_crop():
    """5 mm a day until the 30 mm that are easy to get are used, then as much as is used; when the
    crop is gone there is less store than is missing, and yet nothing to water."""
    beds = _beds(40)
    beds.use[20:], beds.available[20:] = 0.0, 10.0
    brought = season.need_beyond_rain(beds, np.full(40, 5.0), np.zeros(40))[:, 0]
    np.testing.assert_allclose(brought, [*[0.0] * 6, *[5.0] * 14, *[0.0] * 20])


def test_rest_after_rain_and_none_without():
    beds = _beds()
    dry = season.season_so_far(beds, CLIMATE, _log([]), 35).advice
    wet = season.season_so_far(beds, CLIMATE, _log([0.0] * 34 + [25.0]), 35).advice
    assert dry.rest[0] == 0 and wet.rest[0] >= 2
    assert (np.diff(dry.rests_after[0]) >= 0).all()  # a longer rest takes more rain
    assert dry.rests_after[0, 0] >= 3.0


def test_rain_does_not_reach_a_bed_under_cover():
    under = _beds(rain_share=np.zeros(1))
    rained = season.season_so_far(under, CLIMATE, _log([30.0] * 35), 35)
    none = season.season_so_far(under, CLIMATE, _log([0.0] * 35), 35)
    assert rained.advice.rest[0] == none.advice.rest[0] == 0
    np.testing.assert_allclose(rained.given, none.given)
    assert (rained.advice.rests_after[0] == week.NEVER).all()


def test_skipped_water_dries_a_bed_and_asks_for_a_hand():
    log = replace(_log([]), followed=np.where(np.arange(60) >= 30, 0.0, 1.0))
    advice = season.season_so_far(_beds(), CLIMATE, log, 35).advice
    assert advice.depletion[0] > 0.8
    assert advice.by_hand[0] > 5.0


@pytest.mark.parametrize(("used", "higher"), [(0.75, True), (0.02, False)])
def test_a_probe_corrects_use_and_not_only_the_level(used, higher):
    readings = tuple(season.Reading(day, 0, used, 0.12) for day in (21, 28))
    beds = _beds()
    without = season.season_so_far(beds, CLIMATE, _log([]), 35)
    told = season.season_so_far(beds, CLIMATE, _log([], readings=readings), 35)
    change = copies.seeming_use(told.know)[0] / copies.seeming_use(without.know)[0]
    assert change > 1.05 if higher else change < 0.97


def test_probes_never_ratchet_the_water_up():
    """Readings that say dry week after week, whatever is given: no copy leaves its bounds."""
    readings = tuple(season.Reading(day, 0, 0.9, 0.12) for day in range(7, 56, 7))
    told = season.season_so_far(_beds(), CLIMATE, _log([], readings=readings), 56)
    assert copies.seeming_use(told.know)[0] <= copies.USE[1] / copies.EFFICIENCY[0]
    most = (7 * 5.0 * copies.USE[1] + 0.9 * 60 * copies.SOIL[1]) / (0.9 * copies.EFFICIENCY[0])
    assert told.given[49:56].sum() <= most


def test_the_same_log_gives_the_same_advice_and_later_days_do_not_matter():
    rain = np.random.default_rng(3).exponential(3.0, 60) * (np.arange(60) % 4 == 0)
    first = season.season_so_far(_beds(), CLIMATE, _log(rain), 35)
    changed = np.where(np.arange(60) >= 35, 99.0, rain)
    dry = (season.Reading(40, 0, 0.9, 0.12),)  # of a bed that is not yet so
    again = season.season_so_far(_beds(), CLIMATE, _log(changed, readings=dry), 35)
    np.testing.assert_array_equal(first.given[:35], again.given[:35])
    assert first.advice.depth == again.advice.depth


def test_a_crop_planted_on_a_thursday_is_watered_from_then():
    age = np.arange(60.0) - 38.0
    beds = _beds(use=np.where(age >= 0, 1.0, 0.0)[:, None],
                 age=np.where(age >= 0, age, np.nan)[:, None], start=np.full(1, 0.3))  # fmt: skip
    result = season.season_so_far(beds, CLIMATE, _log([]), 42)
    assert result.given[:38].sum() == 0.0
    assert (result.given[38:42] > 0.0).all()


def test_beds_of_a_valve_get_one_time_between_mean_and_thirstiest():
    flat = np.ones((60, 2))
    beds = copies.BedDays(
        MONDAY + np.arange(60), flat * [0.6, 1.0], 60.0 * flat, 0.5 * flat,
        np.arange(60)[:, None] + 0.0 * flat, np.ones(2), np.zeros(2), np.full(2, 0.9),
    )  # fmt: skip
    log = replace(_log([]), extra=np.zeros((60, 2)))
    own = season.season_so_far(beds, CLIMATE, log, 0).advice.depth
    valves = season.Valves(np.zeros(2, dtype=np.int64), np.full(2, 300.0))
    shared = season.season_so_far(beds, CLIMATE, log, 0, valves).advice.depth
    assert shared[0] == shared[1] == pytest.approx((own.mean() + own.max()) / 2.0)


def test_hargreaves_takes_the_weeks_means_and_the_tables_scale():
    """A day with a station's own figure keeps it; one without temperatures takes the month's."""
    days = MONDAY + np.arange(21)
    high = np.concatenate([np.full(7, 25.0), np.full(14, np.nan)])
    log = season.Log(np.zeros(21), high, high - 12.0, np.where(np.arange(21) == 8, 7.7, np.nan),
                     np.ones(21), np.zeros((21, 1)))  # fmt: skip
    known = season.known_et(replace(CLIMATE, scale=np.full(12, 1.1)), days, log)
    plain = season.known_et(CLIMATE, days, log)
    np.testing.assert_allclose(known[:7], 1.1 * plain[:7])
    assert known[8] == 7.7 and known[9] == 5.0


@pytest.mark.parametrize(
    ("first", "rest", "minutes", "by_hand", "words"),
    [
        (0, 0, 25.0, 0.4, "25 min every 2 days"),
        (0, 0, 25.0, 12.0, "25 min every 2 days; 12 min more at once, it is nearly dry"),
        (0, 2, 25.0, 0.0, "rest until Wednesday, then 25 min every 2 days"),
        (3, 3, 25.0, 0.0, "off until it is planted on Thursday, then 25 min every 2 days"),
        (0, 7, 25.0, 0.0, "no water this week"),
        (0, 0, 0.4, 0.0, "no water this week"),
        (7, 7, 25.0, 12.0, "no crop this week"),
    ],
)
def test_what_to_do_in_words(first, rest, minutes, by_hand, words):
    """Days counted on the calendar: 16 April 2012 was a Monday."""
    assert week.what_to_do(MONDAY, first, rest, minutes, "every 2 days", by_hand) == words


@pytest.mark.parametrize(
    ("seems", "read", "words"),
    [
        (1.2, True, "; seems to use 20% more than told"),
        (0.7, True, "; seems to use 30% less than told; measure its flow"),
        (1.1, True, ""),
        (1.2, False, ""),
    ],
)
def test_what_advice_rests_on_in_words(seems, read, words):
    told = "40% of its easy water used (20% to over 150%); a full soil lasts 0.5 days"
    assert week.why(0.4, 0.2, 1.6, 0.3, seems, read, young=False) == told + words
    assert [week.often(1), week.often(2), week.often(2, "Mon Thu")] == [
        "a day", "every 2 days", "on Mon Thu"]  # fmt: skip


def test_one_copy_in_ten_is_beyond_each_bound():
    """Weights that just pass 0.1, 0.5 and 0.9 at copies that used 0.2, 0.3 and 0.4 of what is
    there, of which half is easy to get (by the day's use some 8 % more or less)."""
    beds = _beds()
    know = copies.at_start(beds)
    weight, used = np.zeros_like(know.weight), np.zeros_like(know.weight)
    weight[0, :5] = 0.0995, 0.001, 0.402, 0.4025, 0.095
    used[0, :5] = 0.1, 0.2, 0.3, 0.4, 0.5
    know = replace(know, weight=weight, depletion=used * copies.available(beds, 0))
    got = week.advise(know, beds, 0, np.full(7, 5.0), 0.0)
    np.testing.assert_allclose([got.low[0], got.depletion[0], got.high[0]], [0.4, 0.6, 0.8], 0.1)


@pytest.mark.parametrize(
    ("beyond", "words"),
    [(12.0, "12 °C (22 °F) above"), (-12.0, "12 °C (22 °F) below"), (0.8, "1 °C (1 °F) above")],
)
def test_an_odd_week_is_said_to_be_above_or_below_its_month(beyond, words):
    """A difference of 1 K is one of 1.8 °F, by the definition of the two scales."""
    assert week.odd_week(beyond).startswith(f"{words} the month's mean")
