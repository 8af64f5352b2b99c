"""Everything counted, bought: which packs and rolls, with tax and delivery, to the cent."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from math import isnan

from xlfuncs.calculations.buying.cutting import cheapest_rolls
from xlfuncs.calculations.buying.packs import cheapest_packs
from xlfuncs.calculations.money.rounding import round_money
from xlfuncs.errors import CellError, InputError

OLD_AFTER = 365  # days; common practice, no published source


@dataclass(frozen=True)
class Need:
    """So many of a part; `length` (m) is nought for a part that is counted, the length to cut for
    a line, or with `joined` the total of a tubing that may be joined."""

    part: str
    number: int
    length: float = 0.0
    joined: bool = False


@dataclass(frozen=True)
class Offer:
    """A row of the price list: a pack of so many, or a roll (`roll_length` in m, `pack` nought)."""

    part: str
    pack: float
    roll_length: float
    price: float
    from_packs: int = 1
    currency: str = ""
    tax: float = 0.0
    delivery: float = 0.0
    age_days: float = 0.0  # on the plan date; NaN where the price has no date


@dataclass(frozen=True)
class Line:
    """One line of the basket; money to the cent. `spare` pieces or `left_over` m bought too much,
    worth `spare_money`."""

    offer: int
    part: str
    packs: int
    net: Decimal
    delivery: Decimal
    tax: Decimal
    total: Decimal
    spare: float
    left_over: float
    spare_money: Decimal
    note: str


def basket(
    needs: Sequence[Need],
    offers: Sequence[Offer],
    old_after: float = OLD_AFTER,
    time_limit: float = 5.0,
) -> list[Line]:
    """The cheapest purchase of every part, a line for each offer that is bought.

    Parts with a length are cut whole from rolls (`ROLL_PURCHASE`), or bought as a total length
    where they may be joined; all else in packs. What is compared is price, delivery and tax
    together. Raises InputError for a part without a price, and for a list in two currencies.
    """
    _one_currency(offers)
    lines = []
    for part in dict.fromkeys(need.part for need in needs):
        wanted = [need for need in needs if need.part == part and need.number > 0]
        rows = [row for row, offer in enumerate(offers) if offer.part == part]
        if not wanted:
            continue
        if not rows or any(isnan(offers[row].price) for row in rows):
            raise InputError(
                "parts",
                f"'{part}' has no price on the price list: add one, or strike the part out",
                row=next(row for row, need in enumerate(needs) if need.part == part),
                cell_error=CellError.NOT_AVAILABLE,
            )
        lines += _buy(part, wanted, rows, offers, old_after, time_limit)
    return lines


def _one_currency(offers: Sequence[Offer]) -> None:
    first = offers[0].currency if offers else ""
    for row, offer in enumerate(offers):
        if offer.currency != first:
            raise InputError(
                "currencies",
                f"is '{offer.currency}' here and '{first}' above: one list has one currency",
                row=row,
                cell_error=CellError.VALUE,
            )


def _full_price(offer: Offer) -> float:
    return (offer.price + offer.delivery) * (1 + offer.tax)


def _buy(
    part: str,
    needs: Sequence[Need],
    rows: Sequence[int],
    offers: Sequence[Offer],
    old_after: float,
    time_limit: float,
) -> list[Line]:
    """Buy one part from its offers, which are rolls where it has a length and packs otherwise."""
    by_length = any(need.length for need in needs)
    usable = [row for row in rows if bool(offers[row].roll_length) == by_length]
    if not usable or any(bool(need.length) != by_length for need in needs):
        found, missing = ("pack", "roll length") if by_length else ("roll length", "pack")
        raise InputError(
            "parts",
            f"'{part}' is needed by {'length' if by_length else 'number'}, but its prices give a"
            f" {found} and no {missing}",
            cell_error=CellError.NOT_AVAILABLE,
        )
    note = ""
    prices = [_full_price(offers[row]) for row in usable]
    if by_length and not any(need.joined for need in needs):
        plan = cheapest_rolls(
            [need.length for need in needs],
            [need.number for need in needs],
            [offers[row].roll_length for row in usable],
            prices,
            time_limit=time_limit,
        )
        packs = plan.rolls
        note = "" if plan.proven else f"best found in time, nothing is below {plan.bound:.2f}"
    else:
        sizes = [offers[row].roll_length if by_length else offers[row].pack for row in usable]
        needed = sum(need.number * (need.length if by_length else 1) for need in needs)
        packs = cheapest_packs(
            needed, sizes, prices, [offers[row].from_packs for row in usable]
        ).packs
    return _lines(part, needs, usable, packs, offers, by_length, note, old_after)


def _age(offer: Offer, old_after: float) -> str:
    """Words on a price that is old on the plan date, or of which nobody knows."""
    if isnan(offer.age_days):
        return "price has no date: ask again"
    if offer.age_days > old_after:
        return f"price is {offer.age_days:.0f} days old on the plan date: ask again"
    return ""


def _lines(
    part: str,
    needs: Sequence[Need],
    usable: Sequence[int],
    packs: Sequence[int],
    offers: Sequence[Offer],
    by_length: bool,
    note: str,
    old_after: float,
) -> list[Line]:
    """The lines of one part; what is too much stands on its last line."""
    needed = sum(need.number * (need.length if by_length else 1) for need in needs)
    bought = [(row, number) for row, number in zip(usable, packs, strict=True) if number]
    size = {row: offers[row].roll_length if by_length else offers[row].pack for row in usable}
    too_much = sum(number * size[row] for row, number in bought) - needed
    lines = []
    for place, (row, number) in enumerate(bought):
        offer = offers[row]
        net = round_money(Decimal(repr(offer.price)) * number)
        delivery = round_money(Decimal(repr(offer.delivery)) * number)
        tax = round_money((net + delivery) * Decimal(repr(offer.tax)))
        extra = max(0.0, too_much) if place == len(bought) - 1 else 0.0
        lines.append(
            Line(
                row, part, number, net, delivery, tax, net + delivery + tax,
                0.0 if by_length else extra,
                extra if by_length else 0.0,
                round_money(extra / size[row] * _full_price(offer)),
                "; ".join(words for words in (note, _age(offer, old_after)) if words),
            )
        )  # fmt: skip
    return lines
