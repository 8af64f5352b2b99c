"""A tree of pipes cut into chains: sums and linear equations along it.

A chain is an unbranched run of pipe such as a lateral, a manifold, the main. A node is the lower
end of one pipe, so pipe i ends in node i. The chains are kept level by level: those that feed no
other chain first, the one that starts at the supply last. The linear equations of all chains of a
level are one symmetric tridiagonal system. Its solution says how each chain answers to the head
where it branches off; put into the equations of the next level this is Gaussian elimination of the
whole tree without any fill-in.
"""

from collections.abc import Sequence

import numpy as np

from xlfuncs.calculations.arrays import Floats, Indices
from xlfuncs.calculations.pressure.lapack import tridiagonal_solver


class SingularError(ArithmeticError):
    """The linear equations of the tree have no solution."""


class Chains:
    """Where the chains of one level lie within the arrays of the whole tree."""

    def __init__(
        self, sizes: Indices, branches_from: Indices, copies: Floats, start: int, at_supply: bool
    ) -> None:
        size = int(sizes.sum())
        self.nodes = slice(start, start + size)
        self.first = np.cumsum(sizes) - sizes
        self.branches_from = branches_from + (start + size)
        self.copies = copies
        self.coupled = np.ones(size)  # 0 for the first node of a chain, which has no node above
        self.coupled[self.first] = 0.0
        self.at_supply = at_supply
        self.sizes = sizes

    def spread(self, of_chain: Floats) -> Floats:
        """One value a chain, for each of its nodes."""
        return of_chain if of_chain.size == 1 else of_chain.repeat(self.sizes)


class Tree:
    """All chains, those that start at the supply last. A chain with copies stands for so many.

    Several chains at the supply are as many trees beside one another, each with its own supply.
    """

    def __init__(self, chains: Sequence[Chains]) -> None:
        self.chains = chains
        self.size = chains[-1].nodes.stop
        self.tops = chains[-1].nodes.start + chains[-1].first  # the pipe at each supply

    def copies_of_nodes(self) -> Floats:
        """For how many nodes of the real network each one stands."""
        weight = np.ones(self.size)
        for chains in reversed(self.chains[:-1]):
            weight[chains.nodes] = chains.spread(chains.copies * weight[chains.branches_from])
        return weight

    def pipe_flows(self, outlet_flow: Floats) -> Floats:
        """The flow in each pipe: what leaves the tree below it."""
        flow = outlet_flow.copy()
        for chains in self.chains:
            below = flow[chains.nodes][::-1].cumsum()[::-1]
            if chains.first.size > 1:
                after = np.zeros(chains.first.size)
                after[:-1] = below[chains.first[1:]]
                below -= chains.spread(after)
            flow[chains.nodes] = below
            if not chains.at_supply:
                into = chains.copies * below[chains.first]
                np.add.at(flow, chains.branches_from, into)
        return flow

    def heads(self, loss: Floats, supply_head: Floats) -> Floats:
        """The head of each node, from the supply of each tree downwards."""
        head = np.empty_like(loss)
        for chains in reversed(self.chains):
            lost = loss[chains.nodes].cumsum()
            before = lost[chains.first] - loss[chains.nodes][chains.first]
            above = supply_head if chains.at_supply else head[chains.branches_from]
            head[chains.nodes] = chains.spread(above + before) - lost
        return head

    def drops(self, head: Floats, supply_head: float) -> Floats:
        """The head lost along each pipe, which is what ends in a node less what it starts from."""
        above = np.empty_like(head)
        for chains in self.chains:
            above[chains.nodes][1:] = head[chains.nodes][:-1]
            first = chains.nodes.start + chains.first
            above[first] = supply_head if chains.at_supply else head[chains.branches_from]
        return above - head

    def missing(self, pipe_flow: Floats, outlet_flow: Floats) -> Floats:
        """What comes into each node by its pipe less what leaves it."""
        rest = pipe_flow - outlet_flow
        for chains in self.chains:
            onward = pipe_flow[chains.nodes] * chains.coupled
            rest[chains.nodes][:-1] -= onward[1:]
            if not chains.at_supply:
                into = chains.copies * pipe_flow[chains.nodes][chains.first]
                np.subtract.at(rest, chains.branches_from, into)
        return rest

    def solve(self, conductance: Floats, diagonal: Floats, right: Floats) -> Floats:
        """Heads at which what pipes of that conductance bring to each node is what `diagonal`,
        times the head there, takes from it beside them, less `right`. Overwrites its arguments."""
        diagonal += conductance
        answers = []
        for chains in self.chains:
            nodes, first = chains.nodes, chains.first
            coupling = conductance[nodes] * chains.coupled
            diagonal[nodes][:-1] += coupling[1:]
            sides = np.zeros((coupling.size, 1 if chains.at_supply else 2), order="F")
            sides[:, 0] = right[nodes]
            if not chains.at_supply:  # the head above a chain acts on its first node
                sides[first, 1] = conductance[nodes][first]
            both = _tridiagonal(diagonal[nodes], -coupling[1:], sides)
            answers.append(both)
            if not chains.at_supply:
                at_first, with_head = both[first, 0], both[first, 1]
                weight = chains.copies * conductance[nodes][first]
                np.add.at(diagonal, chains.branches_from, weight * (1 - with_head))
                np.add.at(right, chains.branches_from, weight * at_first)
        return self._heads_from(answers)

    def _heads_from(self, answers: list[Floats]) -> Floats:
        """Put the heads together from the supply downwards."""
        correction = np.empty(self.size)
        for chains, both in zip(reversed(self.chains), reversed(answers), strict=True):
            correction[chains.nodes] = both[:, 0]
            if not chains.at_supply:
                correction[chains.nodes] += both[:, 1] * chains.spread(
                    correction[chains.branches_from]
                )
        return correction


def _tridiagonal(diagonal: Floats, beside: Floats, sides: Floats) -> Floats:
    """Solve a symmetric tridiagonal system for right-hand sides in columns."""
    if diagonal.size == 1:
        return sides / diagonal
    *_, solved, info = tridiagonal_solver()(diagonal, beside, sides, overwrite_b=True)
    if info:
        raise SingularError
    return np.asarray(solved)
