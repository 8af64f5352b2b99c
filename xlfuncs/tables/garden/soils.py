"""Soils by texture: what they hold, take in, and how wide a line wets them.

data/soils.csv:

* field capacity and wilting point: FAO Irrigation and Drainage Paper 56, table 19, low and high
  end of each texture.
* intake: basic infiltration rates of FAO Irrigation Water Management Training Manual 5, annex 2,
  from memory; sand takes more than the rate given. Textures that it does not name are blank.
* wetted width under a drip line: lines lie 12 to 15 in apart on coarse soils and up to 24 in on
  fine ones (university teaching module on microirrigation of raised beds); the widths between are
  common practice, no published source. Look at your own soil an hour after watering.
"""

from xlfuncs.tables.columns import Column, Table
from xlfuncs.tables.published import Row, published_rows

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
