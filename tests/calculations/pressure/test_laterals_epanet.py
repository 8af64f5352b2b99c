"""Laterals, emitter by emitter, against EPANET 2.2 (through wntr)."""

from __future__ import annotations

import numpy as np
import pytest

pytest.importorskip("wntr")

from tests.calculations.pressure import epanet_networks as epanet
from xlfuncs.calculations.pressure.laterals import Lateral, lateral_profile
from xlfuncs.calculations.pressure.properties import pressure_from_head

LITRE_AN_HOUR = 1 / 3.6e6
RATED_HEAD = 10.0


def epanet_lateral(lateral: Lateral, inlet_head: float, folder):
    """Head and flow of each emitter."""
    network = epanet.empty_network(inlet_head, lateral.exponent)
    start = "supply"
    nodes = [f"e{n}" for n in range(1, lateral.emitters + 1)]
    for number, node in enumerate(nodes, start=1):
        epanet.add_pipe(
            network,
            start,
            node,
            lateral.emitter_spacing,
            lateral.diameter,
            lateral.slope * number * lateral.emitter_spacing,
            lateral.rated_flow / RATED_HEAD**lateral.exponent,
            lateral.fitting_loss if number == 1 else 0.0,
        )
        start = node
    heads, flows = epanet.run(network, folder)
    pipe_flow = np.array([flows[f"to_{node}"] for node in nodes])
    return np.array([heads[node] for node in nodes]), pipe_flow


CASES = {
    "level": {},
    "uphill": {"slope": 0.03},
    "downhill": {"slope": -0.03},
    "steep downhill": {"slope": -0.10},
    "barb": {"fitting_loss": 2.5},
    "orifice with a low exponent": {"exponent": 0.2},
    "long path": {"exponent": 0.75},
    "laminar emitter": {"exponent": 1.0},
    "short": {"length": 3.0},
    "much too long": {"length": 400.0},
    "wide": {"diameter": 0.0203},
}


@pytest.mark.parametrize("name", CASES)
def test_every_emitter_agrees(name, tmp_path):
    """333 emitters at 0.30 m, 13.6 mm, 1 L/h at 10 m; inlet 10 m above the first node's datum."""
    metre = epanet.EPANET_WATER.density * epanet.EPANET_WATER.gravity
    ordinary = {
        "length": 99.9,
        "emitter_spacing": 0.3,
        "rated_flow": LITRE_AN_HOUR,
        "rated_pressure": RATED_HEAD * metre,
        "diameter": 0.0136,
    }
    lateral = Lateral(**(ordinary | CASES[name]))
    heads, pipe_flow = epanet_lateral(lateral, 10.0, tmp_path)
    profile = lateral_profile(lateral, 10.0 * metre, water=epanet.EPANET_WATER)
    ours = profile.pressure / metre + lateral.slope * profile.position
    np.testing.assert_allclose(ours, heads, atol=1e-4, rtol=0)
    assert profile.flow.sum() == pytest.approx(pipe_flow[0], rel=1e-5)
    expected = (
        lateral.rated_flow
        * ((heads - lateral.slope * profile.position) / RATED_HEAD) ** lateral.exponent
    )
    np.testing.assert_allclose(profile.flow, expected, rtol=1e-5)


def test_water_at_20_degrees_changes_little(tmp_path):
    metre = pressure_from_head(1.0)
    lateral = Lateral(99.9, 0.3, LITRE_AN_HOUR, RATED_HEAD * metre, 0.0136)
    _, pipe_flow = epanet_lateral(lateral, 10.0, tmp_path)
    profile = lateral_profile(lateral, 10.0 * metre)
    assert profile.flow.sum() == pytest.approx(pipe_flow[0], rel=0.005)
