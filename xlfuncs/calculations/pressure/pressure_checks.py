"""What is wrong with the pressures of a system, and what change, computed, would mend it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from xlfuncs.calculations.pressure.bed_lists import Beds
from xlfuncs.calculations.pressure.drip_systems import Delivery, DripSystem
from xlfuncs.calculations.pressure.laterals import (
    Lateral,
    emission_uniformity,
    lateral_profile,
    max_lateral_length,
)
from xlfuncs.calculations.pressure.networks import NotConvergedError, Supply
from xlfuncs.calculations.pressure.pipe_friction import SMOOTH_PLASTIC
from xlfuncs.calculations.pressure.pressure_sets import pressure_sets
from xlfuncs.calculations.pressure.watering_sets import watering_sets
from xlfuncs.calculations.quantity_words import (
    diameter_words,
    flow_words,
    length_words,
    pressure_words,
    velocity_words,
)
from xlfuncs.errors import InputError

Array = npt.NDArray[np.float64]

_MOST_BEDS_FOR_SETS = 60  # beyond it the number of sets is left to the function for sets
_WITHOUT_LOSS = 1.0  # m; a main so wide that it loses nothing
_CLASSES = ((0.90, "excellent"), (0.80, "good"), (0.70, "fair"))


@dataclass(frozen=True)
class Wanted:
    """What a system is held to. Arrays have one entry a bed, NaN where nothing is known.

    `share` of the nominal flow, emission `uniformity`, `velocity` (m/s) in the main, the working
    range of the lines (Pa), their manufacturer's `variation` (0 where unknown), `pipe_diameters`
    (m) that can be bought, and the flow of the supply (m3/s, NaN if unknown).
    """

    share: float
    uniformity: float
    velocity: float
    min_pressure: Array
    max_pressure: Array
    variation: Array
    pipe_diameters: Array
    supply_flow: float = np.nan
    supply_share: float = 0.75
    roughness: float = SMOOTH_PLASTIC


@dataclass(frozen=True)
class Finding:
    """One fault: the bed's row (None for the whole), what was checked, and words with the cure."""

    row: int | None
    check: str
    words: str


def uniformity_class(uniformity: float) -> str:
    """excellent, good, fair or poor, by the classes of field evaluation in common use."""
    return next((name for least, name in _CLASSES if uniformity >= least), "poor")


def pressure_findings(beds: Beds, supply: Supply, wanted: Wanted) -> list[Finding]:
    """All that is wrong with the open beds running together, in words."""
    try:
        delivery = DripSystem(beds, wanted.roughness).deliver(supply)
    except NotConvergedError as error:
        return [Finding(None, "solution", error.message)]
    return [
        *_supply(beds, delivery, wanted),
        *_velocity(beds, delivery, wanted),
        *_range(beds, delivery, wanted),
        *_share(beds, supply, delivery, wanted),
        *_uniformity(beds, delivery, wanted),
    ]


def _watered(beds: Beds) -> npt.NDArray[np.intp]:
    return np.flatnonzero(beds.is_open & (beds.nominal_flow > 0))


def _supply(beds: Beds, delivery: Delivery, wanted: Wanted) -> list[Finding]:
    rows = _watered(beds)
    nominal = beds.nominal_flow[rows]
    if not nominal.sum() > wanted.supply_share * wanted.supply_flow:
        return []
    try:
        sets = int(watering_sets(nominal, wanted.supply_flow, wanted.supply_share).max())
        cure = f"water in {sets} sets"
    except InputError as error:
        cure = f"bed in row {int(rows[error.row or 0]) + 1} {error.message}"
    words = (
        f"the open beds take {flow_words(nominal.sum())} nominal and get"
        f" {flow_words(delivery.supply_flow)}; {wanted.supply_share:.0%} of the supply is"
        f" {flow_words(wanted.supply_share * wanted.supply_flow)}: {cure}"
    )
    return [Finding(None, "supply exceeded", words)]


def _velocity(beds: Beds, delivery: Delivery, wanted: Wanted) -> list[Finding]:
    findings = []
    seen: set[tuple[int, float]] = set()
    for row in np.flatnonzero(delivery.main_velocity > wanted.velocity).tolist():
        point = (int(beds.branch[row]), float(beds.distance[row]))
        if point in seen:
            continue
        seen.add(point)
        least = float(np.sqrt(4 * delivery.main_flow[row] / (np.pi * wanted.velocity)))
        words = (
            f"{velocity_words(delivery.main_velocity[row])} in the pipe to this bed, over"
            f" {velocity_words(wanted.velocity)} (common practice): {_pipe(least, wanted)}"
        )
        findings.append(Finding(row, "velocity", words))
    return findings


def _pipe(least: float, wanted: Wanted) -> str:
    """The next pipe that can be bought, at least so wide."""
    wide = wanted.pipe_diameters[wanted.pipe_diameters >= least]
    if wide.size:
        return f"take the pipe of {diameter_words(wide.min())} inside"
    return f"take at least {diameter_words(least)} inside"


def _range(beds: Beds, delivery: Delivery, wanted: Wanted) -> list[Finding]:
    findings = []
    for row in _watered(beds).tolist():
        lowest, highest = delivery.lowest_pressure[row], delivery.highest_pressure[row]
        least, most = wanted.min_pressure[row], wanted.max_pressure[row]
        if lowest < least:
            words = (
                f"{pressure_words(lowest)} at its driest emitter, under the line's least"
                f" {pressure_words(least)}: flows there are extrapolated; give"
                f" {pressure_words(least - lowest)} more at this bed, or open fewer beds at a time"
            )
            findings.append(Finding(row, "pressure below range", words))
        if highest > most:
            words = (
                f"{pressure_words(highest)} at its wettest emitter, over the line's greatest"
                f" {pressure_words(most)}: fit a regulator, or lower the one that is there by"
                f" {pressure_words(highest - most)}"
            )
            findings.append(Finding(row, "pressure above range", words))
    return findings


def _share(beds: Beds, supply: Supply, delivery: Delivery, wanted: Wanted) -> list[Finding]:
    rows = _watered(beds)
    short = rows[delivery.share[rows] < wanted.share]
    if not short.size:
        return []
    worst = int(short[np.argmin(delivery.share[short])])
    cures = [_wider_main(beds, supply, wanted)]
    if rows.size <= _MOST_BEDS_FOR_SETS:
        quick = pressure_sets(beds, supply, wanted.share, 0.0, wanted.roughness, most_trials=0)
        sets = quick.sets[rows]
        hopeless = int(np.sum(sets == 0))
        cures.append(
            f"{hopeless} beds do not get it even alone"
            if hopeless
            else f"or water in {int(sets.max())} sets"
        )
    words = (
        f"gets {delivery.share[worst]:.0%} of its nominal flow, the least of {short.size} beds"
        f" under {wanted.share:.0%}: {'; '.join(cures)}"
    )
    return [Finding(worst, "share of nominal", words)]


def _wider_main(beds: Beds, supply: Supply, wanted: Wanted) -> str:
    """The least pipe that, wherever the main is narrower, gives every bed its share."""
    sizes = np.unique(wanted.pipe_diameters)
    for diameter in sizes[sizes > beds.main_diameter.min()]:
        if _shares_kept(beds, supply, wanted, float(diameter)):
            return f"a main of {diameter_words(diameter)} inside throughout would do"
    if not _shares_kept(beds, supply, wanted, _WITHOUT_LOSS):
        return "no main, however wide, would do"
    return "no pipe of the list is wide enough for the main" if sizes.size else "a wider main"


def _shares_kept(beds: Beds, supply: Supply, wanted: Wanted, diameter: float) -> bool:
    """Whether every bed gets its share with a main nowhere narrower than this."""
    wider = replace(beds, main_diameter=np.maximum(beds.main_diameter, diameter))
    try:
        share = DripSystem(wider, wanted.roughness).deliver(supply).share[_watered(beds)]
    except NotConvergedError:
        return False
    return bool(np.all(share >= wanted.share))


def _uniformity(beds: Beds, delivery: Delivery, wanted: Wanted) -> list[Finding]:
    findings = []
    for row in _watered(beds).tolist():
        variation = wanted.variation[row]
        reached = float(emission_uniformity(delivery.uniformity[row], 1.0, variation))
        if reached >= wanted.uniformity:
            continue
        words = (
            f"emission uniformity {reached:.0%} ({uniformity_class(reached)}), under"
            f" {wanted.uniformity:.0%}: {_shorter_laterals(beds, delivery, wanted, row)}"
        )
        findings.append(Finding(row, "uniformity", words))
    return findings


def _lateral(beds: Beds, row: int, roughness: float) -> Lateral:
    return Lateral(
        length=float(beds.lateral_length[row]),
        emitter_spacing=float(beds.emitter_spacing[row]),
        rated_flow=float(beds.rated_flow[row]),
        rated_pressure=float(beds.rated_pressure[row]),
        diameter=float(beds.lateral_diameter[row]),
        exponent=float(beds.exponent[row]),
        slope=float(beds.slope[row]),
        min_pressure=float(beds.min_pressure[row]),
        fitting_loss=float(beds.fitting_loss[row]),
        roughness=roughness,
    )


def _shorter_laterals(beds: Beds, delivery: Delivery, wanted: Wanted, row: int) -> str:
    """What feeding from the middle would give, and how long the laterals may be at most."""
    line, inlet = _lateral(beds, row, wanted.roughness), float(delivery.inlet_pressure[row])
    variation = float(wanted.variation[row])
    if inlet <= 0:
        return "there is no pressure at this bed"
    cures = []
    half = line.length / 2
    if half >= line.emitter_spacing:
        flows = np.concatenate([
            lateral_profile(replace(line, length=half, slope=slope), inlet).flow
            for slope in (line.slope, -line.slope)
        ])  # fmt: skip
        mean = flows.mean()
        middle = float(emission_uniformity(flows.min() / mean if mean > 0 else 0.0, 1.0, variation))
        cures.append(f"fed from the middle it is {middle:.0%}")
    try:
        longest = max_lateral_length(line, inlet, wanted.uniformity, variation, line.length)
    except InputError:
        cures.append("no length of lateral reaches it; look at the CV")
    else:
        if longest < line.length - line.emitter_spacing:
            cures.append(f"laterals of at most {length_words(longest)} reach it")
    return "; ".join(cures)
