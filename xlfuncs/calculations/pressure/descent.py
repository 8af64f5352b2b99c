"""The steady flow in a tree of pipes by descent: slower than Newton's method, but it always ends.

Heads at which mass is kept at every node minimise the co-content of the network: the sum over pipes
and outlets of the integral of flow over head (Cherry and Millar, Philosophical Magazine 42, 1951;
for pipe networks Collins and others, Management Science 24, 1978). Flow never falls as the drop
along a pipe or the pressure at an outlet grows, and a supply's head never rises with its flow, so
the co-content is convex; it grows without bound with the heads, so there is a minimum; its slope is
what is missing from the balance of each node, and its curvature is positive definite, because every
pipe has some conductance.

Each step is Newton's, shortened where the co-content would rise at its end: halved between a length
at which it still falls and one at which it rises, until the slope along the step is still downhill
but at most half of what it was at the start. As the slope along the step grows from one end to the
other (convexity), the co-content falls all the way; and as the curvature is bounded on the way
down, the fall is at least in proportion to the square of the slope over the length of the step.
The co-content has a floor, so these falls, and with them the slopes, go to nothing: the balances
are met in the end from any start (Zoutendijk's theorem; for a slope that is smooth only in pieces,
as ours is where outlets run dry, Pang and Qi, Journal of Optimization Theory and Applications 85,
1995). A whole step that halves what is missing at the worst node is taken as it is: it can be taken
so only as often as the greatest can be halved, and it keeps the quick end of Newton's method.

What has no friction at all (a pipe of no length) gets `LEAST_SLOPE`; what that adds is for a last
step of the quick method to take away.
"""

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from xlfuncs.calculations.arrays import Floats
from xlfuncs.calculations.pressure.emitters import OutletFlow
from xlfuncs.calculations.pressure.pipe_friction import PipeFriction
from xlfuncs.calculations.pressure.trees import Tree

LEAST_SLOPE = 1e-2  # s/m2
_MOST_STEPS = 200  # for one limit of the linear law; random trees took some 15 at most
_BALANCED = 1e-12  # of the flow of all outlets at the supply's head
_SMALLEST = 1e-30  # m3/s


class _Point(NamedTuple):
    """Heads, and what is missing at each node there, with the slopes of pipes and outlets."""

    head: Floats
    missing: Floats
    conductance: Floats
    outlet_slope: Floats
    pipe_flow: Floats


class Descent:
    """The pipes and outlets of a tree with its supply (head and slope at a flow)."""

    def __init__(
        self, tree: Tree, pipes: PipeFriction, outlets: OutletFlow, elevation: Floats,
        supply: Callable[[float], tuple[float, float]],
    ) -> None:  # fmt: skip
        self._tree, self._pipes, self._outlets = tree, pipes, outlets
        self._elevation, self._supply = elevation, supply
        self._static = supply(0.0)[0]
        self._weight = tree.copies_of_nodes()
        _, slope = self._loss(np.zeros(tree.size))
        self._added = np.where(slope < LEAST_SLOPE, LEAST_SLOPE, 0.0)
        self._least = slope + self._added

    def heads(self, start: Floats, limit: float) -> Floats:
        """Heads at which all nodes are balanced, from any start; outlets linear below `limit`."""
        point = self._point(start, limit, None)
        most, _ = self._outlets.flow_and_slope(
            np.maximum(self._static - self._elevation, limit), limit
        )
        enough = _BALANCED * float((self._weight * most).sum()) + _SMALLEST
        record = np.abs(point.missing).max()
        for _ in range(_MOST_STEPS):
            if record <= enough:
                break
            step = self._tree.solve(
                point.conductance.copy(), point.outlet_slope.copy(), point.missing.copy()
            )
            following = self._along(point, step, limit, record)
            if following is None:  # no length of the step makes a difference in floating point
                break
            point = following
            record = min(record, np.abs(point.missing).max())
        return point.head

    def _along(self, point: _Point, step: Floats, limit: float, record: float) -> _Point | None:
        """The point at a length of the step where the co-content has fallen."""
        whole = self._point(point.head + step, limit, point.pipe_flow)
        if np.abs(whole.missing).max() <= 0.5 * record:
            return whole

        def falls(reached: _Point) -> float:
            return float((self._weight * reached.missing) @ step)

        if falls(whole) >= 0:  # to its very end
            return whole
        low, high, lowest = 0.0, 1.0, None
        for _ in range(60):
            middle = (low + high) / 2
            reached = self._point(point.head + middle * step, limit, point.pipe_flow)
            if falls(reached) >= 0:
                low, lowest = middle, reached
                if falls(reached) <= 0.5 * falls(point):
                    break
            else:
                high = middle
        return lowest

    def _point(self, head: Floats, limit: float, guess: Floats | None) -> _Point:
        outlet_flow, outlet_slope = self._outlets.flow_and_slope(head - self._elevation, limit)
        drop = self._tree.drops(head, self._static)
        flow, slope = self._flow(drop, guess)
        missing = self._tree.missing(flow, outlet_flow)
        return _Point(head, missing, 1 / slope, outlet_slope, flow)

    def _loss(self, flow: Floats) -> tuple[Floats, Floats]:
        """Loss along the pipes, what the supply loses at that flow with the first of them."""
        loss, slope = self._pipes.loss_and_slope(flow)
        top = self._tree.tops[0]
        supply_head, supply_slope = self._supply(float(flow[top]))
        loss[top] += self._static - supply_head
        slope[top] -= supply_slope
        return loss, slope

    def _flow(self, drop: Floats, guess: Floats | None) -> tuple[Floats, Floats]:
        """The flow at which each pipe loses `drop`, backwards where it is negative, and the slope
        of the loss there: Newton's method between bounds that close in on it."""
        wanted = np.abs(drop)
        low, high = np.zeros_like(wanted), wanted / self._least  # no loss is below the laminar one
        flow = high if guess is None else np.minimum(np.abs(guess), high)
        for _ in range(200):
            loss, slope = self._loss(flow)
            loss += self._added * flow
            slope += self._added
            over = loss - wanted
            high = np.where(over >= 0, flow, high)
            low = np.where(over <= 0, flow, low)
            better = flow - over / slope
            better = np.where((better > low) & (better < high), better, (low + high) / 2)
            settled = np.abs(better - flow) <= 4e-16 * flow
            flow = better
            if settled.all():
                break
        _, slope = self._loss(flow)
        return np.copysign(flow, drop), slope + self._added
