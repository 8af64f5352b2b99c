"""How well lines fit the rolls on sale: a little shorter for less money, longer for nothing."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from xlfuncs.calculations.arrays import Number
from xlfuncs.calculations.buying.clock import Clock
from xlfuncs.calculations.buying.cutting import RollPlan, cheapest_rolls
from xlfuncs.calculations.layout.beds import COUNT_SLACK
from xlfuncs.errors import InputError

PRESENT, SHORTER, LONGER, MORE_LINES = "as planned", "shorter", "longer", "more lines"
CENT = 0.005


@dataclass(frozen=True)
class FitStep:
    """One purchase: every line changed by so many emitter spacings, or so many lines added.

    `saving` is against the present purchase; `left_over` in m; `proven` as in RollPlan. The first
    step says whether all others were searched and proven before time ran out.
    """

    kind: str
    spacings: int
    length_change: float
    more_lines: int
    cost: float
    saving: float
    left_over: float
    proven: bool
    complete: bool = True


def cut_length(length: Number, emitter_spacing: Number, end_allowance: Number) -> Number:
    """Length (m) to cut for a line: whole emitter spacings within `length`, and an allowance.

    A line is cut between two emitters, so it is a whole number of spacings long, plus what goes
    into the connector and the end (`end_allowance`, m). Works elementwise.
    """
    spacings = np.floor(length / emitter_spacing + COUNT_SLACK)
    return spacings * emitter_spacing + end_allowance  # type: ignore[no-any-return]


def roll_fit(
    piece_lengths: Sequence[float], pieces: Sequence[int], roll_lengths: Sequence[float],
    roll_prices: Sequence[float], emitter_spacing: float, join_price: float | None = None,
    join_loss: float = 0.0, most_steps: int = 12, most_lines: int = 20, time_limit: float = 5.0,
) -> list[FitStep]:  # fmt: skip
    """The present purchase and the steps away from it that change what is bought or allowed.

    All lines are shortened or lengthened together by whole emitter spacings. Rows: as planned;
    one for each number of spacings (up to `most_steps`) at which the purchase becomes cheaper;
    the most spacings longer that cost nothing; the most further lines, of the longest length,
    that cost nothing. Lengths in m; `time_limit` in seconds for all purchases together: the present
    one takes at most a third, each other a fair share of what is left, and what then is not
    searched is left out.
    """
    if not emitter_spacing > 0:
        raise InputError("emitter_spacing", f"must be above 0; it is {emitter_spacing:g}")
    used = [length for length, count in zip(piece_lengths, pieces, strict=True) if count]
    if not used:
        return []

    clock = Clock(time_limit)
    proven: list[bool] = []
    longest, longest_roll = max(used), max(roll_lengths)

    def purchase(spacings: int, more_lines: int, share: float) -> RollPlan:
        lengths = [length + spacings * emitter_spacing for length in piece_lengths]
        plan = cheapest_rolls(
            [*lengths, longest], [*pieces, more_lines], roll_lengths, roll_prices,
            join_price, join_loss, clock.part(share),
        )  # fmt: skip
        proven.append(plan.proven)
        return plan

    present = purchase(0, 0, 1 / 3)
    asked = most_steps + 2 * (most_steps.bit_length() + most_lines.bit_length())

    @cache
    def buy(spacings: int, more_lines: int) -> RollPlan | None:
        if clock.late() or (
            join_price is None and longest + spacings * emitter_spacing > longest_roll + 1e-6
        ):
            return None
        return purchase(spacings, more_lines, 3 / asked)

    def costs_more(spacings: int, more_lines: int) -> bool:
        plan = buy(spacings, more_lines)
        return plan is None or plan.cost > present.cost + CENT

    def step(kind: str, spacings: int, more_lines: int, plan: RollPlan) -> FitStep:
        bought = sum(n * length for n, length in zip(plan.rolls, roll_lengths, strict=True))
        cut = sum(
            count * (length + spacings * emitter_spacing)
            for length, count in zip(piece_lengths, pieces, strict=True)
        )
        return FitStep(
            kind, spacings, spacings * emitter_spacing, more_lines, plan.cost,
            present.cost - plan.cost, bought - cut - more_lines * max(used), plan.proven,
        )  # fmt: skip

    steps = [step(PRESENT, 0, 0, present)]
    shortest = int(np.floor(min(used) / emitter_spacing + COUNT_SLACK))
    cheapest = present.cost
    for spacings in range(1, min(most_steps, shortest - 1) + 1):
        plan = buy(-spacings, 0)
        if plan is not None and plan.cost < cheapest - CENT:
            steps.append(step(SHORTER, -spacings, 0, plan))
            cheapest = plan.cost
    longer = _last_free(most_steps, lambda number: costs_more(number, 0))
    more = _last_free(most_lines, lambda number: costs_more(0, number))
    if longer and (plan := buy(longer, 0)):
        steps.append(step(LONGER, longer, 0, plan))
    if more and (plan := buy(0, more)):
        steps.append(step(MORE_LINES, 0, more, plan))
    if clock.late() or not all(proven):
        steps[0] = replace(steps[0], complete=False)
    return steps


def _last_free(most: int, costs_more: Callable[[int], bool]) -> int:
    """The greatest number up to `most` that costs nothing; more never costs less, so by halves."""
    free, dear = 0, most + 1
    while dear - free > 1:
        middle = (free + dear) // 2
        free, dear = (free, middle) if costs_more(middle) else (middle, dear)
    return free
