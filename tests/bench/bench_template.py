"""Building the template workbook: the invented farm, and a garden of 500 beds.

Times are of the processor (user and system) in one process, the best of several where quick; the
first build of a process, which also loads solvers, is told apart. So is the time of the functions
that search, and what a formula takes without them, for these grow in number. Other programs that
run at the same time slow it all the same, so run it on a machine that does nothing else:

    python -m tests.bench.bench_template
"""

from __future__ import annotations

import sys
import tempfile
import time
import zipfile
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any
from unittest.mock import patch

from workbook_template.build import build, demo_inputs
from workbook_template.kit.inputs import Inputs
from xlfuncs.hosts import cells
from xlfuncs.hosts.memory import Memory

BEDS = 500
ROUNDS = 3
SEARCHES = ("DESIGNS", "PRESSURE_SETS")  # which try thousands of layouts, in one cell each
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


def built(folder: Path, system: str, inputs: Inputs) -> tuple[float, float, int]:
    """Seconds of one build that computes everything, those of its searches, and its formulas."""
    cells.PLAIN.answers = Memory()
    searched = [0.0]
    functions = cells.worksheet_callables()

    def timed(name: str) -> Callable[[Sequence[Any]], Any]:
        def call(values: Sequence[Any]) -> Any:
            start = time.process_time()
            answer = functions[name](values)
            searched[0] += time.process_time() - start
            return answer

        return call

    ours = {**functions, **{name: timed(name) for name in SEARCHES}}
    path = folder / "workbook.xlsx"
    with patch.object(cells, "worksheet_callables", lambda: ours):
        start = time.process_time()
        build(path, system, inputs)
        spent = time.process_time() - start
    with zipfile.ZipFile(path) as parts:
        sheets = [name for name in parts.namelist() if name.startswith("xl/worksheets/sheet")]
        return spent, searched[0], sum(parts.read(name).count(b"</f>") for name in sheets)


def line(words: str, spent: float, searched: float, formulas: int) -> str:
    each = 1e6 * (spent - searched) / formulas
    return (f"{words}: {spent:.2f} s, {searched:.2f} s of it to search designs and sets; "
            f"{formulas} formulas, {each:.0f} us each without that")  # fmt: skip


def main() -> None:
    beds = int(sys.argv[1]) if len(sys.argv) > 1 else BEDS
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        print(line("first build of a process", *built(folder, "us", demo_inputs("us"))))
        for system in ("us", "metric"):
            farm = demo_inputs(system)
            best = min(built(folder, system, farm) for _ in range(ROUNDS))
            print(line(f"{system}, the invented farm ({len(farm.tables['Beds'])} beds)", *best))
            large = built(folder, system, with_beds(farm, beds))
            print(line(f"{system}, {beds} beds", *large), flush=True)


if __name__ == "__main__":
    main()
