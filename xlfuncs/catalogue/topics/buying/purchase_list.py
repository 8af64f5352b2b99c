"""Declarations: everything counted, bought."""

from typing import Any

import numpy as np

from xlfuncs.calculations.arrays import records
from xlfuncs.calculations.buying import basket as baskets
from xlfuncs.calculations.buying import part_purchase
from xlfuncs.catalogue.declaration import UNITS, Arg, table, worksheet_function
from xlfuncs.catalogue.sources import DEFINITION
from xlfuncs.tables.money.prices import ALREADY_HAVE, NEEDS, ORDERS, PRICES


@worksheet_function(
    "PURCHASE_LIST",
    help="The cheapest purchase of every part from the price list: packs, rolls, tax and delivery,"
    " one row an offer that is bought. A part without a price is an error that names it.",
    args=(
        table("needs", "What is needed, a row each: a part that is counted, or pieces of a length",
              NEEDS,
            "part=parts number=numbers",
            Arg.of("lengths: length, >=0, <=100000, column length: Length of each"
                   " piece; blank for parts that are counted", default=0),
            "joined"),
        table("offers", "The price list, a row an offer", PRICES,
            "part=price_parts",
            "[prices]: money, >=0, column price: Price of a pack or roll without tax",
            "[currencies=]: text, column currency: Currency, one for all",
            "[dates]: date, column date: Day on which the price was seen",
            "[packs=1]: number, >0, column pack: Pieces in a pack",
            Arg.of("roll_lengths: length, >=0, <=100000, column roll_length: Length of"
                   " a roll; blank for a pack", default=0),
            "from_packs tax=taxes delivery=deliveries shop=shops",
            "[counted=yes]: flag, selects: Whether the offer counts; others are not even read"),
        "plan_date: date: Date of the plan, against which prices are old",
        table("stock", "What is in store already", ALREADY_HAVE,
            "[stock_parts=]: text, column part: Part",
            Arg.of("stock_numbers: count, >=0, whole, column number: How many of it", default=1),
            Arg.of("stock_lengths: length, >=0, <=100000, column"
                   " length: Length of each; blank for parts that are"
                   " counted", default=0), default=None),
        table("orders", "Shops that charge for an order", ORDERS,
            "[order_shops=]: text, column shop: Shop",
            Arg.of("order_deliveries: money, >=0, column delivery: What it charges for"
                   " the delivery of an order", default=0),
            "tax=order_taxes", default=None),
        UNITS,
        "[old_after=365]: days, >=1, <=10000: Age from which a price is old (default 365, common"
        " practice)",
        "[time_limit=5 s]: seconds, >0, <=600 s: Longest search for the whole list",
    ),
    source=DEFINITION.at("least price, delivery and tax together; each rounded to the cent"),
    examples=("PURCHASE_LIST(A1:D40, Prices!A1:K60, DATE(2026,2,15))",),
)  # fmt: skip
def purchase_list(
    parts: Any, numbers: Any, plan_date: Any, price_parts: Any, prices: Any, currencies: Any,
    dates: Any, lengths: Any, joined: Any, packs: Any, roll_lengths: Any, from_packs: Any,
    taxes: Any, deliveries: Any, old_after: Any, time_limit: Any, shops: Any, stock_parts: Any,
    stock_numbers: Any, stock_lengths: Any, order_shops: Any, order_deliveries: Any,
    order_taxes: Any,
) -> Any:  # fmt: skip
    needs = records(part_purchase.Need, parts, numbers, lengths, joined)
    ages = (plan_date - dates) / np.timedelta64(1, "D")
    offers = records(
        part_purchase.Offer, price_parts, np.where(roll_lengths, 0.0, packs), roll_lengths, prices,
        from_packs, currencies, taxes, deliveries, ages, shops,
    )  # fmt: skip
    stock = records(part_purchase.Stock, stock_parts, stock_numbers, stock_lengths)
    orders = records(baskets.Order, order_shops, order_deliveries, order_taxes)
    lines = baskets.basket(needs, offers, old_after, time_limit, stock, orders)
    bought = [None if line.offer is None else offers[line.offer] for line in lines]
    return [
        (line.part, line.packs, offer.pack or np.nan if offer else np.nan, line.length or np.nan,
         offer.price if offer else np.nan, line.net, line.delivery, line.tax, line.total,
         line.spare, line.left_over, line.spare_money, line.note, line.shop)
        for line, offer in zip(lines, bought, strict=True)
    ]  # fmt: skip
