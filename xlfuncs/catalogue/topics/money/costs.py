"""Declarations: what equipment, water, energy and a whole job cost."""

from typing import Any

import numpy as np

from xlfuncs.calculations.money import annual_cost as annual
from xlfuncs.calculations.money import quotation as quoting
from xlfuncs.calculations.money import tariffs
from xlfuncs.catalogue.declaration import Arg, Result, table, worksheet_function
from xlfuncs.catalogue.sources import DEFINITION, ENGINEERING_ECONOMY
from xlfuncs.tables.money.parts import PART_LIVES
from xlfuncs.tables.money.quotation import ALL_OPTIONS, QUOTATION_LINES, TERMS

INTEREST = Arg.of("[interest=0]: ratio, >=0, <=1: Interest a year")


worksheet_function(
    "CAPITAL_RECOVERY_FACTOR",
    help="Yearly payment that repays 1 over the years with interest; without interest 1/years.",
    args=("interest: ratio, >=0, <=1: Interest a year", "years: years, >0, <=200, divides: Years"),
    results=(Result("factor", "ratio", "Payment a year on a debt of 1"),),
    source=ENGINEERING_ECONOMY.at("(A/P, i, n)"),
    plain="IF({interest}=0,1/{years},{interest}/(1-(1+{interest})^(0-{years})))",
    examples=("CAPITAL_RECOVERY_FACTOR(5%, 10)",),
)(annual.capital_recovery_factor)


worksheet_function(
    "ANNUAL_COST",
    help="Depreciation and interest a year of something bought: capital recovery of price less"
    " salvage, and interest on the salvage. Without interest it is straight-line depreciation.",
    args=(
        "price: money, >=0: Price when bought, with fitting",
        "life_years: years, >0, <=200, divides: Years that it lasts",
        INTEREST,
        "[salvage=0]: money, >=0: What it brings when it is done with",
    ),
    results=(Result("cost", "money", "Cost a year"),),
    source=ENGINEERING_ECONOMY.at("capital recovery with salvage, (P - S)(A/P, i, n) + S i"),
    plain="({price}-{salvage})*IF({interest}=0,1/{life_years},"
    "{interest}/(1-(1+{interest})^(0-{life_years})))+{salvage}*{interest}",
    examples=("ANNUAL_COST(15000, 5, 10%, 5000)", "ANNUAL_COST(90000, 5, 0, 10000)"),
)(annual.annual_cost)


@worksheet_function(
    "REPLACEMENT_PLAN",
    help="What replacements cost in each coming year if parts last a short, a likely or a long"
    " life; today's prices, the first purchase left out, worn-out parts in year 1.",
    args=(
        table("parts", "The kinds of parts, a row each", PART_LIVES,
            "cost=costs shortest_life=shortest_lives likely_life=likely_lives"
            " longest_life=longest_lives age=ages"),
        "[years=10]: count, >=1, <=100, whole: Years to plan for",
    ),
    source=DEFINITION.at("a part is replaced at each multiple of its life"),
    examples=("REPLACEMENT_PLAN(A1:F9)",),
)  # fmt: skip
def replacement_plan(
    costs: Any, shortest_lives: Any, likely_lives: Any, longest_lives: Any, ages: Any, years: Any
) -> Any:
    lives = shortest_lives, likely_lives, longest_lives
    return annual.replacement_plan(costs, *lives, ages, int(years))


worksheet_function(
    "WATER_CHARGE",
    help="Water bill of each billing period: fixed part, tiers, and sewer on a share of the water.",
    args=(
        "volume: billed_volume, >=0, of periods: Water used in one billing period",
        "tier_tops: billed_volume, >=0, of tops: Where each tier ends within one period; leave the"
        " last blank, or all for one price",
        "tier_prices: money_per_billed_volume, >=0, of prices: Price of water in each tier",
        "[fixed=0]: money, >=0: Fixed charge a period",
        "[sewer_price=0]: money_per_billed_volume, >=0: Sewer charge",
        "[sewer_share=1]: ratio, >=0, <=1: Share of the water that pays sewer (default 1); garden"
        " water on its own meter often pays none",
        "[billed_unit=0]: billed_volume, >=0: Smallest unit billed, parts of it waiting for the"
        " next bill (default 0: the volume as it is)",
    ),
    results=(Result("charge", "money", "Bill of the period"),),
    source=DEFINITION.at("each tier's price holds for the water between its foot and its top"),
    rows="periods",
    examples=("WATER_CHARGE(16, E2:E4, F2:F4, 27)",),
)(tariffs.water_charge)


worksheet_function(
    "PUMPING_ENERGY",
    help="Electricity to pump water to a pressure and up a lift; times the price of a kWh it is"
    " the cost of pumping.",
    args=(
        "volume: volume, >=0: Water pumped",
        "pressure: pressure, >=0: Pressure at the pump's outlet",
        "efficiency: ratio, >0, <=1, divides: Of the whole pumping plant, from meter to water",
        "[lift=0]: head, >=-50, <=1000: Height from the water level to the pump's outlet",
    ),
    results=(Result("energy", "energy", "Electricity used"),),
    source=DEFINITION.at("energy is volume times pressure over efficiency"),
    plain="{volume}*({pressure}+998.2071*9.80665*{lift})/{efficiency}/3600000",
    examples=("PUMPING_ENERGY(50000, 30, 55%, 40)",),
)(tariffs.pumping_energy)


worksheet_function(
    "MARGIN_FROM_MARKUP",
    help="Margin (part of the price) that a markup (part of the cost) comes to.",
    args=("markup: ratio, >=0, <=1000: Markup on cost",),
    results=(Result("margin", "ratio", "Margin in the price"),),
    source=DEFINITION.at("markup is a part of cost, margin the same money as a part of price"),
    plain="{markup}/(1+{markup})",
    examples=("MARGIN_FROM_MARKUP(50%)",),
)(quoting.margin_from_markup)


worksheet_function(
    "MARKUP_FROM_MARGIN",
    help="Markup (part of the cost) that a margin (part of the price) needs.",
    args=("margin: ratio, >=0, <1: Margin in the price",),
    results=(Result("markup", "ratio", "Markup on cost"),),
    source=DEFINITION.at("markup is a part of cost, margin the same money as a part of price"),
    plain="{margin}/(1-{margin})",
    examples=("MARKUP_FROM_MARGIN(1/3)",),
)(quoting.markup_from_margin)


LINES = table(
    "lines", "The lines of the quotation, a row each", QUOTATION_LINES,
    "quantity=quantities unit_cost=unit_costs optional",
    Arg.of("options: text, column option: Which option the line belongs to;"
           " blank or all: to every one", default=ALL_OPTIONS),
)  # fmt: skip
TERMS_TABLE = table(
    "terms", "What makes a price of the costs: labels and values, down", TERMS,
    "labour_hours labour_rate",
    "[contingency=0]: ratio, >=0, <=1: On materials and labor",
    "[markup]: ratio, >=0, <=1000: Part of cost added to it",
    "[margin]: ratio, >=0, <1: Part of price kept",
    "tax_rate=tax",
    default=None, settings=True,
)  # fmt: skip
LINE_COUNTED = Arg.of("[counted=yes]: flag, selects, of lines: Whether each line counts; others"
                      " are not even read")  # fmt: skip


@worksheet_function(
    "QUOTATION",
    help="The sums of one option of a quotation, each in whole cents. Enter a markup or a margin,"
    " or neither; both come back, for the price as rounded.",
    args=(
        LINES,
        TERMS_TABLE,
        "[option]: text: The option to sum (default: every line)",
        LINE_COUNTED,
    ),
    source=DEFINITION.at("markup is a part of cost, margin the same money as a part of price"),
    examples=('QUOTATION(A1:F40, H1:J6, "B")',),
)
def quotation(
    quantities: Any, unit_costs: Any, optional: Any, options: Any, option: Any, labour_hours: Any,
    labour_rate: Any, **terms: Any,
) -> Any:  # fmt: skip
    wanted = {"", ALL_OPTIONS, (option or "").strip().lower()}
    ours = np.array([option is None or name.strip().lower() in wanted for name in options], bool)
    lines = quantities[ours], unit_costs[ours], ~optional[ours]
    sums = quoting.quotation(*lines, labour_hours / 3600, labour_rate, quoting.Terms(**terms))
    return [sums]


@worksheet_function(
    "OPTIONAL_PRICES",
    help="What each optional item of a quotation would add, tax included, at the quotation's terms;"
    " blank for the other lines.",
    args=(LINES, TERMS_TABLE, LINE_COUNTED),
    results=(Result("price", "money", "What the item would add"),),
    source=DEFINITION.at("the line alone, at the terms of QUOTATION"),
    rows="lines",
    examples=("OPTIONAL_PRICES(A1:F40, H1:J6)",),
)
def optional_prices(
    quantities: Any, unit_costs: Any, optional: Any, options: Any, labour_hours: Any,
    labour_rate: Any, **terms: Any,
) -> Any:  # fmt: skip
    at, out = quoting.Terms(**terms), np.zeros(1, bool)
    alone = (quoting.quotation(quantities[i : i + 1], unit_costs[i : i + 1], out, 0.0, 0.0, at)
             for i in range(len(optional)))  # fmt: skip
    prices = np.array([float(sums.optional) for sums in alone])
    return np.where(optional, prices, np.nan)


@worksheet_function(
    "COST_PER_AREA",
    help="Cost over an area; say beside it which area is meant: planted, bed top, or garden with"
    " paths.",
    args=("cost: money: Cost", "area: area, >0, divides: The area that it is spread over"),
    results=(Result("cost_per_area", "money_per_area", "Cost of a unit of area"),),
    source=DEFINITION.at("cost over area"),
    plain="{cost}/{area}",
    examples=("COST_PER_AREA(480, 1200)",),
)
def cost_per_area(cost: Any, area: Any) -> Any:
    return cost / area
