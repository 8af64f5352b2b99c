"""A column call against the bare numpy expression, and a warm scalar call.

Run: python -m tests.bench.bench_calls
"""

from __future__ import annotations

import timeit

import numpy as np

import xlfuncs
from xlfuncs.hosts.cells import call_from_cells

ROWS = 100_000


def _best(call: object, number: int) -> float:
    return min(timeit.repeat(call, number=number, repeat=7)) / number  # type: ignore[arg-type]


def main() -> None:
    chance = np.random.default_rng(1)
    area = chance.uniform(50, 500, ROWS)
    depth = chance.uniform(0.5, 2, ROWS)
    flow = chance.uniform(0.2, 6, ROWS)
    efficiency = chance.uniform(0.7, 1, ROWS)
    factor = 144 / 231

    def bare() -> object:
        return area * depth * factor / flow / 3 / efficiency

    def ours() -> object:
        return xlfuncs.run_minutes(area, depth, flow, 3, efficiency)

    assert np.allclose(bare(), ours())
    numpy_time, our_time = _best(bare, 5), _best(ours, 5)
    print(f"{ROWS} rows: numpy {numpy_time * 1e3:.2f} ms, run_minutes {our_time * 1e3:.2f} ms")
    print(f"  allowed: 3 x numpy + 5 ms = {numpy_time * 3e3 + 5:.2f} ms")
    warm = _best(lambda: xlfuncs.run_minutes(600.0, 1.0, 6.0), 20_000)
    print(f"warm scalar call: {warm * 1e6:.1f} µs (allowed 25)")
    cell = _best(lambda: call_from_cells("RUN_MINUTES", (600.0, 1.0, 6.0)), 20_000)
    print(f"warm call from a cell: {cell * 1e6:.1f} µs")
    rows = [[float(v)] for v in area[:10_000]]
    column = _best(lambda: call_from_cells("RUN_MINUTES", (rows, 1.0, 6.0)), 5)
    print(f"10,000 cells in one call: {column * 1e3:.1f} ms")


if __name__ == "__main__":
    main()
