"""All input tables, in the order in which a workbook asks for them."""

from xlfuncs.tables.columns import Column, Section, Table
from xlfuncs.tables.garden import head_assembly as head
from xlfuncs.tables.garden import this_week as week
from xlfuncs.tables.garden.beds import BED_PLAN, BEDS
from xlfuncs.tables.garden.crops import CROPS, SOILS
from xlfuncs.tables.garden.lines import LINE_LAYOUT, LINES, PIPES
from xlfuncs.tables.garden.timer import TIMER
from xlfuncs.tables.money import prices
from xlfuncs.tables.money.ledger import LEDGER, READINGS, YEARS
from xlfuncs.tables.money.parts import COUNTING_RULES, PART_LIVES, PARTS, REGISTER
from xlfuncs.tables.money.quotation import QUOTATION_LINES, QUOTATION_TERMS
from xlfuncs.tables.settings import SECTIONS

TABLES: tuple[Table, ...] = (
    head.SUPPLIES, head.PUMP_CURVES, head.HEAD_PARTS, head.REGULATORS, LINES, PIPES, BEDS,
    prices.PRICES, prices.ALREADY_HAVE, prices.ORDERS, COUNTING_RULES, PARTS, SOILS, CROPS,
    BED_PLAN, week.MONTHLY_WEATHER, LEDGER, READINGS, REGISTER, prices.TARIFFS, prices.TIERS,
    YEARS, PART_LIVES, QUOTATION_LINES, week.FIELD_CHECKS, week.CATCH_TESTS, week.WEATHER_LOG,
    week.BED_NOTES,
)  # fmt: skip

ALL_SECTIONS: tuple[Section, ...] = (
    *SECTIONS, head.SUPPLY_IN_USE, head.PRESSURE_WANTED, LINE_LAYOUT, prices.BUYING,
    prices.BACKFLOW, prices.CUTTING, prices.CHOICES, TIMER, week.THIS_WEEK, QUOTATION_TERMS,
)  # fmt: skip
SETTINGS: tuple[Column, ...] = tuple(s for section in ALL_SECTIONS for s in section.settings)
