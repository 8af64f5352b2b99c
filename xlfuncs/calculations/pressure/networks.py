"""The steady flow in a branching tree of pipes with emitters, by Newton's method on the heads.

The tree is cut into chains (`trees`), whose linear equations are solved without any fill-in, so the
step is the exact Newton step. That is quick and nearly always ends; where it doesn't, the slower
`descent` does, which always ends.

The pipes follow `pipe_friction`, the emitters `emitters`; the linear equations are those of the
global gradient algorithm (Todini and Pilati 1988) on a network without loops.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from xlfuncs.calculations.arrays import Flags, Floats, Indices
from xlfuncs.calculations.pressure.descent import LEAST_SLOPE, Descent
from xlfuncs.calculations.pressure.emitters import OutletFlow, Outlets
from xlfuncs.calculations.pressure.pipe_friction import SMOOTH_PLASTIC, PipeFriction
from xlfuncs.calculations.pressure.properties import WATER_20C, Water
from xlfuncs.calculations.pressure.trees import Chains, SingularError, Tree
from xlfuncs.errors import CellError, InputError

Supply = Callable[[float], tuple[float, float]]
"""Head (m) of the supply at a flow (m3/s), never rising with it, and its derivative (s/m2)."""


def constant_supply(head: float) -> Supply:
    """A supply that holds this head (m) whatever flows."""
    return lambda flow: (head, 0.0)


_MOST_STEPS = 100  # of the quick method
_LAST_STEPS = 30  # of it, after the slow one
_MOST_HALVINGS = 10
_NO_PRESSURE = 1e-3  # m
_LINEAR_BELOW = (1.0, 0.1, 0.01, 1e-3, 1e-4)  # m
_AGREES = 1e-7  # m; by which pipes and outlets may differ on the head at any node
_NEARLY = 1e-6  # m; the same where rounding in floating point stops short of it
_EASY_STEPS = 5  # of trees beside one another; the others are solved alone


class NotConvergedError(InputError):
    """No flow was found at which all laws agree; the message says how far they still differ."""

    def __init__(self, message: str) -> None:
        super().__init__("inlet_pressure", message, cell_error=CellError.NOT_AVAILABLE)


@dataclass(frozen=True)
class Level:
    """Chains of which none feeds another of them, one after the other, nodes from the inlet on.

    `sizes` counts the nodes of each chain and `branches_from` is the node that it starts from,
    counted from the first node of the next level on (so it may lie in any later one). `copies` says
    for how many equal chains one stands. The other arrays have one entry a node: length and inside
    diameter (m) of the pipe that ends there, the loss coefficient of the fitting at that pipe's
    start, the elevation (m above the supply) and the outlet.
    """

    sizes: Indices
    branches_from: Indices
    copies: Floats
    length: Floats
    diameter: Floats
    fitting_loss: Floats
    elevation: Floats
    outlets: Outlets

    @classmethod
    def without_outlets(
        cls, sizes: Indices, branches_from: Indices, length: Floats, diameter: Floats
    ) -> "Level":
        """Plain pipe: no outlets, no fittings, and no elevations, which only outlets feel."""
        zero = np.zeros_like(length)
        none = Outlets(zero, zero + 0.5, zero)
        ones = np.ones(sizes.size)
        return cls(sizes, branches_from, ones, length, diameter, zero, zero, none)


@dataclass(frozen=True)
class Solution:
    """What a tree does: head above datum (m), flow in each pipe and of each outlet (m3/s).

    A chain with copies gives the flow of one of them. `supply_head` is the head at the supply of
    each tree, `solved` says of which of them this is the solution.
    """

    head: Floats
    pipe_flow: Floats
    outlet_flow: Floats
    supply_head: Floats
    solved: Flags


class _State(NamedTuple):
    """A guess at the pressures (m) of the nodes, and what follows from it.

    `excess` is the pressure that the flows would leave at each node, less the guess.
    """

    pressure: Floats
    outlet_flow: Floats
    outlet_slope: Floats
    pipe_flow: Floats
    pipe_slope: Floats
    supply_head: Floats
    excess: Floats


class Network:
    """A tree of pipes with outlets, ready to be solved for one supply or another.

    The last level is the one chain that starts at the supply; several are trees beside one another.
    """

    def __init__(
        self, levels: Sequence[Level], roughness: float = SMOOTH_PLASTIC, water: Water = WATER_20C
    ) -> None:
        levels = [level for level in levels if level.sizes.size]
        ends = np.cumsum([level.length.size for level in levels])
        self._tree = Tree(
            [
                Chains(
                    level.sizes, level.branches_from, level.copies,
                    int(end) - level.length.size, level is levels[-1],
                )
                for level, end in zip(levels, ends, strict=True)
            ]
        )  # fmt: skip
        length, diameter, fitting_loss, self._elevation = (
            np.concatenate(columns)
            for columns in zip(
                *((n.length, n.diameter, n.fitting_loss, n.elevation) for n in levels), strict=True
            )
        )
        self._pipes = PipeFriction(
            length, diameter, np.full(length.size, roughness), fitting_loss, water
        )
        outlets = Outlets.joined([level.outlets for level in levels])
        self._outlets = OutletFlow(outlets)
        self._has_outlet = outlets.coefficient > 0
        self._weight = self._tree.copies_of_nodes()

    def solve(self, supply: Supply) -> Solution:
        """The heads and flows at which every pipe and every outlet agrees with its law.

        Outlets near to dry make the equations stiff. So the law is first taken as linear below 1 m,
        which is no matter where none is that low, and else the limit is lowered step by step. Where
        the quick steps don't end, the heads of `descent` are where they start once more.
        """
        guess = np.maximum(supply(0.0)[0] - self._elevation, _NO_PRESSURE)
        state, off = self._quick(guess, supply, _LINEAR_BELOW, _MOST_STEPS)
        if off >= _AGREES:
            try:
                pressure = self._slow(supply)
            except SingularError:  # a pipe of next to no width
                raise NotConvergedError("no steady flow: a pipe lets nothing through") from None
            state, off = self._quick(pressure, supply, _LINEAR_BELOW[-1:], _LAST_STEPS)
        if off >= _NEARLY:
            raise NotConvergedError(
                f"no steady flow was found; pipes and emitters still differ by {off:.3g} m of water"
            )
        return self._solution(state, np.ones(1, dtype=np.bool_))

    def _solution(self, state: _State, solved: Flags) -> Solution:
        head = state.pressure + self._elevation
        return Solution(head, state.pipe_flow, state.outlet_flow, state.supply_head, solved)

    def solve_easy(self, supply: Supply) -> Solution:
        """All trees beside one another, each with such a supply: those that few whole steps solve
        and that keep out of the linear law."""
        limit, trees = _LINEAR_BELOW[0], np.arange(float(self._tree.tops.size))
        tree = self._tree.heads(np.zeros(self._tree.size), trees).astype(np.intp)  # of each node
        order = np.argsort(tree, kind="stable")
        first = np.searchsorted(tree[order], trees)
        guess = np.maximum(supply(0.0)[0] - self._elevation, _NO_PRESSURE)
        state = self._state(guess, supply, limit)
        solved = np.zeros(trees.size, dtype=np.bool_)
        for _ in range(_EASY_STEPS):
            change = self._held(state.pressure, state.excess + self._newton_step(state), limit)
            change[solved[tree]] = 0.0
            state = self._state(state.pressure + change, supply, limit)
            solved |= np.maximum.reduceat(np.abs(state.excess)[order], first) < _AGREES
            if solved.all():
                break
        pressure = np.where(self._has_outlet, state.pressure, np.inf)
        solved &= np.minimum.reduceat(pressure[order], first) >= limit
        return self._solution(state, solved)

    def _quick(
        self, guess: Floats, supply: Supply, linear_below: Sequence[float], most: int
    ) -> tuple[_State, float]:
        """The best state of so many steps from a guess at the pressures, by how much it is off."""
        limit, *limits = linear_below
        state = best = self._state(guess, supply, limit)
        least = np.inf
        for _ in range(most):
            off = float(np.abs(state.excess).max())
            settled = off < max(_AGREES, 0.03 * limit)
            if limits and settled and state.pressure[self._has_outlet].min(initial=np.inf) < limit:
                limit = limits.pop(0)
                state = self._state(state.pressure, supply, limit)
                continue
            if not limits and off < least:
                best, least = state, off
            if off < _AGREES:
                return state, off
            try:
                change = state.excess + self._newton_step(state)
            except SingularError:
                break
            state = self._moved(state, self._held(state.pressure, change, limit), supply, limit)
        return best, least

    def _slow(self, supply: Supply) -> Floats:
        """The pressures by descent, the limit of the linear law lowered step by step as well."""
        descent = Descent(self._tree, self._pipes, self._outlets, self._elevation, supply)
        head = np.full(self._tree.size, supply(0.0)[0])
        for limit in _LINEAR_BELOW:
            head = descent.heads(head, limit)
        return np.asarray(head - self._elevation)

    def _newton_step(self, state: _State) -> Floats:
        """What to add to the heads that the present flows leave, so that all laws agree."""
        return self._tree.solve(
            1 / np.maximum(state.pipe_slope, LEAST_SLOPE),
            state.outlet_slope.copy(),
            -state.outlet_slope * state.excess,
        )

    def _state(self, pressure: Floats, supply: Supply, limit: float) -> _State:
        outlet_flow, outlet_slope = self._outlets.flow_and_slope(pressure, limit)
        flow = self._tree.pipe_flows(outlet_flow)
        loss, slope = self._pipes.loss_and_slope(flow)
        tops = self._tree.tops
        supply_head, supply_slope = np.array([supply(drawn) for drawn in flow[tops].tolist()]).T
        slope[tops] -= supply_slope  # a supply that sags is one more resistance
        excess = self._tree.heads(loss, supply_head) - self._elevation - pressure
        return _State(pressure, outlet_flow, outlet_slope, flow, slope, supply_head, excess)

    def _held(self, pressure: Floats, change: Floats, limit: float) -> Floats:
        """The change, reduced for outlets that would lose much of their pressure.

        The law of an emitter bends down towards zero, so its tangent promises too much there; the
        reduced change agrees with it to first order and stops short of zero.
        """
        falling = (change < -0.2 * pressure).nonzero()[0]
        if falling.size:
            falling = falling[self._has_outlet[falling] & (pressure[falling] > limit)]
            before, wanted = pressure[falling], change[falling]
            change[falling] = before * (np.maximum(1 + wanted / (2 * before), 0.2) ** 2 - 1)
        return change

    def _moved(self, state: _State, change: Floats, supply: Supply, limit: float) -> _State:
        """The state after a change, or after a part of it where the whole overshoots.

        The flows minimise a convex function (the content of the network) with the slope `-excess`;
        a step overshoots where it ends steeply uphill.
        """
        for _ in range(_MOST_HALVINGS):
            moved = self._state(state.pressure + change, supply, limit)
            along = self._weight * (moved.outlet_flow - state.outlet_flow)
            uphill = -(along * moved.excess).sum()
            if uphill <= 0.9 * abs((along * state.excess).sum()) + 1e-15:
                break
            change = change / 2
        return moved
