"""Declarations: from readings and bills to what each year used and cost, and why it changed."""

import math
from typing import Any

import numpy as np

from xlfuncs.calculations.money import ledger
from xlfuncs.calculations.money import year_on_year as comparing
from xlfuncs.calculations.money.ledger_entries import Entries
from xlfuncs.catalogue.declaration import Arg, Result, table, worksheet_function
from xlfuncs.catalogue.sources import COST_ACCOUNTING, DEFINITION
from xlfuncs.errors import InputError
from xlfuncs.tables.money.ledger import LEDGER, YEARS

FIRST_MONTH = Arg.of("[first_month=1]: count, >=1, <=12, whole: Month in which the year begins"
                     " (default 1); a year is named by the calendar year it ends in")  # fmt: skip
COUNTED = Arg.of("[counted=yes]: flag, selects, of entries: no leaves an entry out (default: as"
                 " the ledger says, else yes)")  # fmt: skip
OF_AN_ENTRY = (
    "date=dates kind=kinds amount=amounts quantity=quantities period_start=period_starts tax=taxes"
    " recoverable share=shares meter=meters currency=currencies"
)


worksheet_function(
    "METER_USE",
    help="Water used between each meter reading and the one before. Estimates between true"
    " readings are set aside; a roll-over and a new meter are allowed for.",
    args=(
        "dates: date, of readings: Dates of the readings, in order",
        "readings: billed_volume, >=0, of readings: What the meter shows",
        "[estimated=no]: flag, of readings: yes for an estimated reading",
        "[new_meter_readings]: billed_volume, >=0, of readings: First reading of a new meter"
        " fitted that day; the reading is then the old meter's last",
        "[register=0]: billed_volume, >=0: Volume at which the meter goes back to zero (default 0:"
        " not known)",
    ),
    results=(Result("use", "billed_volume", "Water used since the reading before"),),
    source=DEFINITION.at("use is the difference of readings"),
    rows="readings",
    examples=("METER_USE(A2:A14, B2:B14, C2:C14, D2:D14, 100000)",),
)(ledger.meter_use)


worksheet_function(
    "GARDEN_USE",
    help="The garden's part of a shared meter: what is used beyond the household's daily use,"
    " which the bills of the months without watering show.",
    args=(
        "volume: billed_volume, >=0: Water used in the period",
        "days: days, >=0, <=1000: Days in the period",
        "household_per_day: volume, >=0: Household use a day",
    ),
    results=(Result("garden", "billed_volume", "Water used by the garden, at least 0"),),
    source=DEFINITION.at("what is left after the household's use"),
    plain="MAX({volume}-{days}*{household_per_day},0)",
    examples=("GARDEN_USE(14, 61, 150)",),
)(ledger.garden_use)


worksheet_function(
    "ENTRY_COST",
    help="What an entry costs the garden: amount paid, less the tax in it that comes back, by the"
    " garden's share.",
    args=(
        "amount: money: Amount paid, tax included; a refund is negative",
        "[tax=0]: money: Tax in the amount",
        "[recoverable=0]: ratio, >=0, <=1: Part of the tax that comes back: 1 for net, 0 for gross",
        "[share=1]: ratio, >=0, <=1: The garden's share",
    ),
    results=(Result("cost", "money", "Cost to the garden"),),
    source=DEFINITION.at("net is gross less recoverable tax"),
    plain="({amount}-{tax}*{recoverable})*{share}",
    examples=("ENTRY_COST(119, 19, 1, 50%)",),
)(ledger.entry_cost)


worksheet_function(
    "LEDGER_CHECK",
    help="What keeps each entry of a ledger out of the sums, or what to look at: entered twice,"
    " days on two bills of a meter or on none, another currency. And its cost to the garden.",
    args=(
        table("entries", "The ledger, a row an entry", LEDGER, OF_AN_ENTRY, "reference=references"),
        COUNTED,
        "[currency=]: text: The ledger's currency; an entry in another is left out (default: the"
        " first entry's, and others are only named)",
    ),
    source=DEFINITION.at("equal in every given column"),
    rows="entries",
    row_words="check",
    examples=('LEDGER_CHECK(A1:O400, , "EUR")',),
)(ledger.checked_entries)


@worksheet_function(
    "STOCK_USED",
    help="What each year took from the store: opening and bought less what was counted, at the"
    " year's weighted average cost. A kind never counted is used as it is bought.",
    args=(
        "dates: date, of entries: Dates of purchases and counts",
        "kinds: text, of entries: Kinds: tape, fittings ...",
        "[bought]: number, of entries: Quantity bought",
        "[amounts]: money, of entries: What was paid for it",
        "[in_store]: number, >=0, of entries: Count of what is left, where it was counted",
        FIRST_MONTH,
    ),
    source=COST_ACCOUNTING.at("weighted average, periodic inventory procedure"),
    examples=("STOCK_USED(A2:A60, B2:B60, C2:C60, D2:D60, E2:E60)",),
)
def stock_used(
    dates: Any, kinds: Any, bought: Any, amounts: Any, in_store: Any, first_month: Any
) -> Any:
    return ledger.stock_used(dates, kinds, bought, amounts, in_store, int(first_month))


@worksheet_function(
    "YEAR_ON_YEAR",
    help="Each kind in each year beside the year before, the change split so that it adds up:"
    " price at the old quantity; area, weather, use at the new price; fixed; credits; not split."
    " Water by its tariffs: TARIFF_YEAR_ON_YEAR.",
    args=(
        table("entries", "The ledger, a row an entry", LEDGER, OF_AN_ENTRY,
              "item=items unit=counted_in"),
        table("years", "Areas and needs, a row a year", YEARS,
            "[year]: count, whole: The year",
            "planted_area=areas need=needs",
            default=None),
        COUNTED,
        "[need_kinds=water]: text: Kinds whose use follows the need, with commas",
        FIRST_MONTH,
        "[known_from]: date: First day that the ledger covers (default: its first year's)",
        "[known_through]: date: Last day that it covers (default: its last year's, or that of the"
        " bills); a part year is compared with the same days",
    ),
    source=COST_ACCOUNTING.at("price and quantity variance; here the old year weighs the price; by"
                              " item: price-volume-mix analysis, accountancyindex.com"),
    examples=("YEAR_ON_YEAR(A1:N400, Years!A1:C6)",),
)  # fmt: skip
def year_on_year(
    dates: Any, kinds: Any, amounts: Any, quantities: Any, period_starts: Any, taxes: Any,
    recoverable: Any, shares: Any, meters: Any, currencies: Any, items: Any, counted_in: Any,
    year: Any, areas: Any, needs: Any, need_kinds: Any, first_month: Any, known_from: Any,
    known_through: Any,
) -> Any:  # fmt: skip
    ledger.refuse_second_currency(currencies)
    costs = np.asarray(ledger.entry_cost(amounts, taxes, recoverable, shares))
    entries = Entries.from_columns(dates, kinds, quantities * shares, costs, period_starts, meters,
                                   items, counted_in)  # fmt: skip
    around = comparing.Surroundings(
        _by_year(year, areas),
        _by_year(year, needs),
        frozenset(kind.strip().lower() for kind in need_kinds.split(",")),
    )
    known_from, known_through = (
        None if day is None else day.item() for day in (known_from, known_through)
    )
    rows = comparing.year_on_year(entries, int(first_month), known_from, known_through, around)
    return [_cells(row, around) for row in rows]


def _by_year(years: Any, values: Any) -> dict[int, float]:
    """The values that are given, by year."""
    given = ~np.isnan(values)
    if (given & np.isnan(years)).any():
        row = int(np.argmax(given & np.isnan(years)))
        raise InputError("year", "an area or a need stands without its year", row=row)
    return {int(year): float(x) for year, x in zip(years[given], values[given], strict=True)}


def _cells(row: comparing.YearOfKind, around: comparing.Surroundings) -> tuple[Any, ...]:
    """The row; what area and weather did is blank where that is not known, and in use."""
    measures = row.quantity, float(row.amount), row.unit_price, row.per_area
    if row.effects is None or row.compared is None or row.before is None:
        changes: tuple[Any, ...] = (None,) * 9
        not_split = math.nan
    else:
        price, area, weather, *others = row.effects[:6]
        changes = (row.before, row.compared, row.compared - row.before, price,
                   area if around.areas else None,
                   weather if comparing.needs_known(around, row) else None, *others)  # fmt: skip
        not_split = float(row.effects.not_split)
    numbers = (math.nan if x is None else float(x) for x in (*measures, *changes))
    return row.kind, row.year, *numbers, row.covered, row.days, row.words, not_split
