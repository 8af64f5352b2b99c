"""What is wrong with the pressures of a system, and what change, computed, would mend it."""

from dataclasses import dataclass, fields, replace

import numpy as np

from xlfuncs.calculations import quantity_words as say
from xlfuncs.calculations.arrays import Floats, Indices
from xlfuncs.calculations.pressure import set_checks
from xlfuncs.calculations.pressure.bed_lists import Beds
from xlfuncs.calculations.pressure.drip_systems import DripSystem
from xlfuncs.calculations.pressure.laterals import (
    Lateral,
    emission_uniformity,
    lateral_profile,
    max_lateral_length,
)
from xlfuncs.calculations.pressure.networks import NotConvergedError
from xlfuncs.calculations.pressure.pressure_sets import pressure_sets
from xlfuncs.calculations.pressure.properties import pressure_from_head
from xlfuncs.calculations.pressure.set_checks import Breach, Group, SetChecks
from xlfuncs.calculations.pressure.watering_sets import watering_sets
from xlfuncs.errors import InputError

_MOST_BEDS_FOR_SETS = 60  # beyond it the number of sets is left to the function for sets
_WITHOUT_LOSS = 1.0  # m; a main so wide that it loses nothing
_CLASSES = ((0.90, "excellent"), (0.80, "good"), (0.70, "fair"))


@dataclass(frozen=True)
class Fault:
    """One fault: the bed's row (None for the whole), what was checked, and words with the cure."""

    row: int | None
    check: str
    words: str


def uniformity_class(uniformity: float) -> str:
    """excellent, good, fair or poor, by the classes of field evaluation in common use."""
    return next((name for least, name in _CLASSES if uniformity >= least), "poor")


def pressure_findings(checks: SetChecks, pipe_diameters: Floats) -> list[Fault]:
    """All that is wrong with the open beds running together, in words.

    `pipe_diameters` (m) are those that can be bought.
    """
    group = tuple(np.flatnonzero(checks.beds.is_open).tolist())
    breaches = checks.breaches(group)
    short = [breach for breach in breaches if breach.check == set_checks.SHARE]
    worst = min(short, key=lambda breach: breach.value, default=None)
    return [
        Fault(breach.row, breach.check, _words(checks, group, breach, len(short), pipe_diameters))
        for breach in breaches
        if breach.check != set_checks.SHARE or breach is worst
    ]


def _words(
    checks: SetChecks, group: Group, breach: Breach, short: int, pipe_diameters: Floats
) -> str:
    if breach.check == set_checks.SOLUTION:
        return "no steady flow was found: look for a length, a diameter or a pressure that is off"
    if breach.check == set_checks.SUPPLY:
        return _supply(checks, group, breach)
    if breach.check == set_checks.HEAD:
        return _head(breach)
    if breach.check == set_checks.VELOCITY:
        return _velocity(checks, group, breach, pipe_diameters)
    if breach.check == set_checks.SHARE:
        return _share(checks, breach, short, pipe_diameters)
    if breach.check == set_checks.UNIFORMITY:
        return _uniformity(checks, group, breach)
    return _range(breach)


def _supply(checks: SetChecks, group: Group, breach: Breach) -> str:
    limits, rows = checks.limits, list(group)
    nominal, got = checks.beds.nominal_flow[rows], checks.delivery(group)
    try:
        found = watering_sets(
            np.maximum(nominal, got.flow[rows]), limits.supply_flow, limits.supply_share
        )
        cure = f"water in {int(found.sets.max())} sets"
    except InputError as error:
        cure = f"bed in row {rows[error.row or 0] + 1} {error.message}"
    return (
        f"the open beds take {say.flow_words(float(nominal.sum()))} nominal and get"
        f" {say.flow_words(got.supply_flow)}; {limits.supply_share:.0%} of the"
        f" supply is {say.flow_words(breach.limit)}: {cure}"
    )


def _head(breach: Breach) -> str:
    takes = f"the open beds take {say.flow_words(breach.value)}"
    if breach.value < breach.limit:
        return (
            f"{takes}; the parts between supply and main need {say.flow_words(breach.limit)} to"
            " work: open more beds at a time, or fit a smaller part (see the head assembly)"
        )
    return (
        f"{takes}; the parts between supply and main work up to {say.flow_words(breach.limit)}:"
        " water in more sets, or fit a larger part (see the head assembly)"
    )


_OF_PIPE = {
    set_checks.IN_MAIN: "the pipe to this bed",
    set_checks.IN_MANIFOLD: "the manifold",
    set_checks.IN_LATERALS: "the lines",
}


def _velocity(checks: SetChecks, group: Group, breach: Breach, pipe_diameters: Floats) -> str:
    where = _OF_PIPE[breach.pipe] if breach.row is not None else "the main before a branch"
    words = (
        f"{say.velocity_words(breach.value)} in {where}, over"
        f" {say.velocity_words(checks.limits.velocity)} (common practice): "
    )
    if breach.pipe == set_checks.IN_LATERALS:
        return f"{words}shorter or more lines, or a wider line"
    beds, row = checks.beds, breach.row
    if row is None:
        return f"{words}a wider main there"
    diameter = beds.main_diameter if breach.pipe == set_checks.IN_MAIN else beds.manifold_diameter
    least = float(diameter[row] * np.sqrt(breach.value / checks.limits.velocity))
    return words + _pipe(least, pipe_diameters)


def _pipe(least: float, pipe_diameters: Floats) -> str:
    """The next pipe that can be bought, at least so wide."""
    wide = pipe_diameters[pipe_diameters >= least]
    if wide.size:
        return f"take the pipe of {say.diameter_words(wide.min())} inside"
    return f"take at least {say.diameter_words(least)} inside"


def _range(breach: Breach) -> str:
    off = say.pressure_words(abs(breach.value - breach.limit))
    if breach.check == set_checks.BELOW:
        return (
            f"{say.pressure_words(breach.value)} at its driest emitter, under the line's least"
            f" {say.pressure_words(breach.limit)}: flows there are extrapolated; give {off} more at"
            " this bed, or open fewer beds at a time"
        )
    return (
        f"{say.pressure_words(breach.value)} at its wettest emitter when it is open alone, over the"
        f" line's greatest {say.pressure_words(breach.limit)}: fit a regulator, or lower the one"
        f" that is there by {off}"
    )


def _share(checks: SetChecks, worst: Breach, short: int, pipe_diameters: Floats) -> str:
    beds = checks.beds
    rows = np.flatnonzero(beds.is_open & (beds.nominal_flow > 0))
    cures = [_wider_main(checks, rows, pipe_diameters)]
    held = pressure_from_head(checks.supply(0.0)[0])
    if held < (rated := float(beds.rated_pressure[rows].max())):
        cures.insert(
            0,
            f"with nothing open {say.pressure_words(held)} reach the main, and the lines are rated"
            f" at {say.pressure_words(rated)}: raise the regulator's preset, or the supply",
        )
    if rows.size <= _MOST_BEDS_FOR_SETS:
        sets = pressure_sets(_whatever_pressure(checks), most_trials=0).sets[rows]
        hopeless = int(np.sum(sets == 0))
        cures.append(
            f"{hopeless} beds break a limit even alone"
            if hopeless
            else f"or water in {int(sets.max())} sets"
        )
    return (
        f"gets {worst.value:.0%} of its nominal flow, the least of {short} beds"
        f" under {worst.limit:.0%}: {'; '.join(cures)}"
    )


def _whatever_pressure(checks: SetChecks) -> SetChecks:
    """The same, but for the greatest pressure of the lines: that no set mends."""
    unknown = np.full(checks.beds.distance.size, np.nan)
    return SetChecks(checks.beds, checks.supply, replace(checks.limits, max_pressure=unknown))


def _wider_main(checks: SetChecks, rows: Indices, pipe_diameters: Floats) -> str:
    """The least pipe that, wherever the main is narrower, gives every bed its share."""
    sizes = np.unique(pipe_diameters)
    for diameter in sizes[sizes > checks.beds.main_diameter.min()]:
        if _shares_kept(checks, rows, float(diameter)):
            return f"a main of {say.diameter_words(diameter)} inside throughout would do"
    if not _shares_kept(checks, rows, _WITHOUT_LOSS):
        return "no main, however wide, would do"
    return "no pipe of the list is wide enough for the main" if sizes.size else "a wider main"


def _shares_kept(checks: SetChecks, rows: Indices, diameter: float) -> bool:
    """Whether every bed gets its share with a main nowhere narrower than this."""
    beds = checks.beds
    wider = replace(beds, main_diameter=np.maximum(beds.main_diameter, diameter))
    try:
        share = DripSystem(wider, checks.limits.roughness).deliver(checks.supply).share[rows]
    except NotConvergedError:
        return False
    return bool(np.all(share >= checks.limits.share))


def _uniformity(checks: SetChecks, group: Group, breach: Breach) -> str:
    assert breach.row is not None
    return (
        f"emission uniformity {breach.value:.0%} ({uniformity_class(breach.value)}), under"
        f" {breach.limit:.0%}: {_shorter_laterals(checks, group, breach.row)}"
    )


def _lateral(beds: Beds, row: int, roughness: float) -> Lateral:
    others = {"length": "lateral_length", "diameter": "lateral_diameter"}
    names = (field.name for field in fields(Lateral) if field.name != "roughness")
    columns = {name: getattr(beds, others.get(name, name)) for name in names}
    return Lateral(**{name: float(of[row]) for name, of in columns.items()}, roughness=roughness)


def _shorter_laterals(checks: SetChecks, group: Group, row: int) -> str:
    """What feeding from the middle would give, and how long the laterals may be at most."""
    line = _lateral(checks.beds, row, checks.limits.roughness)
    inlet = float(checks.delivery(group).inlet_pressure[row])
    wanted, variation = checks.limits, float(checks.limits.variation[row])
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
            cures.append(f"laterals of at most {say.length_words(longest)} reach it")
    return "; ".join(cures)
