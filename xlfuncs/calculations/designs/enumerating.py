"""Designs one after another: by their cost, with one line in all beds, with others in one width."""

import heapq
from collections.abc import Iterator, Sequence
from dataclasses import replace

from xlfuncs.calculations.designs.question import Design, Option


def in_order(costs: Sequence[Sequence[float]]) -> Iterator[tuple[float, tuple[int, ...]]]:
    """Places, one in each list of rising costs, by the sum of their costs, the least first."""
    if any(not column for column in costs):
        return
    start = (0,) * len(costs)
    heap = [(sum(column[0] for column in costs), start)]
    seen = {start}
    while heap:
        total, places = heapq.heappop(heap)
        yield total, places
        for i, column in enumerate(costs):
            if places[i] + 1 < len(column):
                after = (*places[:i], places[i] + 1, *places[i + 1 :])
                if after not in seen:
                    seen.add(after)
                    step = column[places[i] + 1] - column[places[i]]
                    heapq.heappush(heap, (total + step, after))


def even(widths: Sequence[Sequence[Option]]) -> Iterator[tuple[Option, ...]]:
    """One line in all beds, in each width as few of it as serve what grows there, then one more,
    and so on. `widths` has the options of each, the best first, which stands for a line that
    serves none of its beds."""
    for line in sorted({line for options in widths for line, _ in options}):
        numbers = [sorted(n for kind, n in options if kind == line) for options in widths]
        for more in range(max(map(len, numbers))):
            yield tuple(
                (line, own[min(more, len(own) - 1)]) if own else options[0]
                for own, options in zip(numbers, widths, strict=True)
            )


def changed(design: Design, of: int, options: Sequence[Option]) -> Iterator[Design]:
    """The designs with another of the options in the beds of one width, its place `of`."""
    before, behind = design.options[:of], design.options[of + 1 :]
    for option in options:
        if option != design.options[of]:
            yield replace(design, options=(*before, option, *behind))
