"""Blocks are exchanged until every set is right, where that can be."""

from __future__ import annotations

import random

import numpy as np
import pytest

from xlfuncs.calculations.designs.set_exchange import Mark, exchanged


@pytest.mark.parametrize("seed", range(5))
def test_sets_that_can_be_filled_exactly_are(seed):
    """Six cuts of 20 into four whole numbers, mixed up, are put together again, each once."""
    chance = random.Random(seed)
    sizes: list[int] = []
    for _ in range(6):
        cuts = sorted(chance.sample(range(1, 20), 3))
        sizes += [b - a for a, b in zip([0, *cuts], [*cuts, 20], strict=True)]
    mixed = list(range(24))
    chance.shuffle(mixed)

    def mark(members):
        total = sum(sizes[i] for i in members)
        return Mark(abs(total / 20 - 1), 60.0)

    def guess(blocks, inside, like):
        off = np.abs(inside @ np.array([sizes[i] for i in blocks]) / 20 - 1)
        return off, np.full(off.size, 60.0)

    deal = [mixed[i::6] for i in range(6)]
    found = exchanged(deal, mark, guess, 360.0)
    assert sorted(i for members in found for i in members) == list(range(24))
    assert all(sum(sizes[i] for i in members) == 20 for members in found)
    assert exchanged(deal, mark, guess, 350.0) == []  # the hours
