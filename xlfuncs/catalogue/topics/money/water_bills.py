"""Declaration: two years of water bills, and why they differ."""

from __future__ import annotations

from typing import Any

import numpy as np

from xlfuncs.calculations.money import tariffs
from xlfuncs.catalogue.declaration import Arg, Result, table, worksheet_function
from xlfuncs.catalogue.sources import COST_ACCOUNTING
from xlfuncs.errors import InputError
from xlfuncs.tables.money.tariff import TIERS
from xlfuncs.tables.money.years import YEARS


def _tiers(side: str) -> Arg:
    """The tiers of the old or the new tariff."""
    return table(
        f"{side}_tiers", f"The tiers of the {side} tariff, the cheapest water first", TIERS,
        Arg(f"{side}_tops", "billed_volume", "Where the tier ends; leave the last blank",
            default=None, minimum=0, column="top"),
        Arg(f"{side}_prices", "money_per_billed_volume", "Its price, with the sewer's part",
            minimum=0, column="price"),
    )  # fmt: skip


@worksheet_function(
    "WATER_YEAR_ON_YEAR",
    topic="money",
    help="Two years of water bills by tiers, the change split: old volumes on the new tariff less"
    " the old bill is price; then area, weather (need), use; fixed charges apart.",
    args=(
        Arg("old_volumes", "billed_volume", "Water used in each billing period of the old year",
            minimum=0, group="old periods"),
        Arg("new_volumes", "billed_volume", "The same for the new year", minimum=0,
            group="new periods"),
        _tiers("old"),
        _tiers("new"),
        table("years", "The old year and the new one, a row each", YEARS,
            Arg("fixed", "money", "Fixed charge a period (default 0)", default=0, minimum=0),
            Arg("areas", "area", "Area watered in the year", default=None, above=0,
                column="planted_area"),
            Arg("needs", "depth", "Depth needed beyond rain in the year", default=None, above=0,
                column="need"),
            default=None),
    ),
    results=(
        Result("old_bill", "money", "Bills of the old year"),
        Result("new_bill", "money", "Bills of the new year"),
        Result("change", "money", "New less old; the sum of the effects"),
        Result("price_effect", "money", "Old volumes on the new tariff less on the old"),
        Result("area_effect", "money", "The same use per area on the new area"),
        Result("weather_effect", "money", "That use in proportion to the new need"),
        Result("use_effect", "money", "The rest: what was used beyond that"),
        Result("fixed_effect", "money", "The change of the fixed charges"),
    ),
    source=COST_ACCOUNTING.at("chain of substitutions, the old volumes weighing the price"),
    elementwise=False,
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
    numbers = before, after, after - before, *effects
    return tuple(np.array([float(number)]) for number in numbers)


def _pair(argument: str, values: Any, otherwise: float) -> tuple[float, float]:
    """Both years' values; the other one twice where neither is given."""
    given = values[~np.isnan(values)]
    if not given.size:
        return otherwise, otherwise
    if given.size != 2:
        raise InputError(argument, "give it for both years, or for neither")
    return float(given[0]), float(given[1])
