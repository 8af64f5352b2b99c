"""The data files against the tables that they cite, as pyfao56 and other copies hold them."""

from __future__ import annotations

import math

import pytest

from xlfuncs.tables.garden.crops import CROPS, SOILS, published_crops, published_soils
from xlfuncs.tables.garden.this_week import MID_MONTH_DAYS, RAIN_SHARE, USE_SHARE

# Where pyfao56 names a crop otherwise: (tables 11, 12, 22).
NAMES = {
    "artichoke": ("", "artichokes", "artichokes"),
    "bean, green": ("beans green", "beans green", "beans green"),
    "beet": ("beets table",) * 3,
    "Brussels sprouts": ("crucifers", "brussel sprouts", "brussel sprouts"),
    "carrot": ("carrots",) * 3,
    "cucumber": ("cucumber", "cucumber fresh market", "cucumber fresh market"),
    "onion, dry": ("onion dry", "onions dry", "onions dry"),
    "onion, green": ("onion green", "onions green", "onoins green"),
    "pea, fresh": ("peas", "peas fresh", "peas fresh"),
    "pepper, sweet": ("sweet peppers bell",) * 3,
    "pumpkin, winter squash": ("pumpkin winter squash",) * 3,
    "radish": ("radish", "radish", "radishes"),
    "squash, zucchini": ("squash zucchini",) * 3,
    "strawberry": ("", "strawberries", "strawberries"),
    "sweet corn": ("maize sweet", "maize sweet corn fresh", "maize sweet corn"),
    "sweet melon": ("sweet melons",) * 3,
    "turnip, rutabaga": ("", "turnip rutabaga", "turnip rutabaga"),
    "watermelon": ("water melons", "watermelon", "watermelon"),
}


@pytest.mark.parametrize("crop", published_crops(), ids=lambda crop: crop["crop"])
def test_crop_is_as_in_fao56(crop):
    tables = pytest.importorskip("pyfao56.tools.tables").FAO56Tables()
    name = crop["crop"]
    in_11, in_12, in_22 = NAMES.get(name, (name, name, name))
    twelve = tables.table12[tables.table12.Crop == in_12]
    assert len(twelve) == 1
    printed = [float(twelve[key].item()) for key in ("Kcmini", "Kcmmid", "Kcmend", "hmax")]
    assert [crop[key] for key in ("kc_initial", "kc_mid", "kc_end", "height")] == printed
    roots = tables.table22[tables.table22.Crop == in_22]
    printed = [float(roots[key].item()) for key in ("Zrmax1", "Zrmax2", "pbase")]
    ours = [crop[k] for k in ("root_depth", "root_depth_greatest", "depletion_fraction")]
    assert ours == printed
    stages = [crop[f"{k}_days"] for k in ("initial", "development", "mid", "late")]
    if crop["stages_of"] is None:
        assert stages == [None] * 4
        return
    eleven = tables.table11[tables.table11.Crop == in_11]
    assert stages in eleven[["Lini", "Ldev", "Lmid", "Llate"]].astype(float).to_numpy().tolist()


# Available water in mm/m, low and high: Colorado State University fact sheet 4.707 (Andales,
# Chavez, Bauder), as in the data of the R package CropWaterBalance.
AVAILABLE = {
    "loamy sand": (70, 100),
    "sandy loam": (100, 130),
    "loam": (180, 210),
    "silt loam": (170, 210),
    "silty clay": (130, 140),
    "clay": (110, 130),
}


@pytest.mark.parametrize("soil", published_soils(), ids=lambda soil: soil["soil"])
def test_soil_holds_about_what_another_source_says(soil):
    """Table 19's water contents and the fact sheet's available water are separate measurements."""
    assert soil["wilting_point_high"] < soil["field_capacity_high"]
    middle = 500 * (
        soil["field_capacity_low"] + soil["field_capacity_high"]
        - soil["wilting_point_low"] - soil["wilting_point_high"]
    )  # fmt: skip
    if soil["soil"] in AVAILABLE:
        low, high = AVAILABLE[soil["soil"]]
        assert 0.65 * low < middle < 1.35 * high


def test_every_value_is_within_its_columns_limits():
    for table, rows in ((CROPS, published_crops()), (SOILS, published_soils())):
        for row in rows:
            assert set(row) == set(table.names)
            for column in table.columns:
                value = row[column.name]
                assert value is not None or not column.required
                if isinstance(value, float):
                    assert value >= (-math.inf if column.minimum is None else column.minimum)
                    assert value > (-math.inf if column.above is None else column.above)
                    assert value <= (math.inf if column.maximum is None else column.maximum)


def test_names_are_unique():
    for rows, key in ((published_crops(), "crop"), (published_soils(), "soil")):
        names = [row[key] for row in rows]
        assert len(set(names)) == len(names)


def test_no_rain_under_cover():
    assert RAIN_SHARE == {"open": 1.0, "plastic mulch": 0.0, "tunnel": 0.0}


def test_what_covers_leave_of_the_use():
    """Yaghi, Arslan and Naoum 2013 (abstract): cucumber under black plastic 57.9 t/ha at 0.238
    t/ha/mm, on bare ground 44.1 at 0.153. A glasshouse: 17.6 of 27.6 mm (Amiri et al. 2018), less
    than the share that is kept for a tunnel, which errs on the wet side."""
    assert USE_SHARE["plastic mulch"] == pytest.approx((57.9 / 0.238) / (44.1 / 0.153), abs=0.01)
    assert 17.6 / 27.6 < USE_SHARE["tunnel"] < USE_SHARE["open"] == 1.0


def test_mid_months_are_the_fifteenth():
    """Counted on the calendar of a common year."""
    import datetime

    days = [datetime.date(2013, month, 15).timetuple().tm_yday for month in range(1, 13)]
    assert list(MID_MONTH_DAYS) == days
