"""The physical constants of water that the pressure calculations use."""

from dataclasses import dataclass
from typing import Any, TypeVar

from xlfuncs.calculations.arrays import Floats

Number = Any
"""A float or an array of floats; functions that say so broadcast and give the like back."""

_Number = TypeVar("_Number", float, Floats)


@dataclass(frozen=True)
class Water:
    """Density (kg/m3), kinematic viscosity (m2/s) and the acceleration of gravity (m/s2)."""

    density: float = 998.2071
    viscosity: float = 1.0034e-6
    gravity: float = 9.80665


WATER_20C = Water()
"""Water at 20 deg C: density and viscosity of the IAPWS formulations, standard gravity."""


def pressure_from_head(head: _Number, water: Water = WATER_20C) -> _Number:
    """The pressure (Pa) under a column of water of this height (m)."""
    return head * (water.density * water.gravity)


def head_from_pressure(pressure: _Number) -> _Number:
    """The height (m) of the column of water that gives this pressure (Pa)."""
    return pressure / pressure_from_head(1.0)
