"""The steady flow in a branching tree of pipes with emitters, by Newton's method on the heads.

The tree is cut into chains: unbranched runs of pipe such as a lateral, a manifold, the main. A node
is the lower end of one pipe, so pipe i ends in node i. The chains are kept level by level: those
that feed no other chain first, the one that starts at the supply last. In every step the linear
equations of all chains of a level are one symmetric tridiagonal system. Its solution says how each
chain answers to the head where it branches off; put into the equations of the next level this is
Gaussian elimination of the whole tree without any fill-in, so the step is the exact Newton step.

The pipes follow `pipe_friction`, the emitters `emitters`; the linear equations are those of the
global gradient algorithm (Todini and Pilati 1988) on a network without loops.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from xlfuncs.calculations.pressure.emitters import OutletFlow, Outlets
from xlfuncs.calculations.pressure.lapack import tridiagonal_solver
from xlfuncs.calculations.pressure.pipe_friction import SMOOTH_PLASTIC, PipeFriction
from xlfuncs.calculations.pressure.properties import WATER_20C, Water
from xlfuncs.errors import CellError, InputError

Array = npt.NDArray[np.float64]
Indices = npt.NDArray[np.intp]

Supply = Callable[[float], tuple[float, float]]
"""Head (m) of the supply at a flow (m3/s), never rising with it, and its derivative (s/m2)."""


def constant_supply(head: float) -> Supply:
    """A supply that holds this head (m) whatever flows."""
    return lambda flow: (head, 0.0)


_MOST_STEPS = 200
_LEAST_SLOPE = 1e-2  # s/m2; stands for no friction in the steps only, not in the answer
_MOST_HALVINGS = 10
_NO_PRESSURE = 1e-3  # m
_LINEAR_BELOW = (1.0, 0.1, 0.01, 1e-3, 1e-4)  # m
_AGREES = 1e-7  # m; by which pipes and outlets may differ on the head at any node


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
    copies: Array
    length: Array
    diameter: Array
    fitting_loss: Array
    elevation: Array
    outlets: Outlets

    @classmethod
    def without_outlets(
        cls, sizes: Indices, branches_from: Indices, length: Array, diameter: Array
    ) -> Level:
        """Plain pipe: no outlets, no fittings, and no elevations, which only outlets feel."""
        zero = np.zeros_like(length)
        none = Outlets(zero, zero + 0.5, zero)
        ones = np.ones(sizes.size)
        return cls(sizes, branches_from, ones, length, diameter, zero, zero, none)


@dataclass(frozen=True)
class Solution:
    """What a tree does: head above datum (m), flow in each pipe and of each outlet (m3/s).

    A chain with copies gives the flow of one of them. `supply_head` is the head at the supply.
    """

    head: Array
    pipe_flow: Array
    outlet_flow: Array
    supply_head: float
    steps: int


class _State(NamedTuple):
    """A guess at the pressures (m) of the nodes, and what follows from it.

    `excess` is the pressure that the flows would leave at each node, less the guess.
    """

    pressure: Array
    outlet_flow: Array
    outlet_slope: Array
    pipe_flow: Array
    pipe_slope: Array
    supply_head: float
    excess: Array


class _Chains:
    """Where the chains of one level lie within the arrays of the whole tree."""

    def __init__(self, level: Level, start: int, at_supply: bool) -> None:
        size = level.length.size
        self.nodes = slice(start, start + size)
        self.first = np.cumsum(level.sizes) - level.sizes
        self.branches_from = level.branches_from + (start + size)
        self.copies = level.copies
        self.coupled = np.ones(size)  # 0 for the first node of a chain, which has no node above
        self.coupled[self.first] = 0.0
        self.at_supply = at_supply
        self._sizes = level.sizes

    def spread(self, of_chain: Array) -> Array:
        """One value a chain, for each of its nodes."""
        return of_chain if of_chain.size == 1 else np.repeat(of_chain, self._sizes)


class Network:
    """A tree of pipes with outlets, ready to be solved for one supply or another.

    The last level is the one chain that starts at the supply.
    """

    def __init__(
        self, levels: Sequence[Level], roughness: float = SMOOTH_PLASTIC, water: Water = WATER_20C
    ) -> None:
        levels = [level for level in levels if level.sizes.size]
        ends = np.cumsum([level.length.size for level in levels])
        self._chains = [
            _Chains(level, int(end) - level.length.size, level is levels[-1])
            for level, end in zip(levels, ends, strict=True)
        ]
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
        self._weight = self._copies_of_nodes()

    def _copies_of_nodes(self) -> Array:
        """For how many nodes of the real network each one stands."""
        weight = np.ones(self._elevation.size)
        for chains in reversed(self._chains[:-1]):
            weight[chains.nodes] = chains.spread(chains.copies * weight[chains.branches_from])
        return weight

    def pipe_flows(self, outlet_flow: Array) -> Array:
        """The flow in each pipe: what leaves the tree below it."""
        flow = outlet_flow.copy()
        for chains in self._chains:
            below = flow[chains.nodes][::-1].cumsum()[::-1]
            if chains.first.size > 1:
                after = np.append(below[chains.first[1:]], 0.0)
                below -= chains.spread(after)
            flow[chains.nodes] = below
            if not chains.at_supply:
                into = chains.copies * below[chains.first]
                np.add.at(flow, chains.branches_from, into)
        return flow

    def heads(self, loss: Array, supply_head: float) -> Array:
        """The head of each node, from the supply downwards."""
        head = np.empty_like(loss)
        for chains in reversed(self._chains):
            lost = loss[chains.nodes].cumsum()
            if chains.at_supply:
                head[chains.nodes] = supply_head - lost
            else:
                before = lost[chains.first] - loss[chains.nodes][chains.first]
                head[chains.nodes] = chains.spread(head[chains.branches_from] + before) - lost
        return head

    def solve(self, supply: Supply) -> Solution:
        """The heads and flows at which every pipe and every outlet agrees with its law.

        Outlets near to dry make the equations stiff. So the law is first taken as linear below 1 m,
        which is no matter where none is that low, and else the limit is lowered step by step.
        """
        guess = np.maximum(supply(0.0)[0] - self._elevation, _NO_PRESSURE)
        limit, *limits = _LINEAR_BELOW
        state = self._state(guess, supply, limit)
        for step in range(_MOST_STEPS):
            off = float(np.abs(state.excess).max())
            settled = off < max(_AGREES, 0.03 * limit)
            if limits and settled and self._lowest_pressure(state) < limit:
                limit = limits.pop(0)
                state = self._state(state.pressure, supply, limit)
                continue
            if off < _AGREES:
                head = state.pressure + self._elevation
                return Solution(head, state.pipe_flow, state.outlet_flow, state.supply_head, step)
            change = state.excess + self._newton_step(state)
            state = self._moved(state, self._held(state.pressure, change, limit), supply, limit)
        raise NotConvergedError(
            f"no steady flow was found in {_MOST_STEPS} steps; pipes and emitters still differ "
            f"by {off:.3g} m of water"
        )

    def _lowest_pressure(self, state: _State) -> float:
        return float(state.pressure[self._has_outlet].min(initial=np.inf))

    def _state(self, pressure: Array, supply: Supply, limit: float) -> _State:
        outlet_flow, outlet_slope = self._outlets.flow_and_slope(pressure, limit)
        flow = self.pipe_flows(outlet_flow)
        loss, slope = self._pipes.loss_and_slope(flow)
        top = self._chains[-1].nodes.start
        supply_head, supply_slope = supply(float(flow[top]))
        slope[top] -= supply_slope  # a supply that sags is one more resistance
        excess = self.heads(loss, supply_head) - self._elevation - pressure
        return _State(pressure, outlet_flow, outlet_slope, flow, slope, supply_head, excess)

    def _held(self, pressure: Array, change: Array, limit: float) -> Array:
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

    def _moved(self, state: _State, change: Array, supply: Supply, limit: float) -> _State:
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

    def _newton_step(self, state: _State) -> Array:
        """What to add to the heads that the present flows leave, so that all laws agree."""
        conductance = 1 / np.maximum(state.pipe_slope, _LEAST_SLOPE)
        diagonal = conductance + state.outlet_slope
        right = -state.outlet_slope * state.excess
        answers = []
        for chains in self._chains:
            nodes, first = chains.nodes, chains.first
            coupling = conductance[nodes] * chains.coupled
            diagonal[nodes][:-1] += coupling[1:]
            sides = np.zeros((coupling.size, 1 if chains.at_supply else 2), order="F")
            sides[:, 0] = right[nodes]
            if not chains.at_supply:  # the head above a chain acts on its first node
                sides[first, 1] = conductance[nodes][first]
            both = self._tridiagonal(diagonal[nodes], -coupling[1:], sides)
            answers.append(both)
            if not chains.at_supply:
                at_first, with_head = both[first, 0], both[first, 1]
                weight = chains.copies * conductance[nodes][first]
                np.add.at(diagonal, chains.branches_from, weight * (1 - with_head))
                np.add.at(right, chains.branches_from, weight * at_first)
        return self._heads_from(answers)

    @staticmethod
    def _tridiagonal(diagonal: Array, beside: Array, sides: Array) -> Array:
        """Solve a symmetric tridiagonal system for right-hand sides in columns."""
        if diagonal.size == 1:
            return sides / diagonal
        *_, solved, info = tridiagonal_solver()(diagonal, beside, sides, overwrite_b=True)
        if info:
            raise NotConvergedError("the equations of the network are singular")
        return np.asarray(solved)

    def _heads_from(self, answers: list[Array]) -> Array:
        """Put the heads together from the supply downwards."""
        correction = np.empty(self._elevation.size)
        for chains, both in zip(reversed(self._chains), reversed(answers), strict=True):
            correction[chains.nodes] = both[:, 0]
            if not chains.at_supply:
                correction[chains.nodes] += both[:, 1] * chains.spread(
                    correction[chains.branches_from]
                )
        return correction
