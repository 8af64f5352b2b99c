"""A workbook's tables in Python: what was typed and what was computed, with units."""

from __future__ import annotations

from pathlib import Path

import pytest

import xlfuncs
from tests.made_once import made_once
from workbook_template.build import demo_inputs


def test_tables_with_units_and_computed_columns(tmp_path: Path) -> None:
    path = tmp_path / "farm.xlsx"
    built = made_once(path, "us", demo_inputs("us"))
    garden = xlfuncs.read_workbook(path)
    beds = garden["Beds"]
    assert garden.system == "us" and len(beds) == len(demo_inputs("us").tables["Beds"])
    assert (
        beds.attrs["units"]["length"] == "ft" and beds.attrs["units"]["Planted area (ft²)"] == "ft²"
    )
    area = sum(value for value in beds["Planted area (ft²)"] if isinstance(value, float))
    assert area == pytest.approx(garden.names["planted_area"])
    assert garden.names["planted_area"] == built.named("planted_area")
    inputs_too = {"Beds", "Lines", "BedPlan"}
    assert inputs_too <= set(garden) <= set(built.places)
