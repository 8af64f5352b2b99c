"""The functions on beds as a sheet calls them: blanks, limits, words, rows of the plan."""

from __future__ import annotations

import datetime as dt
import math

import numpy as np
import pytest

import xlfuncs
from xlfuncs.errors import CellError, InputError
from xlfuncs.hosts.cells import call_from_cells


def test_a_blank_inset_or_gap_takes_the_even_one() -> None:
    with_blanks = call_from_cells("COVERAGE", [30.0, 2.0, None, "twin rows", None])
    assert with_blanks == pytest.approx(xlfuncs.coverage(30, 2, planting="twin rows", inset=7.5))
    column = call_from_cells("COVERAGE", [[[30.0], [30.0]], 2.0, [[None], [3.0]]])
    assert [row[0] for row in column] == pytest.approx([7.5, 12.0])


@pytest.mark.parametrize(
    ("args", "words"),
    [
        ((30, 2, 16), "inset: must be at most half the width"),
        ((30, 1, 31), "inset: must be at most half the width"),
        ((30, 2, None, "strips"), "strip_width: is needed"),
        ((30, 2, None, "strips", None, 3, 11), "strip_width: times strips is wider"),
        ((30, 2, None, "twin rows", 31), "row_gap: must be at most"),
        ((30, 0), "laterals: must be at least 1"),
        ((30, 2, None, "rings"), "planting: must be one of"),
    ],
)
def test_what_does_not_fit_into_the_bed_is_refused(args: tuple[object, ...], words: str) -> None:
    with pytest.raises(InputError, match=words):
        xlfuncs.coverage(*args)
    assert words.split(":")[1].strip() in xlfuncs.input_check("COVERAGE", *args)


def test_one_bad_row_leaves_the_others_alone() -> None:
    column = call_from_cells("COVERED_SHARE", [[[30.0], [30.0]], 2.0, 12.0, [[16.0], [None]]])
    assert column == [[CellError.NUMBER], [pytest.approx(0.8)]]


def test_layouts_serve_only_what_is_asked_for() -> None:
    one = xlfuncs.line_layouts(30, 12, ["single row"])
    assert one["fewest"].tolist()[:2] == [True, False]
    assert one["words"][0] == "ok"
    assert math.isnan(one["broad_cover"][0])
    with pytest.raises(InputError, match="strip_width: is needed"):
        xlfuncs.line_layouts(30, 12, ["strips"])
    with pytest.raises(InputError, match="do not fit"):
        xlfuncs.line_layouts(30, 12, ["strips"], strips=3, strip_width=11)


def test_blank_cells_among_the_plantings_are_passed_over() -> None:
    rows = call_from_cells("LINE_LAYOUTS", [30.0, 12.0, [["twin rows"], [None]]])
    assert [row[8] for row in rows][1] == "ok"


def test_no_layout_serves_where_the_bands_do_not_join() -> None:
    table = xlfuncs.line_layouts(30, 8, emitter_spacing=12)
    assert not table["fewest"].any()
    assert (table["reach"] == 0).all()


def test_a_season_cuts_the_days_of_the_plan() -> None:
    day = dt.date
    plan = (["A", None, "B"], [day(2026, 4, 1), None, day(2026, 5, 20)],
            [day(2026, 9, 30), None, day(2026, 5, 25)])  # fmt: skip
    days = xlfuncs.bed_days(["A", "B"], day(2026, 5, 9), *plan, season_start=day(2026, 5, 11))
    assert days["days"].tolist() == [21, 6]
    out = xlfuncs.bed_days(["A", "B"], day(2026, 5, 9), *plan, season_end=day(2026, 4, 30))
    assert out["days"].tolist() == [0, 0]
    with pytest.raises(InputError, match="before the start of the season"):
        xlfuncs.bed_days(["A"], day(2026, 5, 9), *plan, season_start=day(2026, 5, 11),
                         season_end=day(2026, 5, 10))  # fmt: skip


def test_a_faulty_row_of_the_plan_is_named() -> None:
    day = dt.date(2026, 5, 1)
    with pytest.raises(InputError, match=r"plan_bed \(row 3\): 'C' is not in the bed list"):
        xlfuncs.bed_days(["A"], day, ["A", None, "C"], [day, None, day], [day, None, day])


def test_filling_over_a_fifth_of_a_run_is_doubted() -> None:
    assert "over a fifth" in xlfuncs.input_check("FILL_SHARE", 12.1, 60)
    assert xlfuncs.input_check("FILL_SHARE", 12, 60) == "ok"
    assert "is needed where the manifold" in xlfuncs.input_check("FILL_MINUTES", 5, 100, 4, 0.6, 9)


def test_metric_and_us_calls_agree() -> None:
    us = xlfuncs.fill_minutes(6, 100, 4, 0.62, 10, 0.82)
    metric = xlfuncs.fill_minutes(
        6 * 3.785411784, 30.48, 4, 0.62 * 25.4, 3.048, 0.82 * 25.4, units="metric"
    )
    assert us == pytest.approx(metric)
    widths = np.array([xlfuncs.wetted_width("loam", units=u) for u in ("us", "metric")])
    assert widths[0] * 2.54 == pytest.approx(widths[1])
