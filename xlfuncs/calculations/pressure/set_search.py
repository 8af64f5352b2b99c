"""The fewest sets that hold all of some sizes, each set within a capacity and able to run.

Bin packing with a second question: whether the members of a set can really run together, which may
cost a solution of the pipes. So a bound comes first, then ways to deal that need few questions,
then a search in depth for fewer until that is proven impossible or the questions are used up.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from math import ceil, inf

SLACK = 1e-9
Set = tuple[int, ...]

MOST_QUESTIONS = 800
MOST_NODES = 60_000
MOST_FITTED = 40  # things that are fitted one by one; more are cut along an order: fewer questions
MOST_SEARCHED = 300  # things; more are dealt only, for the search goes as deep as there are things


@dataclass(frozen=True)
class Fewest:
    """The sets found, members by their place; `bound` is a number that no sets can be fewer than.

    `whole` is false where no sets were found that all run complete: these are then the fewest that
    run but for that.
    """

    sets: list[Set]
    bound: int
    whole: bool = True

    @property
    def proven(self) -> bool:
        return len(self.sets) <= self.bound


@dataclass
class _Search:
    sizes: Sequence[float]
    capacity: float
    runs: Callable[[Set], bool] | None
    complete: Callable[[Set], bool]
    questions: int
    prepare: Callable[[Sequence[Set], bool], bool]
    nodes: int = MOST_NODES
    known: dict[Set, bool] = field(default_factory=dict)

    def may(self, members: Set) -> bool:
        if self.runs is None:
            return True
        key = tuple(sorted(members))
        if key not in self.known:
            self.known[key] = self.runs(key)
        return self.known[key]

    def good(self, sets: Sequence[Set]) -> bool:
        if not all(members and self.load(members) <= self.room for members in sets):
            return False
        ready = self.prepare(sets, True)
        return ready and all(map(self.may, sets)) and all(map(self.complete, sets))

    def load(self, members: Iterable[int]) -> float:
        return sum(self.sizes[i] for i in members)

    @property
    def room(self) -> float:
        return self.capacity * (1 + SLACK)

    @property
    def is_spent(self) -> bool:
        return self.nodes <= 0 or len(self.known) >= self.questions


def least_number(sizes: Sequence[float], capacity: float) -> int:
    """A bound on the number of sets (Martello and Toth's L2): what is over half must be apart."""
    sizes = [size for size in sizes if size > 0]
    if not sizes or not capacity > 0:
        return len(sizes)
    room = capacity * (1 + SLACK)
    best = ceil(sum(sizes) / room)
    for least in {0.0, *(size for size in sizes if size <= room / 2)}:
        alone = [size for size in sizes if size > room - least]
        big = [size for size in sizes if room / 2 < size <= room - least]
        small = sum(size for size in sizes if least <= size <= room / 2)
        over = small - (len(big) * room - sum(big))
        best = max(best, len(alone) + len(big) + max(0, ceil(over / room - SLACK)))
    return best


def fewest_sets(
    sizes: Sequence[float], capacity: float = inf, runs: Callable[[Set], bool] | None = None,
    complete: Callable[[Set], bool] = lambda members: True, orders: Sequence[Sequence[int]] = (),
    questions: int = MOST_QUESTIONS, suits: Callable[[Set], bool] | None = None,
    prepare: Callable[[Sequence[Set], bool], bool] = lambda sets, together: True,
    least: Sequence[float] = (),
) -> Fewest:  # fmt: skip
    """Deal things of these sizes into the fewest sets of at most `capacity` that all run.

    `runs` must say no to a set whenever it says no to a part of it; every thing runs alone.
    `complete` asks of finished sets only. `orders` are orders in which neighbours run well
    together; deals along them are tried first. At most so many `questions` are put to `runs`.
    `suits`, which says no wherever `runs` does, is asked instead where sets are filled one by one.
    `prepare` hears of sets that `runs` will probably be asked of, and whether only of all together;
    then it may say at once that one of them does not run. Where more is known of them, they take
    this `least` share of a set that runs.
    """
    if not sizes:
        return Fewest([], 0)
    search = _Search(sizes, capacity, runs, complete, questions, prepare)
    bound = max(least_number(sizes, capacity) if capacity < inf else 1, least_number(least, 1.0))
    by_size = sorted(range(len(sizes)), key=lambda i: -sizes[i])
    found = _dealt(search, bound, [by_size, *orders])
    fitted = found
    if found is None or (questions and len(found) > bound):
        filling = search if suits is None else replace(search, runs=suits, known={})
        in_turn = (_stretches(filling, order) for order in (by_size, *orders))
        few = len(sizes) <= MOST_FITTED or runs is None
        fitted = _first_fit(filling, by_size) if few else min(in_turn, key=len)
    assert fitted is not None
    whole = [sets for sets in (found, fitted) if sets and search.good(sets)]
    best = min(whole, key=len, default=fitted)
    is_whole = bool(whole)
    while not (is_whole and len(best) <= bound):
        most = len(best) - 1 if is_whole else len(best)
        fewer = _placed(search, by_size, most)
        if fewer is None:
            if not search.is_spent and is_whole:
                bound = len(best)
            break
        best, is_whole = fewer, True
    return Fewest(sorted((tuple(sorted(s)) for s in best), key=min), bound, is_whole)


def _dealt(search: _Search, bound: int, orders: Sequence[Sequence[int]]) -> list[Set] | None:
    """The first deal that runs, with as few sets as the bound or a few more."""
    for number in range(bound, min(bound + 3, len(search.sizes)) + 1):
        for deal in deals(search.sizes, number, orders):
            if search.good(deal):
                return deal
    return None


def deals(
    sizes: Sequence[float], number: int, orders: Sequence[Sequence[int]]
) -> Iterator[list[Set]]:
    """Ways to deal all into sets of like load: by the least load so far, and cut along an order."""
    total = sum(sizes)
    for order in orders:
        sets: list[list[int]] = [[] for _ in range(number)]
        load = [0.0] * number
        for i in order:
            place = min(range(number), key=load.__getitem__)
            sets[place].append(i)
            load[place] += sizes[i]
        yield [tuple(members) for members in sets]
        sets, so_far = [[] for _ in range(number)], 0.0
        for i in order:
            sets[min(int((so_far + sizes[i] / 2) / total * number), number - 1)].append(i)
            so_far += sizes[i]
        yield [tuple(members) for members in sets]


def _first_fit(search: _Search, order: Sequence[int]) -> list[Set]:
    """The largest first, each into the first set that still runs with it."""
    sets: list[Set] = []
    for i in order:
        for place, members in enumerate(sets):
            fits = search.load(members) + search.sizes[i] <= search.room
            if fits and search.may((*members, i)):
                sets[place] = (*members, i)
                break
        else:
            sets.append((i,))
    return sets


def _stretches(search: _Search, order: Sequence[int]) -> list[Set]:
    """The longest stretches of an order that run, by halving: what runs, runs with one less."""
    sets: list[Set] = []
    start = 0
    while start < len(order):
        good, bad, load = start + 1, start + 1, 0.0
        while bad <= len(order) and load + search.sizes[order[bad - 1]] <= search.room:
            load += search.sizes[order[bad - 1]]
            bad += 1
        end = bad - 1
        while bad - good > 1:
            runs = search.may(tuple(order[start:end]))
            good, bad = (end, bad) if runs else (good, end)
            end = (good + bad) // 2
        sets.append(tuple(order[start:good]))
        start = good
    return sets


def _placed(search: _Search, order: Sequence[int], most: int) -> list[Set] | None:
    """A way to place all in `most` sets, depth first; None if there is or was found none."""
    if len(order) > MOST_SEARCHED:
        search.nodes = 0
        return None
    sets: list[Set] = [()] * most
    loads, left = [0.0] * most, [0.0]
    for i in reversed(order):
        left.append(left[-1] + search.sizes[i])
    left.reverse()

    room, asks = search.room, search.runs is not None

    def place(at: int, free: float, begun: int) -> bool:
        if at == len(order):
            return all(search.complete(members) for members in sets if members)
        if left[at] > free * (1 + SLACK):
            return False
        i, size = order[at], search.sizes[order[at]]
        if asks:
            fitting = zip(sets[:begun], loads, strict=False)
            search.prepare([(*to, i) for to, load in fitting if load + size <= room], False)
        tried: set[float] = set()  # loads; where nothing is asked, equal ones do as well
        for number in range(min(begun + 1, most)):
            before, load = sets[number], loads[number] + size
            if load > room:
                continue
            if not asks:
                mark = round(load / room, 12) if room < inf else load
                if mark in tried:
                    continue
                tried.add(mark)
            search.nodes -= 1
            if search.is_spent:
                return False
            if asks and not search.may((*before, i)):
                continue
            sets[number], loads[number] = (*before, i), load
            if place(at + 1, free - size, max(begun, number + 1)):
                return True
            sets[number], loads[number] = before, load - size
        return False

    return list(filter(None, sets)) if place(0, most * room, 0) else None
