"""Bed list and plan as days: what the balance gets, against hand counts."""

from __future__ import annotations

import numpy as np
import pytest

from xlfuncs.calculations.water.bed_crop_use import ROOTS_AT_FIRST, Beds, Planting, Roots, bed_days

DAYS = np.arange(np.datetime64("2026-04-06"), np.datetime64("2026-10-01"))
NAN = np.nan


def _beds(plan, roots=None, **changes):
    names = np.array(["A", "B"], dtype=object)
    values = {
        "bed": names, "on": np.ones(2, dtype=bool), "capacity": np.array([100.0, 150.0]),
        "rain_share": np.array([1.0, 0.0]),
        "use_share": np.array([1.0, 0.8]), "start": np.full(2, 0.3), "efficiency": np.full(2, 0.9),
    } | changes  # fmt: skip
    rows = len(plan.bed)
    wetted = np.array([0.5 if bed == "B" else 1.0 for bed in plan.bed])
    roots = roots or Roots(np.full(rows, 0.6), np.full(rows, 0.4), wetted)
    return bed_days(Beds(**values), plan, roots, DAYS)  # fmt: skip


def _plan(*rows):
    bed, start, end = zip(*rows, strict=True) if rows else ((), (), ())
    return Planting(
        np.array(bed, dtype=object), np.array(start, "M8[D]"), np.array(end, "M8[D]"),
        np.full((len(rows), 4), [10.0, 20.0, 30.0, 10.0]),
        np.full((len(rows), 3), [0.5, 1.0, 0.8]),
    )  # fmt: skip


def test_roots_grow_from_planting_to_mid_season():
    """FAO-56 annex 8; 100 mm a metre, 0.15 m at first and 0.6 m from day 30 of 70 on."""
    days = _beds(_plan(("A", "2026-04-10", "2026-06-19")))
    planted = 4
    assert days.age[planted, 0] == 0.0
    assert days.available[planted, 0] == pytest.approx(100 * ROOTS_AT_FIRST)
    assert days.available[planted + 20, 0] == pytest.approx(100 * (0.15 + 0.45 / 2))
    assert days.available[planted + 30, 0] == pytest.approx(60.0)
    assert np.isnan(days.age[planted - 1, 0]) and days.use[planted - 1, 0] == 0.0


def test_cover_and_wetted_share_count_once():
    days = _beds(_plan(("B", "2026-04-06", "2026-06-15")))
    assert days.use[35, 1] == pytest.approx(0.8)
    assert days.available[35, 1] == pytest.approx(150 * 0.5 * 0.6)
    assert days.rain_share.tolist() == [1.0, 0.0]


def test_a_second_crop_starts_with_young_roots():
    days = _beds(_plan(("A", "2026-04-06", "2026-06-15"), ("A", "2026-06-20", "2026-08-29")))
    second = int((np.datetime64("2026-06-20") - DAYS[0]).astype(int))
    assert days.age[second, 0] == 0.0
    assert days.available[second, 0] == pytest.approx(15.0)
    assert days.use[second - 1, 0] == 0.0


def test_a_bed_off_and_an_empty_plan_use_nothing():
    off = _beds(_plan(("A", "2026-04-06", "2026-06-15")), on=np.array([False, True]))
    assert not off.use.any()
    assert not _beds(_plan()).use.any()
