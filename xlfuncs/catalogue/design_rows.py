"""Whole designs as rows that a person reads."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import groupby
from math import nan

from xlfuncs.calculations.quantity_words import in_system as in_system
from xlfuncs.calculations.quantity_words import width_words

_MANY = 1_000_000  # beyond which nobody reads a number digit by digit


@dataclass(frozen=True)
class DesignRow:
    """One design, in the units of the system; money as on the price list.

    `kind` is cheapest, other (better in something) or fails. `lines` gives line, number of lines
    and inset by width of bed top, `sets` the beds of each set; hours are those of one watering.
    """

    kind: str
    lines: Mapping[float, tuple[str, int, float]]
    main: str
    manifold: str
    regulator: str
    cost: float
    cost_per_area: float
    left_over_value: float
    area: float  # planted and watered, m2
    tops: tuple[float, ...] = ()  # widths of bed top in m, as in `lines`
    sets: tuple[tuple[str, ...], ...] = ()
    minutes: tuple[float, ...] = ()
    least_share: float = nan
    uniformity: float = nan
    fails: str = ""
    mends: str = ""
    doubts: tuple[str, ...] = ()  # no fault, and yet to be known

    @property
    def hours(self) -> float:
        return sum(self.minutes) / 60


@dataclass(frozen=True)
class Designs:
    """The designs, the cheapest first, then those that fail; what was not compared, and why."""

    rows: list[DesignRow]
    bound: float
    designs: int
    judged: int
    some: bool = False  # there are too many for each to be compared
    left_out: list[str] = field(default_factory=list)
    uncovered: list[str] = field(default_factory=list)  # why there is none, where there is none

    @property
    def gap(self) -> float:
        best = next((row.cost for row in self.rows if row.kind == "cheapest"), None)
        return max(0.0, 1 - self.bound / best) if best else nan


def lines_words(row: DesignRow) -> str:
    """Such as: 3 x tape in beds 102 cm (40 in) to 122 cm (48 in) wide; 4 x tape in beds 150 cm
    (59 in) wide."""
    beds = zip(row.tops, row.lines.values(), strict=True)
    words = []
    for (line, count), alike in groupby(beds, key=lambda bed: bed[1][:2]):
        first, *others = [width_words(top) for top, _ in alike]
        wide = f"{first} to {others[-1]}" if others else first
        words.append(f"{count} x {line} in beds {wide} wide")
    return "; ".join(words)


def proof_words(found: Designs) -> str:
    """How far the first is proven to be the cheapest."""
    compared = "more than a million" if found.designs > _MANY else f"{found.designs:,}"
    compared += " designs cover the beds"
    if found.some:
        compared += ("; compared were the cheapest by the list, those with one line in all beds,"
                     " and the best of both changed width by width")  # fmt: skip
    if found.gap <= 5e-5:
        return f"{compared}; none that passes is cheaper than the first: proven"
    return (
        f"{compared}; the first is the cheapest found, none can cost less than {found.bound:,.2f}"
        f" ({found.gap:.1%} less)"
    )
