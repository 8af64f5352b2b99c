"""One lateral solved emitter by emitter, and how evenly it waters."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from xlfuncs.calculations.arrays import Floats, Indices
from xlfuncs.calculations.pressure.emitters import Outlets
from xlfuncs.calculations.pressure.networks import Level, Network, constant_supply
from xlfuncs.calculations.pressure.pipe_friction import SMOOTH_PLASTIC
from xlfuncs.calculations.pressure.properties import WATER_20C, Number, Water, pressure_from_head
from xlfuncs.errors import CellError, InputError

_MOST_EMITTERS = 20_000


def emitters_along(length: float | Floats, spacing: float | Floats) -> Indices:
    """How many emitters a lateral has; the first lies one full spacing from the inlet."""
    return np.floor(np.asarray(length) / spacing + 1e-9).astype(np.intp)


@dataclass(frozen=True)
class Lateral:
    """A line with equal emitters, in base units; a slope that rises from the inlet is positive.

    `min_pressure` is the least pressure of a compensating emitter (0 for others); `fitting_loss`
    the loss coefficient of the fitting at the inlet on the velocity head in the line.
    """

    length: float
    emitter_spacing: float
    rated_flow: float
    rated_pressure: float
    diameter: float
    exponent: float = 0.5
    slope: float = 0.0
    min_pressure: float = 0.0
    fitting_loss: float = 0.0
    roughness: float = SMOOTH_PLASTIC

    @property
    def emitters(self) -> int:
        return int(emitters_along(self.length, self.emitter_spacing))


@dataclass(frozen=True)
class LateralProfile:
    """Distance from the inlet (m), pressure (Pa) and flow (m3/s) of each emitter."""

    position: Floats
    pressure: Floats
    flow: Floats

    @property
    def flow_variation(self) -> float:
        """(greatest - least) / greatest flow of an emitter; 1 when one of them is dry."""
        greatest = self.flow.max()
        return float(1 - self.flow.min() / greatest) if greatest > 0 else 1.0

    @property
    def least_over_mean(self) -> float:
        """Flow of the driest emitter over the mean; 0 when nothing flows."""
        mean = self.flow.mean()
        return float(self.flow.min() / mean) if mean > 0 else 0.0


def lateral_profile(
    lateral: Lateral, inlet_pressure: float, water: Water = WATER_20C
) -> LateralProfile:
    """Solve a lateral for the pressure (Pa) at its inlet, before the fitting."""
    count = lateral.emitters
    if not 1 <= count <= _MOST_EMITTERS:
        words = f"gives {count} emitters; a lateral must have 1 to {_MOST_EMITTERS}"
        raise InputError("length", words)
    metre = pressure_from_head(1.0, water)
    ones = np.ones(count)
    position = np.arange(1.0, count + 1) * lateral.emitter_spacing
    elevation = position * lateral.slope
    fitting_loss = np.zeros(count)
    fitting_loss[0] = lateral.fitting_loss
    level = Level(
        sizes=np.array([count]),
        branches_from=np.array([-1]),
        copies=np.ones(1),
        length=ones * lateral.emitter_spacing,
        diameter=ones * lateral.diameter,
        fitting_loss=fitting_loss,
        elevation=elevation,
        outlets=Outlets.rated(
            ones * lateral.rated_flow,
            ones * (lateral.rated_pressure / metre),
            ones * lateral.exponent,
            ones * (lateral.min_pressure / metre),
        ),
    )
    solution = Network([level], lateral.roughness, water).solve(
        constant_supply(inlet_pressure / metre)
    )
    return LateralProfile(position, (solution.head - elevation) * metre, solution.outlet_flow)


def emission_uniformity(
    min_flow: Number, mean_flow: Number, cv: Number = 0.0, emitters_per_plant: Number = 1.0
) -> Number:
    """Design emission uniformity EU (0 to 1) by Keller and Karmeli (1974).

    EU = (1 - 1.27 CV / sqrt(n)) qmin / qmean, with the manufacturer's coefficient of variation CV
    and n emitters a plant.
    """
    return (1 - 1.27 * cv / np.sqrt(emitters_per_plant)) * (min_flow / mean_flow)


def distribution_uniformity(flows: Floats) -> float:
    """Low-quarter distribution uniformity (0 to 1) of measured flows.

    Mean of the lowest quarter over the mean of all; a quarter that is no whole number of readings
    counts the next reading in part.
    """
    if not flows.size:
        raise InputError("flows", "holds no reading", cell_error=CellError.NOT_AVAILABLE)
    ordered = np.sort(flows)
    quarter = flows.size / 4
    weight = np.clip(quarter - np.arange(flows.size), 0.0, 1.0)
    mean = ordered.mean()
    if not mean > 0:
        raise InputError("flows", "are all zero", cell_error=CellError.DIVISION)
    return float((ordered * weight).sum() / quarter / mean)


def max_lateral_length(
    lateral: Lateral,
    inlet_pressure: float,
    uniformity: float,
    variation: float = 0.0,
    longest: float = 1000.0,
) -> float:
    """The longest length (m) that keeps this emission uniformity; see `_longest`."""

    def keeps(profile: LateralProfile) -> bool:
        return bool(emission_uniformity(profile.least_over_mean, 1.0, variation) >= uniformity)

    return _longest(lateral, inlet_pressure, keeps, "uniformity", longest)


def max_lateral_length_by_variation(
    lateral: Lateral, inlet_pressure: float, flow_variation: float, longest: float = 1000.0
) -> float:
    """The longest length (m) whose flow variation, (qmax - qmin)/qmax, stays within this."""

    def keeps(profile: LateralProfile) -> bool:
        return profile.flow_variation <= flow_variation

    return _longest(lateral, inlet_pressure, keeps, "flow_variation", longest)


def _longest(
    lateral: Lateral,
    inlet_pressure: float,
    keeps: Callable[[LateralProfile], bool],
    argument: str,
    longest: float,
) -> float:
    """The longest line of whole spacings that keeps what is wanted, at most `longest`.

    Lengths are tried by doubling and then halving the gap, so that a line that fails and recovers
    downhill ends where it first fails. Raises `InputError` when one emitter alone fails.
    """

    def tried(emitters: int) -> bool:
        line = replace(lateral, length=emitters * lateral.emitter_spacing)
        return keeps(lateral_profile(line, inlet_pressure))

    most = min(int(emitters_along(longest, lateral.emitter_spacing)), _MOST_EMITTERS)
    if not tried(1):
        raise InputError(argument, "is not reached even with a single emitter")
    good, bad = 1, 2
    while bad <= most and tried(bad):
        good, bad = bad, 2 * bad
    bad = min(bad, most + 1)
    while bad - good > 1:
        middle = (good + bad) // 2
        good, bad = (middle, bad) if tried(middle) else (good, middle)
    return good * lateral.emitter_spacing
