"""The pattern of greatest worth that a stretch holds: the bounded knapsack of column generation."""

import numpy as np

from xlfuncs.calculations.arrays import Floats
from xlfuncs.calculations.buying.clock import Clock
from xlfuncs.calculations.buying.cutting_patterns import Grid, bundles

MOST_CELLS = 200_000
MOST_ENTRIES = 6_000_000  # of the table, 8 bytes each
MOST_STEPS = 3_000  # in the descent for one pattern
_ENTRY, _STEP = 5e-9, 2e-6  # s that an entry of the table, a step of the descent, take


class BestPattern:
    """All stretches at once, by dynamic programming over lengths, then a descent on true lengths.

    Where the table has a cell for each unit its values are exact. Where it would be too large a
    cell is several units, pieces are rounded down, and so the values are upper bounds; the descent
    adds up true lengths, cut off by those bounds, so a pattern always fits.
    """

    def __init__(self, grid: Grid, clock: Clock) -> None:
        self._grid, self._clock = grid, clock
        most = grid.stretches[-1].capacity
        self._lots = bundles(grid.counts, grid.lengths, most, range(len(grid.lengths)))
        cells = min(MOST_CELLS, MOST_ENTRIES // (len(self._lots) + 1))
        self._cell = most // cells + 1
        self.exact = self._cell == 1
        self._table = np.zeros((len(self._lots) + 1, most // self._cell + 1))
        self._places = [stretch.capacity // self._cell for stretch in grid.stretches]
        self._worth: list[float] = []

    def values(self, worth: Floats) -> Floats | None:
        """No pattern of each stretch is worth more; None if time is up."""
        self._worth = worth.tolist()
        table, cells = self._table, self._table.shape[1]
        for row, (kind, lot) in enumerate(self._lots):
            self._clock.spend(_ENTRY * cells)
            if self._clock.late():
                return None
            size = min(cells, lot * self._grid.lengths[kind] // self._cell)
            table[row + 1, :size] = table[row, :size]
            with_lot = table[row, : cells - size] + lot * self._worth[kind]
            np.maximum(table[row, size:], with_lot, out=table[row + 1, size:])
        return np.asarray(table[-1, self._places])

    def pattern(self, stretch: int) -> tuple[tuple[int, ...], float]:
        """The pieces of the greatest worth in true lengths, and that worth, after `values`."""
        lengths, table, cell = self._grid.lengths, self._table, self._cell
        best, best_value = [0] * len(self._lots), 0.0
        taken = [0] * len(self._lots)
        waiting = [(len(self._lots), self._grid.stretches[stretch].capacity, 0.0, 0)]
        steps = 0
        while waiting and steps < MOST_STEPS + len(self._lots):
            row, room, value, take = waiting.pop()
            if row < len(taken):
                taken[row] = take
            if value + table[row, room // cell] <= best_value * (1 + 1e-12):
                continue
            if row == 0:
                best, best_value = list(taken), value
                continue
            steps += 1
            kind, lot = self._lots[row - 1]
            size, gain = lot * lengths[kind], lot * self._worth[kind]
            without = (row - 1, room, value, 0)
            if size > room:
                waiting.append(without)
                continue
            with_lot = (row - 1, room - size, value + gain, 1)
            taking = gain + table[row - 1, (room - size) // cell]
            if taking > table[row - 1, room // cell] + 1e-12:
                waiting += [without, with_lot]
            else:
                waiting += [with_lot, without]
        self._clock.spend(_STEP * (steps + len(lengths)))
        pieces = [0] * len(lengths)
        for (kind, lot), used in zip(self._lots, best, strict=True):
            pieces[kind] += lot * used
        return tuple(pieces), best_value
