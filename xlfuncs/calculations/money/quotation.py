"""The sums of a quotation, each line and each sum in whole cents.

Markup is a percentage of cost, margin a percentage of price: 50 % markup is a third margin.
"""

from dataclasses import dataclass
from decimal import Decimal

from xlfuncs.calculations.arrays import Flags, Floats, Numbers
from xlfuncs.calculations.money.rounding import round_money
from xlfuncs.errors import InputError


def margin_from_markup(markup: Numbers) -> Numbers:
    """Margin (part of price) of a markup (part of cost)."""
    return markup / (1 + markup)


def markup_from_margin(margin: Numbers) -> Numbers:
    """Markup (part of cost) of a margin (part of price)."""
    return margin / (1 - margin)


@dataclass(frozen=True)
class Terms:
    """What turns the cost of lines into a price. One of markup and margin is given, or neither."""

    contingency: float = 0.0
    markup: float | None = None
    margin: float | None = None
    tax: float = 0.0

    def cost(self, work: Decimal) -> tuple[Decimal, Decimal]:
        """The contingency on materials and labour, and the cost with it."""
        contingency = round_money(work * _decimal(self.contingency))
        return contingency, work + contingency

    def price(self, cost: Decimal) -> Decimal:
        """The price before tax."""
        if self.markup is not None and self.margin is not None:
            raise InputError("margin", "give a markup or a margin, not both; the other follows")
        if self.margin is not None:
            return round_money(cost / (1 - _decimal(self.margin)))
        return round_money(cost * (1 + _decimal(self.markup or 0.0)))

    def tax_on(self, price: Decimal) -> Decimal:
        """The tax on a price."""
        return round_money(price * _decimal(self.tax))


@dataclass(frozen=True)
class Quotation:
    """One option of a quotation."""

    materials: Decimal
    labour: Decimal
    contingency: Decimal
    cost: Decimal
    markup: float
    margin: float
    price: Decimal
    tax: Decimal
    total: Decimal
    optional: Decimal  # what all the optional items would add, tax included


def quotation(
    quantities: Floats, unit_costs: Floats, included: Flags, labour_hours: float,
    labour_rate: float, terms: Terms,
) -> Quotation:  # fmt: skip
    """The sums of the included lines and of labour; the other lines are optional items."""
    lines = [
        round_money(_decimal(quantity) * _decimal(cost))
        for quantity, cost in zip(quantities.tolist(), unit_costs.tolist(), strict=True)
    ]
    materials, optional = (
        sum(
            (line for line, is_in in zip(lines, included, strict=True) if is_in == wanted),
            Decimal(0),
        )
        for wanted in (True, False)
    )
    labour = round_money(_decimal(labour_hours) * _decimal(labour_rate))
    contingency, cost = terms.cost(materials + labour)
    price = terms.price(cost)
    tax = terms.tax_on(price)
    extra = terms.price(terms.cost(optional)[1])
    return Quotation(
        materials=materials, labour=labour, contingency=contingency, cost=cost,
        markup=float((price - cost) / cost) if cost else 0.0,
        margin=float((price - cost) / price) if price else 0.0, price=price, tax=tax,
        total=price + tax, optional=extra + terms.tax_on(extra),
    )  # fmt: skip


def _decimal(number: float) -> Decimal:
    return Decimal(repr(float(number)))
