"""Declarations: water bills by their tariffs, and why two years of them differ."""

from typing import Any

import numpy as np

from xlfuncs.calculations.money import bill_periods, tariffs
from xlfuncs.calculations.money.bill_periods import day_span, same_days, year_span
from xlfuncs.calculations.money.ledger import entry_cost
from xlfuncs.calculations.money.year_on_year import NEARLY
from xlfuncs.catalogue.declaration import Arg, Result, table, worksheet_function
from xlfuncs.catalogue.sources import COST_ACCOUNTING
from xlfuncs.catalogue.topics.money.comparison import COUNTED, FIRST_MONTH
from xlfuncs.errors import InputError
from xlfuncs.tables.money.ledger import LEDGER, YEARS
from xlfuncs.tables.money.prices import TARIFFS, TIERS


def _tiers(side: str) -> Arg:
    """The tiers of the old or the new tariff."""
    return table(
        f"{side}_tiers", f"The tiers of the {side} tariff, the cheapest water first", TIERS,
        Arg(f"{side}_tops", "billed_volume", "Where the tier ends; leave the last blank",
            default=None, minimum=0, column="top"),
        Arg(f"{side}_prices", "money_per_billed_volume", "Its price, with the sewer's part",
            minimum=0, column="price"),
    )  # fmt: skip


_OTHER_EFFECTS = (
    Result("area_effect", "money", "The same use per area on the new area; blank without areas"),
    Result(
        "weather_effect", "money", "That use in proportion to the new need; blank without needs"
    ),
    Result("use_effect", "money", "The rest: what was used beyond that, and what is blank"),
    Result("fixed_effect", "money", "The change of the fixed charges"),
)


@worksheet_function(
    "WATER_YEAR_ON_YEAR",
    help="Two years of water bills by tiers, the change split: old volumes on the new tariff less"
    " the old bill is price; then area, weather (need), use; fixed charges apart.",
    args=(
        "old_volumes: billed_volume, >=0, of old periods: Water used in each billing period of the"
        " old year",
        "new_volumes: billed_volume, >=0, of new periods: The same for the new year",
        _tiers("old"),
        _tiers("new"),
        table("years", "The old year and the new one, a row each", YEARS,
            "[fixed=0]: money, >=0: Fixed charge a period",
            "[areas]: area, >0, column planted_area: Area watered in the year",
            "[needs]: depth, >0, column need: Depth needed beyond rain in the year",
            default=None),
    ),
    results=(
        Result("old_bill", "money", "Bills of the old year"),
        Result("new_bill", "money", "Bills of the new year"),
        Result("change", "money", "New less old; the sum of the effects"),
        Result("price_effect", "money", "Old volumes on the new tariff less on the old"),
        *_OTHER_EFFECTS,
    ),
    source=COST_ACCOUNTING.at("chain of substitutions, the old volumes weighing the price"),
    examples=("WATER_YEAR_ON_YEAR(B2:B7, C2:C7, E1:F4, G1:H4, J1:L3)",),
)  # fmt: skip
def water_year_on_year(
    old_volumes: Any, new_volumes: Any, old_tops: Any, old_prices: Any, new_tops: Any,
    new_prices: Any, fixed: Any, areas: Any, needs: Any,
) -> Any:  # fmt: skip
    old_fixed, new_fixed = _pair("fixed", fixed, 0.0)
    area_before, area_after = _pair("areas", areas, 1.0)
    need_before, need_after = _pair("needs", needs, 1.0)
    old_tiers, new_tiers = (
        tariffs.Tiers.from_tops(tops[~np.isnan(tops)], prices, name)
        for tops, prices, name in (
            (old_tops, old_prices, "old_tops"), (new_tops, new_prices, "new_tops")
        )
    )  # fmt: skip
    before, after, effects = tariffs.water_bill_effects(
        tariffs.WaterYear(old_volumes, old_tiers, old_fixed, area_before, need_before),
        tariffs.WaterYear(new_volumes, new_tiers, new_fixed, area_after, need_after),
    )
    known = (bool((~np.isnan(values)).any()) for values in (areas, needs))
    return [(before, after, after - before, *_apart(effects, *known))]


def _apart(effects: Any, area_known: bool, need_known: bool) -> tuple[Any, ...]:
    """The effects; those of area and weather blank where these are not known, and in use."""
    price, area, weather, *others = effects[:5]
    return (price, area if area_known else np.nan, weather if need_known else np.nan, *others)


def _pair(argument: str, values: Any, otherwise: float) -> tuple[float, float]:
    """Both years' values; the other one twice where neither is given."""
    given = values[~np.isnan(values)]
    if not given.size:
        return otherwise, otherwise
    if given.size != 2:
        raise InputError(argument, "give it for both years, or for neither")
    return float(given[0]), float(given[1])


_TARIFFS = (
    table("tariffs", "The tariffs, a row each", TARIFFS,
        "valid_from: date: First day of the tariff",
        "[fixed=0]: money, >=0: Fixed charge of a bill",
        "[sewer_prices=0]: money_per_billed_volume, >=0, column sewer_price: Sewer charge",
        "[sewer_shares=1]: ratio, >=0, <=1, column sewer_share: Part of the water that pays it"),
    table("tiers", "Their tiers, the cheapest water first", TIERS,
        "tier_from: date, column valid_from: First day of the tariff",
        "[tops]: billed_volume, >=0, column top: Where the tier ends; leave the last blank",
        "prices: money_per_billed_volume, >=0, column price: Its price"),
)  # fmt: skip


def _tariffs(
    valid_from: Any, fixed: Any, sewer_prices: Any, sewer_shares: Any, tier_from: Any, tops: Any,
    prices: Any,
) -> list[tariffs.Tariff]:  # fmt: skip
    return tariffs.tariffs_from_columns(
        _days(valid_from), fixed, sewer_prices * sewer_shares, _days(tier_from), tops, prices
    )


def _days(dates: Any) -> list[int]:
    days: list[int] = dates.astype("datetime64[D]").astype(np.int64).tolist()
    return days


@worksheet_function(
    "WATER_BILL",
    help="What each water bill comes to by the tariffs of its own days, fixed charge included; one"
    " that spans a change of tariff is parted by days.",
    args=(
        "volumes: billed_volume, >=0, of bills: Water of the bill",
        "period_starts: date, of bills: Day of the reading before",
        "dates: date, of bills: Day of the reading",
        *_TARIFFS,
    ),
    results=(Result("bill", "money", "The bill by its tariffs"),),
    source=COST_ACCOUNTING.at("a tariff's part of the days bears that part of the bill on it"),
    rows="bills",
    examples=("WATER_BILL(C2:C7, A2:A7, B2:B7, E1:I3, K1:M7)",),
)
def water_bill(volumes: Any, period_starts: Any, dates: Any, **tariff: Any) -> Any:
    known = _tariffs(**tariff)
    bills = []
    for row, (volume, start, end) in enumerate(
        zip(volumes.tolist(), _days(period_starts), _days(dates), strict=True)
    ):
        if start >= end:
            raise InputError("period_starts", "is not before its date", row=row)
        span = start + 1, end + 1
        bills.append(sum(tariffs.charges(known, [span], end - start, volume)))
    return np.array(bills)


@worksheet_function(
    "TARIFF_YEAR_ON_YEAR",
    help="A year of metered water beside the year before, by the tariffs of each bill's own days,"
    " on the days that are on bills in both. Price: the old volumes on the tariffs of the same days"
    " a year later.",
    args=(
        "explained: count, >=1900, <=2200, whole: The year that is explained",
        table("entries", "The ledger, a row an entry", LEDGER,
            "dates: date, column date: Date of the entry, for a bill its last day",
            "kinds: text, column kind: Kind; water is looked at",
            "amounts: money, column amount: Amount paid, tax included",
            "[quantities]: billed_volume, column quantity: Quantity; blank for fixed charges",
            "[period_starts]: date, column period_start: Date of the reading before",
            "[taxes=0]: money, column tax: Tax in the amount",
            "[recoverable=0]: ratio, >=0, <=1: Part of the tax that comes back",
            "[shares=1]: ratio, >=0, <=1, column share: The garden's share",
            "[meters]: text, column meter: Meter of a bill"),
        *_TARIFFS,
        table("years", "Areas and needs, a row a year", YEARS,
            "[year]: count, whole: The year",
            "[areas]: area, >0, column planted_area: Area watered",
            "[needs]: depth, >0, column need: Depth needed beyond rain",
            default=None),
        COUNTED,
        FIRST_MONTH,
    ),
    results=(
        Result("old_bill", "money", "Bills of the year before, on the compared days"),
        Result("new_bill", "money", "Bills of the year explained"),
        Result("change", "money", "New less old; the sum of the effects"),
        Result("price_effect", "money", "Old volumes on the tariffs a year later less their own"),
        *_OTHER_EFFECTS,
        Result("exchange_effect", "money", "Two bills in place of one where a meter was exchanged"),
    ),
    source=COST_ACCOUNTING.at("chain of substitutions, the old volumes weighing the price"),
    examples=("TARIFF_YEAR_ON_YEAR(2025, A1:O400, Q1:U3, W1:Y7)",),
)  # fmt: skip
def tariff_year_on_year(
    explained: Any, dates: Any, kinds: Any, amounts: Any, quantities: Any, period_starts: Any,
    taxes: Any, recoverable: Any, shares: Any, meters: Any, year: Any, areas: Any, needs: Any,
    first_month: Any, **tariff: Any,
) -> Any:  # fmt: skip
    water = np.array([kind.strip().lower() == "water" for kind in kinds])
    loose = water & np.isnat(period_starts) & (quantities > 0)
    if loose.any():
        row = int(np.argmax(loose))
        raise InputError("period_starts", "a bill by volume needs its reading before", row=row)
    nothing = [""] * len(dates)
    by_meter = bill_periods.bills_by_meter(
        dates, period_starts, kinds, meters, quantities, nothing, water
    )
    covered = bill_periods.covered_days(by_meter).get("water", [])
    bills = [bill for of_meter in by_meter.values() for bill in of_meter]
    one_meter = bill_periods.as_one_meter(by_meter, "water")
    this, before = same_days(int(explained), int(first_month), covered)
    if not this:
        raise InputError("entries", f"no day of {int(explained)} and the year before is on bills")
    costs = np.asarray(entry_cost(amounts, taxes, recoverable, shares))

    spans = (int(explained) - 1, before), (int(explained), this)
    if sum(after - first for first, after in this) < NEARLY:
        needs = np.full_like(needs, np.nan)  # that of a whole year says nothing of a part of it
    known = [[values[year == number] for number, _ in spans] for values in (areas, needs)]
    told = [all(v.size and v[0] == v[0] for v in pair) for pair in known]
    (old_area, new_area), (old_need, new_need) = (
        [float(v[0]) for v in pair] if both else (1.0, 1.0)
        for pair, both in zip(known, told, strict=True)
    )

    def borne(number: int) -> float:
        first, after = day_span(year_span(number, int(first_month)))
        inside = np.array([first <= day < after for day in _days(dates)]) & water
        paid = amounts[inside].sum()
        return float(costs[inside].sum() / paid) if paid else 1.0

    old = tariffs.BilledYear(bills, one_meter, before, borne(spans[0][0]), old_area, old_need)
    new = tariffs.BilledYear(bills, one_meter, this, borne(spans[1][0]), new_area, new_need)
    numbers = tariffs.effects_by_days(_tariffs(**tariff), old, new)
    effects = (*_apart(numbers[2], *told), numbers[2].exchange)
    return [(numbers[0], numbers[1], numbers[1] - numbers[0], *effects)]
