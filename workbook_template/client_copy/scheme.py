"""The scheme by which costs become selling prices: factors, a secret spread, steps or endings.

What is rounded in fine steps betrays the markup where purchase prices have ordinary endings: one
factor alone turns most of them back into such. So the usual steps are coarse, and each part has a
spread of its own around the markup, drawn from a secret that stays with the consultant. `attack`
measures what a scheme leaves to be found.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from hashlib import sha256

from xlfuncs.errors import WorkbookError

Steps = tuple[tuple[Decimal, Decimal], ...]
# Below the first number prices go in steps of the second; above the last to so many digits.
STEPS: Steps = tuple(
    (Decimal(below), Decimal(step))
    for below, step in (("0.5", "0.05"), ("2", "0.25"), ("20", "1"), ("100", "5"))
)
DIGITS = 2
SPREAD = 0.08
KINDS = ("lines", "pipes", "parts", "delivery", "work")
_DRAWN = 2**53


@dataclass(frozen=True)
class Scheme:
    """How selling prices are set; `factors` by kind come on top of one plus the markup."""

    steps: Steps = STEPS
    digits: int = DIGITS
    endings: tuple[Decimal, ...] = ()  # of prices from 1 on, such as 0.90, in place of steps
    spread: float = SPREAD  # at most so far from the markup, as a part of the price
    factors: Mapping[str, float] = field(default_factory=dict)
    secret: str = ""

    def price(self, cost: float, markup: float, kind: str = "parts", name: str = "") -> float:
        """What a client pays for something that costs `cost`; always more than that."""
        if not cost or not (markup or self.factors.get(kind)):
            return cost
        exact = Decimal(repr(cost)) * (1 + Decimal(repr(markup)))
        exact *= Decimal(repr(self.factors.get(kind, 1.0))) * self._moved(name)
        low, high = self._neighbours(exact)
        nearest = low if abs(exact) - low < high - abs(exact) else high
        paid = abs(Decimal(repr(cost)))
        if nearest <= paid:
            nearest = self._neighbours(paid)[1]
        return float(nearest.copy_sign(exact))

    def room(self, price: float) -> tuple[float, float]:
        """From where to where prices become this one."""
        exact = Decimal(repr(abs(price)))
        tiny = exact * Decimal("1e-9")
        below, above = self._neighbours(exact - tiny)[0], self._neighbours(exact + tiny)[1]
        return float((below + exact) / 2), float((exact + above) / 2)

    def _moved(self, name: str) -> Decimal:
        """One, moved by the spread: alike for all offers of a part, so that none is preferred."""
        if not self.spread:
            return Decimal(1)
        drawn = int.from_bytes(sha256(f"{self.secret}\n{name.lower()}".encode()).digest()[:7])
        part = drawn % _DRAWN / _DRAWN * 2 - 1
        return 1 + Decimal(repr(self.spread * part))

    def _neighbours(self, exact: Decimal) -> tuple[Decimal, Decimal]:
        """The prices of the scheme at or below, and above."""
        amount = abs(exact)
        if self.endings and amount >= 1:
            whole = int(amount)
            prices = sorted(whole + i + end for i in (-1, 0, 1) for end in self.endings)
            below = max(p for p in prices if p <= amount)
            return below, min(p for p in prices if p > amount)
        step = next((step for below, step in self.steps if amount < below), None)
        step = step or Decimal(1).scaleb(amount.adjusted() + 1 - self.digits)
        steps = int(amount / step)
        return steps * step, (steps + 1) * step


def scheme_of(given: Mapping[str, object]) -> Scheme:
    """The scheme that the table `prices` of a settings file asks for."""
    known = {"steps", "digits", "endings", "spread", "factors", "secret"}
    for name in given.keys() - known:
        raise WorkbookError(f"prices.{name}: not known; there are {', '.join(sorted(known))}")
    try:
        scheme = Scheme(
            steps=tuple((Decimal(str(below)), Decimal(str(step)))
                        for below, step in given.get("steps", STEPS)),  # type: ignore[attr-defined]
            digits=int(given.get("digits", DIGITS)),  # type: ignore[call-overload]
            endings=tuple(Decimal(str(e)) for e in given.get("endings", ())),  # type: ignore[attr-defined]
            spread=float(given.get("spread", SPREAD)),  # type: ignore[arg-type]
            factors={str(k): float(v) for k, v in given.get("factors", {}).items()},  # type: ignore[attr-defined]
            secret=str(given.get("secret", "")),
        )  # fmt: skip
    except (TypeError, ValueError, ArithmeticError, AttributeError) as error:
        raise WorkbookError(f"prices: {error}") from None
    limits = (
        ("spread", "at least 0, at most 0.3", 0 <= scheme.spread <= 0.3),
        ("digits", "at least 1", scheme.digits >= 1),
        ("steps", "rising limits and steps above 0", all(s > 0 for _, s in scheme.steps)
         and [b for b, _ in scheme.steps] == sorted({b for b, _ in scheme.steps})),
        ("endings", "at least 0, below 1", all(0 <= e < 1 for e in scheme.endings)),
        ("factors", f"above 0, of {', '.join(KINDS)}",
         all(k in KINDS and v > 0 for k, v in scheme.factors.items())),
    )  # fmt: skip
    for name, words, holds in limits:
        if not holds:
            raise WorkbookError(f"prices.{name}: {given[name]} is not {words}")
    return scheme


def secret_of(costs: object) -> str:
    """A secret where the settings name none: of all costs together, which nobody else knows."""
    return sha256(repr(costs).encode()).hexdigest()
