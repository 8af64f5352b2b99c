"""The Python and pandas face: scalars, columns, Series, frames, warnings."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
import pytest

import xlfuncs
from xlfuncs.errors import CellError, InputError, InputWarning, UnitError

INCH_ON_600 = 600 * 144 / 231  # gallons, NIST Handbook 44


def test_a_scalar_gives_a_float_and_raises_in_words() -> None:
    assert type(xlfuncs.run_minutes(600, 1, 6)) is float
    with pytest.raises(InputError, match="RUN_MINUTES: flow: must be above 0 gpm, is -1 gpm"):
        xlfuncs.run_minutes(600, 1, -1)
    with pytest.raises(UnitError, match="does not measure flow"):
        xlfuncs.run_minutes(600, 1, "2 ft")
    with pytest.raises(InputError) as caught:
        xlfuncs.run_minutes(600, 1, 0)
    assert caught.value.cell_error is CellError.DIVISION


def test_arguments_by_name_and_units_by_name_only() -> None:
    assert xlfuncs.run_minutes(flow=6, area=600, depth=1) == pytest.approx(INCH_ON_600 / 6)
    assert xlfuncs.run_minutes(100, 10, 5, units="metric") == pytest.approx(200)
    with pytest.raises(TypeError):
        xlfuncs.run_minutes(600, 1, 6, 1, 1, "us")
    with pytest.raises(TypeError):
        xlfuncs.run_minutes(600, 1, flows=6)


def test_a_blank_is_nan() -> None:
    assert math.isnan(xlfuncs.run_minutes(600, 1, None))
    assert math.isnan(xlfuncs.run_minutes(600, 1, float("nan")))


def test_a_series_keeps_its_index_and_one_warning_counts_bad_rows() -> None:
    area = pd.Series([600.0, np.nan, -1.0, 1200.0], index=list("abcd"))
    with pytest.warns(InputWarning, match="1 of 4 rows") as caught:
        result = xlfuncs.run_minutes(area, 1, 6)
    assert len(caught) == 1
    assert list(result.index) == list("abcd") and result.name == "minutes"
    assert result.isna().tolist() == [False, True, True, False]
    assert result["d"] == pytest.approx(2 * INCH_ON_600 / 6)


@pytest.mark.parametrize("dtype", ["Float64", "float32", "int64", "string", "object"])
def test_any_dtype(dtype: str) -> None:
    column = pd.Series([600, 1200], dtype="int64").astype(dtype)
    assert xlfuncs.run_minutes(column, 1, 6).tolist() == pytest.approx(
        [INCH_ON_600 / 6, INCH_ON_600 / 3]
    )


def test_pandas_missing_values_are_blanks() -> None:
    column = pd.Series([600, None], dtype="Int64")
    assert xlfuncs.run_minutes(column, 1, 6).isna().tolist() == [False, True]


def test_lists_and_arrays_give_arrays() -> None:
    result = xlfuncs.bed_area([25, "22 ft 9 in"], [48, 48])
    assert isinstance(result, np.ndarray)
    assert result.tolist() == pytest.approx([100, 91])


def test_an_assigned_column_is_one_call() -> None:
    beds = pd.DataFrame({"length": [48.0, 44.0], "width": [30.0, 30.0], "strips": [2, 1]})
    beds["area"] = xlfuncs.bed_area(beds.length, beds.width, beds.strips)
    assert beds.area.tolist() == pytest.approx([240, 110])


def test_unknown_functions_are_attribute_errors_with_a_hint() -> None:
    with pytest.raises(AttributeError, match="did you mean BED_AREA"):
        _ = xlfuncs.bed_areas
    assert "run_minutes" in dir(xlfuncs)
    assert "Source: by definition" in xlfuncs.run_minutes.__doc__


@pytest.mark.parametrize("dtype", ["string", "object", "category", "Float64"])
def test_missing_values_of_every_kind_of_column_are_blanks(dtype: str) -> None:
    first: object = 600.0 if dtype == "Float64" else "600 ft2"
    areas = pd.Series([first, None], dtype=dtype)
    if dtype == "object":
        areas[1] = pd.NA
    minutes = xlfuncs.run_minutes(areas, 1, 6)
    assert minutes[0] == pytest.approx(xlfuncs.run_minutes(600, 1, 6))
    assert math.isnan(minutes[1])
