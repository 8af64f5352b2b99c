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

import numpy as np
import numpy.typing as npt

from xlfuncs.calculations.emitters import OutletFlow, Outlets
from xlfuncs.calculations.pipe_friction import SMOOTH_PLASTIC, PipeFriction
from xlfuncs.calculations.water import WATER_20C, Water
from xlfuncs.errors import CellError, XlfuncsError

Array = npt.NDArray[np.float64]
Indices = npt.NDArray[np.intp]

Supply = Callable[[float], tuple[float, float]]
"""Head (m) of the supply at a flow (m3/s), never rising with it, and its derivative (s/m2)."""


def constant_supply(head: float) -> Supply:
    """A supply that holds this head (m) whatever flows."""
    return lambda flow: (head, 0.0)


_MOST_STEPS = 200
_LEAST_SLOPE = 1e-2  # s/m2; stands for no friction in the steps only, not in the answer
_NO_PRESSURE = 1e-3  # m
_STEP_DONE = 1e-7  # m; the step after one this small is within rounding (Newton squares it)


class NotConvergedError(XlfuncsError):
    """The flow could not be found; the message says how far the last step was off."""

    cell_error = CellError.NOT_AVAILABLE


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

    def pipe_flows(self, outlet_flow: Array) -> Array:
        """The flow in each pipe: what leaves the tree below it."""
        flow = outlet_flow.copy()
        for chains in self._chains:
            below = np.cumsum(flow[chains.nodes][::-1])[::-1]
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
            lost = np.cumsum(loss[chains.nodes])
            if chains.at_supply:
                head[chains.nodes] = supply_head - lost
            else:
                before = lost[chains.first] - loss[chains.nodes][chains.first]
                head[chains.nodes] = chains.spread(head[chains.branches_from] + before) - lost
        return head

    def solve(self, supply: Supply) -> Solution:
        """The heads and flows at which every pipe and every outlet agrees with its law."""
        pressure = np.maximum(supply(0.0)[0] - self._elevation, _NO_PRESSURE)
        for step in range(1, _MOST_STEPS + 1):
            outlet_flow, outlet_slope = self._outlets.flow_and_slope(pressure)
            flow = self.pipe_flows(outlet_flow)
            loss, slope = self._pipes.loss_and_slope(flow)
            supply_head, supply_slope = supply(float(flow[self._chains[-1].nodes.start]))
            excess = self.heads(loss, supply_head) - self._elevation - pressure
            correction = self._newton_step(excess, outlet_slope, slope, supply_slope)
            change = excess + correction
            pressure = self._held(pressure, pressure + change)
            if np.abs(change).max() < _STEP_DONE:
                return self._result(pressure, supply, step)
        raise NotConvergedError(
            f"no steady flow was found in {_MOST_STEPS} steps; the last one still changed "
            f"a pressure by {np.abs(change).max():.3g} m of water"
        )

    def _held(self, before: Array, after: Array) -> Array:
        """The pressures after a step that takes from no outlet more than four fifths of its own.

        The slope of an emitter's law says nothing about what happens beyond zero.
        """
        lowest = 0.2 * before
        far = np.flatnonzero(after < lowest)
        if far.size:
            far = far[self._has_outlet[far] & (before[far] > _NO_PRESSURE)]
            after[far] = lowest[far]
        return after

    def _newton_step(
        self, excess: Array, outlet_slope: Array, pipe_slope: Array, supply_slope: float
    ) -> Array:
        """What to add to the heads that the present flows leave, so that all laws agree."""
        top = self._chains[-1].nodes.start
        pipe_slope[top] -= supply_slope
        conductance = 1 / np.maximum(pipe_slope, _LEAST_SLOPE)
        diagonal = conductance + outlet_slope
        right = -outlet_slope * excess
        answers = []
        for chains in self._chains:
            nodes, first = chains.nodes, chains.first
            coupling = conductance[nodes] * chains.coupled
            diagonal[nodes][:-1] += coupling[1:]
            start = np.zeros_like(coupling)
            start[first] = conductance[nodes][first]
            both = self._tridiagonal(diagonal[nodes], -coupling[1:], right[nodes], start)
            answers.append(both)
            if not chains.at_supply:
                at_first, with_head = both[first, 0], both[first, 1]
                weight = chains.copies * start[first]
                np.add.at(diagonal, chains.branches_from, weight * (1 - with_head))
                np.add.at(right, chains.branches_from, weight * at_first)
        return self._heads_from(answers)

    @staticmethod
    def _tridiagonal(diagonal: Array, beside: Array, right: Array, start: Array) -> Array:
        """Solve a symmetric tridiagonal system for two right-hand sides, as two columns."""
        from scipy.linalg.lapack import dptsv

        columns = np.empty((diagonal.size, 2), order="F")
        columns[:, 0], columns[:, 1] = right, start
        if diagonal.size == 1:
            return columns / diagonal
        *_, solved, info = dptsv(diagonal, beside, columns, overwrite_b=True)
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

    def _result(self, pressure: Array, supply: Supply, steps: int) -> Solution:
        outlet_flow, _ = self._outlets.flow_and_slope(pressure)
        flow = self.pipe_flows(outlet_flow)
        supply_head, _ = supply(float(flow[self._chains[-1].nodes.start]))
        return Solution(pressure + self._elevation, flow, outlet_flow, supply_head, steps)
