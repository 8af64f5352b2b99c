"""Whether neighbouring parts fit together: threads, barbs and compression ends on tubes."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

HOSE, PIPE, BARB, COMPRESSION, TUBE = "hose thread", "pipe thread", "barb", "compression", "tube"
THREADS = (HOSE, PIPE)
KINDS = (HOSE, PIPE, BARB, COMPRESSION, TUBE)
MALE, FEMALE = "male", "female"

# Sizes on data sheets are rounded to a hundredth of an inch or a tenth of a millimetre; more than
# this apart they are different tubes (common practice, no published source).
SAME_SIZE = 0.3e-3  # m


@dataclass(frozen=True)
class Connection:
    """One end of a part; sizes in m.

    `size`: nominal size of a thread, inside diameter of the tube that a barb goes into, outside
    diameter of the tube that a compression end takes, outside diameter of a tube itself (whose
    `inside` diameter is then given too). `gender` only for threads.
    """

    kind: str
    size: float
    gender: str = ""
    inside: float = 0.0
    words: str = ""  # as it was written

    def __str__(self) -> str:
        return self.words or f"{self.kind} {self.gender}".strip()


@dataclass(frozen=True)
class Part:
    """A part on the way of the water; None for an end that connects to nothing."""

    name: str
    inlet: Connection | None
    outlet: Connection | None


def path_faults(parts: Sequence[Part]) -> list[str]:
    """For each part, why it does not fit the part before it; '' where it fits, or is the first."""
    faults = [""]
    for before, after in pairwise(parts):
        if before.outlet is None:
            faults.append(f"{before.name} has no outlet, so nothing can follow it")
        elif after.inlet is None:
            faults.append(f"{after.name} has no inlet, so it cannot follow {before.name}")
        else:
            fault = misfit(before.outlet, after.inlet)
            faults.append(f"{before.name} to {after.name}: {fault}" if fault else "")
    return faults[: len(parts)]


def misfit(outlet: Connection, inlet: Connection) -> str:
    """Why two ends do not mate, in words; '' where they do."""
    if outlet.kind in THREADS and inlet.kind in THREADS:
        return _thread_misfit(outlet, inlet)
    tube, end = (outlet, inlet) if outlet.kind == TUBE else (inlet, outlet)
    if tube.kind == TUBE and end.kind in (BARB, COMPRESSION):
        return _tube_misfit(tube, end)
    if outlet.kind == inlet.kind == TUBE:
        return "two tubes need a coupler between them"
    if {outlet.kind, inlet.kind} <= {BARB, COMPRESSION}:
        return f"{outlet} and {inlet} need a piece of tube between them"
    return f"{outlet} does not take {inlet}: an adapter is needed"


def _thread_misfit(outlet: Connection, inlet: Connection) -> str:
    if outlet.kind != inlet.kind:
        return (
            f"{outlet} on {inlet}: hose thread is straight and seals by a washer (11.5 threads an"
            " inch at 3/4 in), pipe thread is tapered (14 threads an inch at 3/4 in); they start"
            " to turn, then leak. An adapter is needed"
        )
    if abs(outlet.size - inlet.size) > SAME_SIZE:
        return f"{outlet} on {inlet}: the sizes differ; a reducer is needed"
    if outlet.gender == inlet.gender:
        return f"{outlet} on {inlet}: both are {outlet.gender}; one must be male, one female"
    return ""


def _tube_misfit(tube: Connection, end: Connection) -> str:
    diameter, which = (tube.inside, "inside") if end.kind == BARB else (tube.size, "outside")
    if abs(diameter - end.size) <= SAME_SIZE:
        return ""
    return (
        f"{end} on {tube}: the {which} diameter of the tube must be the size of the {end.kind};"
        " tubes sold under one nominal size differ, so measure the tube"
    )
