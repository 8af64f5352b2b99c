"""The pressure functions as a worksheet calls them: blanks, columns, remarks and refusals."""

from __future__ import annotations

import numpy as np
import pytest

import xlfuncs
from xlfuncs.errors import InputError

BEDS = {
    "distance": [10, 20, 30, 40],
    "laterals": [4, 4, 2, 4],
    "lateral_length": 50,
    "emitter_spacing": 12,
    "rated_flow": 0.27,
    "rated_pressure": 8,
    "lateral_diameter": "0.625 in",
    "main_diameter": "0.81 in",
    "inlet_pressure": 10,
}


def delivery(**changes):
    return xlfuncs.system_delivery(**(BEDS | changes))


def test_blank_rows_stay_blank_and_change_nothing():
    with_gap = delivery(distance=[10, None, 20, 30, 40], laterals=[4, None, 4, 2, 4])
    whole = delivery()
    assert np.isnan(with_gap["flow"].iloc[1])
    np.testing.assert_allclose(np.delete(with_gap["flow"].to_numpy(), 1), whole["flow"])


def test_a_closed_bed_takes_nothing_and_has_no_share():
    rows = delivery(open=[True, False, True, True])
    assert rows["flow"].iloc[1] == 0
    assert np.isnan(rows["share"].iloc[1])
    assert rows["inlet_pressure"].iloc[1] > 0
    assert rows["flow"].iloc[3] > delivery()["flow"].iloc[3]


def test_minutes_give_the_depth_with_the_flow_delivered():
    rows = delivery(area=200, depth=0.5)
    gallons = rows["minutes"] * rows["flow"]
    np.testing.assert_allclose(gallons, 200 * 0.5 * 144 / 231, rtol=1e-12)


def test_units_change_the_unit_and_nothing_else():
    metric = xlfuncs.system_delivery(
        distance=[length * 0.3048 for length in BEDS["distance"]], laterals=BEDS["laterals"],
        lateral_length=50 * 0.3048, emitter_spacing=12 * 2.54, rated_flow="0.27 gph",
        rated_pressure="8 psi", lateral_diameter="0.625 in", main_diameter="0.81 in",
        inlet_pressure="10 psi", units="metric",
    )  # fmt: skip
    np.testing.assert_allclose(metric["flow"], delivery()["flow"] * 3.785411784, rtol=1e-9)


@pytest.mark.parametrize(
    ("inlet", "limits", "words"),
    [
        (10, {"min_pressure": 4, "max_pressure": 15}, ""),
        (3, {"min_pressure": 4}, "extrapolated: below the line's least pressure"),
        (20, {"max_pressure": 15}, "above the line's greatest pressure"),
        (3, {"min_pressure": 4, "elevation": 30}, "some emitters dry"),
    ],
)
def test_what_is_outside_the_working_range_is_marked(inlet, limits, words):
    assert set(delivery(inlet_pressure=inlet, **limits)["remark"]) == {words}


def test_a_lateral_below_its_working_range_is_marked_where_it_is():
    line = {"emitter_spacing": 12, "rated_flow": 0.5, "rated_pressure": 8,
            "inside_diameter": "0.5 in", "min_pressure": 5}  # fmt: skip
    rows = xlfuncs.lateral_profile(length=600, inlet_pressure=8, **line)
    low = rows["pressure"] < 5
    assert 0 < low.sum() < len(rows)
    assert (rows["remark"] != "").equals(low)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"manifold_diameter": [None, "0.6 in", None, None]}, r"Lateral spacing \(row 2\)"),
        ({"branch": [0, 1, 1, 0], "branch_start": [0, 5, 6, 0]}, r"branch_start \(row 3\)"),
        ({"branch": [0, 1, 1, 0], "branch_start": [0, 25, 25, 0]}, r"distance \(row 2\).*nearer"),
        (
            {"distance": [10, 10, 30, 40], "main_diameter": ["0.8 in", "0.9 in", *["1.1 in"] * 2]},
            r"main_diameter \(row 2\).*one diameter",
        ),
        ({"supply_flow": [0, 5, 9], "supply_pressure": [20, None, 0]}, r"supply_flow \(row 2\)"),
        ({"supply_flow": [0, 5], "supply_pressure": [20, 30]}, "supply_pressure.*rises"),
    ],
)  # fmt: skip
def test_contradictions_are_named_with_their_row(changes, words):
    with pytest.raises(InputError, match=words):
        delivery(**changes)


def test_a_supply_curve_is_capped_by_the_inlet_pressure():
    curve = {"supply_flow": [0, 5, 9], "supply_pressure": [40, 30, 0]}
    capped = delivery(**curve)
    np.testing.assert_allclose(capped["flow"], delivery()["flow"], rtol=1e-9)
    starved = delivery(supply_flow=[0, 1, 2], supply_pressure=[40, 30, 0])
    assert starved["flow"].sum() < 2


@pytest.mark.parametrize(
    ("inputs", "words"),
    [
        ((0.2, 100, "0.6 in"), "use FRICTION_LOSS"),
        ((5, 100, "0.6 in", 20), "coefficient"),
    ],
)
def test_hazen_williams_is_refused_where_it_does_not_hold(inputs, words):
    with pytest.raises(InputError, match=words):
        xlfuncs.friction_loss_hazen_williams(*inputs)


def test_a_wall_too_rough_for_the_formula_is_refused():
    with pytest.raises(InputError, match="1 % of the inside diameter"):
        xlfuncs.friction_loss(5, 100, "0.6 in", "10 mil")


@pytest.mark.parametrize(
    ("gauge", "words"),
    [((5, None), "both its flow"), ((5, 54.9), "does not fit"), ((10, 20), "does not fit")],
)
def test_a_gauge_reading_that_cannot_be_is_refused(gauge, words):
    with pytest.raises(InputError, match=words):
        xlfuncs.supply_pressure(4, 55, 9, *gauge)


def test_design_checks_without_findings_say_so():
    sound = xlfuncs.design_checks(**(BEDS | {"inlet_pressure": 9}))
    assert sound["words"].tolist() == ["nothing found"]
    shut = xlfuncs.design_checks(**(BEDS | {"inlet_pressure": 9, "open": [False] * 4}))
    assert shut["words"].tolist() == ["nothing found"]


def test_no_reading_has_no_uniformity():
    with pytest.raises(InputError, match="no reading"):
        xlfuncs.distribution_uniformity([None, None])


def test_beds_of_one_valve_stay_together():
    flows, valves = [4, 3, 3, 2], ["A", "B", "", "B"]
    alone = xlfuncs.watering_sets(flows, 10)["set"].tolist()
    together = xlfuncs.watering_sets(flows, 10, valve=valves)["set"].tolist()
    assert max(alone) == 2
    assert together[1] == together[3]
    beds = BEDS | {"inlet_pressure": 9, "wanted_share": 0.97}
    sets = xlfuncs.pressure_sets(**beds, valve=valves)["set"]
    assert sets.iloc[1] == sets.iloc[3]


def test_a_valve_too_big_for_the_supply_is_named():
    with pytest.raises(InputError, match=r"flows \(row 2\).*alone takes 100%"):
        xlfuncs.watering_sets([1, 5, 5], 10, valve=["A", "B", "B"])


def test_sets_in_one_call_are_what_each_gets_in_a_call_of_its_own():
    valves = ["A", "B", "A", "B"]
    together = delivery(set=valves, area=200, depth=0.5)
    for valve in "AB":
        rows = [name == valve for name in valves]
        alone = delivery(open=rows, area=200, depth=0.5)
        assert together[rows].equals(alone[rows])
    assert together["flow"].sum() > delivery()["flow"].sum()


def test_a_bed_alone_in_its_set_is_solved_as_if_alone():
    rows = delivery(set=["1", "2", "3", "4"], open=[True, True, False, True])
    assert rows["flow"].iloc[2] == 0
    assert rows["flow"].iloc[3] == delivery(open=[False, False, False, True])["flow"].iloc[3]


def test_beds_that_are_not_counted_are_not_even_read():
    bad = {"laterals": [4, 4, "two", 4], "distance": [10, 20, None, 40]}
    rows = delivery(**bad, counted=["yes", "yes", "no", "yes"])
    without = delivery(distance=[10, 20, 40], laterals=4)
    assert np.isnan(rows["flow"].iloc[2])
    assert np.delete(rows["flow"].to_numpy(), 2).tolist() == without["flow"].tolist()
    sets = xlfuncs.pressure_sets(**(BEDS | bad), counted=["yes", "yes", "no", "yes"])["set"]
    assert sets.isna().tolist() == [False, False, True, False]


def test_design_checks_by_set_name_the_bed_and_the_set():
    starved = BEDS | {"inlet_pressure": 2, "open_flow": 1.5}
    found = xlfuncs.design_checks(
        **starved, set=["A", "A", "B", "B"], name=["one", "two", "three", "four"]
    )
    exceeded = found[found["check"] == "supply exceeded"]["words"]
    assert [words[:6] for words in exceeded] == ["set A:", "set B:"]
    named = found[found["bed"].notna()]
    names = ["one", "two", "three", "four"]
    assert len(named)
    assert all(
        w.startswith(names[int(b) - 1] + ": ")
        for b, w in zip(named["bed"], named["words"], strict=True)
    )
