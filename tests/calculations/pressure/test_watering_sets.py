"""Sets by nominal flow and by pressure: none fewer, none starved."""

from __future__ import annotations

import itertools
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from xlfuncs.calculations.buying.cutting import cheapest_rolls
from xlfuncs.calculations.pressure.bed_lists import Beds
from xlfuncs.calculations.pressure.drip_systems import DripSystem
from xlfuncs.calculations.pressure.pressure_sets import pressure_sets
from xlfuncs.calculations.pressure.set_checks import Limits, SetChecks
from xlfuncs.calculations.pressure.set_search import deals, fewest_sets
from xlfuncs.calculations.pressure.watering_sets import watering_sets
from xlfuncs.calculations.supply.supplies import service_pressure, supply_from_curve
from xlfuncs.errors import InputError


def partitions(items):
    """All ways to put the items into sets."""
    if not items:
        yield []
        return
    first, *rest = items
    for groups in partitions(rest):
        yield [[first], *groups]
        for i, group in enumerate(groups):
            yield [*groups[:i], [first, *group], *groups[i + 1 :]]


@settings(max_examples=60, deadline=None)
@given(st.lists(st.integers(0, 60), min_size=1, max_size=7))
def test_no_fewer_sets_hold_the_nominal_flows(flows):
    found = watering_sets(np.array(flows, dtype=float), 80.0, 0.75).sets
    assert all((number > 0) == (flow > 0) for number, flow in zip(found, flows, strict=True))
    totals = np.bincount(found, weights=flows)[1:]
    assert np.all(totals <= 60)
    beds = [flow for flow in flows if flow]
    fewest = min(
        len(groups) for groups in partitions(beds) if all(sum(group) <= 60 for group in groups)
    )
    assert found.max(initial=0) == fewest


def test_a_bed_too_big_for_the_supply_is_named():
    with pytest.raises(InputError, match=r"row 2.*alone takes 90% of the supply's flow"):
        watering_sets(np.array([1.0, 9.0]), 10.0)


def test_a_bed_without_flow_is_in_no_set_even_where_its_valve_is():
    flows = np.array([10.0, 0.0, 25.0, 5.0])
    assert watering_sets(flows, 40.0, 0.75, ["A", "A", "", "B"]).sets.tolist() == [1, 0, 2, 1]


def test_deals_are_by_the_least_load_and_cut_along_an_order():
    """By hand: each to the lighter set, of two alike the first; and from one end half and half."""
    by_load, cut = deals([1.0, 3.0, 2.0, 2.0], 2, [[0, 1, 2, 3]])
    assert by_load == [(0, 2, 3), (1,)]
    assert cut == [(0, 1), (2, 3)]


def test_flows_that_fill_two_sets_to_the_brim_are_dealt_into_two():
    """9 + 22 + 29 = 60 and 9 + 22 + 23 = 54 of 60: no first fit finds it."""
    found = watering_sets(np.array([9, 9, 22, 22, 23, 29.0]), 80.0, 0.75)
    assert found.sets.max() == 2
    assert found.fewest


@settings(max_examples=40, deadline=None)
@given(st.lists(st.integers(1, 100), min_size=1, max_size=60))
def test_the_fewest_sets_are_those_of_an_integer_program(flows):
    """Against a cutting-stock bound and a certificate: what is proven can't be undercut."""
    found = fewest_sets([float(flow) for flow in flows], 100.0)
    loads = [sum(flows[i] for i in members) for members in found.sets]
    assert sum(loads) == sum(flows)
    assert max(loads) <= 100
    plan = cheapest_rolls([float(f) for f in flows], [1] * len(flows), [100.0], [1.0])
    if plan.proven and found.proven:
        assert len(found.sets) == sum(plan.rolls)


def invented_beds(count=7):
    laterals = np.resize([4, 2, 3, 6, 2], count)
    return Beds.of(
        distance=np.arange(1, count + 1) * 4.0,
        laterals=laterals,
        lateral_length=15.0,
        emitter_spacing=0.2,
        rated_flow=1 / 3.6e6,
        rated_pressure=0.55e5,
        lateral_diameter=0.0159,
        main_diameter=0.0155,
    )


def garden_tap(litres_a_minute=18):
    flow = np.linspace(0, litres_a_minute / 60_000, 19)
    return supply_from_curve(flow, service_pressure(flow, 3.5e5, flow[-1]), 1.0e5)


def checks(beds, supply, **limits):
    """The judge of sets, without any limit but those given."""
    nothing = np.full(beds.distance.size, np.nan)
    ordinary = {
        "share": 0.9, "uniformity": 0.0, "velocity": 99.0, "min_pressure": nothing,
        "max_pressure": nothing, "variation": np.zeros(nothing.size),
    }  # fmt: skip
    return SetChecks(beds, supply, Limits(**(ordinary | limits)))


@pytest.mark.parametrize(
    ("edges", "colors"),
    [
        ("01 12 23 34 40 05 15 25 35 45", 4),
        ("01 12 23 34 40 05 16 27 38 49 57 79 96 68 85", 3),
        ("01 12 23 34 40 45 15 06 26 17 37 28 48 39 09 5a 6a 7a 8a 9a", 4),
    ],
    ids=["wheel", "Petersen", "Groetzsch"],
)
def test_things_of_which_some_cannot_run_together_are_colored(edges, colors):
    """Chromatic numbers that textbooks give (Bondy and Murty, Graph Theory, 2008, chapter 14)."""
    apart = [{int(end, 16) for end in edge} for edge in edges.split()]

    def runs(members):
        return not any(edge <= set(members) for edge in apart)

    found = fewest_sets([1.0] * len(set.union(*apart)), runs=runs)
    assert found.whole
    assert found.proven
    assert len(found.sets) == colors
    assert all(runs(members) for members in found.sets)


def test_every_bed_keeps_its_share_in_the_fewest_sets():
    beds, supply = invented_beds(6), garden_tap()
    found = pressure_sets(checks(beds, supply, share=0.9, uniformity=0.85))
    assert found.fewest
    assert np.all(found.sets > 0)

    def runs(group):
        is_open = np.isin(np.arange(6), group)
        delivery = DripSystem(beds.opened(is_open)).deliver(supply)
        return np.all(delivery.share[is_open] >= 0.9)

    can_run = {
        group
        for size in range(1, 7)
        for group in itertools.combinations(range(6), size)
        if runs(list(group))
    }
    number = found.sets.max()
    for label in range(1, number + 1):
        assert tuple(np.flatnonzero(found.sets == label)) in can_run
    fewest = min(
        len(groups)
        for groups in partitions(list(range(6)))
        if all(tuple(sorted(group)) in can_run for group in groups)
    )
    assert number == fewest > 1


def test_a_bed_that_gets_too_little_alone_has_no_set():
    beds = invented_beds(3)
    found = pressure_sets(checks(beds, garden_tap(3), share=0.95, uniformity=0.0))
    assert found.sets[0] == 0
    assert found.flow[0] == 0
    assert found.alone[0].check == "share of nominal"


def test_sets_keep_within_what_the_head_assembly_passes_and_needs():
    beds = invented_beds(6)
    free = pressure_sets(checks(beds, garden_tap(60)))
    most = free.flow.max() * 1.5
    held = checks(beds, garden_tap(60), greatest_flow=most)
    found = pressure_sets(held)
    assert found.sets.max() > free.sets.max()
    for number in range(1, found.sets.max() + 1):
        group = tuple(np.flatnonzero(found.sets == number).tolist())
        assert held.breaches(group) == []
    # the smallest bed alone takes less than the regulator needs: it is put with others
    least = np.sort(free.flow)[1]
    enough = pressure_sets(checks(beds, garden_tap(60), greatest_flow=most, least_flow=least))
    assert not enough.too_little
    for number in range(1, enough.sets.max() + 1):
        assert enough.flow[enough.sets == number].sum() >= least * (1 - 1e-6)


@pytest.mark.parametrize("seed", range(20))
def test_sets_solved_beside_one_another_are_as_each_alone(seed):
    """Groups as a search asks for them, of a random garden: first each alone, then prepared."""
    random = np.random.default_rng(seed)
    count = int(random.integers(3, 9))
    beds = replace(
        invented_beds(count),
        distance=np.sort(random.uniform(2, 60, count)),
        lateral_length=random.uniform(4, 25, count),
        elevation=random.uniform(-1, 1, count),
        slope=random.choice([-0.02, 0.0, 0.02], count),
    )
    groups = {tuple(random.permutation(count)[: random.integers(1, count + 1)].tolist())
              for _ in range(15)}  # fmt: skip
    alone, beside = (checks(beds, garden_tap(40), roughness=1e-4) for _ in range(2))
    beside.prepare(groups)
    asked = {tuple(sorted(group)) for group in groups}
    assert len(asked & beside.ahead.keys()) > 0.4 * len(asked)  # the others are hard
    for group in groups:
        ahead, expected = beside.delivery(group), alone.delivery(group)
        for name, value in vars(expected).items():
            np.testing.assert_allclose(
                getattr(ahead, name), value, rtol=1e-6, atol=1e-12, err_msg=f"{group} {name}"
            )


@pytest.mark.parametrize("seed", range(8))
def test_no_set_that_runs_is_below_what_its_beds_take_at_least(seed):
    """All sets of a random garden are solved: in those that run, every bed takes more."""
    random = np.random.default_rng(seed)
    count = 6
    beds = replace(
        invented_beds(count),
        distance=np.sort(random.uniform(2, 60, count)),
        lateral_length=random.uniform(4, 25, count),
        elevation=random.uniform(-1, 1, count),
    )
    held = checks(beds, garden_tap(40), greatest_flow=random.uniform(2e-4, 6e-4), share=0.8)
    most = held.limits.greatest_flow
    least = held.least_shares([(row,) for row in range(count)], most)
    running = [
        group
        for size in range(1, count + 1)
        for group in itertools.combinations(range(count), size)
        if not held.breaches(group)
    ]
    assert running
    for group in running:
        assert sum(least[row] for row in group) <= 1
        assert all(held.delivery(group).flow[row] >= least[row] * most for row in group)


def test_sets_are_not_searched_for_where_what_beds_take_at_least_forbids_them():
    beds, everyone = invented_beds(12), tuple(range(12))
    most = checks(beds, garden_tap(60)).delivery(everyone).supply_flow / 2
    held = checks(beds, garden_tap(60), greatest_flow=most)
    found = pressure_sets(held)
    assert found.fewest
    assert len(held.solved) + len(held.ahead) < 60  # by the nominal flows alone three times as many
