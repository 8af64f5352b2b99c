"""Head loss of water in full round pipes.

Darcy-Weisbach: h = f L/D v2/(2g), with f = 64/Re up to Re 2000 (Hagen-Poiseuille), the explicit
formula of Swamee and Jain (1976) from Re 4000, and between them the cubic by Dunlop (1991) that
joins both with equal value and slope. This is the friction law of EPANET 2.2 (Users Manual, D.1).
"""

from typing import NamedTuple

import numpy as np

from xlfuncs.calculations.arrays import Floats, Indices
from xlfuncs.calculations.pressure.properties import WATER_20C, Number, Water, pressure_from_head

SMOOTH_PLASTIC = 1.5e-6
"""Roughness of smooth plastic pipe, m."""

LAMINAR_TO = 2000.0
TURBULENT_FROM = 4000.0


def flow_velocity(flow: Number, inside_diameter: Number) -> Number:
    """Mean velocity (m/s) of a flow (m3/s) in a full pipe of this inside diameter (m)."""
    return flow / (np.pi / 4 * inside_diameter * inside_diameter)


def reynolds_number(flow: Number, diameter: Number) -> Number:
    """Reynolds number of a flow (m3/s) in a pipe of this inside diameter (m)."""
    return flow * (4 / (np.pi * WATER_20C.viscosity)) / diameter


class _Transition(NamedTuple):
    """The cubic f = x1 + r (x2 + r (x3 + r x4)) in r = Re/2000 of each pipe."""

    x1: Number
    x2: Number
    x3: Number
    x4: Number


def _transition(relative_roughness: Number) -> _Transition:
    swamee_jain = relative_roughness / 3.7 + 5.74 / TURBULENT_FROM**0.9
    y = -2 * np.log10(swamee_jain)
    fa = 1 / (y * y)
    # dlog10 of the Reynolds term at 4000 gives the slope that the cubic must meet.
    fb = fa * (2 - 4 * 0.9 / np.log(10) * 5.74 / TURBULENT_FROM**0.9 / (swamee_jain * y))
    return _Transition(
        7 * fa - fb,
        0.128 - 17 * fa + 2.5 * fb,
        -0.128 + 13 * fa - 2 * fb,
        0.032 - 3 * fa + 0.5 * fb,
    )


class PipeFriction:
    """Head loss of many pipes at once, with its slope; what depends on the pipe alone is kept.

    `length`, `diameter` and `roughness` (m) and `loss_coefficient` (K of the fittings, on the
    velocity head in this pipe) are one-dimensional arrays of equal size.
    """

    def __init__(
        self, length: Number, diameter: Number, roughness: Number,
        loss_coefficient: Floats | None = None, water: Water = WATER_20C,
    ) -> None:  # fmt: skip
        # Where all pipes are alike, as in a lateral, one number serves for all.
        self._alike = all((x == x[0]).all() for x in (length, diameter, roughness) if x.size)
        self._size = length.size
        if self._alike and self._size:
            length, diameter, roughness = (float(x[0]) for x in (length, diameter, roughness))
        velocity_head = 8 / (np.pi**2 * water.gravity) / diameter**4  # of 1 m3/s
        self._resistance = velocity_head * length / diameter
        self._to_reynolds = 4 / (np.pi * water.viscosity) / diameter
        self._laminar = 64 * self._resistance / self._to_reynolds
        self._relative_roughness = roughness / diameter
        self._fittings = None
        if loss_coefficient is not None and np.any(loss_coefficient):
            self._fittings = velocity_head * loss_coefficient
        self._cubic = _transition(self._relative_roughness) if self._alike else None

    def loss_and_slope(self, flow: Floats) -> tuple[Floats, Floats]:
        """Head loss (m) of flows (m3/s, not negative), and its derivative (s/m2)."""
        loss = self._laminar * flow
        slope = np.empty(self._size)
        slope[:] = self._laminar
        reynolds = self._to_reynolds * flow
        faster = (reynolds > LAMINAR_TO).nonzero()[0]
        if faster.size:
            self._beyond_laminar(faster, reynolds[faster], flow[faster], loss, slope)
        if self._fittings is not None:
            per_flow = self._fittings * flow
            loss += per_flow * flow
            slope += 2 * per_flow
        return loss, slope

    def _of(self, values: Number, pipes: Indices) -> Number:
        return values if self._alike else values[pipes]

    def _beyond_laminar(
        self, pipes: Indices, reynolds: Floats, flow: Floats, loss: Floats, slope: Floats
    ) -> None:
        """Overwrite loss and slope of the pipes whose flow is transitional or turbulent."""
        relative_roughness = self._of(self._relative_roughness, pipes)
        reynolds_term = 5.74 * reynolds**-0.9
        swamee_jain = relative_roughness / 3.7 + reynolds_term
        log_term = np.log(swamee_jain)
        factor = (0.25 * np.log(10) ** 2) / (log_term * log_term)
        # Re df/dRe, so that d(f Q2)/dQ = Q (2 f + Re df/dRe)
        growth = 1.8 * factor * reynolds_term / (swamee_jain * log_term)
        between = (reynolds < TURBULENT_FROM).nonzero()[0]
        if between.size:
            x1, x2, x3, x4 = self._cubic or _transition(self._relative_roughness[pipes[between]])
            r = reynolds[between] / LAMINAR_TO
            factor[between] = x1 + r * (x2 + r * (x3 + r * x4))
            growth[between] = r * (x2 + r * (2 * x3 + r * 3 * x4))
        per_flow = self._of(self._resistance, pipes) * flow
        loss[pipes] = per_flow * flow * factor
        slope[pipes] = per_flow * (2 * factor + growth)


def friction_head(
    flow: Number,
    length: Number,
    diameter: Number,
    roughness: Number = SMOOTH_PLASTIC,
    loss_coefficient: Number = 0.0,
) -> Number:
    """Head (m) that a flow (m3/s) loses along a pipe by Darcy-Weisbach; arguments broadcast."""
    given = np.broadcast_arrays(flow, length, diameter, roughness, loss_coefficient)
    q, run, bore, rough, fitting = (np.array(a, dtype=np.float64).ravel() for a in given)
    loss, _ = PipeFriction(run, bore, rough, fitting).loss_and_slope(q)
    return float(loss[0]) if given[0].ndim == 0 else loss.reshape(given[0].shape)


def friction_loss(
    flow: Number, length: Number, inside_diameter: Number, roughness: Number
) -> Number:
    """Pressure (Pa) that a flow (m3/s) loses along a pipe by Darcy-Weisbach."""
    return pressure_from_head(friction_head(flow, length, inside_diameter, roughness))


def friction_loss_hazen_williams(
    flow: Number, length: Number, inside_diameter: Number, coefficient: Number = 150.0
) -> Number:
    """Pressure (Pa) lost along a pipe by Hazen-Williams, for turbulent water at about 15 deg C.

    h = 4.727 L Q^1.852 / (C^1.852 D^4.871) in feet and cubic feet a second (EPANET 2.2 Users
    Manual, Table 3.1), turned into metres.
    """
    constant = 4.727 * 0.3048 ** (4.871 - 3 * 1.852)
    head = constant * length * (flow / coefficient) ** 1.852 / inside_diameter**4.871
    return pressure_from_head(head)


def multiple_outlet_factor(
    outlets: Number, exponent: Number = 1.75, first_outlet: Number = 1.0
) -> Number:
    """Christiansen's F: loss of a line with equal outlets over its loss without them.

    The exact sum, not its approximation. `first_outlet` is the distance of the first outlet from
    the inlet in spacings: 1 for a full spacing, 0.5 for half of one (F of the length from the inlet
    to the last outlet).
    """
    counts, exponents, firsts = np.broadcast_arrays(outlets, exponent, first_outlet)
    most = int(np.nanmax(counts, initial=1))  # a row without a value is NaN
    # Position 1 is the last stretch, which carries the flow of one outlet.
    carried = np.arange(1, most + 1, dtype=np.float64)
    n = counts[..., np.newaxis].astype(np.float64)
    terms = np.where(carried <= n, (carried / n) ** exponents[..., np.newaxis], 0.0)
    # The first stretch carries everything, so its term is 1 and its length differs.
    total = terms.sum(axis=-1) - 1 + firsts
    factor = total / (n[..., 0] - 1 + firsts)
    return float(factor) if factor.ndim == 0 else factor
