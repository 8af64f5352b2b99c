"""Net and gross need, leaching, the season table and rain against need."""

from __future__ import annotations

import numpy as np
import pytest

from xlfuncs.calculations.water import irrigation_need as need


def test_fao29_example_3():
    """FAO-29 Rev. 1, example 3, from memory: 1.2 dS/m water, maize, 800 mm; printed 890 mm."""
    leaching = need.leaching_fraction(1.2, 2.5)
    assert leaching == pytest.approx(0.10, abs=0.01)
    assert need.gross_irrigation(800.0, 1.0, 0.10) == pytest.approx(890, abs=2)


def test_leaching_under_drip():
    """NEH 623 chapter 7, ECw / (2 max ECe), with FAO-29's zero-yield salinities from memory."""
    assert need.leaching_fraction_drip(1.2, 12.5) == pytest.approx(0.048)
    assert need.leaching_fraction_drip(1.2, 9.0) == pytest.approx(0.0667, abs=1e-4)


def test_water_too_salty_for_any_leaching_has_no_answer():
    salty = np.array([6.0, 10.0, 15.0])
    assert np.isnan(need.leaching_fraction(salty, 2.0)).all()
    assert np.isnan(need.leaching_fraction_drip(20.0, 9.0))


def test_dependable_rain_on_both_sides_of_70_mm():
    """FAO/AGLW rule by hand: 0.6 P - 10 to 70 mm, 0.8 P - 24 above."""
    rain = need.dependable_rain(np.array([0.0, 10.0, 50.0, 69.5, 70.0, 70.5, 100.0]))
    np.testing.assert_allclose(rain, [0.0, 0.0, 20.0, 31.7, 32.0, 32.4, 56.0])


def test_net_is_never_negative():
    np.testing.assert_allclose(
        need.net_irrigation(np.array([100.0, 50.0]), np.array([30.0, 80.0])), [70.0, 0.0]
    )
    assert need.net_irrigation(100.0, 30.0, 50.0) == pytest.approx(20.0)


def test_efficiency_counts_once():
    """The gross depth, delivered with the stated loss, leaves just the net depth."""
    gross = need.gross_irrigation(90.0, 0.9)
    assert gross * 0.9 == pytest.approx(90.0)
    # a season table from the gross depth with efficiency 1 is that from the net depth with 0.9
    from_gross = need.watering_seconds(gross, 30.0, 3.0, 55.0, 4e-4)
    from_net = need.watering_seconds(90.0, 30.0, 3.0, 55.0, 4e-4, 0.9)
    assert from_gross == pytest.approx(from_net)


def test_season_table_brings_the_depth():
    """Minutes x flow x waterings over the area is the depth that was asked for."""
    depths = np.array([[0.0, 62.0, 124.0]])
    days = np.array([[31, 30, 31]])
    area, flow = np.array([[50.0], [20.0]]), np.array([[5e-4], [1e-4]])
    seconds = need.watering_seconds(depths, days, 3.0, area, flow)
    brought = seconds * flow * (3.0 * days / 7) / area * 1000
    np.testing.assert_allclose(brought, np.broadcast_to(depths, (2, 3)))


def test_week_of_the_bucket_example():
    """University of California Santa Cruz TOFG unit 1.5, example 1: 1.05 in a week, 6450 gal/h."""
    acre, gallon = 43560 * 0.3048**2, 3.785411784e-3
    seconds = need.watering_seconds(1.05 * 25.4, 7.0, 1.0, acre, 6450 * gallon / 3600)
    assert seconds / 3600 == pytest.approx(4.4, abs=0.05)


def test_rain_and_store_decide_which_beds_need_lines():
    use = np.array([[20, 30, 60, 80, 110, 130, 150, 130, 80, 50, 25, 15]], dtype=float)
    rain = np.array([120, 90, 80, 70, 60, 40, 20, 30, 70, 90, 120, 130], dtype=float)
    beds = np.vstack([use, use, 0.3 * use])
    short = need.rain_shortfall(beds, rain, np.array([20.0, 60.0, 60.0]))
    assert short.shape == (3, 12)
    assert short[0].sum() > short[1].sum() > 0  # a bigger store leaves less unmet
    assert short[2].sum() == 0  # a border that uses little needs no lines


def test_shortfall_is_the_balance_of_the_year():
    """Water is neither made nor lost: what is used comes from rain, store or shortfall."""
    rng = np.random.default_rng(6)
    use, rain = rng.uniform(0, 150, (50, 12)), rng.uniform(0, 120, (50, 12))
    store = rng.uniform(10, 120, 50)
    short = need.rain_shortfall(use, rain, store)
    for bed in range(50):
        left, unmet = store[bed], []
        for month in [*range(12)] * 2:  # water in store, counted the other way round
            left += rain[bed, month] - use[bed, month]
            unmet.append(max(-left, 0.0))
            left = min(max(left, 0.0), store[bed])
        np.testing.assert_allclose(short[bed], unmet[12:], atol=1e-9)


def test_a_southern_year_starts_in_its_summer():
    """The order of the months does not matter: the year is a circle."""
    use = np.array([150, 130, 110, 80, 60, 30, 20, 30, 60, 80, 110, 130], dtype=float)
    rain = np.full(12, 60.0)
    north, south = (
        need.rain_shortfall(use, rain, 50.0),
        need.rain_shortfall(np.roll(use, 6), rain, 50.0),
    )
    np.testing.assert_allclose(np.roll(north, 6, axis=1), south)


def test_beds_on_one_valve():
    """The valve passes what its beds want together: 2 x 600 + 1 x 1200 over a flow of 3."""
    valves = np.array(["A", "A", "B", "", ""], dtype=object)
    wanted = np.array([600.0, 1200.0, 900.0, 300.0, 500.0])
    given = need.shared_valve_seconds(valves, wanted, np.array([2.0, 1.0, 5.0, 1.0, 1.0]))
    np.testing.assert_allclose(given, [800.0, 800.0, 900.0, 300.0, 500.0])
    assert need.verdicts(given, wanted) == ["too much", "too little", "ok", "ok", "ok"]
    # a bed that wants nothing has no use for any of it
    assert need.verdicts(np.array([60.0, 0.0]), np.array([0.0, 0.0])) == ["too much", "ok"]
