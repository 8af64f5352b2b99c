"""Crop use by bed and month against pyfao56's course of the coefficient, and by hand counts."""

from __future__ import annotations

import numpy as np
import pytest

from xlfuncs.calculations.water.bed_crop_use import Planting, by_day, fitted, month_uses
from xlfuncs.errors import InputError

BEANS = (25.0, 25.0, 30.0, 20.0)  # FAO-56 example 28, dry beans
BEAN_KC = (0.15, 1.19, 0.35)
ET = np.array([1.0, 1.5, 2.5, 3.5, 4.5, 5.5, 6.0, 5.0, 3.5, 2.0, 1.0, 0.8])


def _plan(*rows):
    bed, start, end, stages, kc = zip(*rows, strict=True)
    return Planting(
        np.array(bed, dtype=object), np.array(start, "M8[D]"), np.array(end, "M8[D]"),
        np.array(stages, float), np.array(kc, float),
    )  # fmt: skip


def _uses(plan, first="2026-01-01", last="2026-12-31", beds=("A", "B"), on=(True, True)):
    return month_uses(
        np.array(beds, dtype=object), np.array(on), plan, ET,
        np.datetime64(first), np.datetime64(last),
    )  # fmt: skip


def test_months_against_pyfao56():
    """pyfao56 runs the crop day by day; its coefficients times ET, summed by month."""
    pyfao56 = pytest.importorskip("pyfao56")
    pandas = pytest.importorskip("pandas")
    parameters = pyfao56.Parameters(
        Kcmini=BEAN_KC[0], Kcmmid=BEAN_KC[1], Kcmend=BEAN_KC[2], Lini=25, Ldev=25, Lmid=30, Lend=20
    )
    days = pandas.date_range("2026-05-10", periods=101)
    weather = pyfao56.Weather()
    weather.rfcrp, weather.z, weather.lat, weather.wndht = "S", 100.0, 45.0, 2.0
    weather.wdata = pandas.DataFrame(
        dict.fromkeys(weather.cnames, 0.0), index=days.strftime("%Y-%j")
    )
    weather.wdata[["ETref", "Tmax", "Tmin", "RHmin", "Wndsp"]] = [5.0, 25.0, 15.0, 45.0, 2.0]
    model = pyfao56.Model(
        days[0].strftime("%Y-%j"), days[-1].strftime("%Y-%j"), parameters, weather
    )
    model.run()
    month = days.month.to_numpy() - 1
    daily = model.odata["Kcm"].to_numpy(dtype=float) * ET[month]
    plan = _plan(("A", "2026-05-10", "2026-08-18", BEANS, BEAN_KC))
    use, in_use = _uses(plan)
    np.testing.assert_allclose(use[0], np.bincount(month, weights=daily, minlength=12), atol=1e-9)
    assert in_use[0].tolist() == [0, 0, 0, 0, 22, 30, 31, 18, 0, 0, 0, 0]


def test_a_season_over_the_new_year_counts_each_month_once():
    """Southern summer: 15 days of November to 10 days of February at coefficient 1."""
    plan = _plan(("A", "2026-11-16", "2027-02-10", (np.nan,) * 4, (np.nan, 1.0, np.nan)))
    use, days = _uses(plan, "2026-07-01", "2027-06-30")
    assert days[0].tolist() == [31, 10, 0, 0, 0, 0, 0, 0, 0, 0, 15, 31]
    np.testing.assert_allclose(use[0], days[0] * ET)


def test_off_fallow_and_out_of_season_use_nothing():
    stages, kc = (np.nan,) * 4, (1.0, 1.0, 1.0)
    plan = _plan(("A", "2026-03-01", "2026-05-31", stages, kc), ("b", "2026-05-01", "2026-05-31",
                 stages, kc))  # fmt: skip
    use, days = _uses(plan, "2026-04-01", "2026-12-31", on=(True, False))
    assert use[0].nonzero()[0].tolist() == [3, 4]
    assert not use[1].any()
    assert not days[1].any()


def test_of_two_crops_the_thirstier_counts_and_a_day_counts_once():
    stages = (np.nan,) * 4
    plan = _plan(("A", "2026-06-01", "2026-06-20", stages, (0.5, 0.5, 0.5)),
                 ("A", "2026-06-11", "2026-06-30", stages, (1.0, 1.0, 1.0)))  # fmt: skip
    use, days = _uses(plan)
    assert days[0, 5] == 30
    assert use[0, 5] == pytest.approx((10 * 0.5 + 20 * 1.0) * ET[5])


@pytest.mark.parametrize(
    ("table", "days", "fits"),
    [((20, 30, 15, 10), 60, (16, 24, 12, 8)), ((30, 40, 45, 30), 110, (23, 30, 34, 23))],
)
def test_stages_are_fitted_to_the_dates(table, days, fits):
    """Lettuce and tomato of FAO-56 table 11 in shorter seasons: each stage keeps its share, the
    remainder of whole days goes to mid-season (own rule; recomputed by hand)."""
    start = np.datetime64("2026-04-01")
    plan = _plan(("A", start, start + days, table, BEAN_KC))
    assert fitted(plan)[0].tolist() == list(fits)


def test_the_last_day_has_the_last_coefficient_however_long_the_crop_stands():
    for end in ("2026-06-30", "2026-10-31"):
        plan = _plan(("A", "2026-05-01", end, BEANS, BEAN_KC))
        days = np.arange(np.datetime64("2026-05-01"), np.datetime64(end) + 1)
        kc = by_day(np.array(["A"], dtype=object), plan, days)[0][0]
        assert kc[0] == 0.15 and kc[-1] == pytest.approx(0.35)
        assert kc.max() == pytest.approx(1.19)


def test_a_cover_leaves_a_share_of_the_use():
    plan = _plan(("A", "2026-06-01", "2026-06-30", BEANS, BEAN_KC))
    beds = np.array(["A", "B"], dtype=object)
    span = np.datetime64("2026-01-01"), np.datetime64("2026-12-31")
    open_air = month_uses(beds, np.ones(2, dtype=bool), plan, ET, *span)[0]
    under = month_uses(beds, np.ones(2, dtype=bool), plan, ET, *span, np.array([0.8, 1.0]))[0]
    np.testing.assert_allclose(under, 0.8 * open_air)


def test_unknown_bed_is_named_with_its_row():
    plan = _plan(("A", "2026-06-01", "2026-06-20", BEANS, BEAN_KC),
                 ("Z", "2026-06-01", "2026-06-20", BEANS, BEAN_KC))  # fmt: skip
    with pytest.raises(InputError, match="'Z' is not in the bed list") as caught:
        _uses(plan)
    assert caught.value.row == 1
