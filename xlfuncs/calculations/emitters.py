"""The flow of drip emitters at the pressure that they get: q = k H^x.

A compensating emitter holds that law (with an exponent near 0) from its least pressure upwards.
Below that pressure it is taken as a plain orifice (exponent 0.5) that meets the law at the least
pressure: an assumption, because makers publish nothing there; results below it are extrapolated.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from xlfuncs.calculations.water import Number

Array = npt.NDArray[np.float64]

ORIFICE_EXPONENT = 0.5

_LOWEST_HEAD = 1e-4  # m; below it the flow is taken as proportional, so that its slope is finite


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

    coefficient: Array
    exponent: Array
    min_head: Array

    @classmethod
    def rated(
        cls, flow: Array, head: Array, exponent: Array, min_head: Array | None = None
    ) -> Outlets:
        """Emitters that give `flow` (m3/s) at `head` (m)."""
        coefficient = flow / head**exponent
        return cls(coefficient, exponent, np.zeros_like(flow) if min_head is None else min_head)

    @classmethod
    def joined(cls, parts: Sequence[Outlets]) -> Outlets:
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
        self._least = np.maximum(outlets.min_head, _LOWEST_HEAD)
        self._compensating = np.flatnonzero(outlets.min_head > _LOWEST_HEAD)

    def flow_and_slope(self, head: Array) -> tuple[Array, Array]:
        """Flow (m3/s) at these pressure heads (m), and its derivative (m2/s)."""
        head_in_law = np.maximum(head, self._least)
        power = np.sqrt(head_in_law) if self._square_root else head_in_law**self._exponent
        flow = self._coefficient * power
        slope = self._exponent * flow / head_in_law
        if head.min(initial=np.inf) < _LOWEST_HEAD or self._compensating.size:
            self._below_law(head, flow, slope)
        return flow, slope

    def _below_law(self, head: Array, flow: Array, slope: Array) -> None:
        """Correct flow and slope where the head is below the range of the law."""
        i = np.flatnonzero(head < self._least)
        least, at_least = self._least[i], flow[i]
        within = np.maximum(head[i], _LOWEST_HEAD)
        flow[i] = at_least * (within / least) ** ORIFICE_EXPONENT
        slope[i] = ORIFICE_EXPONENT * flow[i] / within
        j = i[head[i] < _LOWEST_HEAD]
        slope[j] = np.where(head[j] > 0, flow[j] / _LOWEST_HEAD, 0.0)
        flow[j] *= np.maximum(head[j], 0.0) / _LOWEST_HEAD
