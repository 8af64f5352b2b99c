"""Which number of drip lines, and which inset, serves everything that is to grow in a bed."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from xlfuncs.calculations.layout.line_layout import (
    PLANTINGS,
    SLACK,
    STRIPS,
    farthest_planted,
    first_line,
)
from xlfuncs.errors import InputError

Array = npt.NDArray[np.float64]

MOST_INSETS = 2000


@dataclass(frozen=True)
class Bed:
    """A bed's width and what is planted in it; lengths in m, NaN for what was left out."""

    width: float
    plantings: tuple[str, ...]
    row_gap: float
    strips: float
    strip_width: float

    def farthest(self, laterals: int, insets: Array) -> Array:
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
        raise InputError(
            "strip_width",
            f"{strips:g} strips of {strip_width:.4g} m do not fit into a bed of {width:.4g} m",
        )
    return chosen


def candidate_insets(width: float, laterals: int, step: float) -> Array:
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
) -> list[tuple[float, Array]]:
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
        np.arange(1.0, most_laterals + 1),
        np.array([inset for inset, _ in compared]),
        *distances.values(),
        np.full(most_laterals, reach),
        np.array(words, dtype=object),
        fewest,
    )
