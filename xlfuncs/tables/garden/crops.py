"""Crops and soils, as published, in data files that are read by the columns declared here; a
grower's own rows go first.

data/crops.csv holds common vegetables:

* coefficients and heights: FAO Irrigation and Drainage Paper 56, table 12 (grass reference, a
  sub-humid climate with wind of 2 m/s and a least humidity of 45 %; adjust elsewhere). Where the
  table prints a range (tomato, end 0.70 to 0.90) its middle.
* lengths of stages: the same, table 11, for the planting time and region in `stages_of`, one row
  of several; they vary much with variety and climate, so a grower's own are better. Crops that
  table 11 lacks are blank.
* root depth and depletion fraction: the same, table 22. `root_depth` is the lower end of the
  printed range of greatest depth, which the table's footnote advises for watering;
  `root_depth_greatest` the upper end.
* tolerance of salt: FAO Irrigation and Drainage Paper 29, table 4, soil extract; from memory.

data/soils.csv:

* field capacity and wilting point: FAO Irrigation and Drainage Paper 56, table 19, low and high
  end of each texture.
* intake: basic infiltration rates of FAO Irrigation Water Management Training Manual 5, annex 2,
  from memory; sand takes more than the rate given. Textures that it does not name are blank.
* wetted width under a drip line: lines lie 12 to 15 in apart on coarse soils and up to 24 in on
  fine ones (university teaching module on microirrigation of raised beds); the widths between are
  common practice, no published source. Look at your own soil an hour after watering.
"""

from functools import lru_cache

from xlfuncs.tables.columns import Column, Table, data_rows
from xlfuncs.units import DIMENSIONS

Row = dict[str, float | str | None]


@lru_cache(maxsize=16)
def published_rows(table: Table, file: str) -> tuple[Row, ...]:
    """The rows of a data file, numbers in base units, blanks as None."""
    return tuple(
        {name: _value(table, name, cell) for name, cell in line.items()} for line in data_rows(file)
    )


def _value(table: Table, name: str, cell: str) -> float | str | None:
    if not cell:
        return None
    is_number = DIMENSIONS[table[name].dimension].kind == "number"
    return float(cell) if is_number else cell


CROPS = Table(
    "Crops",
    "One row per crop. The rows given are published values; your own rows and changes count first.",
    (
        Column("crop", "Crop", "text", "Name of the crop, as in the bed plan", required=True,
               synonyms=("crop name", "name", "vegetable")),
        Column("kc_initial", "Kc initial", "number",
               "Crop coefficient from planting until a tenth of the ground is covered",
               minimum=0, maximum=2, synonyms=("kc ini", "initial kc", "kcini")),
        Column("kc_mid", "Kc mid-season", "number", "Crop coefficient at full cover",
               required=True, minimum=0, maximum=2, synonyms=("kc mid", "kc", "mid kc", "kcmid")),
        Column("kc_end", "Kc end", "number", "Crop coefficient on the last day",
               minimum=0, maximum=2, synonyms=("kc end", "end kc", "kcend")),
        Column("height", "Height", "length", "Maximum height of the crop",
               above=0, maximum=10, synonyms=("crop height", "plant height")),
        Column("root_depth", "Root depth", "width", "Depth of the roots that are watered",
               required=True, above=0, maximum=5, synonyms=("rooting depth", "roots")),
        Column("root_depth_greatest", "Maximum root depth", "width",
               "Depth that the roots may reach in a deep soil", above=0, maximum=5,
               former=("greatest root depth",)),
        Column("depletion_fraction", "Depletion fraction", "ratio",
               "Share of the available water that may be used before the crop suffers",
               required=True, minimum=0.1, maximum=0.8, synonyms=("p", "mad", "depletion")),
        Column("initial_days", "Initial stage", "days", "Days of the initial stage",
               minimum=0, maximum=400, synonyms=("l ini", "initial")),
        Column("development_days", "Development stage", "days", "Days of the development stage",
               minimum=0, maximum=400, synonyms=("l dev", "development")),
        Column("mid_days", "Mid-season stage", "days", "Days of the mid-season stage",
               minimum=0, maximum=400, synonyms=("l mid", "mid season", "mid-season")),
        Column("late_days", "Late stage", "days", "Days of the late stage",
               minimum=0, maximum=400, synonyms=("l late", "late season", "late")),
        Column("stages_of", "Stages of", "text", "Planting time and region of the stage lengths"),
        Column("salt_threshold", "Salt threshold", "salinity",
               "Salinity of the soil extract up to which the yield is whole",
               above=0, maximum=50, synonyms=("ece threshold", "threshold ece")),
        Column("salt_zero_yield", "Salt of zero yield", "salinity",
               "Salinity of the soil extract at which the crop yields nothing",
               above=0, maximum=60, synonyms=("max ece", "zero yield ece")),
    ),
    begins="all",
)  # fmt: skip


def published_crops() -> tuple[Row, ...]:
    """The published rows, in base units."""
    return published_rows(CROPS, "crops.csv")


SOILS = Table(
    "Soils",
    "One row a soil. Water contents are shares of the soil's volume.",
    (
        Column("soil", "Soil", "text", "Texture or name of the soil", required=True,
               synonyms=("soil type", "texture", "name")),
        Column("field_capacity_low", "Field capacity, low", "ratio",
               "Water content a day or two after a soaking, lower end",
               required=True, above=0, maximum=0.6),
        Column("field_capacity_high", "Field capacity, high", "ratio",
               "Water content a day or two after a soaking, upper end",
               required=True, above=0, maximum=0.6),
        Column("wilting_point_low", "Wilting point, low", "ratio",
               "Water content at which plants wilt for good, lower end",
               required=True, minimum=0, maximum=0.5),
        Column("wilting_point_high", "Wilting point, high", "ratio",
               "Water content at which plants wilt for good, upper end",
               required=True, minimum=0, maximum=0.5),
        Column("intake_low", "Intake, low", "intake_rate", "Long-term intake rate, lower end",
               above=0, maximum=500),
        Column("intake_high", "Intake, high", "intake_rate", "Long-term intake rate, upper end",
               above=0, maximum=500),
        Column("wetted_width", "Wetted width", "width", "Width of soil that one drip line wets",
               above=0, maximum=2),
    ),
    begins="all",
)  # fmt: skip


def published_soils() -> tuple[Row, ...]:
    """The published rows, in base units."""
    return published_rows(SOILS, "soils.csv")
