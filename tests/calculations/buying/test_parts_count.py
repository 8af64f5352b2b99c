"""Fittings counted by rules, against a layout drawn and counted by hand."""

from __future__ import annotations

import pytest

from xlfuncs.calculations.buying.parts_count import FedBed, Rule, counted_bases, parts_count
from xlfuncs.errors import InputError

# By hand. Main of 30 m: at 10 m beds A and B face each other, at 20 m C alone, at 30 m D and E.
# A branch leaves the main at 15 m and feeds F at 5 m along it.
#
#        A                 D
#   tap--+------+--(15)----+--> C at 20 m on one side; E opposite D
#        B      F (branch)  E
BEDS = [
    FedBed(4, 12.0, 10.0, 0, 0.0, 1.0, "1", "tape"),
    FedBed(4, 12.0, 10.0, 0, 0.0, 1.0, "1", "tape"),
    FedBed(3, 11.0, 20.0, 0, 0.0, 1.0, "2", "tape"),
    FedBed(4, 9.0, 30.0, 0, 0.0, 1.2, "3", "drip line"),
    FedBed(4, 9.0, 30.05, 0, 0.0, 1.2, "3", "drip line"),
    FedBed(2, 8.0, 20.0, 1, 15.0, 0.0, "", "tape"),
]


def test_what_there_is_to_count_by():
    assert counted_bases(BEDS, turns=2, joins=3) == {
        "system": 1,
        "branch": 1,
        "bed": 6,
        "manifold": 6,  # of several lines, all
        "line": 21,
        "pair": 1,  # A and B: a cross
        "last pair": 1,  # D and E: a tee, the main ends there
        "single": 1,  # C: a tee with the main running on
        "last single": 1,  # F at the end of the branch
        "main end": 2,
        "turn": 2,
        "valve": 3,
        "valve by timer": 0,  # without stations
        "valve by hand": 3,
        "join": 3,
        "main join": 0,  # depends on the roll
        "main length": pytest.approx(30.05 + 5.0),
        "manifold length": pytest.approx(5.4),
        "line length": pytest.approx(4 * 12 * 2 + 3 * 11 + 4 * 9 * 2 + 2 * 8),
        "wire length": 0.0,
    }


@pytest.mark.parametrize(
    ("rule", "number", "spares"),
    [
        (Rule("cross", "pair"), 1, 0),
        (Rule("timer", "system"), 1, 0),
        (Rule("line end", "line", spare_share=0.1), 21, 3),
        (Rule("connector", "line", only_line="tape", spare_share=0.1), 13, 2),
        (Rule("stake", "line length", every=1.5, least_spares=10), 145, 15),
        (Rule("drain end", "bed", 2), 12, 0),
        (Rule("drain end", "manifold", 2), 12, 0),  # each has several lines or a manifold
        (Rule("elbow", "turn"), 0, 0),  # what isn't said to be there isn't counted
        (Rule("coupler", "join"), 0, 0),
        (Rule("filter screen", "system", 0, least_spares=1), 0, 1),
        (Rule("shed part", "bed", only_line="no such line", least_spares=5), 0, 0),
    ],
)
def test_one_rule(rule, number, spares):
    """Stakes: 217 m of line at one every 1.5 m are 144.67, so 145, and a tenth of them 15."""
    if rule.part == "stake":
        rule = Rule("stake", "line length", every=1.5, spare_share=0.1, least_spares=10)
    (count,) = parts_count(BEDS, [rule])
    assert (count.number, count.spares) == (number, spares)


def test_a_bed_of_one_line_without_a_manifold_has_none_of_its_parts():
    """By hand: of a bed of two lines and one of one, the first has two ends to drain."""
    beds = [FedBed(2, 8.0, 5.0, manifold=0.3), FedBed(1, 8.0, 9.0)]
    rules = [Rule("end", "manifold", 2), Rule("valve", "bed")]
    assert [count.number for count in parts_count(beds, rules)] == [2, 2]


def test_tubing_is_bought_as_a_length_with_trimming():
    (count,) = parts_count(BEDS, [Rule("tubing", "main length")], trimming=0.1)
    assert (count.number, count.length) == (0, pytest.approx(35.05 * 1.1))


def test_a_main_longer_than_its_roll_is_joined():
    """31.6 m of main, trimming counted, are three rolls of 15 m; 5.3 m of branch are one."""
    rules = [Rule("main coupler", "main join", every=15.0, least_spares=1)]
    (count,) = parts_count(BEDS, rules)
    assert (count.number, count.spares, count.length) == (2, 1, 0)
    (count,) = parts_count(BEDS, [Rule("main coupler", "main join", every=35.0)])
    assert count.number == 0
    with pytest.raises(InputError, match=r"every \(row 1\): is the length of a roll"):
        parts_count(BEDS, [Rule("main coupler", "main join")])


def test_a_rule_that_counts_by_nothing_known():
    with pytest.raises(InputError, match=r"counted_by \(row 2\): 'crop' is nothing to count by"):
        parts_count(BEDS, [Rule("tee", "single"), Rule("tee", "crop")])


def test_no_beds_need_no_parts():
    counts = parts_count([], [Rule("timer", "system"), Rule("tubing", "main length")])
    assert [(count.number, count.length) for count in counts] == [(0, 0), (0, 0)]


def test_valves_that_a_timer_opens_and_those_that_a_person_does() -> None:
    """Three valves and a timer of two stations, wire along a main of 30 m; by hand, counted."""
    at = ((10.0, "1"), (20.0, "2"), (25.0, "1"), (30.0, "3"))
    beds = [FedBed(2, 10.0, distance, valve=valve) for distance, valve in at]
    rules = [Rule("zone valve", "valve by timer"), Rule("hand valve", "valve by hand"),
             Rule("valve box", "valve by timer", 0.5), Rule("wire", "wire length")]  # fmt: skip
    zone, hand, box, wire = parts_count(beds, rules, 0.1, stations=2)
    assert (zone.number, hand.number, box.number) == (2, 1, 1)
    assert wire.length == pytest.approx(33.0)
    zone, hand, box, wire = parts_count(beds, rules, 0.1)
    assert (zone.number, hand.number, box.number, wire.length) == (0, 3, 0, 0.0)
