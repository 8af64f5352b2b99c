"""The scheme by which costs become selling prices: factors, a secret spread, steps or endings.

What is rounded in fine steps betrays the markup where purchase prices have ordinary endings: one
factor alone turns most of them back into such. So the usual steps are coarse, and each part has a
spread of its own around the markup, drawn from a secret that stays with the consultant. `attack`
measures what a scheme leaves to be found.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from hashlib import sha256

import numpy as np
import numpy.typing as npt

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

    def fine(self, price: float) -> Decimal:
        """A step of a digit more than those of large prices have; whole units with endings."""
        step = Decimal(1).scaleb(Decimal(repr(price)).adjusted() - self.digits)
        return max(step, Decimal(1)) if self.endings else step

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


EXACT = Scheme(steps=((Decimal("1e12"), Decimal("0.01")),), spread=0.0)


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


# --- what a reader of selling prices could conclude of the markup: the attack is run, not supposed
# The attacker knows this code, the steps, the endings, how wide the spread is, which prices are of
# one part, and how many pieces are in each pack. Purchase prices are taken to have ordinary endings
# (.99, .95, whole or half units, dimes, nickels, whole cents for each piece of a pack): each markup
# is then as likely as the endings that it gives back, against those that chance gives. A part's
# spread is common to its packs, so that the ratios between their prices count too. Which habit the
# shops have is unknown, so that every one is tried. No published source; Bayes' rule with equal
# chances for every markup from 0 to 150 %, before the prices are seen.
#
# A second attacker knows what the things cost by which options, or two revisions, differ, with the
# contingency and the factors of the scheme. Sums are sums of prices that are printed, so that their
# differences tell no more than these prices do; each of them tells the markup to within the spread.
FloatArray = npt.NDArray[np.float64]
MOST, STEP = 1.5, 0.0005  # markup; steps of the logarithm of the factor
NEAR = 0.01  # a markup that is known to a point is found
CONCLUDED = 0.95
FOLLOWING = 0.9  # share of prices that follow a habit
KNOWN, IMPOSSIBLE = -1, 1e-9  # in place of a habit; what cannot be, for rounding may err
FOUND = 0.25  # from this chance on, the markup counts as found
DOUBTED, ALIKE = 2.0, 1.1  # times as likely as by a blind guess
ENDINGS: tuple[tuple[float, ...], ...] = (
    (0.99,), (0.95,), (0.95, 0.99), (0.49, 0.99), (0.9,), (0.5, 0.0), (0.0,),
    tuple(i / 10 + 0.09 for i in range(10)), tuple(i / 10 for i in range(10)),
    tuple(i / 20 for i in range(20)),
)  # fmt: skip


@dataclass(frozen=True)
class Offer:
    """A selling price, from where to where prices become it, the part, and pieces in the pack.

    `cost` is what one who knows the purchase price takes it to be before markup; `option` is that
    of a line of the quotation.
    """

    part: str
    low: float
    high: float
    pack: float = 1.0
    cost: float = 0.0
    option: str = ""


@dataclass(frozen=True)
class Conclusion:
    """What the attack gives: the likeliest markup, the narrowest range for 95 %, the chances."""

    prices: int
    likeliest: float
    low: float
    high: float
    near: float  # chance that it gives to markups within a point of the true one
    blind: float  # the same without any price
    who: str = "a reader"  # and what they know

    @property
    def found(self) -> bool:
        return self.near >= FOUND

    def __str__(self) -> str:
        return self.told()

    def told(self, all_odds: bool = True) -> str:
        """In words; without `all_odds` those of prices that are no help are left away."""
        odds = f"within a point {_one_in(self.near)}, blindly {_one_in(self.blind)}"
        who, times = f"{self.who} ({self.prices} prices)", self.near / self.blind
        if self.found:
            told = f"WARNING: your markup can be found from this copy: {who} guesses it {odds}"
            return f"{told}. Take coarser steps or a wider spread under [prices] of the settings"
        if times > DOUBTED:
            told = f"may be sent, with a doubt: {who} guesses your markup better than by chance"
            return (f"{told}: {odds}. A wider spread (spread = 0.2 under [prices] of the settings)"
                    " hides more, from the first copy on")  # fmt: skip
        how = "no" if times <= ALIKE else "hardly"
        told = f"may be sent: {who} guesses your markup {how} better than by chance"
        return f"{told} with them: {odds}" if all_odds else told


def _one_in(chance: float) -> str:
    found = f"1 time in {float(f'{1 / chance:.2g}'):g}" if chance > 0.001 else ""
    return found or "less than 1 time in 1000"


def attack(
    offers: Sequence[Offer], spread: float, markup: float, *, who: str = "a reader",
    costs_known: bool = False,
) -> Conclusion:  # fmt: skip
    """The conclusion from the prices of a copy; `markup` only tells how near it comes."""
    margin = -np.log1p(-spread) if spread else 0.0
    logs = np.arange(-margin - STEP, np.log1p(MOST) + margin + STEP, STEP)
    inside = (logs >= 0) & (logs <= np.log1p(MOST))
    factors = np.exp(logs)
    by_part: dict[str, list[Offer]] = defaultdict(list)
    for offer in offers:
        by_part[offer.part.lower()].append(offer)
    wide = round(margin / STEP)
    evidence = np.array([
        sum((np.log(_averaged(_part(same, habit, factors), wide)) for same in by_part.values()),
            np.zeros(len(factors)))[inside]
        for habit in (range(len(ENDINGS) + 1) if not costs_known else [KNOWN])
    ])  # fmt: skip
    chances = np.exp(np.logaddexp.reduce(evidence, axis=0) - evidence.max()) * factors[inside]
    markups = factors[inside] - 1
    near = np.abs(markups - markup) <= NEAR
    plain = factors[inside] / factors[inside].sum()  # every markup alike, before
    chances /= chances.sum()
    likely = np.argsort(chances / plain)[::-1]
    kept = likely[: int(np.searchsorted(np.cumsum(chances[likely]), CONCLUDED)) + 1]
    return Conclusion(
        len(offers), float(markups[likely[0]]), float(markups[kept].min()),
        float(markups[kept].max()), float(chances[near].sum()), float(plain[near].sum()), who,
    )  # fmt: skip


def _part(offers: Sequence[Offer], habit: int, factors: FloatArray) -> FloatArray:
    """How much likelier the prices of one part are with each factor than by chance."""
    together = np.ones(len(factors))
    for offer in offers:
        low, high = offer.low / factors, offer.high / factors
        if habit == KNOWN:
            there = (low <= offer.cost * (1 + STEP)) & (offer.cost * (1 - STEP) <= high)
            together *= np.where(there, 1.0, IMPOSSIBLE)
            continue
        if habit < len(ENDINGS):
            counted = sum((_between(low, high, end, 1.0) for end in ENDINGS[habit]),
                          np.zeros(len(factors)))  # fmt: skip
            expected = (high - low) * len(ENDINGS[habit])
        else:
            cent = 0.01 * max(offer.pack, 1.0)
            counted, expected = _between(low, high, 0.0, cent), (high - low) / cent
        together *= FOLLOWING * counted / np.maximum(expected, 1e-9) + 1 - FOLLOWING
    return together


def _between(low: FloatArray, high: FloatArray, end: float, every: float) -> FloatArray:
    """How many numbers of a series lie in each range, none of them 0 or below."""
    first = np.maximum(np.ceil((low - end) / every - 1e-9), 0.0 if end else 1.0)
    counted: FloatArray = np.maximum(np.floor((high - end) / every + 1e-9) - first + 1, 0.0)
    return counted


def _averaged(values: FloatArray, wide: int) -> FloatArray:
    """The mean over the spread on both sides."""
    if not wide:
        return np.maximum(values, IMPOSSIBLE)
    summed = np.concatenate(([0.0], np.cumsum(np.pad(values, wide, mode="edge"))))
    mean = (summed[2 * wide + 1 :] - summed[: -2 * wide - 1]) / (2 * wide + 1)
    return np.maximum(mean, IMPOSSIBLE)
