"""Prices of one's own typed over the examples: what stands beside one of them holds for all."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from workbook_template.kit.inputs import Inputs, invented_farm
from workbook_template.sheets.money.prices import INVENTED
from xlfuncs.tables.money.prices import PRICES

ONCE = ("tax", "shop", "date", "source")


def with_own_prices(inputs: Inputs) -> tuple[Inputs, list[str]]:
    """Prices of one's own beside which the example's source or date still stands take, where a cell
    is blank or the example's, tax, shop, date and source of the first that has its own; examples of
    a part with an own price are left out. Also, in words, what was done.
    """
    farms = [invented_farm(system, [PRICES], ()).tables[PRICES.name] for system in ("us", "metric")]
    known = {(row["part"], row["price"]) for farm in farms for row in farm}
    examples = {(row["part"], name, _said(row.get(name)))
                for farm in farms for row in farm for name in (*ONCE, "delivery")}  # fmt: skip
    dates = {str(row["date"])[:10] for farm in farms for row in farm}
    rows = [dict(row) for row in inputs.tables[PRICES.name] if row.get("part")]
    own = [row for row in rows
           if not _invented(row) or (row["part"], row.get("price")) not in known]  # fmt: skip
    half = [row for row in own if _invented(row) or str(row.get("date"))[:10] in dates]
    whole = next((row for row in own if row not in half), None)
    if not whole:
        return inputs, ["Prices: type Tax, Shop, Date and Source beside one of yours"] * bool(half)
    for row in half:
        for name in (*ONCE, "delivery"):
            said = _said(row.get(name))
            if not said or (row["part"], name, said) in examples:
                row[name] = whole.get(name) if name in ONCE else None
    parts = {row["part"] for row in own}
    kept = [row for row in rows if row in own or row["part"] not in parts]
    if not half and kept == rows:  # taken over before
        return inputs, []
    words = f"Prices: {len(own)} of yours; {len(half)} take tax, shop, date and source, where you"
    words += f" typed none, from beside {whole['part']}; examples of these parts left out; other"
    words += " packs may be cheapest now: look at Bought"
    return replace(inputs, tables={**inputs.tables, PRICES.name: kept}), [words]


def _said(value: Any) -> str:
    return "" if value is None else str(value)[:10] if hasattr(value, "year") else str(value)


def _invented(row: Mapping[str, Any]) -> bool:
    return INVENTED in str(row.get("source", ""))
