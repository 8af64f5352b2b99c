"""The cheapest packs of a part, with prices that fall with the number of packs bought."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

import numpy as np

from xlfuncs.calculations.buying.integer_programs import minimise_integer
from xlfuncs.errors import CellError, InputError

SLACK = 1e-9


@dataclass(frozen=True)
class PackPlan:
    """How many packs of each offer to buy, what they cost, and how much is bought too much."""

    packs: tuple[int, ...]
    cost: float
    spare: float


def cheapest_packs(
    needed: float,
    pack_sizes: Sequence[float],
    pack_prices: Sequence[float],
    from_packs: Sequence[int] | None = None,
    time_limit: float = 10.0,
) -> PackPlan:
    """The cheapest mix of packs that holds at least `needed`; proven, as the program is solved out.

    One offer a row: a pack of `pack_sizes` units at `pack_prices` each, where at least
    `from_packs` of them are bought (default 1); offers of one size are steps of one price ladder,
    and all packs of that size are bought at the one step. Sizes and `needed` in any one unit.
    """
    steps = list(from_packs) if from_packs is not None else [1] * len(pack_sizes)
    _check(needed, pack_sizes, pack_prices, steps)
    offers = len(pack_sizes)
    if needed <= SLACK:
        return PackPlan((0,) * offers, 0.0, 0.0)
    sizes = np.array(pack_sizes, dtype=np.float64)
    most = np.array(
        [max(step, ceil(needed / size - SLACK)) for step, size in zip(steps, sizes, strict=True)],
        dtype=np.float64,
    )
    # Variables: packs of each offer, then whether the offer is taken at all.
    same, nothing = np.eye(offers), np.zeros((offers, offers))
    one_step = [np.where(sizes == size, -1.0, 0.0) for size in np.unique(sizes)]
    rows = np.vstack(
        [
            np.concatenate([sizes / needed, np.zeros(offers)]),
            np.hstack([same, -np.diag(np.array(steps, dtype=np.float64))]),
            np.hstack([-same, np.diag(most)]),
            np.hstack([nothing[: len(one_step)], np.array(one_step)]),
        ]
    )
    limits = np.concatenate([[1.0 - SLACK], np.zeros(2 * offers), np.full(len(one_step), -1.0)])
    costs = np.concatenate([np.array(pack_prices, dtype=np.float64), np.zeros(offers)])
    found = minimise_integer(costs, rows, limits, time_limit)
    if found.values is None or not found.proven:
        raise InputError(
            "needed", "no cheapest packs found in time", cell_error=CellError.NOT_AVAILABLE
        )
    packs = found.values[:offers]
    return PackPlan(packs, found.cost, max(0.0, float(sizes @ np.array(packs)) - needed))


def _check(
    needed: float,
    pack_sizes: Sequence[float],
    pack_prices: Sequence[float],
    steps: Sequence[int],
) -> None:
    if not needed >= 0:
        raise InputError("needed", f"must be at least 0; it is {needed:g}")
    if not len(pack_sizes):
        raise InputError("pack_sizes", "give at least one pack")
    for name, values in (("pack_prices", pack_prices), ("from_packs", steps)):
        if len(values) != len(pack_sizes):
            raise InputError(
                name, f"must have as many rows as pack_sizes ({len(pack_sizes)}), has {len(values)}"
            )
    for name, values in (
        ("pack_sizes", pack_sizes),
        ("pack_prices", pack_prices),
        ("from_packs", steps),
    ):
        for row, value in enumerate(values):
            if not value > 0:
                raise InputError(name, f"must be above 0; it is {value:g}", row=row)
