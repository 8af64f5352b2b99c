"""The stretches that a purchase may cut from: the rolls on sale, alone and joined."""

from collections.abc import Sequence
from itertools import combinations_with_replacement
from math import comb

import numpy as np

from xlfuncs.calculations.buying import cutting_patterns as patterns

MOST_STRETCHES = 300
MOST_JOINS = 40  # in one stretch


def make_grid(
    pieces: Sequence[int], counts: Sequence[int], market: patterns.Market, most_joins: int = 0
) -> patterns.Grid:
    """The grid of pieces (nm, longest first) for stretches with at most so many joins."""
    unit = patterns.common_unit(pieces)
    lengths = tuple(round(piece / unit) for piece in pieces)
    total = sum(length * number for length, number in zip(lengths, counts, strict=True))
    longest = sum(piece * number for piece, number in zip(pieces, counts, strict=True))

    def stretch(rolls: tuple[int, ...]) -> patterns.Stretch:
        return patterns.Stretch(min(total, patterns.whole_units(market.net(rolls), unit)), rolls)

    kept = _without_dominated(
        [stretch((roll,)) for roll, on_sale in enumerate(market.rolls) if on_sale.available],
        market,
        longest,
    )
    joinable = [s.rolls[0] for s in kept if market.rolls[s.rolls[0]].length > market.join_loss]
    complete, number = True, 1
    while complete and number <= most_joins:
        number += 1
        if number > MOST_JOINS or (comb(len(joinable) + number - 1, number) > 10 * MOST_STRETCHES):
            complete = False
            break
        longer = [
            stretch(rolls)
            for rolls in combinations_with_replacement(joinable, number)
            if market.has(rolls)
        ]
        merged = _without_dominated([*kept, *longer], market, longest)
        complete = len(merged) <= MOST_STRETCHES
        if not set(longer) & set(merged) or min(s.capacity for s in longer) == total:
            number = most_joins + 1  # no longer stretch is of use
        kept = merged if complete else kept
    kept.sort(key=lambda s: (s.capacity, s.rolls))
    return patterns.Grid(lengths, tuple(counts), tuple(kept), unit, complete)


def _without_dominated(
    stretches: Sequence[patterns.Stretch], market: patterns.Market, longest: int
) -> list[patterns.Stretch]:
    """Drop each stretch beside one that is as long, costs no more and is always to be had; a length
    beyond `longest` (nm) is of no use."""
    kept: list[patterns.Stretch] = []
    cheapest = np.inf
    costs = {s: market.list_price(s.rolls) for s in stretches}
    # Rolls that are paid in any case cost nothing more.
    least = {
        s: costs[s]
        - sum(market.rolls[roll].price for roll in s.rolls if market.rolls[roll].at_least)
        for s in stretches
    }
    nets = {s: min(longest, market.net(s.rolls)) for s in stretches}
    for stretch in sorted(stretches, key=lambda s: (-nets[s], costs[s], len(s.rolls))):
        if least[stretch] < cheapest:
            kept.append(stretch)
        if all(market.rolls[roll].available >= patterns.UNLIMITED for roll in stretch.rolls):
            cheapest = min(cheapest, costs[stretch])
    return kept
