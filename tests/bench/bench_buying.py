"""How long purchases of rolls take, beside CP-SAT: `python -m tests.bench.bench_buying`.

CP-SAT (the `bench` extra) gets what suits it best: all maximal patterns where there are few, as for
the published instance, else a number for each roll and kind of piece, rolls of a size in falling
order of what they hold. It is stopped after ten seconds; without it only our figures are printed.
"""

from __future__ import annotations

import random
import time
from dataclasses import dataclass

from xlfuncs.calculations.buying.cutting import cheapest_rolls

FOOT = 0.3048
CP_SAT_SECONDS = 10.0
PAPER_MACHINE = (
    [1380, 1520, 1560, 1710, 1820, 1880, 1930, 2000, 2050, 2100, 2140, 2150, 2200],
    [22, 25, 12, 14, 18, 18, 20, 10, 12, 14, 16, 18, 20],
)


@dataclass(frozen=True)
class Case:
    """Lengths in whole units of `unit` m, prices in cents."""

    name: str
    lengths: list[int]
    counts: list[int]
    rolls: list[int]
    prices: list[int]
    unit: float


def cases() -> list[Case]:
    """The published instance of 219 pieces, and gardens of 60, 120 and 200 lines."""
    found = [Case("published, 219 pieces", *PAPER_MACHINE, [5600], [100], 0.001)]
    chance = random.Random(2)
    for pieces in (60, 120, 200):
        for number in range(8):
            kinds = chance.choice([14, 28, 40])
            lengths = sorted({chance.randint(18 * 12, 62 * 12) for _ in range(kinds)})
            counts = [pieces // len(lengths)] * len(lengths)
            counts[0] += pieces - sum(counts)
            rolls = [100, 250, 500, 1000]
            prices = [round(100 * r * chance.uniform(0.055, 0.075) * 15 / r**0.5) for r in rolls]
            inches = [r * 12 for r in rolls]
            name = f"garden {number + 1}, {pieces} pieces, 4 sizes"
            found.append(Case(name, lengths, counts, inches, prices, 0.0254))
    return found


def ours(case: Case, join_price: float | None) -> tuple[float, str]:
    """Milliseconds, and what came out."""
    lengths = [length * case.unit for length in case.lengths]
    rolls = [roll * case.unit for roll in case.rolls]
    prices = [cents / 100 for cents in case.prices]
    start = time.perf_counter()
    plan = cheapest_rolls(lengths, case.counts, rolls, prices, join_price)
    spent = 1000 * (time.perf_counter() - start)
    return spent, f"{plan.cost:9.2f} {'proven' if plan.proven else f'>= {plan.bound:.2f}'}"


def all_patterns(case: Case, roll: int, most: int) -> list[list[int]] | None:
    """Every maximal pattern of one roll; None if there are more than `most`."""
    found: list[list[int]] = []

    def descend(kind: int, room: int, pattern: list[int]) -> bool:
        if kind == len(case.lengths):
            fits = any(
                length <= room and cut < count
                for length, cut, count in zip(case.lengths, pattern, case.counts, strict=True)
            )
            if not fits:
                found.append(list(pattern))
            return len(found) <= most
        for number in range(min(case.counts[kind], room // case.lengths[kind]), -1, -1):
            left = room - number * case.lengths[kind]
            if not descend(kind + 1, left, [*pattern, number]):
                return False
        return True

    return found if descend(0, roll, []) else None


def by_patterns(case: Case, model: object) -> list[object] | None:
    """The model over all patterns: the terms of its cost, or None where there are too many."""
    terms: list[object] = []
    cut: list[list[object]] = [[] for _ in case.lengths]
    for roll, price in zip(case.rolls, case.prices, strict=True):
        patterns = all_patterns(case, roll, 2_000)
        if patterns is None:
            return None
        for pattern in patterns:
            times = model.new_int_var(0, sum(case.counts), "")  # type: ignore[attr-defined]
            terms.append(price * times)
            for kind, number in enumerate(pattern):
                if number:
                    cut[kind].append(number * times)
    for kind, count in enumerate(case.counts):
        model.add(sum(cut[kind]) >= count)  # type: ignore[attr-defined, arg-type]
    return terms


def by_rolls(case: Case, model: object) -> list[object]:
    """The model with a number for each roll and kind of piece: the terms of its cost."""
    total = sum(n * length for n, length in zip(case.counts, case.lengths, strict=True))
    terms: list[object] = []
    held: list[list[object]] = [[] for _ in case.lengths]
    for roll, price in zip(case.rolls, case.prices, strict=True):
        before: object = None
        for _ in range(min(sum(case.counts), -(-3 * total // (2 * roll)) + 2)):
            used = model.new_bool_var("")  # type: ignore[attr-defined]
            cut = [
                model.new_int_var(0, min(count, roll // length), "")  # type: ignore[attr-defined]
                for length, count in zip(case.lengths, case.counts, strict=True)
            ]
            inside = sum(n * length for n, length in zip(cut, case.lengths, strict=True))
            model.add(inside <= roll * used)  # type: ignore[attr-defined]
            if before is not None:
                model.add(inside <= before)  # type: ignore[attr-defined]
            before = inside
            terms.append(price * used)
            for kind, number in enumerate(cut):
                held[kind].append(number)
    for kind, count in enumerate(case.counts):
        model.add(sum(held[kind]) == count)  # type: ignore[attr-defined, arg-type]
    return terms


def cp_sat(case: Case) -> tuple[float, str]:
    """The same without joins by CP-SAT; milliseconds with the making of the model."""
    from ortools.sat.python import cp_model

    start = time.perf_counter()
    model = cp_model.CpModel()
    terms = by_patterns(case, model)
    if terms is None:
        model = cp_model.CpModel()
        terms = by_rolls(case, model)
    model.minimize(sum(terms))
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = CP_SAT_SECONDS
    status = solver.solve(model)
    spent = 1000 * (time.perf_counter() - start)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return spent, "nothing found"
    bound = solver.best_objective_bound / 100
    words = "proven" if status == cp_model.OPTIMAL else f">= {bound:.2f}"
    return spent, f"{solver.objective_value / 100:9.2f} {words}"


def main() -> None:
    """Print a row a case: whole pieces, joined pieces, CP-SAT with whole pieces."""
    try:
        import ortools  # noqa: F401

        beside = True
    except ImportError:
        beside = False
    cheapest_rolls([1.0], [1], [2.0], [1.0])  # loads the solver
    print(f"{'case':34}{'whole pieces':>34}{'joined at 0.45':>36}{'CP-SAT, whole pieces':>36}")
    for case in cases():
        shown = [ours(case, None), ours(case, 0.45)]
        if beside:
            shown.append(cp_sat(case))
        print(f"{case.name:34}" + "".join(f"{ms:10.0f} ms {words:>22}" for ms, words in shown))


if __name__ == "__main__":
    main()
