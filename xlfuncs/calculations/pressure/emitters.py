"""The flow of drip emitters at the pressure that they get: q = k H^x.

A compensating emitter holds that law (with an exponent near 0) from its least pressure upwards.
Below that pressure it is taken as a plain orifice (exponent 0.5) that meets the law at the least
pressure: an assumption, because makers publish nothing there; results below it are extrapolated.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from xlfuncs.calculations.arrays import Floats, Indices
from xlfuncs.calculations.pressure.properties import Number

ORIFICE_EXPONENT = 0.5


def emitter_flow(
    pressure: Number,
    rated_flow: Number,
    rated_pressure: Number,
    exponent: Number = 0.5,
    min_pressure: Number = 0.0,
) -> Number:
    """Flow of an emitter (in the unit of `rated_flow`) at a pressure; none at or below zero.

    Both pressures and `min_pressure`, from which the law holds, are in one unit.
    """
    pressure = np.maximum(pressure, 0.0)
    least = np.asarray(min_pressure, dtype=np.float64)
    law = rated_flow * (np.maximum(pressure, least) / rated_pressure) ** exponent
    below = pressure < least
    share = np.where(below, pressure / np.where(below, least, 1.0), 1.0) ** ORIFICE_EXPONENT
    flow = np.where(pressure > 0, law * share, 0.0)
    return float(flow) if flow.ndim == 0 else flow


@dataclass(frozen=True)
class Outlets:
    """Emitters at the nodes of a network: arrays of equal size, a coefficient of 0 for none.

    `coefficient` k in m3/s per m^x, `exponent` x, and `min_head` (m) from which the law holds.
    """

    coefficient: Floats
    exponent: Floats
    min_head: Floats

    @classmethod
    def rated(
        cls, flow: Floats, head: Floats, exponent: Floats, min_head: Floats | None = None
    ) -> "Outlets":
        """Emitters that give `flow` (m3/s) at `head` (m)."""
        coefficient = flow / head**exponent
        return cls(coefficient, exponent, np.zeros_like(flow) if min_head is None else min_head)

    @classmethod
    def joined(cls, parts: "Sequence[Outlets]") -> "Outlets":
        """The outlets of all parts, one after the other."""
        return cls(
            np.concatenate([part.coefficient for part in parts]),
            np.concatenate([part.exponent for part in parts]),
            np.concatenate([part.min_head for part in parts]),
        )


class OutletFlow:
    """Flow of the outlets with its slope; what does not depend on the head is kept."""

    def __init__(self, outlets: Outlets) -> None:
        self._coefficient = outlets.coefficient
        self._exponent = outlets.exponent
        self._square_root = bool(np.all(outlets.exponent == 0.5))
        self._min_head = outlets.min_head
        self._compensating = bool(np.any(outlets.min_head > 0))

    def flow_and_slope(self, head: Floats, linear_below: float) -> tuple[Floats, Floats]:
        """Flow (m3/s) at these pressure heads (m), and its derivative (m2/s).

        Below the head `linear_below` the flow is proportional to the head, so that the derivative
        is finite; at and below zero there is none.
        """
        least = np.maximum(self._min_head, linear_below) if self._compensating else linear_below
        head_in_law = np.maximum(head, least)
        power = np.sqrt(head_in_law) if self._square_root else head_in_law**self._exponent
        flow = self._coefficient * power
        slope = self._exponent * flow / head_in_law
        below = (head < least).nonzero()[0]
        if below.size:
            from_head = head_in_law[below]
            self._below_law(below, head[below], from_head, linear_below, flow, slope)
        return flow, slope

    @staticmethod
    def _below_law(
        below: Indices, head: Floats, least: Floats, linear_below: float, flow: Floats,
        slope: Floats,
    ) -> None:  # fmt: skip
        """Overwrite flow and slope of the outlets whose head is below the range of the law."""
        orifice_head = np.maximum(head, linear_below)
        orifice = flow[below] * (orifice_head / least) ** ORIFICE_EXPONENT
        linear = head < linear_below
        flow[below] = np.where(linear, orifice * np.maximum(head, 0.0) / linear_below, orifice)
        exponent = np.where(linear, 1.0, ORIFICE_EXPONENT)
        slope[below] = np.where(head > 0, exponent * orifice / orifice_head, 0.0)
