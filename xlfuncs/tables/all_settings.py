"""All single values that a workbook asks for, on Setup and on the sheets that they serve."""

from xlfuncs.tables.columns import Column
from xlfuncs.tables.garden.head_assembly import PRESSURE_WANTED, SUPPLY_IN_USE
from xlfuncs.tables.garden.lines import LINE_LAYOUT
from xlfuncs.tables.garden.this_week import THIS_WEEK
from xlfuncs.tables.garden.timer import TIMER
from xlfuncs.tables.money.prices import BACKFLOW, BUYING, CHOICES, CUTTING
from xlfuncs.tables.money.quotation import QUOTATION_TERMS
from xlfuncs.tables.settings import SECTIONS, Section

ALL_SECTIONS: tuple[Section, ...] = (
    *SECTIONS, SUPPLY_IN_USE, PRESSURE_WANTED, LINE_LAYOUT, BUYING, BACKFLOW, CUTTING, CHOICES,
    TIMER, THIS_WEEK, QUOTATION_TERMS,
)  # fmt: skip
SETTINGS: tuple[Column, ...] = tuple(s for section in ALL_SECTIONS for s in section.settings)
