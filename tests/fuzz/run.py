"""Long runs: `python -m tests.fuzz.run 8000` tries so many inputs of every function both ways (a
sixth of that of those that work on the whole) and a tenth of each relation, and prints what fails,
smallest case first, and the counts.

`python -m tests.fuzz.run 8000 3 NAME ...`: another seed, only those functions.
"""

from __future__ import annotations

import sys
import time
from collections import Counter
from random import Random
from typing import Any

from tests.fuzz import calls
from tests.fuzz.inputs import WHOLE_GARDENS, Inputs
from tests.fuzz.relations import relations_of
from xlfuncs.catalogue.declaration import WorksheetFunction
from xlfuncs.catalogue.registry import functions
from xlfuncs.hosts.cells import Cells


def chance_of(name: str, seed: int, number: int) -> Random:
    return Random(f"{name} {seed} {number}")


def one_input(function: WorksheetFunction, seed: int, number: int) -> list[Any]:
    chance = chance_of(function.name, seed, number)
    share = chance.choice((0.0, 0.0, 0.02, 0.1, 0.3))
    if function.name in WHOLE_GARDENS:  # with a hundred cells or more
        share = chance.choice((0.0, 0.0, 0.0, share / 20))
    return Inputs(function, chance, share).arguments()


def failing_input(function: WorksheetFunction, seed: int, number: int) -> str:
    """What fails for one input, with the smallest case; nothing where all is well."""
    args = one_input(function, seed, number)
    if not (words := calls.fault(function, args)):
        return ""
    columns = {i for i, arg in enumerate(function.positions) if arg.group}
    least = calls.smallest(args, lambda case: calls.fault(function, case), columns)
    return f"{function.name}{tuple(least)}: {calls.fault(function, least) or words} (seed {number})"


def failing_relation(
    function: WorksheetFunction, relation: Any, seed: int, number: int
) -> tuple[str, bool]:
    words, answered = relation(function, chance_of(relation.__name__ + function.name, seed, number))
    if "time ran out" in words:  # a busy machine: what was found until then may differ, and says so
        return "", False
    return f"{function.name}: {relation.__name__}: {words}" if words else "", answered


def try_function(name: str, number: int, seed: int) -> tuple[list[str], Counter[str]]:
    """Failures, and counts of inputs, valid answers and tries of relations."""
    function = functions()[name]
    failures: list[str] = []
    counts: Counter[str] = Counter()
    for i in range(number):
        args = one_input(function, seed, i)
        counts["inputs"] += 1
        if calls.fault(function, args):
            failures.append(failing_input(function, seed, i))
        elif calls.is_answer(calls.from_cells(function, args)):
            counts["answers"] += 1
        if len(failures) >= 3:
            break
    for relation in relations_of(function):
        for i in range(max(1, number // 10)):
            words, answered = failing_relation(function, relation, seed, i)
            counts["relations"] += 1
            counts["answered relations"] += answered
            if words:
                failures.append(words)
                break
    return failures, counts


def main(number: int, seed: int, names: list[str]) -> None:
    Cells.raises = True
    total: Counter[str] = Counter()
    failed = 0
    for name in names or sorted(functions()):
        start = time.perf_counter()
        share = 1 if functions()[name].elementwise else 6
        failures, counts = try_function(name, -(-number // share), seed)
        total += counts
        failed += len(failures)
        spent = time.perf_counter() - start
        print(f"{name:32}" + "".join(f"{counts[k]:9} {k}" for k in
              ("inputs", "answers", "relations", "answered relations")) + f"{spent:8.1f} s",
              flush=True)  # fmt: skip
        for words in failures:
            print("  FAILS", words[:900], flush=True)
    print(dict(total), f"{failed} failures")


if __name__ == "__main__":
    main(
        int(sys.argv[1]) if len(sys.argv) > 1 else 1000,
        int(sys.argv[2]) if len(sys.argv) > 2 else 0,
        sys.argv[3:],
    )
