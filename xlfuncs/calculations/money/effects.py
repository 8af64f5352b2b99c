"""The parts of a change between two years, in whole cents that add up to the change."""

from collections.abc import Sequence
from decimal import Decimal, localcontext
from fractions import Fraction
from itertools import cycle, islice
from typing import NamedTuple

from xlfuncs.calculations.money.rounding import round_money

Amount = Decimal | Fraction | float
_CENT = Decimal("0.01")


class Effects(NamedTuple):
    """What a change is due to. Each link of the chain keeps what the links before it changed.

    price: the old quantity at the new price; area: the old use per area on the new area, at the
    new price; weather: that use in proportion to the new year's need; use: what is left, on the
    new area at the new price; fixed: amounts that carry no quantity; credits: money back that
    carries none; exchange: what the bills of two meters in one period cost more than one would.
    """

    price: Amount
    area: Amount
    weather: Amount
    use: Amount
    fixed: Amount
    credits: Amount = Fraction(0)
    exchange: Amount = Fraction(0)


def cents(amount: Amount) -> Decimal:
    """An amount in whole cents."""
    if isinstance(amount, Fraction):
        with localcontext() as context:
            context.prec = 60  # beyond any tie: a half cent has a finite decimal
            amount = Decimal(amount.numerator) / Decimal(amount.denominator)
            return round_money(amount)
    if isinstance(amount, float):
        amount = round(amount, 9)  # beyond a billionth a sum of floats is noise, and spoils ties
    return round_money(amount)


def cents_adding_up(parts: Sequence[Amount], total: Decimal) -> list[Decimal]:
    """The parts in whole cents that sum to `total`.

    A cent that is left over goes to the part that lost the most by rounding, of equals to the
    largest, so that a part in whole cents stays as it is.
    """
    rounded = [cents(part) for part in parts]
    left_over = total - sum(rounded, Decimal(0))
    sign = -1 if left_over < 0 else 1

    def lost(k: int) -> tuple[Fraction, Decimal]:
        exact = Fraction(round(part, 9)) if isinstance(part := parts[k], float) else Fraction(part)
        return sign * (exact - Fraction(rounded[k])), abs(rounded[k])

    for k in islice(cycle(sorted(range(len(parts)), key=lost, reverse=True)),
                    int(abs(left_over) / _CENT)):  # fmt: skip
        rounded[k] += sign * _CENT
    rounded[max(range(len(parts)), key=lost)] += total - sum(rounded, Decimal(0))
    return rounded


def rounded_effects(
    before: Amount, after: Amount, effects: Effects
) -> tuple[Decimal, Decimal, Effects]:
    """Both amounts in cents, and the effects in cents that sum to their difference exactly."""
    old, new = cents(before), cents(after)
    return old, new, Effects(*cents_adding_up(effects, new - old))
