"""Sets by nominal flow and by pressure: none fewer, none starved."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from xlfuncs.calculations.pressure.bed_lists import Beds
from xlfuncs.calculations.pressure.drip_systems import DripSystem
from xlfuncs.calculations.pressure.pressure_sets import pressure_sets
from xlfuncs.calculations.pressure.supplies import service_pressure, supply_from_curve
from xlfuncs.calculations.pressure.watering_sets import watering_sets
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
    found = watering_sets(np.array(flows, dtype=float), 80.0, 0.75)
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


def test_every_bed_keeps_its_share_in_the_fewest_sets():
    beds, supply = invented_beds(6), garden_tap()
    found = pressure_sets(beds, supply, 0.9, 0.85)
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
    found = pressure_sets(beds, garden_tap(3), 0.95, 0.0)
    assert found.sets[0] == 0
    assert found.flow[0] == 0
