"""What a reader of selling prices could conclude of the markup: the attack is run, not supposed.

The attacker knows this code, the steps, the endings, how wide the spread is, which prices are of
one part, and how many pieces are in each pack. Purchase prices are taken to have ordinary endings
(.99, .95, whole or half units, dimes, nickels, whole cents for each piece of a pack): each markup
is then as likely as the endings that it gives back, against those that chance gives. A part's
spread is common to its packs, so that the ratios between their prices count too. Which habit the
shops have is unknown, so that every one is tried. No published source; Bayes' rule with equal
chances for every markup from 0 to 150 %, before the prices are seen.

A second attacker knows what the things cost by which options, or two revisions, differ, with the
contingency and the factors of the scheme. Sums are sums of prices that are printed, so that their
differences tell no more than these prices do; each of them tells the markup to within the spread.
"""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
MOST, STEP = 1.5, 0.0005  # markup; steps of the logarithm of the factor
NEAR = 0.01  # a markup that is known to a point is found
CONCLUDED = 0.95
FOLLOWING = 0.9  # share of prices that follow a habit
KNOWN, IMPOSSIBLE = -1, 1e-9  # in place of a habit; what cannot be, for rounding may err
FOUND = 0.25  # from this chance on, the markup counts as found
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
        told = (
            f"{self.who} of {self.prices} prices hits your markup to a point"
            f" {_one_in(self.near)}"
            f" (blindly: {_one_in(self.blind)})"
        )
        return told if not self.found else (
            f"WARNING: your markup can be found from this copy: {told}. Take coarser steps or a"
            " wider spread under [prices] of the settings"
        )  # fmt: skip


def _one_in(chance: float) -> str:
    return f"1 time in {1 / chance:.2g}" if chance > 0.001 else "less than 1 time in 1000"


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
