"""One part bought: from the store first, then the cheapest packs or rolls."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from xlfuncs.calculations.buying.clock import Clock
from xlfuncs.calculations.buying.cutting import RollPlan, cheapest_rolls
from xlfuncs.calculations.buying.packs import SLACK, PackPlan, cheapest_packs
from xlfuncs.calculations.buying.purchase_checks import SAME_LENGTH
from xlfuncs.errors import CellError, InputError


@dataclass(frozen=True)
class Need:
    """So many of a part; `length` (m) is nought for a part that is counted, the length to cut for
    a line, or with `joined` the total of a tubing that may be joined."""

    part: str
    number: int
    length: float = 0.0
    joined: bool = False


@dataclass(frozen=True)
class Stock:
    """So many of a part are there already: pieces, or rolls and rests of `length` (m) each."""

    part: str
    number: int
    length: float = 0.0


@dataclass(frozen=True)
class Offer:
    """A row of the price list: a pack of so many, or a roll (`roll_length` in m, `pack` nought).

    The price holds from `from_packs` packs or rolls; tax is a ratio on price and delivery.
    """

    part: str
    pack: float
    roll_length: float
    price: float
    from_packs: int = 1
    currency: str = ""
    tax: float = 0.0
    delivery: float = 0.0
    age_days: float = 0.0  # on the plan date; NaN where the price has no date
    shop: str = ""


Offers = Mapping[int, Offer]  # by their rows in the price list


@dataclass(frozen=True)
class Bought:
    """A part's purchase: (row of the price list, number) and, out of the store, (length, number);
    what it costs with delivery and tax, and what is bought beyond the need (pieces or m)."""

    packs: list[tuple[int, int]]
    stock: list[tuple[float, int]]
    cost: float
    too_much: float
    by_length: bool
    note: str


def full_price(offer: Offer) -> float:
    """With delivery and tax. What is free counts a millionth, so that no more of it is taken than
    is needed."""
    return max(1e-6, (offer.price + offer.delivery) * (1 + offer.tax))


def buy_part(
    part: str, needs: Sequence[Need], offers: Offers, stock: Sequence[Stock], clock: Clock
) -> Bought | None:
    """The cheapest purchase of a part from those rows of the price list; None if there is none.

    What is in the store costs nothing and goes first.
    """
    wanted = [need for need in needs if need.part == part and need.number > 0]
    by_length = any(need.length for need in wanted)
    usable = {row: of for row, of in offers.items() if bool(of.roll_length) == by_length}
    if (offers and not usable) or any(bool(need.length) != by_length for need in wanted):
        found, missing = ("pack", "roll length") if by_length else ("roll length", "pack")
        raise InputError(
            "parts",
            f"'{part}' is needed by {'length' if by_length else 'number'}, but its prices give a"
            f" {found} and no {missing}",
            cell_error=CellError.NOT_AVAILABLE,
        )
    there = [
        item
        for item in stock
        if item.part == part and item.number > 0 and bool(item.length) == by_length
    ]
    if by_length and not any(need.joined for need in wanted):
        return _rolls(wanted, usable, there, clock)
    return _packs(wanted, usable, there, by_length, clock)


def _rolls(
    needs: Sequence[Need], offers: Offers, there: Sequence[Stock], clock: Clock
) -> Bought | None:
    """Every line cut whole from a roll, or from what is there."""
    sold = list(offers.values())
    lengths = [offer.roll_length for offer in sold] + [item.length for item in there]
    longest = max(need.length for need in needs)
    if not lengths or (not sold and longest > max(lengths) + SAME_LENGTH):
        return None
    try:
        plan = cheapest_rolls(
            [need.length for need in needs], [need.number for need in needs], lengths,
            [full_price(offer) for offer in sold] + [0.0] * len(there), time_limit=clock,
            from_rolls=[offer.from_packs for offer in sold] + [1] * len(there),
            available=[None] * len(sold) + [item.number for item in there],
        )  # fmt: skip
    except InputError as error:
        if error.argument == "available":
            return None
        raise
    taken = zip(there, plan.rolls[len(sold) :], strict=True)
    cut = sum(need.length * need.number for need in needs)
    of_stock = sum(
        needs[row].length
        for stretch in plan.stretches
        if stretch.rolls[0] >= len(sold)
        for row in stretch.pieces
    )
    bought = _bought(offers, plan.rolls)
    return Bought(
        bought, [(item.length, number) for item, number in taken if number], plan.cost,
        sum(number * offers[row].roll_length for row, number in bought) - (cut - of_stock), True,
        _unproven(plan),
    )  # fmt: skip


def _packs(
    needs: Sequence[Need], offers: Offers, there: Sequence[Stock], by_length: bool, clock: Clock
) -> Bought | None:
    """Packs of pieces, or rolls of a length that may be joined, by the total."""
    needed = sum(need.number * (need.length if by_length else 1) for need in needs)
    used: list[tuple[float, int]] = []
    for item in there:
        size = item.length if by_length else 1
        number = min(item.number, int(-(-(needed - SLACK) // size)))
        if number > 0:
            used.append((item.length, number))
            needed -= number * size
    if needed <= SLACK:
        return Bought([], used, 0.0, 0.0, by_length, "")
    if not offers:
        return None
    sold = offers.values()
    plan = cheapest_packs(
        needed, [offer.roll_length if by_length else offer.pack for offer in sold],
        [full_price(offer) for offer in sold], [offer.from_packs for offer in sold], clock,
    )  # fmt: skip
    bought = _bought(offers, plan.packs)
    return Bought(bought, used, plan.cost, plan.spare, by_length, _unproven(plan))


def _bought(offers: Offers, numbers: Sequence[int]) -> list[tuple[int, int]]:
    """The rows of which some are bought; what comes out of the store follows them."""
    return [(row, number) for row, number in zip(offers, numbers, strict=False) if number]


def _unproven(plan: RollPlan | PackPlan) -> str:
    return "" if plan.proven else f"best found in time, nothing is below {plan.bound:.2f}"
