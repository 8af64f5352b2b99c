"""Everything counted, bought: which packs and rolls, with tax and delivery, to the cent."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import combinations
from math import inf, isnan

from xlfuncs.calculations.buying import part_purchase
from xlfuncs.calculations.buying.clock import Clock
from xlfuncs.calculations.buying.part_purchase import Bought, Need, Offer, Stock
from xlfuncs.calculations.money.rounding import round_money
from xlfuncs.errors import CellError, InputError

OLD_AFTER = 365  # days; common practice, no published source
MOST_ORDERS = 8  # shops that charge an order: every choice of them is tried
IN_STORE = "in store"
NONE = Decimal("0.00")


@dataclass(frozen=True)
class Order:
    """What a shop charges once for an order, however much is in it."""

    shop: str
    delivery: float
    tax: float = 0.0

    @property
    def cost(self) -> float:
        return self.delivery * (1 + self.tax)


@dataclass(frozen=True)
class BasketLine:
    """One line of the basket; money to the cent. `spare` pieces or `left_over` m bought too much,
    worth `spare_money`.

    `offer` is the row of the price list; None where a part comes out of the store, and for the
    delivery of an order (`packs` nought).
    """

    offer: int | None
    part: str
    packs: int
    note: str
    shop: str = ""
    length: float = 0.0  # of each, in m, where the part is a length
    net: Decimal = NONE
    delivery: Decimal = NONE
    tax: Decimal = NONE
    spare: float = 0.0
    left_over: float = 0.0
    spare_money: Decimal = NONE

    @property
    def total(self) -> Decimal:
        return self.net + self.delivery + self.tax


def basket(
    needs: Sequence[Need], offers: Sequence[Offer], old_after: float = OLD_AFTER,
    time_limit: float = 5.0, stock: Sequence[Stock] = (), orders: Sequence[Order] = (),
) -> list[BasketLine]:  # fmt: skip
    """The cheapest purchase of every part: a line for each offer that is bought, for what is taken
    out of the store, and for each order that costs a delivery.

    Parts with a length are cut whole from rolls (`ROLL_PURCHASE`), or bought as a total length
    where they may be joined; all else in packs. What is compared is price, delivery and tax
    together: with `orders` every choice of shops that charge for one is tried. `time_limit` (s)
    for everything together. Raises InputError for a part without a price that the store doesn't
    cover, and for a list in two currencies.
    """
    _one_currency(offers)
    charged = {order.shop: order for order in orders if order.delivery > 0}
    if len(charged) > MOST_ORDERS:
        raise InputError(
            "orders", f"at most {MOST_ORDERS} shops may charge an order; it has {len(charged)}"
        )
    parts = [
        part
        for part in dict.fromkeys(need.part for need in needs)
        if any(need.part == part and need.number > 0 for need in needs)
    ]
    for part in parts:
        _priced(part, needs, offers, stock)
    shops, purchases = _cheapest(parts, needs, offers, stock, charged, Clock(time_limit))
    lines: list[BasketLine] = []
    for part, purchase in zip(parts, purchases, strict=True):
        wanted = sum(need.number for need in needs if need.part == part)
        lines += _lines(part, wanted, purchase, offers, old_after)
    return lines + [_order_line(charged[shop]) for shop in shops]


def _cheapest(
    parts: Sequence[str], needs: Sequence[Need], offers: Sequence[Offer], stock: Sequence[Stock],
    charged: dict[str, Order], clock: Clock,
) -> tuple[tuple[str, ...], list[Bought]]:  # fmt: skip
    """Which of the shops that charge an order to buy from, and the purchase of each part.

    Once the shops are chosen their charges are spent, and the parts are bought one by one. A part
    depends only on the shops that sell it, so few purchases are searched twice.
    """
    sellers = {
        part: {offer.shop for offer in offers if offer.part == part and offer.shop in charged}
        for part in parts
    }
    waiting = sum(2 ** len(shops) for shops in sellers.values())
    known: dict[tuple[str, frozenset[str]], Bought | None] = {}

    def bought(part: str, shops: frozenset[str]) -> Bought | None:
        nonlocal waiting
        key = (part, shops & sellers[part])
        if key not in known:
            of_them = {
                row: offer
                for row, offer in enumerate(offers)
                if offer.part == part and (offer.shop not in charged or offer.shop in shops)
            }
            known[key] = part_purchase.buy_part(
                part, needs, of_them, stock, clock.part(2 / waiting)
            )
            waiting -= 1
        return known[key]

    every = tuple(charged)
    best: tuple[tuple[str, ...], list[Bought]] = ((), [])
    best_cost = inf
    floor: float | None = None
    for shops in _subsets(every):
        fees = sum(charged[shop].cost for shop in shops)
        if floor is not None and (floor + fees >= best_cost or (clock.late() and best[1])):
            continue
        purchases = [bought(part, frozenset(shops)) for part in parts]
        found = [purchase for purchase in purchases if purchase is not None]
        cost = fees + sum(purchase.cost for purchase in found)
        floor = cost - fees if floor is None and len(found) == len(parts) else floor
        if len(found) == len(parts) and cost < best_cost:
            best, best_cost = (shops, found), cost
    if not best[1] and parts:
        raise InputError(
            "parts", "no purchase holds all of them", cell_error=CellError.NOT_AVAILABLE
        )
    # A shop of which nothing is bought gets no order.
    used = {offers[row].shop for purchase in best[1] for row, _ in purchase.packs}
    return tuple(shop for shop in best[0] if shop in used), best[1]


def _subsets(shops: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
    """All shops first, whose purchases no smaller choice can better, then the smaller ones."""
    for number in range(len(shops), -1, -1):
        yield from combinations(shops, number)


def _priced(
    part: str, needs: Sequence[Need], offers: Sequence[Offer], stock: Sequence[Stock]
) -> None:
    prices = [offer.price for offer in offers if offer.part == part]
    row = next(row for row, need in enumerate(needs) if need.part == part)
    if any(isnan(price) for price in prices) or (
        not prices and part_purchase.buy_part(part, needs, {}, stock, Clock(1.0)) is None
    ):
        words = f"'{part}' has no price on the price list: add one, or take the part off what is"
        words += " needed"
        raise InputError("parts", words, row=row, cell_error=CellError.NOT_AVAILABLE)


def _one_currency(offers: Sequence[Offer]) -> None:
    first = offers[0].currency if offers else ""
    for row, offer in enumerate(offers):
        if offer.currency != first:
            words = f"is '{offer.currency}' here and '{first}' above: one list has one currency"
            raise InputError("currencies", words, row=row, cell_error=CellError.VALUE)


def _age(offer: Offer, old_after: float) -> str:
    """Words on a price that is old on the plan date, or of which nobody knows."""
    if isnan(offer.age_days):
        return "price has no date: ask again"
    if offer.age_days > old_after:
        return f"price is {offer.age_days:.0f} days old on the plan date: ask again"
    return ""


def _needed(wanted: int, purchase: Bought, offers: Sequence[Offer]) -> str:
    """What is needed of a part that comes in several packs, and in which, in words."""
    sizes = [(offers[row].pack, number) for row, number in purchase.packs]
    if purchase.by_length or len(sizes) + len(purchase.stock) < 2:
        return ""
    packs = [f"{number} single" if size == 1 else f"{number} pack{'s'[: number - 1]} of {size:g}"
             for size, number in sizes]  # fmt: skip
    packs += [f"{number} {IN_STORE}" for _, number in purchase.stock]
    return f"{wanted} needed: {' + '.join(packs)}"


def _lines(
    part: str, wanted: int, purchase: Bought, offers: Sequence[Offer], old_after: float
) -> Iterator[BasketLine]:
    """The lines of one part; what is needed stands on its first, what is too much on its last."""
    by_length, needed = purchase.by_length, _needed(wanted, purchase, offers)
    for length, number in purchase.stock:
        yield BasketLine(None, part, number, IN_STORE, length=length)
    for place, (row, number) in enumerate(purchase.packs, start=1):
        offer = offers[row]
        size = offer.roll_length if by_length else offer.pack
        net = round_money(Decimal(repr(offer.price)) * number)
        delivery = round_money(Decimal(repr(offer.delivery)) * number)
        tax = round_money((net + delivery) * Decimal(repr(offer.tax)))
        extra = max(0.0, purchase.too_much) if place == len(purchase.packs) else 0.0
        said = (needed if place == 1 else "", purchase.note, _age(offer, old_after))
        note = "; ".join(words for words in said if words)
        yield BasketLine(
            row, part, number, note, offer.shop, offer.roll_length, net, delivery, tax,
            0.0 if by_length else extra, extra if by_length else 0.0,
            round_money(extra / size * part_purchase.full_price(offer)),
        )  # fmt: skip


def _order_line(order: Order) -> BasketLine:
    delivery = round_money(Decimal(repr(order.delivery)))
    tax = round_money(delivery * Decimal(repr(order.tax)))
    note = f"for the order from {order.shop}"
    return BasketLine(None, "delivery", 0, note, order.shop, delivery=delivery, tax=tax)
