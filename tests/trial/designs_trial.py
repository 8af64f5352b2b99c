"""Thirty gardens by chance, each a workbook; every design that is offered is put into its tables,
the workbook is computed, and all sheets and commands are asked what speaks against it.

    python -m tests.trial.designs_trial [SEED OF THE FIRST] [HOW MANY] [MOST DESIGNS OF A GARDEN]

A seed says how many beds its garden has too, so that a few gardens at a time are the same.
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

from tests.workbook_template.random_gardens import SIZES, disagreements, garden_inputs
from workbook_template.build import build
from workbook_template.designed import given_of, with_design
from xlfuncs.catalogue.whole_designs import whole_designs


def main(first: int = 900, gardens: int = 30, most: int = 99) -> None:
    offered = wrong = without = fails = silent = 0
    kinds: Counter[str] = Counter()
    with tempfile.TemporaryDirectory() as folder:
        as_it_is, path = Path(folder) / "as_it_is.xlsx", Path(folder) / "designed.xlsx"
        for i in range(gardens):
            beds = SIZES[(first + i) % len(SIZES)]
            inputs = garden_inputs(first + i, beds)
            built = build(as_it_is, "us", inputs)
            started = time.perf_counter()
            found = whole_designs(given_of(built, "us"))
            spent = time.perf_counter() - started
            passing = [row for row in found.rows if row.kind != "fails"]
            failing = [row for row in found.rows if row.kind == "fails"]
            fails += len(failing)
            silent += sum(not row.fails or not row.mends for row in failing)
            without += not passing
            print(f"seed {first + i}: {beds} beds, {inputs.settings['supply_used']},"
                  f" {found.designs} designs in {spent:.1f} s, gap {found.gap:.1%},"
                  f" {len(passing)} offered", flush=True)  # fmt: skip
            if not passing and failing:
                print(f"  fails: {failing[0].fails} -> {failing[0].mends}", flush=True)
            for number, row in enumerate(passing[:most], start=1):
                designed = build(path, "us", with_design(inputs, row, "us"))
                said = list(disagreements(row, designed, path))
                offered += 1
                wrong += bool(said)
                for words in said:
                    kinds[words.split(":")[0]] += 1
                    print(f"  design {number}: {words}", flush=True)
    print(f"{offered} designs offered in {gardens} gardens, {wrong} called wrong by some sheet;"
          f" {without} gardens without a passing design; {fails} failing designs told of,"
          f" {silent} without a reason. {dict(kinds)}")  # fmt: skip


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
