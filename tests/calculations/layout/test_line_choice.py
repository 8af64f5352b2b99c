"""The choice of a line by soil, against the intake rates that FAO prints by soil.

Infiltration rates: FAO Irrigation Water Management Training Manual 5, Annex 2 (read in a copy of
the table): sandy loam 20 to 30, loam 10 to 20, clay loam 5 to 10, clay 1 to 5 mm/h.
"""

from __future__ import annotations

import numpy as np
import pytest

from xlfuncs.calculations.layout.beds import (
    largest_emitter_flow,
    largest_emitter_spacing,
    line_advice,
)

LPH = 1e-3 / 3600
WETTED = {"sandy loam": 0.38, "loam": 0.45, "clay loam": 0.52, "clay": 0.6}  # common practice
FAO_INTAKE = {"sandy loam": (20, 30), "loam": (10, 20), "clay loam": (5, 10), "clay": (1, 5)}


def test_published_intake_rates_allow_less_flow_on_heavier_soil() -> None:
    flows = [
        largest_emitter_flow(rates[1], 0.3, WETTED[soil]) for soil, rates in FAO_INTAKE.items()
    ]
    assert flows == sorted(flows, reverse=True)


@pytest.mark.parametrize("soil", FAO_INTAKE)
def test_the_largest_flow_just_meets_the_intake_rate(soil: str) -> None:
    intake, wetted = FAO_INTAKE[soil][0], WETTED[soil]
    spacing = largest_emitter_spacing(wetted)
    flow = largest_emitter_flow(intake, spacing, wetted)
    rate, share, advice, why = line_advice(np.array([spacing]), np.array([flow]), wetted, intake)
    # litres an hour over square metres are mm an hour
    assert rate[0] == pytest.approx(flow / LPH / (spacing * wetted))
    assert share[0] == pytest.approx(1.0)
    assert advice == ["recommended"]
    assert "gives 100% of what the wetted strip takes in" in why[0]


def test_advice_on_a_mixed_offer() -> None:
    """On 0.45 m at 10 mm/h the lines give 7.4, 14.8, 22.2 and 5.6 mm/h; the last is too open."""
    spacing = np.array([0.3, 0.3, 0.2, 0.4])
    flow = np.array([1.0, 2.0, 2.0, 1.0]) * LPH
    rate, _, advice, reasons = line_advice(spacing, flow, 0.45, 10.0)
    assert rate == pytest.approx([1 / 0.135, 2 / 0.135, 2 / 0.09, 1 / 0.18])
    assert advice == ["recommended", "too fast", "too fast", "too far apart"]
    assert "ponds" in reasons[1]
    assert "dry gaps" in reasons[3]


def test_where_nothing_suits_the_slowest_is_named_with_cycles() -> None:
    _, _, advice, reasons = line_advice(np.array([0.3, 0.3]), np.array([1.0, 2.0]) * LPH, 0.45, 2.0)
    assert advice == ["recommended", "too fast"]
    assert "cycles" in reasons[0]
