"""The linear bound of a purchase by column generation, and plans rounded from it.

Gilmore and Gomory, A linear programming approach to the cutting-stock problem, Operations
Research 9 (1961). The bound is Farley's (Operations Research 38, 1990).
"""

from __future__ import annotations

import time
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from xlfuncs.calculations.buying.cutting_patterns import BestPattern, Grid
from xlfuncs.calculations.buying.integer_programs import GrowingCover

FloatArray = npt.NDArray[np.float64]
WHOLE = 1e-6


class Column(NamedTuple):
    """One way of cutting one stretch: its place in the grid and the pieces by kind."""

    stretch: int
    pieces: tuple[int, ...]


@dataclass(frozen=True)
class LinearPlan:
    """The optimum of the linear program: a dual-feasible worth of each kind of piece, the worth
    that each stretch can hold at most, and how often each column is cut."""

    worth: FloatArray
    values: FloatArray
    columns: list[Column]
    times: FloatArray


def linear_plan(grid: Grid, start: Iterable[Column], deadline: float) -> LinearPlan | None:
    """Add patterns to `start` until none pays; None if `deadline` (monotonic) passes before."""
    costs = np.array([stretch.cost for stretch in grid.stretches])
    program = GrowingCover(
        np.array(grid.counts, dtype=np.float64), max(0.01, deadline - time.monotonic())
    )
    columns = sorted({*start, *starting_columns(grid)})
    known = set(columns)
    for column in columns:
        program.add(float(costs[column.stretch]), column.pieces)
    knapsack = BestPattern(grid)
    while time.monotonic() < deadline:
        worth = program.duals()
        if worth is None:
            return None
        values = knapsack.values(worth)
        gains = values - costs
        promising = [int(s) for s in np.argsort(-gains)[:6] if gains[s] > 1e-9 * costs[s]]
        fresh = sorted({Column(s, knapsack.pattern(s)) for s in promising} - known)
        if not fresh:
            # Scaled down until no pattern is worth more than it costs, so that it is a bound.
            scale = max(1.0, float(np.max(values / costs)))
            return LinearPlan(worth / scale, values / scale, columns, program.amounts())
        for column in fresh:
            program.add(float(costs[column.stretch]), column.pieces)
        columns += fresh
        known.update(fresh)
    return None


def rounded_plan(grid: Grid, linear: LinearPlan, deadline: float) -> list[Column]:
    """A plan by diving: cut what the linear plan cuts whole times, else its most cut pattern once,
    solve for what is left, and so on. Empty if `deadline` passes before."""
    left = np.array(grid.counts)
    chosen: list[Column] = []
    while True:
        whole = np.floor(linear.times + WHOLE).astype(int)
        if not whole.any():
            whole[int(np.argmax(linear.times))] = 1
        for column, times in zip(linear.columns, whole, strict=True):
            for _ in range(times):
                pieces = np.minimum(column.pieces, left)
                if pieces.any():
                    chosen.append(Column(column.stretch, tuple(pieces.tolist())))
                    left = left - pieces
        if not left.any():
            return chosen
        rest = replace(grid, counts=tuple(left.tolist()))
        trimmed = (
            Column(stretch, tuple(np.minimum(pieces, left).tolist()))
            for stretch, pieces in linear.columns
        )
        following = linear_plan(rest, (c for c in trimmed if any(c.pieces)), deadline)
        if following is None:
            return []
        linear = following


def starting_columns(grid: Grid) -> list[Column]:
    """For every kind and stretch, as many of that piece as fit: a plan always exists."""
    columns = []
    for kind, (length, count) in enumerate(zip(grid.lengths, grid.counts, strict=True)):
        for index, stretch in enumerate(grid.stretches):
            fits = min(count, stretch.capacity // length)
            if fits:
                pieces = [0] * len(grid.lengths)
                pieces[kind] = fits
                columns.append(Column(index, tuple(pieces)))
                if fits == count:
                    break  # a longer stretch holds no more of them
    return columns
