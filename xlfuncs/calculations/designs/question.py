"""What a whole design is asked for: the beds, what can be bought, and what must be kept.

A design lays one kind of line, so many side by side, in all beds of one width of bed top; one pipe
for the mains, one for the manifolds, one regulator for all; and opens the beds set after set.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from xlfuncs.calculations.arrays import Floats
from xlfuncs.calculations.buying.basket import Order
from xlfuncs.calculations.buying.part_purchase import Offer, Stock
from xlfuncs.calculations.buying.parts_count import Rule
from xlfuncs.calculations.layout import line_layout
from xlfuncs.calculations.layout.line_layout import Bed as Section
from xlfuncs.calculations.supply.head_parts import HeadParts
from xlfuncs.errors import InputError

Option = tuple[int, int]
"""A line, by its place in the list, and how many of it lie in a bed."""

INSET_STEP = 0.0127  # m; half an inch is as close as lines are laid (common practice)


@dataclass(frozen=True)
class Bed:
    """A bed that is laid; lengths in m, area in m2. One that is not `watered` lies fallow.

    Beds with one `block` (not empty) stay in one set.
    """

    name: str
    length: float
    width: float
    area: float
    distance: float
    elevation: float = 0.0
    slope: float = 0.0
    branch: int = 0
    branch_start: float = 0.0
    strips: float = 1.0
    strip_width: float = np.nan
    watered: bool = True
    block: str = ""


@dataclass(frozen=True)
class Line:
    """A drip line as its data sheet gives it, in base units; NaN where a limit is unknown."""

    name: str
    kind: str
    emitter_spacing: float
    emitter_flow: float
    rated_pressure: float
    diameter: float
    exponent: float = 0.5
    variation: float = 0.0
    min_pressure: float = 0.0
    max_pressure: float = np.nan


@dataclass(frozen=True)
class Pipe:
    """A pipe for mains or manifolds; inside diameter in m."""

    name: str
    diameter: float


@dataclass(frozen=True)
class Regulator:
    """A regulator by its name on the price list, and the head assembly with it in place."""

    name: str
    head: HeadParts


@dataclass(frozen=True)
class Wanted:
    """What every set is held to (see `Limits`), and the beds between them.

    `depth` (mm) gross of one watering, `hours` (s) in which all sets of a watering must be done,
    `most_lines` side by side; `plantings` to be served, all that are described
    where none is named, by a soil in which an emitter wets `wetted_width` (m). `stations` of the
    timer, as far as they are known: sets beyond them are opened by hand.
    """

    depth: float
    hours: float
    wetted_width: float
    share: float = 0.9
    uniformity: float = 0.85
    velocity: float = 1.524
    supply_share: float = 0.75
    most_pressure: float = np.nan
    plantings: tuple[str, ...] = ()
    row_gap: float = np.nan
    most_lines: int = 5
    stations: int | None = None


@dataclass(frozen=True)
class Buying:
    """How parts are counted and what they cost; `rules` name pipes and a regulator of the lists
    where the design's own is to stand. `time_limit` (s) is for one purchase; those of gardens take
    some hundredths of it, so that a busy machine buys the same."""

    rules: Sequence[Rule]
    offers: Sequence[Offer]
    end_allowance: float = 0.0
    trimming: float = 0.05
    turns: int = 0
    time_limit: float = 2.0
    stock: Sequence[Stock] = ()
    orders: Sequence[Order] = ()


@dataclass(frozen=True)
class Frame:
    """What all beds of a design share: main, manifold (None: lines straight off the main) and
    regulator, by their places in the lists."""

    main: int
    manifold: int | None
    regulator: int


@dataclass(frozen=True)
class Design:
    """The line and number of lines of each width of bed (in the order of `Question.widths`)."""

    options: tuple[Option, ...]
    frame: Frame


@dataclass(frozen=True)
class Coverage:
    """How an option lies in the beds of a width: inset and farthest planted point (m)."""

    inset: float
    farthest: float
    missed: tuple[str, ...]


@dataclass(frozen=True)
class Question:
    """All of it. `flow` (m3/s) and `pressure` (Pa) are the supply's, before the head assembly."""

    beds: Sequence[Bed]
    lines: Sequence[Line]
    mains: Sequence[Pipe]
    manifolds: Sequence[Pipe]
    regulators: Sequence[Regulator]
    flow: Floats
    pressure: Floats
    wanted: Wanted
    buying: Buying
    _covered: dict[tuple[int, Option], Coverage] = field(default_factory=dict, compare=False)

    def __post_init__(self) -> None:
        for name in ("beds", "lines", "mains", "regulators"):
            if not getattr(self, name):
                raise InputError(name, "none is given: there is nothing to design with")
        if not any(bed.watered for bed in self.beds):
            raise InputError("beds", "none is watered")

    @cached_property
    def widths(self) -> tuple[float, ...]:
        return tuple(sorted({round(bed.width, 6) for bed in self.beds}))

    @cached_property
    def width_of(self) -> tuple[int, ...]:
        """The place of each bed's width in `widths`."""
        return tuple(self.widths.index(round(bed.width, 6)) for bed in self.beds)

    @cached_property
    def open_flow(self) -> float:
        return float(self.flow[-1])

    @cached_property
    def frames(self) -> tuple[Frame, ...]:
        """A manifold is never wider than the main that feeds it."""
        return tuple(
            Frame(main, manifold, regulator)
            for main in range(len(self.mains))
            for manifold in (range(len(self.manifolds)) if self.manifolds else (None,))
            for regulator in range(len(self.regulators))
            if manifold is None
            or self.manifolds[manifold].diameter
            <= self.mains[main].diameter * (1 + line_layout.SLACK)
        )

    def options(self, width: int) -> list[Option]:
        """Every line with every number of lines that serves all that grows in beds of a width."""
        return [
            (line, number)
            for line in range(len(self.lines))
            for number in range(1, self.wanted.most_lines + 1)
            if not self.coverage(width, (line, number)).missed
        ]

    @property
    def unserved(self) -> list[Bed]:
        """A bed of each width that no lines serve."""
        return [self.beds[self.width_of.index(width)] for width in range(len(self.widths))
                if not self.options(width)]  # fmt: skip

    def coverage(self, width: int, option: Option) -> Coverage:
        """How far the planted points of the beds of a width are from the lines of an option."""
        key = (width, option)
        if key not in self._covered:
            self._cover(width, option[0])
        return self._covered[key]

    def _cover(self, width: int, line: int) -> None:
        wanted, most = self.wanted, self.wanted.most_lines
        reach = float(line_layout.band_reach(wanted.wetted_width, self.lines[line].emitter_spacing))
        across = {
            (bed.strips, bed.strip_width)
            for bed, own in zip(self.beds, self.width_of, strict=True)
            if own == width
        }
        found: list[Coverage] = []
        for strips, strip_width in sorted(across, key=str):
            top = self.widths[width]
            named = wanted.plantings
            if named and not np.isnan(strip_width):
                named = (*named, line_layout.STRIPS)
            plantings = line_layout.chosen_plantings(named, top, strips, strip_width)
            section = Section(top, plantings, wanted.row_gap, strips, strip_width)
            for place, (inset, farthest) in enumerate(
                line_layout.compare_layouts(section, reach, most, INSET_STEP)
            ):
                missed = tuple(
                    planting
                    for planting, distance in zip(plantings, farthest, strict=True)
                    if distance > reach + line_layout.SLACK
                )
                this = Coverage(inset, float(farthest.max()), missed)
                if place < len(found):
                    found[place] = max(found[place], this, key=lambda c: c.farthest)
                else:
                    found.append(this)
        for number, coverage in enumerate(found, start=1):
            self._covered[width, (line, number)] = coverage
