"""Whole systems, every lateral a real chain of emitters, against EPANET 2.2 (through wntr)."""

from __future__ import annotations

import numpy as np
import pytest

pytest.importorskip("wntr")

from tests.calculations.pressure import epanet_networks as epanet
from xlfuncs.calculations.pressure.bed_lists import Beds
from xlfuncs.calculations.pressure.drip_systems import DripSystem
from xlfuncs.calculations.pressure.networks import constant_supply
from xlfuncs.calculations.pressure.properties import WATER_20C, Water

LITRES_AN_HOUR = 1 / 3.6e6
SUPPLY_HEAD = 12.0


def ten_beds(water: Water, **columns: object) -> Beds:
    """10 beds of 6 laterals of 60 emitters on a 25 mm main, invented."""
    ordinary: dict[str, object] = {
        "emitter_spacing": 0.3,
        "rated_flow": 1.0 * LITRES_AN_HOUR,
        "rated_pressure": 10 * water.density * water.gravity,
        "lateral_diameter": 0.0136,
        "main_diameter": 0.025,
        "manifold_diameter": 0.016,
        "lateral_spacing": 0.2,
        "distance": np.arange(1.0, 11.0) * 5,
        "laterals": 6,
        "lateral_length": 18.0,
    }
    return Beds.of(**(ordinary | columns))


SYSTEMS = {
    "level": {},
    "without manifolds": {"manifold_diameter": np.nan},
    "unequal beds": {
        "laterals": np.array([6, 9, 6, 7, 10, 6, 12, 6, 8, 6]),
        "lateral_length": np.array([18, 24, 30, 21.5, 18, 45, 18, 60, 18.4, 33]),
        "rated_flow": np.array([1, 1.6, 1, 2, 1, 1, 1.6, 1, 1, 2.0]) * LITRES_AN_HOUR,
        "lateral_diameter": np.array([13.6, 13.6, 15.9, 13.6, 15.9] * 2) / 1000,
        "emitter_spacing": np.array([0.3, 0.2, 0.3, 0.3, 0.2, 0.3, 0.3, 0.4, 0.3, 0.3]),
    },
    "uphill": {"elevation": np.arange(1, 11) * 0.3, "slope": 0.02},
    "downhill": {"elevation": np.arange(1, 11) * -0.3, "slope": -0.03},
    "fittings": {"fitting_loss": 3.0},
    "telescoping main": {"main_diameter": np.repeat([0.032, 0.025, 0.020], [3, 3, 4])},
    "two branches and shared branch points": {
        "branch": np.array([0, 0, 0, 0, 1, 1, 1, 2, 2, 2]),
        "branch_start": np.array([0, 0, 0, 0, 10, 10, 10, 15, 15, 15.0]),
        "distance": np.array([5, 10, 10, 20, 15, 20, 20, 20, 25, 30.0]),
    },
    "starved main": {"main_diameter": 0.0155},
    "far beds nearly dry": {"main_diameter": 0.0125, "distance": np.arange(1, 11) * 12.0},
    "starved main, full-flow exponent": {"main_diameter": 0.0155, "exponent": 0.8},
    "nearly compensating": {"exponent": 0.1},
}


@pytest.mark.parametrize("name", SYSTEMS)
def test_every_bed_gets_what_epanet_says(name, tmp_path):
    beds = ten_beds(epanet.EPANET_WATER, **SYSTEMS[name])
    network, into_bed = epanet.drip_system(beds, SUPPLY_HEAD)
    _, flows = epanet.run(network, tmp_path)
    expected = np.array([flows[pipes].sum() for pipes in into_bed])
    system = DripSystem(beds, water=epanet.EPANET_WATER)
    delivery = system.deliver(constant_supply(SUPPLY_HEAD))
    np.testing.assert_allclose(delivery.flow, expected, rtol=1e-4)
    if name.startswith("starved"):
        assert delivery.share.min() < 0.4


@pytest.mark.parametrize("name", ["level", "unequal beds", "starved main"])
def test_water_at_20_degrees_changes_little(name, tmp_path):
    beds = ten_beds(WATER_20C, **SYSTEMS[name])
    network, into_bed = epanet.drip_system(beds, SUPPLY_HEAD, WATER_20C)
    _, flows = epanet.run(network, tmp_path)
    expected = np.array([flows[pipes].sum() for pipes in into_bed])
    delivery = DripSystem(beds).deliver(constant_supply(SUPPLY_HEAD))
    np.testing.assert_allclose(delivery.flow, expected, rtol=0.005)
