"""Prices of one's own typed over the examples: what stands beside one of them holds for all."""

from dataclasses import replace

from workbook_template.kit.inputs import Inputs, invented_farm
from workbook_template.sheets.money.prices import INVENTED
from xlfuncs.tables.money.prices import PRICES

ONCE = ("tax", "shop", "date", "source")


def with_own_prices(inputs: Inputs) -> tuple[Inputs, list[str]]:
    """Own prices beside which the example's source still stands take tax, shop, date and source of
    the first that has its own; examples of a part that has an own price are left out.

    Also, in words, what was done.
    """
    farms = [invented_farm(system, [PRICES], ()).tables[PRICES.name] for system in ("us", "metric")]
    known = {(row["part"], row["price"]): row for farm in farms for row in farm}
    own, examples, half = [], [], []
    for row in (dict(row) for row in inputs.tables[PRICES.name] if row.get("part")):
        example = known.get((row["part"], row.get("price")))
        untouched = INVENTED in str(row.get("source", ""))
        if example and untouched and str(row.get("note", "")).startswith("Invented"):
            examples.append(row)
            continue
        own.append(row)
        half += [row] if untouched else []
    whole = next((row for row in own if row.get("source") and row not in half), None)
    if not own or not whole:
        words = "Prices: type Tax, Shop, Date and Source beside one of yours, for all of them."
        return inputs, [words] if half else []
    for row in half:
        row |= {name: whole.get(name) for name in ONCE}
        row.pop("delivery", None)  # the example's
    for row in own:
        row.pop("note" if str(row.get("note", "")).startswith("Invented") else "", None)
    parts = {row["part"] for row in own}
    left = [row for row in examples if row["part"] not in parts]
    words = (
        f"Prices: {len(own)} of your own"
        + (
            f", {len(half)} with tax, shop, date and source as beside {whole['part']}"
            if half
            else ""
        )
        + f"; {len(examples) - len(left)} examples of the same parts left out."
    )
    return replace(inputs, tables={**inputs.tables, PRICES.name: [*own, *left]}), [words]
