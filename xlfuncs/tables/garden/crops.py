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

from xlfuncs.tables.columns import Table, data_rows, table
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


CROPS = table("Crops")


def published_crops() -> tuple[Row, ...]:
    """The published rows, in base units."""
    return published_rows(CROPS, "crops.csv")


SOILS = table("Soils")


def published_soils() -> tuple[Row, ...]:
    """The published rows, in base units."""
    return published_rows(SOILS, "soils.csv")
