"""Prices of one's own typed over the examples: what stands beside one of them holds for all."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from workbook_template.kit.inputs import Inputs, invented_farm
from workbook_template.sheets.money.prices import INVENTED
from xlfuncs.tables.money.prices import PRICES

ONCE = ("tax", "shop", "date", "source")


def with_own_prices(inputs: Inputs) -> tuple[Inputs, list[str]]:
    """Prices of one's own beside which the example's source or date still stands take tax, shop,
    date and source of the first that has its own; examples of a part with an own price are left
    out. Also, in words, what was done.
    """
    farms = [invented_farm(system, [PRICES], ()).tables[PRICES.name] for system in ("us", "metric")]
    known = {(row["part"], row["price"]) for farm in farms for row in farm}
    dates = {str(row["date"])[:10] for farm in farms for row in farm}
    rows = [dict(row) for row in inputs.tables[PRICES.name] if row.get("part")]
    own = [row for row in rows
           if not _invented(row) or (row["part"], row.get("price")) not in known]  # fmt: skip
    half = [row for row in own if _invented(row) or str(row.get("date"))[:10] in dates]
    whole = next((row for row in own if row not in half), None)
    if not whole:
        return inputs, ["Prices: type Tax, Shop, Date and Source beside one of yours"] * bool(half)
    for row in half:
        row |= {"delivery": None, **{name: whole.get(name) for name in ONCE}}
    parts = {row["part"] for row in own}
    kept = [row for row in rows if row in own or row["part"] not in parts]
    if not half and kept == rows:  # taken over before
        return inputs, []
    words = f"Prices: {len(own)} of yours, with tax, shop, date and source as beside"
    words += f" {whole['part']}: {len(half)}; examples of these parts left out; other packs"
    words += " may be cheapest now: look at Bought"
    return replace(inputs, tables={**inputs.tables, PRICES.name: kept}), [words]


def _invented(row: Mapping[str, Any]) -> bool:
    return INVENTED in str(row.get("source", ""))
