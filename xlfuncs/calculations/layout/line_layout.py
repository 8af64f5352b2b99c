"""Drip lines across a bed: where they lie, and how far the planted points are from them.

The cross-section of a bed is the stretch 0..width (m). Lines lie symmetrically: the outermost an
inset from each edge, the rest evenly between; a single line lies in the middle, or at the inset
where one is given. The functions broadcast and take NaN for what was left out.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from xlfuncs.calculations.arrays import Floats
from xlfuncs.errors import InputError

SINGLE_ROW, TWIN_ROWS, ZIGZAG = "single row", "twin rows", "zigzag"
STRIPS, BROAD_COVER = "strips", "broad cover"
PLANTINGS = (SINGLE_ROW, TWIN_ROWS, ZIGZAG, STRIPS, BROAD_COVER)

# Between the two rows as a share of the bed: common practice, no published source.
TWIN_GAP, ZIGZAG_GAP = 1 / 2, 1 / 3
SLACK = 1e-9  # m; a point at the very edge of the wetted band counts as within


def first_line(width: Any, laterals: Any, inset: Any) -> Any:
    """Where the first line lies (m): the inset, by default half the spacing of even lines."""
    return np.where(np.isnan(inset), np.divide(width, 2.0 * np.asarray(laterals)), inset)


def line_spacing(width: Any, laterals: Any, inset: Any) -> Any:
    """Distance (m) from line to line; 0 for a single line."""
    n = np.asarray(laterals, dtype=np.float64)
    gaps = np.maximum(n - 1, 1)
    return np.where(n > 1, (width - 2 * first_line(width, n, inset)) / gaps, 0.0)


def line_offsets(width: float, laterals: float, inset: float) -> Any:
    """Positions (m) of all lines of one bed, from one edge of it."""
    start = first_line(width, laterals, inset)
    return start + line_spacing(width, laterals, inset) * np.arange(int(laterals))


class Lines:
    """The lines of one or many beds, asked how far points are and how much they wet."""

    def __init__(self, width: Any, laterals: Any, inset: Any) -> None:
        self.last = np.asarray(laterals, dtype=np.float64) - 1
        self.start = first_line(width, laterals, inset)
        self.spacing = line_spacing(width, laterals, inset)
        self._divisor = np.where(self.spacing > 0, self.spacing, 1.0)

    def distance(self, point: Any) -> Any:
        """From a point (m) to the nearest line (m)."""
        return np.abs(point - self._position(self._nearest(point)))

    def farthest(self, left: Any, right: Any) -> Any:
        """The longest distance to the nearest line of any point from `left` to `right` (m)."""
        ends = np.maximum(self.distance(left), self.distance(right))
        first_gap = np.ceil((left - self.start) / self._divisor - 0.5)
        last_gap = np.floor((right - self.start) / self._divisor - 0.5)
        middle = np.maximum(first_gap, 0) <= np.minimum(last_gap, self.last - 1)
        return np.where(middle, np.maximum(ends, self.spacing / 2), ends)

    def wetted(self, left: Any, right: Any, reach: Any) -> Any:
        """How much (m) of the stretch from `left` to `right` lies within reach of a line."""
        return self._wetted_up_to(right, reach) - self._wetted_up_to(left, reach)

    def _wetted_up_to(self, point: Any, reach: Any) -> Any:
        nearest = self._nearest(point)
        inner = np.minimum(reach, self.spacing / 2)
        before = np.where(nearest > 0, inner, reach)
        after = np.where(nearest < self.last, inner, reach)
        earlier = np.where(nearest > 0, reach + (2 * nearest - 1) * inner, 0.0)
        own = np.clip(point - self._position(nearest), -before, after) + before
        return earlier + own

    def _nearest(self, point: Any) -> Any:
        number = np.floor((point - self.start) / self._divisor + 0.5)
        return np.clip(number, 0, self.last)

    def _position(self, number: Any) -> Any:
        return self.start + number * self.spacing


def _to_rows(lines: Lines, width: Any, planting: Any, row_gap: Any) -> tuple[Any, Any]:
    """From each of two plant rows to the nearest line (m); a single row, in the middle, is both."""
    planting = np.asarray(planting)
    usual = np.where(planting == ZIGZAG, ZIGZAG_GAP, TWIN_GAP) * width
    gap = np.where(np.isnan(row_gap), usual, row_gap)
    aside = np.where(planting == SINGLE_ROW, 0.0, gap / 2)
    middle = np.divide(width, 2.0)
    return lines.distance(middle - aside), lines.distance(middle + aside)


def _strip_edges(width: Any, strips: Any, strip_width: Any) -> Iterator[tuple[Any, Any, Any]]:
    """Left and right edge (m) of each strip, and where that many strips exist at all."""
    pitch = np.divide(width, strips)
    half = np.asarray(strip_width) / 2
    for i in range(int(np.nanmax(strips, initial=1))):
        middle = (i + 0.5) * pitch
        yield middle - half, middle + half, i < np.asarray(strips)


def farthest_planted(
    width: Any, laterals: Any, inset: Any, planting: Any, row_gap: Any, strips: Any,
    strip_width: Any,
) -> Any:  # fmt: skip
    """How far (m) the farthest planted point of a bed lies from a line, across the bed.

    `single row` runs down the middle; `twin rows` and `zigzag` (staggered twin rows) lie
    `row_gap` apart about it; `strips` of `strip_width` share the width evenly; `broad cover` is
    planted from edge to edge.
    """
    lines = Lines(width, laterals, inset)
    rows = np.maximum(*_to_rows(lines, width, planting, row_gap))
    in_strips: Any = 0.0
    if np.any(np.asarray(planting) == STRIPS):
        for left, right, exists in _strip_edges(width, strips, strip_width):
            in_strips = np.where(
                exists, np.maximum(in_strips, lines.farthest(left, right)), in_strips
            )
    return _by_planting(planting, rows, in_strips, lines.farthest(0.0, width))


def covered_share(
    width: Any, laterals: Any, reach: Any, inset: Any, planting: Any, row_gap: Any, strips: Any,
    strip_width: Any,
) -> Any:  # fmt: skip
    """Share of what is planted (of its rows, or of its width) within `reach` (m) of a line."""
    lines = Lines(width, laterals, inset)
    to_rows = _to_rows(lines, width, planting, row_gap)
    rows = sum(np.where(distance <= reach + SLACK, 0.5, 0.0) for distance in to_rows)
    in_strips: Any = 0.0
    if np.any(np.asarray(planting) == STRIPS):
        for left, right, exists in _strip_edges(width, strips, strip_width):
            in_strips = in_strips + np.where(exists, lines.wetted(left, right, reach), 0.0)
        in_strips = in_strips / (np.asarray(strips) * strip_width)
    broad = lines.wetted(0.0, width, reach) / width
    return np.minimum(_by_planting(planting, rows, in_strips, broad), 1.0)


def _by_planting(planting: Any, rows: Any, in_strips: Any, broad: Any) -> Any:
    planting = np.asarray(planting)
    return np.where(planting == BROAD_COVER, broad, np.where(planting == STRIPS, in_strips, rows))


def band_reach(wetted_width: Any, emitter_spacing: Any) -> Any:
    """Half the width (m) of the band that is wet all along a line of emitters.

    Each emitter wets a circle of diameter `wetted_width`; circles `emitter_spacing` apart overlap
    in a band of half width sqrt((w/2)² - (s/2)²), none where they do not meet. Without a spacing
    (NaN) the band is as wide as the circles.
    """
    spacing = np.where(np.isnan(emitter_spacing), 0.0, emitter_spacing)
    return np.sqrt(np.maximum(np.square(wetted_width) - np.square(spacing), 0.0)) / 2


# --- which number of drip lines, and which inset, serves everything that is to grow in a bed ---

MOST_INSETS = 2000


@dataclass(frozen=True)
class Bed:
    """A bed's width and what is planted in it; lengths in m, NaN for what was left out."""

    width: float
    plantings: tuple[str, ...]
    row_gap: float
    strips: float
    strip_width: float

    def farthest(self, laterals: int, insets: Floats) -> Floats:
        """One row a planting, one column an inset: how far (m) its farthest point is."""
        rows = [
            farthest_planted(
                self.width, laterals, insets, planting, self.row_gap, self.strips, self.strip_width
            )
            for planting in self.plantings
        ]
        return np.array(rows)


def chosen_plantings(
    plantings: Sequence[str], width: float, strips: float, strip_width: float
) -> tuple[str, ...]:
    """The plantings in their usual order; all that are described where none is named."""
    described = [p for p in PLANTINGS if p != STRIPS or not np.isnan(strip_width)]
    chosen = tuple(p for p in PLANTINGS if p in plantings) or tuple(described)
    if STRIPS in chosen and np.isnan(strip_width):
        raise InputError("strip_width", "is needed where strips are to be served")
    if STRIPS in chosen and strips * strip_width > width + SLACK:
        words = f"{strips:g} strips of {strip_width:.4g} m do not fit into a bed of {width:.4g} m"
        raise InputError("strip_width", words)
    return chosen


def candidate_insets(width: float, laterals: int, step: float) -> Floats:
    """Insets (m) worth trying, the even one first, the others nearest to it first."""
    even = float(first_line(width, laterals, np.nan))
    if laterals == 1:
        return np.array([even])
    step = max(step, width / MOST_INSETS)
    others = np.arange(0.0, width / 2 - step / 2, step)
    nearest_first = others[np.argsort(np.abs(others - even), kind="stable")]
    return np.concatenate([[even], nearest_first])


def compare_layouts(
    bed: Bed, reach: float, most_laterals: int, step: float
) -> list[tuple[float, Floats]]:
    """For 1, 2, ... lines the inset (m) and how far (m) each planting's farthest point is then.

    The even inset is kept where it serves every planting; else it is the inset, in steps, that
    brings the worst served planting nearest.
    """
    found = []
    for laterals in range(1, most_laterals + 1):
        insets = candidate_insets(bed.width, laterals, step)
        farthest = bed.farthest(laterals, insets)
        worst = farthest.max(axis=0)
        best = 0 if worst[0] <= reach + SLACK else int(np.argmin(worst))
        found.append((float(insets[best]), farthest[:, best]))
    return found


def layout_table(bed: Bed, reach: float, most_laterals: int, step: float) -> tuple[object, ...]:
    """The comparison as columns: laterals, inset, one distance a planting (NaN where it is not
    asked for), the words on what is not served, and whether it is the fewest lines that serve
    all."""
    compared = compare_layouts(bed, reach, most_laterals, step)
    distances = {planting: np.full(most_laterals, np.nan) for planting in PLANTINGS}
    words, serves_all = [], []
    for i, (_, farthest) in enumerate(compared):
        missed = []
        for planting, distance in zip(bed.plantings, farthest, strict=True):
            distances[planting][i] = distance
            if distance > reach + SLACK:
                missed.append(planting)
        serves_all.append(not missed)
        words.append("ok" if not missed else "too far for " + ", ".join(missed))
    fewest = np.zeros(most_laterals, dtype=bool)
    if any(serves_all):
        fewest[serves_all.index(True)] = True
    return (
        np.arange(1.0, most_laterals + 1), np.array([inset for inset, _ in compared]),
        *distances.values(), np.full(most_laterals, reach), np.array(words, dtype=object), fewest,
    )  # fmt: skip
