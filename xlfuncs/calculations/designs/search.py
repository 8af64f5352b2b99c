"""The cheapest design that passes every check, and those that are better in some other way.

Every design has a cost that it can't go below. They are taken in the order of that bound, which is
made truer each time a design comes up: pieces as if rolls could be joined, then the true purchase,
then, solved, with the sets that it really needs. A design that comes up again with nothing more to
learn is the cheapest of all. Beds of a dozen widths have designs without number: of these the first
are bounded, then those with one line in all beds, then what is best with other lines in one width.
"""

import heapq
import itertools
from collections.abc import Iterator
from dataclasses import dataclass, field
from math import inf, prod
from operator import itemgetter

from xlfuncs.calculations.designs.costs import Cost, Costs
from xlfuncs.calculations.designs.dealing import DEEP, QUICK, THOROUGH
from xlfuncs.calculations.designs.enumerating import changed, even, in_order
from xlfuncs.calculations.designs.judging import Judge
from xlfuncs.calculations.designs.question import Design, Option, Question
from xlfuncs.calculations.designs.verdicts import Verdict

_WORTH_SHOWING = 1.6  # times the cheapest: beyond it nobody buys what is better in other ways
_COIN = 0.005
_A_SECOND = 1000  # pieces of work that are taken for a second (common practice: 1 ms a solution)
_PRICED, _JUDGED = 0.5, 50  # pieces of work, beside what its sets take, to price or judge a design
_MOST_PRICED = 2000  # designs, after which those that are left are too many to be bounded each
_SETTLED = 0.75  # of the work, after which what is in doubt is left so
_FRONT = 1.6  # designs judged beyond the cheapest, for the front, by the seconds there are


@dataclass(frozen=True)
class Solved:
    """A design with what it costs and does."""

    design: Design
    cost: Cost
    verdict: Verdict

    @property
    def sets(self) -> int:
        return max(self.verdict.sets, default=0)

    @property
    def marks(self) -> tuple[float, ...]:
        """What designs are compared by, the less the better; differences that nobody would act on
        (a minute, a hundredth of evenness, a coin of left-over) are none."""
        verdict = self.verdict
        return (
            round(self.cost.total, 2), round(verdict.watering / 60), -round(verdict.uniformity, 2),
            self.sets, round(self.cost.left_over_value),
        )  # fmt: skip


@dataclass
class Found:
    """The designs that pass, the cheapest first; those cheaper that fail; what is proven.

    Nothing that passes costs less than `bound`. `designs` counts all there are, `judged` those
    whose pressures were solved; `some` says that not all could be bounded.
    """

    passing: list[Solved] = field(default_factory=list)
    failing: list[Solved] = field(default_factory=list)
    bound: float = 0.0
    designs: int = 0
    judged: int = 0
    some: bool = False

    @property
    def cheapest(self) -> Solved | None:
        return min(self.passing, key=lambda s: s.cost.total, default=None)

    @property
    def gap(self) -> float:
        best = self.cheapest
        return max(0.0, 1 - self.bound / best.cost.total) if best else inf

    @property
    def front(self) -> list[Solved]:
        """Those that no other beats or equals in everything, the cheapest first."""
        front: list[Solved] = []
        for solved in sorted(self.passing, key=lambda s: s.marks):
            if not any(all(a <= b for a, b in zip(f.marks, solved.marks, strict=True))
                       for f in front):  # fmt: skip
                front.append(solved)
        return front


class Search:
    """Takes designs by their bounds; `solve` gives what was found within some `time_limit` seconds.

    They are counted in pieces of work, so that every machine, busy or not, finds the same.
    """

    def __init__(self, question: Question, time_limit: float = 10.0) -> None:
        self.question, self._limit = question, time_limit
        self.costs, self.judge = Costs(question), Judge(question)
        self._found = Found()
        self._heap: list[tuple[float, int, int, Solved]] = []
        self._count = itertools.count()
        self._doubtful: list[Solved] = []  # which might pass, or with fewer sets, after all
        self._effort, self._beside = THOROUGH, 0.0
        self._widths: list[list[tuple[float, Option]]] = []
        self._frames: list[tuple[float, int]] = []
        self._priced: set[Design] = set()
        self._floor = inf  # below which no design is that was not bounded

    def solve(self, front: bool = True) -> Found:
        found, most = self._found, self._limit * _A_SECOND
        stream = self._designs()
        ahead = next(stream, None)
        beyond = 0
        while self._heap or ahead is not None:
            least = min(self._heap[0][0] if self._heap else inf, ahead[0] if ahead else inf)
            best = found.cheapest
            spent = self._work > most
            if best is not None and not found.bound:
                self._settle(_SETTLED * most)
                found.bound = self._bound(least)
                best, self._effort = found.cheapest, QUICK
            if spent or least == inf:
                break
            dear = best is not None and least > best.cost.total * _WORTH_SHOWING
            if best is not None and (not front or dear or beyond >= self._limit * _FRONT):
                break
            if ahead is not None and (not self._heap or ahead[0] <= self._heap[0][0]):
                self._price(ahead[1])
                ahead = next(stream, None)
                if ahead and len(self._priced) == _MOST_PRICED and not found.some:
                    found.some, self._floor = True, ahead[0]
                    stream = self._even()
                    ahead = next(stream, None)
            else:
                judged = self._further()
                beyond += judged if best is not None else 0
        if found.some:
            self._exchange(most)
        self._close(min(self._heap[0][0] if self._heap else inf, ahead[0] if ahead else inf))
        return found

    def _close(self, least: float) -> None:
        """Take what was judged and waits to come up; note what is proven."""
        found = self._found
        for _, stage, _, solved in self._heap:
            if stage == 2 and solved.cost.total < inf:
                found.passing.append(solved)
        if found.passing and not found.bound:
            found.bound = self._bound(least)
        found.passing.sort(key=lambda s: s.marks)

    def _bound(self, least: float) -> float:
        """What nothing that passes costs less than: by what passes, what is in doubt, the rest."""
        judged = (*self._found.passing, *self._doubtful, *(entry[3] for entry in self._heap))
        return min(least, self._floor, *(solved.cost.bound for solved in judged))

    @property
    def _work(self) -> float:
        """Pieces of work done: one for each solution of the pipes, the others by what they take."""
        return self.judge.solutions + self._beside

    def _settle(self, most: float) -> None:
        """Judge with more effort what is in doubt and may be cheaper than what was found, up to
        so much work."""
        found = self._found
        for solved in sorted(self._doubtful, key=lambda s: s.cost.bound):
            best = found.cheapest
            if self._work > most or best is None or solved.cost.bound >= best.cost.total - _COIN:
                break
            for known in (self._doubtful, found.failing, found.passing):
                if solved in known:
                    known.remove(solved)
            self._heap = [entry for entry in self._heap if entry[3] is not solved]
            heapq.heapify(self._heap)
            self._judged(solved, DEEP)
            while self._heap and self._heap[0][1] == 2:
                found.passing.append(heapq.heappop(self._heap)[3])

    def _designs(self) -> Iterator[tuple[float, Design]]:
        """All designs that cover the beds, by a bound that adds up width by width."""
        question, costs = self.question, self.costs
        for width in range(len(question.widths)):
            priced = [(round(costs.of_width(width, o), 6), o) for o in question.options(width)]
            self._widths.append(sorted(pair for pair in priced if pair[0] < inf))
        widths = self._widths
        if any(not options for options in widths):
            return
        some = tuple(options[0][1] for options in widths)
        one_set = [int(bed.watered) for bed in question.beds]
        every = (
            (round(costs.of_frame(Design(some, f), one_set), 6), i)
            for i, f in enumerate(question.frames)
        )
        frames = self._frames = sorted(pair for pair in every if pair[0] < inf)
        self._found.designs = len(frames) * prod(len(options) for options in widths)
        columns = [[cost for cost, _ in options] for options in widths]
        for total, places in in_order([*columns, [cost for cost, _ in frames]]):
            chosen = tuple(widths[i][place][1] for i, place in enumerate(places[:-1]))
            yield total, Design(chosen, question.frames[frames[places[-1]][1]])

    def _even(self) -> Iterator[tuple[float, Design]]:
        """The designs with one line in all beds, by the same bound."""
        costs = [{option: cost for cost, option in options} for options in self._widths]
        found = []
        for chosen in even([list(cost) for cost in costs]):
            total = sum(cost[option] for cost, option in zip(costs, chosen, strict=True))
            found += [(total + cost, Design(chosen, self.question.frames[i]))
                      for cost, i in self._frames]  # fmt: skip
        yield from sorted(found, key=itemgetter(0))

    def _exchange(self, most: float) -> None:
        """Other lines in the beds of one width, as long as that makes the best cheaper."""
        found = self._found
        while (best := found.cheapest) and self._work < most:
            for width in range(len(self._widths)):
                self._change(best.design, width)
            while self._heap and self._heap[0][0] < found.cheapest.cost.total - _COIN:
                self._further()
            if found.cheapest is best:
                break

    def _change(self, design: Design, width: int) -> None:
        """Bounds the designs with other lines in the beds of a width."""
        for other in changed(design, width, [option for _, option in self._widths[width]]):
            self._price(other)

    def _push(self, cost: float, stage: int, solved: Solved) -> None:
        heapq.heappush(self._heap, (round(cost, 6), stage, next(self._count), solved))

    def _price(self, design: Design) -> None:
        """The bound with the fewest sets that may do, and joined rolls; unless a bed fails."""
        if design in self._priced:
            return
        self._priced.add(design)
        self._beside += _PRICED
        if self.judge.dead(design) is not None:
            return
        sets = self.spread(self.judge.least_sets(design))
        bound = self.costs.bound(self.costs.needs(design, sets))
        if bound < inf:
            self._push(bound, 0, Solved(design, Cost(bound, bound), Verdict(None, sets)))

    def spread(self, number: int) -> tuple[int, ...]:
        """Some sets, so many, for counting what belongs to a set."""
        watered = itertools.count()
        return tuple(next(watered) % number + 1 if b.watered else 0 for b in self.question.beds)

    def _further(self) -> int:
        """Learn more about the design that is next; 1 where sets were made up for it."""
        _, stage, _, solved = heapq.heappop(self._heap)
        design = solved.design
        if stage == 0:
            if self.judge.dead(design) is not None:
                return 0
            cost = self.costs.true(self.costs.needs(design, solved.verdict.sets))
            if cost.total < inf:
                self._push(cost.bound, 1, Solved(design, cost, solved.verdict))
            return 0
        if stage == 1:
            self._found.judged += 1
            return self._judged(solved, self._effort)
        self._found.passing.append(solved)
        return 0

    def _judged(self, solved: Solved, effort: int) -> int:
        """Note what a design does; 1 where sets were made up for it."""
        design = solved.design
        self._beside += _JUDGED
        verdict = self.judge.judge(design, effort)
        if verdict.breach is not None:
            failing = Solved(design, solved.cost, verdict)
            self._found.failing.append(failing)
            if self._found.some and verdict.breach.row is not None:
                self._change(design, self.question.width_of[verdict.breach.row])
            if not verdict.proven:
                self._doubtful.append(failing)
            return int(bool(verdict.sets))
        cost = self.costs.true(self.costs.needs(design, verdict.sets))
        if max(verdict.sets) > verdict.fewest:
            needs = self.costs.needs(design, self.spread(verdict.fewest))
            least = min(cost.bound, self.costs.true(needs).bound)
            cost = cost._replace(bound=least)
        passing = Solved(design, cost, verdict)
        if cost.bound < cost.total - _COIN and effort != DEEP:
            self._doubtful.append(passing)
        self._push(cost.total, 2, passing)
        return 1
