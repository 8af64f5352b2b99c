"""What every function answered to inputs from fixed seeds, so that a small change is noticed.

This says that nothing changed, not that it is right: outside values hold that elsewhere. After a
change on purpose, `python -m tests.fuzz.answers` names the functions whose answers are others now,
and writes them; read the names before you commit the file.
"""

from __future__ import annotations

import csv
import math
from collections import Counter
from pathlib import Path
from typing import Any

from tests.fuzz import calls
from tests.fuzz.run import one_input
from xlfuncs.catalogue.registry import functions

STORED = Path(__file__).with_name("answers.csv")
SEED, TRIES = 5, 90
WANTED = {True: 36, False: 12}  # of those that work elementwise, and on the whole
# Another version of the solver may find another purchase of the same cost.
NAMES = sorted(
    name for name, function in functions().items()
    if not function.variadic and not any(arg.name == "time_limit" for arg in function.args)
)  # fmt: skip
Answer = tuple[str, str, float, float]  # which input, what kinds of cells, and two sums of numbers


def answers(name: str) -> list[Answer]:
    """Of the first inputs that have an answer; texts are counted, for words may change freely."""
    function, found = functions()[name], []
    for number in range(TRIES):
        args = one_input(function, SEED, number)
        answer = calls.from_cells(function, args)
        if calls.is_answer(answer):
            found.append((str(number), *_summary(answer)))
        if len(found) == WANTED[function.elementwise]:
            break
    return found


def _summary(answer: Any) -> tuple[str, float, float]:
    cells = calls.flat(answer)
    kinds = Counter("" if cell == "" else type(cell).__name__ for cell in cells)
    numbers = [cell for cell in cells if isinstance(cell, float) and math.isfinite(cell)]
    weighted = sum(number * (1 + i % 7) for i, number in enumerate(numbers))
    size = sum(abs(number) for number in numbers)
    return " ".join(f"{kind or 'blank'}:{kinds[kind]}" for kind in sorted(kinds)), weighted, size


def same(stored: Answer, now: Answer) -> bool:
    near = 1e-6 * abs(now[3]) + 1e-12
    sums = stored[2] == now[2] or abs(stored[2] - now[2]) <= 7 * near  # a sum may be infinite
    return stored[:2] == now[:2] and sums


def stored_answers() -> dict[str, list[Answer]]:
    found: dict[str, list[Answer]] = {}
    with STORED.open(encoding="utf-8", newline="") as file:
        for name, which, kinds, weighted, size in csv.reader(file):
            found.setdefault(name, []).append((which, kinds, float(weighted), float(size)))
    return found


def main() -> None:
    before = stored_answers() if STORED.exists() else {}
    with STORED.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        for name in NAMES:
            now = answers(name)
            old = before.get(name, [])
            if len(old) != len(now) or not all(map(same, old, now)):
                print("other answers:", name)
            writer.writerows((name, a, b, f"{c:.9g}", f"{d:.9g}") for a, b, c, d in now)


if __name__ == "__main__":
    main()
