"""Parts that mate and parts that do not; threads by ASME B1.20.7 (hose) and B1.20.1 (pipe)."""

from __future__ import annotations

import pytest

from xlfuncs.calculations.supply.backflow import PREVENTERS, Use, backflow_notes, objections
from xlfuncs.calculations.supply.connections import Connection, Part, misfit, path_faults

INCH = 0.0254


def hose(gender, size=0.75):
    return Connection("hose thread", size * INCH, gender)


def pipe(gender, size=0.75):
    return Connection("pipe thread", size * INCH, gender)


def tube(outside, inside):
    return Connection("tube", outside * INCH, inside=inside * INCH)


@pytest.mark.parametrize(
    ("outlet", "inlet", "words"),
    [
        (hose("male"), hose("female"), ""),
        (hose("male"), hose("male"), "both are male"),
        # ASME B1.20.7: 3/4-11.5NH; ASME B1.20.1: 3/4-14 NPT; from memory
        (hose("male"), pipe("female"), "11.5 threads an inch"),
        # up to 0.3 mm apart is the same size: common practice, no published source
        (hose("male", 0.75 + 0.298 / 25.4), hose("female"), ""),
        (hose("male", 0.75 + 0.302 / 25.4), hose("female"), "sizes differ"),
        (pipe("male", 0.5), pipe("female"), "sizes differ"),
        (tube(0.70, 0.60), Connection("barb", 0.60 * INCH), ""),
        (tube(0.70, 0.60), Connection("compression", 0.70 * INCH), ""),
        (Connection("compression", 0.71 * INCH), tube(0.70, 0.60), ""),
        # half-inch tubing of 0.62 and of 0.70 in outside is sold under one nominal size
        (tube(0.62, 0.52), Connection("compression", 0.70 * INCH), "measure the tube"),
        (tube(0.70, 0.60), tube(0.70, 0.60), "a coupler between them"),
        (Connection("barb", 0.6 * INCH), Connection("barb", 0.6 * INCH), "a piece of tube between"),
        (hose("male"), tube(0.70, 0.60), "an adapter is needed"),
    ],
)
def test_ends_that_mate_and_that_do_not(outlet, inlet, words):
    fault = misfit(outlet, inlet)
    assert (words in fault) if words else (fault == "")


def test_a_path_names_the_neighbours_that_do_not_fit():
    path = [
        Part("timer", hose("female"), hose("male")),
        Part("filter", pipe("female"), pipe("male")),
        Part("adapter", pipe("female"), Connection("compression", 0.70 * INCH)),
        Part("tubing", tube(0.70, 0.60), tube(0.70, 0.60)),
        Part("end cap", Connection("compression", 0.70 * INCH), None),
        Part("stake", None, None),
    ]
    faults = path_faults(path)
    assert [bool(fault) for fault in faults] == [False, True, False, False, False, True]
    assert faults[1].startswith("timer to filter: hose thread male on pipe thread female")
    assert "end cap has no outlet" in faults[-1]


DAY = 24 * 3600.0


@pytest.mark.parametrize(
    ("kind", "use", "words"),
    [
        # City of Paris, Texas, irrigation rules (documents.paristexas.gov, read)
        ("hose vacuum breaker", Use(True, 3600, 1.0), "no shut-off may stand after it"),
        ("atmospheric vacuum breaker", Use(False, DAY, 1.0), "more than 12 hours in 24"),
        ("atmospheric vacuum breaker", Use(False, 3600, 0.10), "15.24 cm (6 in) above"),
        ("pressure vacuum breaker", Use(True, DAY, 0.25), "30.48 cm (12 in) above"),
        ("pressure vacuum breaker", Use(True, DAY, 0.31, back_pressure=True), "push back"),
        # Grand Junction Parks and Recreation, Pressure Vacuum Breaker Assembly (read)
        ("pressure vacuum breaker", Use(True, 3600, 1.0, injection=True), "health hazard"),
        # Ponca, Nebraska, code 51: health hazards need an air gap or reduced pressure (read)
        ("double check valve", Use(True, DAY, 0.0, injection=True), "health hazard"),
    ],
)
def test_what_speaks_against_a_preventer(kind, use, words):
    against = objections(PREVENTERS[kind], use)
    assert len(against) == 1
    assert words in against[0]
    notes = backflow_notes(kind, use)
    assert "local water authority" in notes[-1]
    suitable = notes[-2].removeprefix("Kinds without these objections: ").rstrip(".").split(", ")
    assert suitable
    assert all(not objections(PREVENTERS[name], use) for name in suitable)


def test_even_a_suitable_one_defers_to_the_authority():
    notes = backflow_notes("hose vacuum breaker", Use(False, 3600, 0.5))
    assert notes[0].startswith("These answers raise no objection")
    assert "local water authority" in notes[-1]


@pytest.mark.parametrize(
    ("kind", "height", "hours"),
    [
        # ASSE 1011 and 1001: 6 in above, 12 of 24 hours; ASSE 1020: 12 in above, all day (from
        # memory); 12 in also 30 TAC 344.50, Texas (read). Where back pressure is borne: none.
        ("hose vacuum breaker", 0.1524, 12),
        ("atmospheric vacuum breaker", 0.1524, 12),
        ("pressure vacuum breaker", 0.3048, 24),
        ("double check valve", 0.0, 24),
        ("reduced pressure principle", 0.0, 24),
        ("air gap", 0.0, 24),
    ],
)
def test_heights_and_hours_to_the_last_inch_and_minute(kind, height, hours):
    seconds = hours * 3600.0
    assert objections(PREVENTERS[kind], Use(False, seconds, height)) == []
    if height:
        against = objections(PREVENTERS[kind], Use(False, seconds, height - 0.001))
        assert len(against) == 1
        assert "above the highest outlet" in against[0]
    if hours < 24:
        against = objections(PREVENTERS[kind], Use(False, seconds + 60.0, height))
        assert len(against) == 1
        assert "12 hours in 24" in against[0]
    bears = kind in ("double check valve", "reduced pressure principle", "air gap")
    assert bool(objections(PREVENTERS[kind], Use(False, seconds, height, False, True))) != bears


@pytest.mark.parametrize(
    ("kind", "borne"),
    [
        # U.S. EPA, Cross-Connection Control Manual (816-R-03-002), chapter 4, from memory: breakers
        # against back-siphonage only; double checks no health hazard; the last two everything.
        ("hose vacuum breaker", [0, 0, 0, 0]),
        ("atmospheric vacuum breaker", [0, 0, 0, 0]),
        ("pressure vacuum breaker", [1, 1, 0, 0]),
        ("double check valve", [1, 1, 1, 0]),
        ("reduced pressure principle", [1, 1, 1, 1]),
        ("air gap", [1, 1, 1, 1]),
    ],
)
def test_what_each_preventer_bears(kind, borne):
    """A valve after it, a whole day under pressure, back pressure, and injection: one at a time."""
    uses = [Use(True, 3600, 1.0), Use(False, DAY, 1.0), Use(False, 3600, 1.0, back_pressure=True),
            Use(False, 3600, 1.0, injection=True)]  # fmt: skip
    assert [not objections(PREVENTERS[kind], use) for use in uses] == borne
