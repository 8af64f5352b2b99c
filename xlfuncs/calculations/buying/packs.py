"""The cheapest packs of a part, with prices that fall with the number of packs bought."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, inf, prod

import numpy as np

from xlfuncs.calculations.arrays import Floats
from xlfuncs.calculations.buying.clock import Clock
from xlfuncs.calculations.buying.integer_programs import IntegerSolution, minimise_integer
from xlfuncs.calculations.buying.purchase_checks import as_many, positive
from xlfuncs.errors import InputError

SLACK = 1e-9
MOST_PACKS = 1_000_000
_MOST_MIXES = 1000  # of packs, up to which all are looked at


@dataclass(frozen=True)
class PackPlan:
    """How many packs of each offer to buy, what they cost, and how much is bought too much.

    `bound` is a cost that no purchase goes below; `proven` says that this one meets it.
    """

    packs: tuple[int, ...]
    cost: float
    spare: float
    bound: float
    proven: bool


def cheapest_packs(
    needed: float,
    pack_sizes: Sequence[float],
    pack_prices: Sequence[float],
    from_packs: Sequence[int] | None = None,
    time_limit: float | Clock = 10.0,
) -> PackPlan:
    """The cheapest mix of packs that holds at least `needed`.

    One offer a row: a pack of `pack_sizes` units at `pack_prices` each, where at least
    `from_packs` of them are bought (default 1); offers of one size are steps of one price ladder,
    and all packs of that size are bought at the one step. Sizes and `needed` in any one unit.
    `time_limit` in seconds, or a clock that runs; when it is up the best purchase so far comes back
    unproven.
    """
    steps = list(from_packs) if from_packs is not None else [1] * len(pack_sizes)
    _check(needed, pack_sizes, pack_prices, steps)
    if needed <= SLACK:
        return PackPlan((0,) * len(pack_sizes), 0.0, 0.0, 0.0, True)
    sizes = np.array(pack_sizes, dtype=np.float64)
    prices = np.array(pack_prices, dtype=np.float64)
    most = np.array(
        [max(step, ceil(needed / size - SLACK)) for step, size in zip(steps, sizes, strict=True)],
        dtype=np.float64,
    )
    best = np.zeros(len(sizes))
    alone = int(np.argmin(most * prices))
    best[alone] = most[alone]
    bound, proven = 0.0, len(sizes) == 1  # of one offer nothing is left to choose
    ladders = len({*pack_sizes}) < len(sizes)
    if not (proven or ladders) and (mix := _of_all(needed, sizes, prices, steps, most)) is not None:
        best, proven = mix, True
    if not proven:
        clock = Clock.of(time_limit)
        found = _solution(needed, sizes, prices, np.array(steps, dtype=np.float64), most, clock)
        if found.values is not None:
            packs = np.array(found.values[: len(sizes)], dtype=np.float64)
            if sizes @ packs >= needed * (1 - SLACK) and prices @ packs <= prices @ best:
                best, proven = packs, found.proven
        bound = max(0.0, min(found.bound, float(prices @ best)))
    cost = float(prices @ best)
    return PackPlan(
        tuple(int(number) for number in best), cost, max(0.0, float(sizes @ best) - needed),
        cost if proven else bound, proven,
    )  # fmt: skip


def _of_all(
    needed: float, sizes: Floats, prices: Floats, steps: Sequence[int], most: Floats
) -> Floats | None:
    """The cheapest of all mixes of packs of different sizes, of equal ones that with the least too
    much; None where there are too many. One offer fills what the others leave."""
    fills = int(np.argmax(most))
    others = [i for i in range(len(sizes)) if i != fills]
    numbers = [np.r_[0, steps[i] : int(most[i]) + 1] for i in others]
    if prod(map(len, numbers)) > _MOST_MIXES:
        return None
    packs = np.zeros((prod(map(len, numbers)), len(sizes)))
    packs[:, others] = np.stack(np.meshgrid(*numbers), axis=-1).reshape(-1, len(others))
    missing = needed * (1 - SLACK) - packs @ sizes
    packs[:, fills] = np.where(
        missing > 0, np.maximum(steps[fills], np.ceil(missing / sizes[fills])), 0.0
    )
    found: Floats = packs[np.lexsort((packs @ sizes, np.round(packs @ prices, 9)))[0]]
    return found


def _solution(
    needed: float, sizes: Floats, prices: Floats, steps: Floats, most: Floats, clock: Clock
) -> IntegerSolution:
    """Variables: packs of each offer, then whether the offer is taken at all."""
    offers = len(sizes)
    same, nothing = np.eye(offers), np.zeros((offers, offers))
    one_step = [np.where(sizes == size, -1.0, 0.0) for size in np.unique(sizes)]
    rows = np.vstack(
        [
            np.concatenate([sizes / needed, np.zeros(offers)]),
            np.hstack([same, -np.diag(steps)]),
            np.hstack([-same, np.diag(most)]),
            np.hstack([nothing[: len(one_step)], np.array(one_step)]),
        ]
    )
    limits = np.concatenate([[1.0 - SLACK], np.zeros(2 * offers), np.full(len(one_step), -1.0)])
    costs = np.concatenate([prices, np.zeros(offers)])
    return minimise_integer(costs, rows, limits, clock)


def _check(
    needed: float, pack_sizes: Sequence[float], pack_prices: Sequence[float], steps: Sequence[int]
) -> None:
    if not 0 <= needed < inf:
        raise InputError("needed", f"must be at least 0; it is {needed:g}")
    if not len(pack_sizes):
        raise InputError("pack_sizes", "give at least one pack")
    others = {"pack_prices": pack_prices, "from_packs": steps}
    for name, values in others.items():
        as_many(name, values, "pack_sizes", pack_sizes)
    for name, values in {"pack_sizes": pack_sizes, **others}.items():
        positive(name, values)
    for row, size in enumerate(pack_sizes):
        if needed > MOST_PACKS * size:
            words = f"{needed:g} would be more than {MOST_PACKS} packs of {size:g}"
            raise InputError("pack_sizes", words, row=row)
