"""THIS_WEEK through the catalogue: tables in, advice out, in both systems and with odd logs."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

import xlfuncs
from xlfuncs.errors import InputError

ET = (0.8, 1.4, 2.4, 3.4, 4.4, 5.4, 6.0, 5.0, 3.4, 2.0, 1.0, 0.7)  # mm a day
HIGH = (4, 6, 11, 16, 21, 26, 28, 27, 23, 17, 10, 5)
BEDS = {"Bed": ["A", "B", "T"], "Planted area (m²)": [10.0, 12.0, 9.0],
        "Nominal flow (L/min)": [4.0, 4.0, 3.5], "Valve": ["1", "1", "2"],
        "Cover": ["open", "open", "tunnel"]}  # fmt: skip
PLAN = {"Bed": ["A", "B", "T"], "Crop": ["lettuce", "onion, dry", "tomato"],
        "From": ["2026-05-04", "2026-04-20", "2026-05-11"],
        "To": ["2026-07-10", "2026-08-30", "2026-09-30"]}  # fmt: skip
CROPS = {"Crop": ["lettuce", "onion, dry", "tomato"], "Kc initial": [0.7, 0.7, 0.6],
         "Kc mid-season": [1.0, 1.05, 1.15], "Kc end": [0.95, 0.75, 0.8],
         "Root depth (cm)": [30, 30, 70], "Depletion fraction": [0.3, 0.3, 0.4],
         "Initial stage": [20, 15, 30], "Development stage": [30, 25, 40],
         "Mid-season stage": [15, 70, 45], "Late stage": [10, 40, 30]}  # fmt: skip
WEATHER = {"Month": list(range(1, 13)), "Reference ET (mm/day)": ET, "Maximum temperature": HIGH,
           "Minimum temperature": [high - 10 for high in HIGH]}  # fmt: skip
SETTINGS = {"Latitude": 45.0, "Available water of the soil": 140.0, "Efficiency": 0.9,
            "Soil at planting": "moist"}  # fmt: skip
DAYS = pd.date_range("2026-04-20", "2026-06-14")


def log(rain=0.0, **more):
    sunday = DAYS.day_of_week == 6
    return {"Date": list(DAYS), "Rain": np.full(len(DAYS), rain),
            "Maximum temperature": np.where(sunday, 24.0, np.nan),
            "Minimum temperature": np.where(sunday, 12.0, np.nan), **more}  # fmt: skip


def advice(**changes):
    given = {"beds": BEDS, "plan": PLAN, "weather": WEATHER, "log": log(), "settings": SETTINGS,
             "crops": CROPS} | changes  # fmt: skip
    return xlfuncs.this_week(**given, units="metric")


def test_a_dry_spring():
    """Kc times ET over an efficiency of 0.9, somewhat more for the doubtful: minutes by flow."""
    week = advice()
    assert (week["every"] == 1).all() and (week["rest"][:2] == 0).all()
    assert week["minutes"][0] == pytest.approx(week["minutes"][1], rel=1e-12)  # of one valve
    need = week["need"].to_numpy()
    assert (need > 100).sum() >= 2
    alone = advice(beds=BEDS | {"Valve": ["1", "2", "3"]})
    assert alone["watered_so_far"].to_numpy() / need == pytest.approx(1.3, abs=0.2)
    assert week["to_do"][0] == f"{week['minutes'][0]:.0f} min a day"
    assert week["need_beyond_rain"].to_numpy() == pytest.approx(need, rel=0.2)


def test_rain_rests_open_beds_and_not_the_tunnel():
    rain = np.where(DAYS >= "2026-06-14", 30.0, 0.0)
    week = advice(log=log(rain))
    assert week["rest"][2] == advice()["rest"][2] and week["rest_inch"][2] == 0
    assert week["rest"][0] >= 1
    assert "rest until" in week["to_do"][0] or "no water" in week["to_do"][0]
    assert week["rain_so_far"].tolist() == [30.0, 30.0, 0.0]


def test_skipped_water_is_known():
    watered = np.where(DAYS >= "2026-06-05", 0.0, 1.0)
    week = advice(log=log(Watered=watered))
    assert (week["used"] > advice()["used"]).all()
    assert (week["by_hand"] > 0).any() and (week["dry_days"] > 0).any()
    assert "nearly dry" in " ".join(week["to_do"])


def test_notes_by_bed_change_that_bed_only():
    notes = {"Date": ["2026-06-08"], "Bed": ["T"], "Probe": [0.45]}
    week, before = advice(notes=notes), advice()
    assert week["week_minutes"][2] > before["week_minutes"][2]
    assert week["week_minutes"][:2].tolist() == before["week_minutes"][:2].tolist()
    felt = {"Date": ["2026-06-08"], "Bed": ["T"], "Feels": ["dry"]}
    assert advice(notes=felt)["watered_so_far"][2] > before["watered_so_far"][2]
    with pytest.raises(InputError, match="'Z' is not in the bed list"):
        advice(notes=notes | {"Bed": ["Z"]})


def test_days_that_may_have_water_share_the_week():
    week, daily = advice(settings=SETTINGS | {"Days": "Mon Wed Fri"}), advice()
    assert week["week_minutes"].to_numpy() == pytest.approx(daily["week_minutes"].to_numpy())
    assert week["minutes"][0] * 3 == pytest.approx(week["week_minutes"][0])
    assert week["to_do"][0].endswith("min on Mon Wed Fri")


def test_short_runs_become_fewer_and_longer():
    week = advice(settings=SETTINGS | {"Shortest run": "60 min"})
    assert week["every"].max() > 1
    assert (week["minutes"] >= advice()["minutes"] - 1e-9).all()


def test_in_us_units_the_same_beds_get_the_same_minutes():
    """Headers in metric units stay what they say; plain settings are then in US units."""
    settings = SETTINGS | {"Available water of the soil": "140 mm/m"}
    weather = WEATHER | {"Maximum temperature (°C)": HIGH, "Minimum temperature (°C)":
                         [high - 10 for high in HIGH]}  # fmt: skip
    weather.pop("Maximum temperature"), weather.pop("Minimum temperature")
    metric = log()
    us = {"Date": metric["Date"], "Rain (mm)": metric["Rain"],
          "Maximum temperature (°C)": metric["Maximum temperature"],
          "Minimum temperature (°C)": metric["Minimum temperature"]}  # fmt: skip
    week = xlfuncs.this_week(BEDS, PLAN, weather, us, settings, None, CROPS)
    assert week["minutes"].to_numpy() == pytest.approx(advice()["minutes"].to_numpy())


def test_what_is_missing_is_named():
    with pytest.raises(InputError, match="log is empty"):
        advice(log={"Date": [], "Rain": []})
    with pytest.raises(InputError, match="Latitude"):
        advice(settings={"Available water of the soil": 140.0})
    with pytest.raises(InputError, match="month"):
        advice(weather={name: list(cells)[:11] for name, cells in WEATHER.items()})


def test_swapped_temperatures_are_refused_by_name():
    swapped = log()
    swapped["Minimum temperature"] = np.where(DAYS == "2026-06-14", 30.0, np.nan)
    with pytest.raises(InputError, match=r"min_temperature|Minimum temperature"):
        advice(log=swapped)


def test_celsius_typed_as_fahrenheit_is_refused():
    """24 °C is 75 °F; 24 °F is -4 °C, which no June of the table's place has."""
    metric = log()
    us = {"Date": metric["Date"], "Rain (mm)": metric["Rain"],
          "Maximum temperature (°F)": metric["Maximum temperature"]}  # fmt: skip
    with pytest.raises(InputError, match="°C for °F") as error:
        advice(log=us)
    assert "2026-04-26" in str(error.value)  # by its date, wherever the table stands
    cool = {**metric, "Maximum temperature": metric["Maximum temperature"] - 12}
    assert len(advice(log=cool)) == 3  # a cold spell is no slip


def test_weeks_of_which_nothing_is_known_are_named():
    known = DAYS < "2026-06-01"
    some = {name: np.asarray(cells)[known] for name, cells in log().items()}
    week = advice(log=some, settings=SETTINGS | {"Week from": "2026-06-15"})
    assert all("no weather noted in 2 weeks" in why for why in week["why"])
    assert not any("no weather" in why for why in advice()["why"])


def test_which_flow_it_is_that_counts():
    flows = BEDS | {"Flow delivered (L/min)": [3.0, None, None], "Valve": ["1", "2", "3"],
                    "Flow measured (L/min)": [None, 2.0, None]}  # fmt: skip
    week, before = advice(beds=flows), advice()
    alone = advice(beds=BEDS | {"Valve": ["1", "2", "3"]})
    ratio = week["week_minutes"].to_numpy() / alone["week_minutes"].to_numpy()
    assert ratio == pytest.approx([4 / 3, 4 / 2, 1])
    assert "flow" not in week["why"][0]
    assert "by the flow measured" in week["why"][1]
    assert "by the nominal flow" in week["why"][2] and "nominal" in before["why"][0]


@pytest.mark.parametrize(("text", "day"), [("6/30/2026", 30), ("30.6.2026", 30), ("5/5/2026", 5)])
def test_dates_typed_as_text_are_read_where_only_one_is_meant(text, day):
    table = {"Date": [text], "Rain": [3.0]}
    last = advice(log=table, plan=PLAN | {"To": ["2026-12-01"] * 3})
    said = advice(log={"Date": [f"2026-{6 if day == 30 else 5:02d}-{day:02d}"], "Rain": [3.0]},
                  plan=PLAN | {"To": ["2026-12-01"] * 3})  # fmt: skip
    assert last["minutes"].tolist() == said["minutes"].tolist()


def test_a_date_that_may_be_two_is_refused():
    with pytest.raises(InputError, match="may be two dates"):
        advice(log={"Date": ["6/7/2026"], "Rain": [3.0]})


def season_log(*years, until="10-04"):
    """A gauge read daily, temperatures on Sundays, from April on."""
    days = np.concatenate([pd.date_range(f"{y}-04-20", f"{y}-{until}") for y in years])
    days = pd.DatetimeIndex(days)
    sunday = days.day_of_week == 6
    return {"Date": list(days), "Rain": np.where(days.day == 10, 12.0, 0.0),
            "Greatest temperature": np.where(sunday, 24.0, np.nan),
            "Least temperature": np.where(sunday, 12.0, np.nan)}  # fmt: skip


def logged_need(years, **changes):
    given = {"beds": BEDS, "plan": PLAN, "weather": WEATHER, "log": season_log(2026),
             "settings": SETTINGS, "crops": CROPS} | changes  # fmt: skip
    return xlfuncs.logged_need({"Year": years}, **given, units="metric")


def test_a_whole_logged_season_is_the_need_of_its_year():
    """The same as the season so far on the day after its last, over the area of the beds."""
    week = advice(log=season_log(2026), settings=SETTINGS | {"Week from": "2026-10-01"})
    mean = np.average(week["need_beyond_rain"], weights=BEDS["Planted area (m²)"])
    row = logged_need([2026]).iloc[0]
    assert row["need"] == pytest.approx(mean, rel=1e-12)
    assert row["whole"] == "yes"
    assert row["words"] == "164 of 164 days with a crop, 2026-04-20 to 2026-09-30"
    dry = season_log(2026) | {"Rain": 0.0 * season_log(2026)["Rain"]}
    assert logged_need([2026], log=dry)["need"][0] > row["need"]


def test_a_part_of_a_season_says_what_it_is():
    row = logged_need([2026], log=season_log(2026, until="06-28")).iloc[0]
    assert row["whole"] == "no"
    assert row["words"].startswith("70 of 164 days with a crop, 2026-04-20 to 2026-06-28: not")
    gauge_only = {name: season_log(2026)[name] for name in ("Date", "Rain")}
    assert "warmth by the month on 164" in logged_need([2026], log=gauge_only)["words"][0]
    assert logged_need([2025])["words"][0] == "the log has no day of a crop in it"


def test_seasons_of_two_years_stand_apart():
    before = {name: [*(text.replace("2026", "2025") for text in cells), *cells]
              if name in ("From", "To") else cells * 2 for name, cells in PLAN.items()}  # fmt: skip
    both = logged_need([2025, 2026], plan=before, log=season_log(2025, 2026))
    assert both["whole"].tolist() == ["yes", "yes"]
    assert both["need"][1] == pytest.approx(logged_need([2026])["need"][0], rel=1e-12)
    assert both["need"][0] == pytest.approx(both["need"][1], rel=0.03)  # the same weather
    settings = SETTINGS | {"Week from": "2026-07-01"}
    week = advice(plan=before, log=season_log(2025, 2026), settings=settings)
    alone = advice(log=season_log(2026), settings=settings)
    assert week["need"].to_numpy() == pytest.approx(alone["need"].to_numpy())
