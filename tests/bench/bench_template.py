"""Building the template workbook: the invented farm, and a garden of 500 beds.

Times are of the processor (user and system) in one process, the best of several where quick; the
first build of a process, which also loads solvers, is told apart. Other programs that run at the
same time slow it all the same, so run it on a machine that does nothing else:

    python -m tests.bench.bench_template
"""

from __future__ import annotations

import sys
import tempfile
import time
from dataclasses import replace
from pathlib import Path
from typing import Any

from workbook_template.build import build, demo_inputs
from workbook_template.kit.inputs import Inputs
from xlfuncs.hosts import cells
from xlfuncs.hosts.memory import Memory

BEDS = 500
ROUNDS = 3
ROW_STEP = 0.5  # by which the repeated beds lie farther along the main, in the system's own unit


def with_beds(inputs: Inputs, beds: int) -> Inputs:
    """The invented beds over and over, each with a name, a place and a valve of its own."""
    own = [bed for bed in inputs.tables["Beds"] if isinstance(bed.get("distance"), float)]
    rows: list[dict[str, Any]] = []
    for i in range(beds):
        bed, again = own[i % len(own)], i // len(own)
        more = {"bed": f"{bed['bed']} {i + 1}", "distance": bed["distance"] + ROW_STEP * again}
        valve = {"valve": f"{bed['valve']}.{again}"} if bed.get("valve") else {}
        rows.append({**bed, **more, **valve})
    return replace(inputs, tables={**inputs.tables, "Beds": rows})


def seconds(folder: Path, system: str, inputs: Inputs) -> float:
    """Of one build that computes everything."""
    cells.PLAIN.answers = Memory()
    start = time.process_time()
    build(folder / "workbook.xlsx", system, inputs)
    return time.process_time() - start


def main() -> None:
    beds = int(sys.argv[1]) if len(sys.argv) > 1 else BEDS
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        print(f"first build of a process: {seconds(folder, 'us', demo_inputs('us')):.2f} s")
        for system in ("us", "metric"):
            farm = demo_inputs(system)
            print(f"{system}, the invented farm ({len(farm.tables['Beds'])} beds): "
                  f"{min(seconds(folder, system, farm) for _ in range(ROUNDS)):.2f} s")  # fmt: skip
            large = with_beds(farm, beds)
            print(f"{system}, {beds} beds: {seconds(folder, system, large):.2f} s", flush=True)


if __name__ == "__main__":
    main()
