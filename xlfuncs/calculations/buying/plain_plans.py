"""A plan without search, so that there is one whatever the time: always the longest that fits."""

from bisect import bisect_left
from collections.abc import Sequence

from xlfuncs.calculations.buying.column_generation import Column
from xlfuncs.calculations.buying.cutting_patterns import Grid, Market, whole_units

Cut = list[tuple[int, int]]  # pieces cut: their kind and number


class PlainPlan:
    """Cuts from the roll that costs least per length cut, as the trade would, pattern by pattern;
    each pattern as often as there are pieces and rolls for it."""

    def __init__(self, grid: Grid, market: Market) -> None:
        self._grid, self._market = grid, market
        self._left = list(grid.counts)
        self._kinds = [kind for kind, number in enumerate(grid.counts) if number]
        self._sizes = [-grid.lengths[kind] for kind in self._kinds]  # rising, for bisect
        self._free = [roll.available for roll in market.rolls]

    def columns(self) -> list[Column]:
        """The plan; empty where the rolls available don't hold it that way."""
        columns: list[Column] = []
        while self._kinds:
            options = [
                option
                for roll, free in enumerate(self._free)
                if free and (option := self._option((roll,)))
            ]
            if not options and self._market.join_price is not None:
                options = [option for option in [self._joined()] if option]
            if not options:
                return []
            _, rolls, cut = min(options)
            columns += [Column(rolls, self._pieces(cut))] * self._take(rolls, cut)
        return columns

    def _option(self, rolls: tuple[int, ...]) -> tuple[float, tuple[int, ...], Cut] | None:
        """What would be cut from those rolls, with its cost per length; None if they don't hold the
        longest piece."""
        room = capacity = whole_units(self._market.net(rolls), self._grid.unit)
        if room < -self._sizes[0]:
            return None
        cut: Cut = []
        place = 0
        while (place := bisect_left(self._sizes, -room, place)) < len(self._kinds):
            kind = self._kinds[place]
            number = min(self._left[kind], room // self._grid.lengths[kind])
            cut.append((kind, number))
            room -= number * self._grid.lengths[kind]
            place += 1
        return self._market.list_price(rolls) / (capacity - room), rolls, cut

    def _joined(self) -> tuple[float, tuple[int, ...], Cut] | None:
        """The rolls that are cheapest by length, joined until they hold the longest piece."""
        market, chosen = self._market, list[int]()
        order = sorted(
            (r for r, roll in enumerate(market.rolls) if roll.length > market.join_loss),
            key=lambda r: market.rolls[r].price / (market.rolls[r].length - market.join_loss),
        )
        for roll in order:
            for _ in range(self._free[roll]):
                chosen.append(roll)
                if option := self._option(tuple(sorted(chosen))):
                    return option
        return None

    def _take(self, rolls: Sequence[int], cut: Cut) -> int:
        """How often that can be cut; takes it from what is left."""
        times = min(self._left[kind] // number for kind, number in cut)
        times = min(times, *(self._free[roll] // rolls.count(roll) for roll in rolls))
        for roll in rolls:
            self._free[roll] -= times
        for kind, number in cut:
            self._left[kind] -= times * number
            if not self._left[kind]:
                place = bisect_left(self._kinds, kind)
                del self._kinds[place], self._sizes[place]
        return times

    def _pieces(self, cut: Cut) -> tuple[int, ...]:
        pieces = [0] * len(self._grid.lengths)
        for kind, number in cut:
            pieces[kind] = number
        return tuple(pieces)
