"""All input tables, in the order in which a workbook asks for them."""

from xlfuncs.tables.columns import Column, Table
from xlfuncs.tables.garden.beds import BED_PLAN, BEDS
from xlfuncs.tables.garden.crops import CROPS, SOILS
from xlfuncs.tables.garden.head_assembly import (
    HEAD_PARTS,
    PRESSURE_WANTED,
    PUMP_CURVES,
    REGULATORS,
    SUPPLIES,
    SUPPLY_IN_USE,
)
from xlfuncs.tables.garden.lines import LINE_LAYOUT, LINES, PIPES
from xlfuncs.tables.garden.this_week import (
    BED_NOTES,
    CATCH_TESTS,
    FIELD_CHECKS,
    MONTHLY_WEATHER,
    THIS_WEEK,
    WEATHER_LOG,
)
from xlfuncs.tables.garden.timer import TIMER
from xlfuncs.tables.money.ledger import LEDGER, READINGS, YEARS
from xlfuncs.tables.money.parts import COUNTING_RULES, PART_LIVES, PARTS, REGISTER
from xlfuncs.tables.money.prices import (
    ALREADY_HAVE,
    BACKFLOW,
    BUYING,
    CHOICES,
    CUTTING,
    ORDERS,
    PRICES,
    TARIFFS,
    TIERS,
)
from xlfuncs.tables.money.quotation import QUOTATION_LINES, QUOTATION_TERMS
from xlfuncs.tables.settings import SECTIONS, Section

TABLES: tuple[Table, ...] = (
    SUPPLIES, PUMP_CURVES, HEAD_PARTS, REGULATORS, LINES, PIPES, BEDS, PRICES, ALREADY_HAVE,
    ORDERS, COUNTING_RULES, PARTS, SOILS, CROPS, BED_PLAN,
    MONTHLY_WEATHER, LEDGER, READINGS, REGISTER, TARIFFS, TIERS, YEARS, PART_LIVES,
    QUOTATION_LINES, FIELD_CHECKS, CATCH_TESTS, WEATHER_LOG, BED_NOTES,
)  # fmt: skip


ALL_SECTIONS: tuple[Section, ...] = (
    *SECTIONS, SUPPLY_IN_USE, PRESSURE_WANTED, LINE_LAYOUT, BUYING, BACKFLOW, CUTTING, CHOICES,
    TIMER, THIS_WEEK, QUOTATION_TERMS,
)  # fmt: skip
SETTINGS: tuple[Column, ...] = tuple(s for section in ALL_SECTIONS for s in section.settings)
