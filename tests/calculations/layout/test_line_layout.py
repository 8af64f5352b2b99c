"""Lines across a bed against brute force: every point of a fine grid asked for its nearest line."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from xlfuncs.calculations.layout.line_layout import (
    BROAD_COVER,
    PLANTINGS,
    SINGLE_ROW,
    STRIPS,
    TWIN_ROWS,
    ZIGZAG,
    Bed,
    band_reach,
    compare_layouts,
    covered_share,
    farthest_planted,
    layout_table,
    line_offsets,
)

GRID = 20001

widths = st.floats(0.2, 5.0)
counts = st.integers(1, 9)
inset_shares = st.one_of(st.just(math.nan), st.floats(0.0, 0.49))


def planted_points(
    planting: str, width: float, gap: float, strips: int, strip_width: float
) -> npt.NDArray[np.float64]:
    """The planted points of a bed by plain words, on a fine grid where they are areas."""
    middle = width / 2
    if planting == SINGLE_ROW:
        return np.array([middle])
    if planting in (TWIN_ROWS, ZIGZAG):
        return np.array([middle - gap / 2, middle + gap / 2])
    if planting == BROAD_COVER:
        return np.linspace(0, width, GRID)
    pitch = width / strips
    return np.concatenate(
        [
            np.linspace(-strip_width / 2, strip_width / 2, GRID // strips) + (i + 0.5) * pitch
            for i in range(strips)
        ]
    )


def distances(points: npt.NDArray[np.float64], lines: npt.NDArray[np.float64]) -> npt.NDArray:
    return np.abs(points[:, None] - lines[None, :]).min(axis=1)


@settings(deadline=None)
@given(
    widths, counts, inset_shares, st.sampled_from(PLANTINGS), st.floats(0, 1), st.integers(1, 5),
    st.floats(0.05, 0.99),
)  # fmt: skip
def test_farthest_point_is_what_a_grid_finds(
    width: float, laterals: int, inset: float, planting: str, gap: float, strips: int, part: float
) -> None:
    strip_width = part * width / strips
    points = planted_points(planting, width, gap * width, strips, strip_width)
    lines = line_offsets(width, laterals, inset * width)
    wanted = distances(points, lines).max()
    got = farthest_planted(
        width, laterals, inset * width, planting, gap * width, strips, strip_width
    )
    step = width / (GRID // strips - 1)
    assert wanted - 1e-9 <= float(got) <= wanted + step


@settings(deadline=None)
@given(
    widths, counts, inset_shares, st.sampled_from((BROAD_COVER, STRIPS)), st.integers(1, 5),
    st.floats(0.05, 0.99), st.floats(0.0, 1.0),
)  # fmt: skip
def test_covered_share_is_what_a_grid_finds(
    width: float, laterals: int, inset: float, planting: str, strips: int, part: float, reach: float
) -> None:
    strip_width = part * width / strips
    points = planted_points(planting, width, 0.0, strips, strip_width)
    lines = line_offsets(width, laterals, inset * width)
    wanted = np.mean(distances(points, lines) <= reach)
    got = covered_share(
        width, laterals, reach, inset * width, planting, math.nan, strips, strip_width
    )
    assert float(got) == pytest.approx(wanted, abs=4 * (laterals + strips) * strips / GRID)


@pytest.mark.parametrize(("reach", "share"), [(0.05, 0.0), (0.125, 1.0), (0.2, 1.0)])
def test_rows_are_covered_or_not(reach: float, share: float) -> None:
    """Two even lines in 1 m lie at 0.25 and 0.75; rows 0.25 apart are 0.125 m from them."""
    got = covered_share(1.0, 2, reach, math.nan, TWIN_ROWS, 0.25, 1, math.nan)
    assert float(got) == share


@given(widths, counts, inset_shares)
def test_lines_lie_symmetrically_and_in_the_bed(width: float, laterals: int, inset: float) -> None:
    lines = line_offsets(width, laterals, inset * width)
    assert len(lines) == laterals
    assert lines.min() >= -1e-12
    assert lines.max() <= width + 1e-12
    if laterals > 1 or math.isnan(inset):
        assert lines + lines[::-1] == pytest.approx(width)


def test_a_single_line_lies_where_it_is_asked_to() -> None:
    assert line_offsets(0.75, 1, 0.2).tolist() == [0.2]


def test_even_lines_share_the_bed() -> None:
    """The default inset gives every line the same width of bed, half of it on each side."""
    lines = line_offsets(1.2, 4, math.nan)
    assert np.diff(lines) == pytest.approx(0.3)
    assert lines[0] == pytest.approx(0.15)


def test_band_of_overlapping_circles_against_a_grid() -> None:
    """At every place along the line the band must be wet to the reach, and nowhere for less."""
    wetted, spacing = 0.4, 0.25
    along = np.linspace(0, spacing, 2001)
    to_emitter = np.minimum(along, spacing - along)
    wet_half_width = np.sqrt((wetted / 2) ** 2 - to_emitter**2)
    assert float(band_reach(wetted, spacing)) == pytest.approx(wet_half_width.min(), rel=1e-6)
    assert float(band_reach(0.2, 0.3)) == 0.0
    assert float(band_reach(0.2, math.nan)) == pytest.approx(0.1)


def test_columns_give_what_single_beds_give() -> None:
    width = np.array([0.75, 1.2, 1.5, 0.75])
    laterals = np.array([1.0, 2.0, 4.0, 2.0])
    inset = np.array([math.nan, 0.2, math.nan, 0.1])
    planting = np.array([SINGLE_ROW, STRIPS, BROAD_COVER, ZIGZAG], dtype=object)
    strips, strip_width = np.array([1.0, 2.0, 1.0, 1.0]), np.array([math.nan, 0.5, 1.0, math.nan])
    rest = (planting, np.full(4, math.nan), strips, strip_width)
    column = farthest_planted(width, laterals, inset, *rest)
    for i in range(4):
        one = farthest_planted(
            float(width[i]), float(laterals[i]), float(inset[i]), *(r[i] for r in rest)
        )
        assert column[i] == pytest.approx(float(one))


@settings(deadline=None)
@given(widths, st.floats(0.05, 0.6), st.sets(st.sampled_from(PLANTINGS[:3]), min_size=1))
def test_the_named_layout_serves_and_fewer_even_lines_do_not_find_better(
    width: float, reach: float, plantings: set[str]
) -> None:
    """Brute force over a finer grid of insets finds no inset that serves where we say none."""
    step = width / 150
    bed = Bed(width, tuple(sorted(plantings)), math.nan, 1.0, math.nan)
    for n, (inset, farthest) in enumerate(compare_layouts(bed, reach, 4, step), start=1):
        lines = line_offsets(width, n, inset)
        for planting, ours in zip(bed.plantings, farthest, strict=True):
            gap = width / 3 if planting == ZIGZAG else width / 2
            points = planted_points(planting, width, gap, 1, math.nan)
            assert ours == pytest.approx(distances(points, lines).max(), abs=1e-9)
        if farthest.max() > reach + 1e-9 and n > 1:
            finer = [
                max(
                    distances(
                        planted_points(p, width, width / (3 if p == ZIGZAG else 2), 1, math.nan),
                        line_offsets(width, n, float(a)),
                    ).max()
                    for p in bed.plantings
                )
                for a in np.linspace(0, 0.499 * width, 300)
            ]
            assert min(finer) >= farthest.max() - step


def test_what_a_layout_misses_is_named() -> None:
    """Half of 0.8 m is 0.4 m from one line in the middle; two at 0.2 m from the sides reach all."""
    bed = Bed(0.8, (SINGLE_ROW, BROAD_COVER), math.nan, 1.0, math.nan)
    *_, words, fewest = layout_table(bed, 0.2, 3, 0.1)
    assert words.tolist() == ["too far for broad cover", "ok", "ok"]
    assert fewest.tolist() == [False, True, False]
