"""Any tree of pipes and emitters: conservation, agreement with every law, and which way it moves.

EPANET is asked in the other tests; here the equations themselves are checked from outside, node by
node, on random trees.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from xlfuncs.calculations.pressure import networks
from xlfuncs.calculations.pressure.bed_lists import Beds
from xlfuncs.calculations.pressure.drip_systems import DripSystem
from xlfuncs.calculations.pressure.emitters import Outlets, emitter_flow
from xlfuncs.calculations.pressure.networks import Level, Network, constant_supply
from xlfuncs.calculations.pressure.pipe_friction import friction_head
from xlfuncs.calculations.pressure.properties import head_from_pressure, pressure_from_head
from xlfuncs.calculations.supply.supplies import supply_from_curve

METRE = pressure_from_head(1.0)
LITRE_AN_HOUR = 1 / 3.6e6


def levels_of_tree(parents, columns):
    """Cut a tree (parent of each node, -1 at the supply, parents first) into chains by level.

    A chain goes on into the child with the most levels below it; the order of nodes is returned.
    """
    children = [[] for _ in parents]
    for node, parent in enumerate(parents):
        if parent >= 0:
            children[parent].append(node)
    rank = [0] * len(parents)
    follows = [None] * len(parents)
    for node in reversed(range(len(parents))):
        ranked = sorted(children[node], key=lambda c: rank[c], reverse=True)
        if ranked:
            follows[node] = ranked[0]
            rank[node] = max([rank[ranked[0]], *(rank[c] + 1 for c in ranked[1:])])
    heads = [n for n, p in enumerate(parents) if p < 0 or follows[p] != n]
    chains = []
    for head in heads:
        chain, node = [], head
        while node is not None:
            chain.append(node)
            node = follows[node]
        chains.append((rank[head], chain))
    by_level = [[c for r, c in chains if r == level] for level in range(max(rank) + 1)]
    by_level = [group for group in by_level if group]
    order = [node for group in by_level for chain in group for node in chain]
    place = {node: i for i, node in enumerate(order)}
    levels, end = [], 0
    for group in by_level:
        nodes = [node for chain in group for node in chain]
        end += len(nodes)
        sizes = np.array([len(chain) for chain in group])
        first_parents = [parents[chain[0]] for chain in group]
        branches = np.array([place[p] - end if p >= 0 else -1 for p in first_parents])
        length, diameter, fitting, elevation, k, x = (column[nodes] for column in columns)
        outlets = Outlets(k, x, np.zeros(len(nodes)))
        ones = np.ones(len(group))
        levels.append(Level(sizes, branches, ones, length, diameter, fitting, elevation, outlets))
    return levels, np.array(order)


@st.composite
def trees(draw):
    size = draw(st.integers(1, 40))
    parents = [-1] + [draw(st.integers(0, node - 1)) for node in range(1, size)]
    random = np.random.default_rng(draw(st.integers(0, 2**32)))
    emits = random.random(size) < 0.7
    columns = (
        random.uniform(0.1, 40, size),
        random.choice([0.006, 0.0136, 0.0155, 0.025], size),
        random.choice([0.0, 2.0], size),
        random.uniform(-3, 3, size) * draw(st.sampled_from([0, 1, 4])),
        np.where(emits, random.uniform(0.5, 300, size) * LITRE_AN_HOUR, 0.0),
        random.choice([0.0, 0.1, 0.5, 0.5, 0.7, 1.0], size),
    )
    return parents, columns, draw(st.floats(0.5, 40))


def assert_laws_are_kept(tree):
    """Every node and every pipe from outside: continuity, friction, emitters."""
    parents, columns, supply_head = tree
    levels, order = levels_of_tree(parents, columns)
    solution = Network(levels).solve(constant_supply(supply_head))
    length, diameter, fitting, elevation, k, x = (column[order] for column in columns)
    place = {int(node): i for i, node in enumerate(order)}
    upstream = [place.get(parents[node], -1) for node in order]
    below = np.zeros(order.size)
    head_above = np.empty(order.size)
    for i, up in enumerate(upstream):
        head_above[i] = solution.head[up] if up >= 0 else supply_head
        if up >= 0:
            below[up] += solution.pipe_flow[i]
    # continuity: what comes in leaves through the outlet or goes on
    np.testing.assert_allclose(
        solution.pipe_flow, solution.outlet_flow + below, rtol=1e-9, atol=1e-15
    )
    # friction: the drop along every pipe
    loss = friction_head(solution.pipe_flow, length, diameter, loss_coefficient=fitting)
    np.testing.assert_allclose(head_above - solution.head, loss, atol=1e-6, rtol=1e-6)
    # emitters; within 0.1 mm of dry the law is taken as linear, which is what atol allows
    pressure = solution.head - elevation
    expected = np.where(k > 0, emitter_flow(pressure, k, 1.0, x), 0.0)
    clear = np.abs(pressure) > 2e-4
    np.testing.assert_allclose(solution.outlet_flow[clear], expected[clear], rtol=1e-6, atol=1e-15)


@settings(max_examples=150, deadline=None)
@given(trees())
def test_every_node_and_every_pipe_keeps_its_law(tree):
    assert_laws_are_kept(tree)


def random_tree(seed):
    """A tree like those of `trees`, from a seed; half of them long and thin."""
    random = np.random.default_rng(seed)
    size, back = int(random.integers(1, 41)), 3 if random.random() < 0.5 else 40
    parents = [-1] + [int(random.integers(max(0, node - back), node)) for node in range(1, size)]
    emits = random.random(size) < 0.7
    columns = (
        random.uniform(0.1, 40, size),
        random.choice([0.006, 0.0136, 0.0155, 0.025], size),
        random.choice([0.0, 2.0], size),
        random.uniform(-3, 3, size) * random.choice([0, 1, 4]),
        np.where(emits, random.uniform(0.5, 300, size) * LITRE_AN_HOUR, 0.0),
        random.choice([0.0, 0.1, 0.5, 0.5, 0.7, 1.0], size),
    )
    return parents, columns, float(random.uniform(0.5, 40))


@pytest.mark.parametrize("number", [87, 671, 807, 1212, 1572, 1887])
def test_trees_on_which_the_quick_method_goes_round_in_circles(number):
    """Six of 2,000 random trees: before, no flow was found for them in 200 steps."""
    assert_laws_are_kept(random_tree([1, number]))


def test_descent_alone_finds_every_flow(monkeypatch):
    monkeypatch.setattr(networks, "_MOST_STEPS", 0)
    for number in range(25):
        assert_laws_are_kept(random_tree([7, number]))


def bed_lists():
    return st.builds(
        lambda count, seed, exponent, slope, bore: (count, seed, exponent, slope, bore),
        st.integers(1, 8),
        st.integers(0, 2**32),
        st.sampled_from([0.0, 0.1, 0.5, 0.8]),
        st.sampled_from([-0.05, 0.0, 0.03]),
        st.sampled_from([0.0155, 0.021, 0.04]),
    )


def beds_of(given_list, **columns):
    count, seed, exponent, slope, bore = given_list
    random = np.random.default_rng(seed)
    ordinary = {
        "distance": np.sort(random.uniform(0, 80, count)),
        "laterals": random.integers(1, 8, count),
        "lateral_length": random.uniform(2, 40, count),
        "emitter_spacing": 0.3,
        "rated_flow": 1.5 * LITRE_AN_HOUR,
        "rated_pressure": 8 * METRE,
        "lateral_diameter": 0.0136,
        "main_diameter": bore,
        "exponent": exponent,
        "min_pressure": 4 * METRE if exponent < 0.2 else 0.0,
        "slope": slope,
        "elevation": random.uniform(-1, 1, count),
    }
    return Beds.of(**(ordinary | columns))


@settings(max_examples=60, deadline=None)
@given(bed_lists(), st.floats(1, 30))
def test_the_supply_gives_what_the_beds_get(given_list, head):
    delivery = DripSystem(beds_of(given_list)).deliver(constant_supply(head))
    assert delivery.flow.sum() == pytest.approx(delivery.supply_flow, rel=1e-9)


@settings(max_examples=60, deadline=None)
@given(bed_lists(), st.floats(1, 30), st.floats(0.1, 10))
def test_more_pressure_gives_no_bed_less(given_list, head, more):
    system = DripSystem(beds_of(given_list))
    low, high = (system.deliver(constant_supply(h)).flow for h in (head, head + more))
    assert np.all(high >= low * (1 - 1e-7))


@settings(max_examples=60, deadline=None)
@given(bed_lists(), st.floats(1, 30), st.data())
def test_closing_a_bed_gives_no_other_less(given_list, head, data):
    beds = beds_of(given_list)
    closed = data.draw(st.integers(0, beds.distance.size - 1))
    others = np.arange(beds.distance.size) != closed
    supply = constant_supply(head)
    before = DripSystem(beds).deliver(supply).flow
    after = DripSystem(beds.opened(others)).deliver(supply).flow
    assert after[closed] == 0
    assert np.all(after[others] >= before[others] * (1 - 1e-7))


@settings(max_examples=60, deadline=None)
@given(bed_lists(), st.floats(2, 30))
def test_a_wider_main_gives_no_less_in_all(given_list, head):
    narrow = beds_of(given_list)
    wide = beds_of(given_list, main_diameter=given_list[-1] * 1.3)
    supply = constant_supply(head)
    low = DripSystem(narrow).deliver(supply).supply_flow
    assert DripSystem(wide).deliver(supply).supply_flow >= low * (1 - 1e-9)


@settings(max_examples=60, deadline=None)
@given(bed_lists(), st.floats(5, 40), st.floats(5, 60))
def test_a_supply_curve_is_met(given_list, static_head, litres_a_minute):
    """Flow and pressure at the start lie on the curve (straight lines between its points)."""
    most = litres_a_minute / 60_000
    flow = np.array([0.0, 0.5, 1.0]) * most
    pressure = np.array([1.0, 0.8, 0.0]) * static_head * METRE
    supply = supply_from_curve(flow, pressure, 10 * METRE)
    delivery = DripSystem(beds_of(given_list)).deliver(supply)
    curve = np.interp(delivery.supply_flow, flow, pressure, right=0.0)
    assert delivery.supply_flow <= most * 1.02
    if delivery.supply_flow <= most:
        assert delivery.supply_pressure == pytest.approx(min(curve, 10 * METRE), abs=20)


def test_identical_laterals_solved_once_or_apart_agree():
    """A manifold without length to speak of is no manifold."""
    one = beds_of((5, 1, 0.5, 0.0, 0.021))
    apart = beds_of((5, 1, 0.5, 0.0, 0.021), manifold_diameter=0.2, lateral_spacing=1e-6)
    supply = constant_supply(9.0)
    expected = DripSystem(one).deliver(supply).flow
    np.testing.assert_allclose(DripSystem(apart).deliver(supply).flow, expected, rtol=1e-6)


@settings(max_examples=40, deadline=None)
@given(bed_lists(), st.floats(1, 30), st.lists(st.integers(1, 4), min_size=2, max_size=6))
def test_systems_beside_one_another_get_what_each_gets_alone(given_list, head, sizes):
    """Those that few whole steps do not solve are left to be solved alone."""
    beds, cut = beds_of(given_list), np.array(sizes)
    groups = [np.arange(size) % beds.distance.size for size in sizes]
    supply = supply_from_curve(np.array([0.0, 2e-3]), np.array([head, head / 2]) * METRE)
    got = DripSystem(beds.only(np.concatenate(groups)), sizes=cut).deliver_each(supply)
    assert len(got) == len(sizes)
    for delivery, rows in zip(got, groups, strict=True):
        alone = DripSystem(beds.only(rows)).deliver(supply)
        for name, value in vars(alone).items() if delivery else ():
            np.testing.assert_allclose(getattr(delivery, name), value, rtol=1e-6, atol=1e-12)


def test_ordinary_systems_are_solved_beside_one_another():
    beds = beds_of((5, 1, 0.5, 0.0, 0.021))
    got = DripSystem(beds, sizes=np.array([1, 3, 1])).deliver_each(constant_supply(12.0))
    assert [delivery.flow.size for delivery in got if delivery is not None] == [1, 3, 1]


def test_a_system_above_its_supply_stays_dry():
    beds = beds_of((3, 1, 0.5, 0.0, 0.021), elevation=12.0)
    delivery = DripSystem(beds).deliver(constant_supply(8.0))
    assert np.all(delivery.flow == 0)
    assert np.all(delivery.lowest_pressure < 0)
    assert head_from_pressure(delivery.supply_pressure) == pytest.approx(8.0)
