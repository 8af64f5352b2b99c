"""Random purchases beside an exact model in CP-SAT: `python -m tests.bench.compare_purchases 1000`.

Rolls in feet and in metres, prices that fall with the number, rolls in store, joins. The model
knows nothing of the search: for each piece and each roll that might be bought, how much of the one
is cut from the other. Prints what differs, the longest searches, and the counts.
"""

from __future__ import annotations

import random
import sys
import time
from collections import Counter
from dataclasses import dataclass
from itertools import pairwise

from xlfuncs.calculations.buying.cutting import RollPlan, cheapest_rolls

TENTH_MM = 1e-4  # m; every length below is a whole number of them
FOOT, INCH, METRE = 3048, 254, 10_000
TIME_LIMIT, GRACE = 5.0, 0.2


@dataclass(frozen=True)
class Purchase:
    """Lengths in tenths of a millimetre, prices in cents."""

    lengths: list[int]
    counts: list[int]
    rolls: list[int]
    prices: list[int]
    steps: list[int]
    available: list[int | None]
    join_price: int | None
    join_loss: int


def random_purchase(chance: random.Random) -> Purchase:
    """As a garden might need it: lines in inches, or in centimetres, some that fill rolls."""
    joined = chance.random() < 0.4
    kinds = chance.randint(1, 3 if joined else 5)
    rolls, prices, steps, available = [], [], [], []
    for length in chance.sample(
        [50 * FOOT, 100 * FOOT, 164 * FOOT, 200 * FOOT, 328 * FOOT, 30 * METRE, 50 * METRE,
         100 * METRE], chance.randint(1, 3)
    ):  # fmt: skip
        price = round(length / METRE * chance.uniform(20, 40))
        rolls, prices, steps = [*rolls, length], [*prices, price], [*steps, 1]
        available.append(None)
        if chance.random() < 0.35:
            rolls.append(length)
            prices.append(round(price * chance.uniform(0.6, 0.95)))
            steps.append(chance.randint(2, 4))
            available.append(None)
    longest = max(rolls)
    if chance.random() < 0.3:
        rolls.append(round(longest * chance.uniform(0.1, 0.9)))
        prices, steps, available = [*prices, 0], [*steps, 1], [*available, chance.randint(1, 2)]
    unit = chance.choice([1, INCH, 100, 2 * INCH])
    lengths = []
    for _ in range(kinds):
        share = longest / chance.randint(2, 5) if chance.random() < 0.3 else 0.0
        most = (1.3 if joined and chance.random() < 0.2 else 0.7) * longest
        lengths.append(int((share or chance.uniform(0.1 * longest, most)) // unit * unit))
    counts = [chance.randint(1, 3 if joined else 4) for _ in range(kinds)]
    return Purchase(
        lengths, counts, rolls, prices, steps, available,
        chance.choice([0, 45, 80, 300]) if joined else None,
        chance.choice([0, 6 * INCH, 100]) if joined else 0,
    )  # fmt: skip


def ours(case: Purchase, time_limit: float = TIME_LIMIT) -> RollPlan:
    return cheapest_rolls(
        [length * TENTH_MM for length in case.lengths],
        case.counts,
        [length * TENTH_MM for length in case.rolls],
        [cents / 100 for cents in case.prices],
        None if case.join_price is None else case.join_price / 100,
        case.join_loss * TENTH_MM,
        time_limit,
        case.steps,
        case.available,
    )


def faults_of(case: Purchase, plan: RollPlan) -> list[str]:
    """What is wrong with the plan itself: pieces not cut, rolls over-used, cost not the sum."""
    found = []
    cut = Counter(row for stretch in plan.stretches for row in stretch.pieces)
    if [cut[row] for row in range(len(case.lengths))] != case.counts:
        found.append("pieces are missing")
    for stretch in plan.stretches:
        there = sum(case.rolls[roll] for roll in stretch.rolls)
        there -= case.join_loss * (len(stretch.rolls) - 1)
        if sum(case.lengths[row] for row in stretch.pieces) > there:
            found.append("a roll is over-used")
    bought = Counter(roll for stretch in plan.stretches for roll in stretch.rolls)
    if [bought[roll] for roll in range(len(case.rolls))] != list(plan.rolls):
        found.append("what is bought is not what is cut")
    for number, step, most in zip(plan.rolls, case.steps, case.available, strict=True):
        if 0 < number < step or (most is not None and number > most):
            found.append("a step is not reached, or more taken than there is")
    cents = sum(n * price for n, price in zip(plan.rolls, case.prices, strict=True))
    if abs(cents + plan.joins * (case.join_price or 0) - 100 * plan.cost) > 1e-6:
        found.append("the cost is not the sum")
    return found


def exact_cost(case: Purchase, seconds: float = 60.0) -> int | None:
    """The least cost in cents by CP-SAT; None if it isn't proven in time."""
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    pieces = [n for n, count in zip(case.lengths, case.counts, strict=True) for _ in range(count)]
    joined = case.join_price is not None
    number_of, costs, copies = [], [], []
    for row, length in enumerate(case.rolls):
        total = sum(pieces) + case.join_loss * len(pieces)
        most = len(pieces) if not joined else -(-2 * total // length) + 1
        most = max(min(most, len(pieces) if not joined else most), case.steps[row])
        if case.available[row] is not None:
            most = min(most, case.available[row])
        bought = [model.new_bool_var("") for _ in range(most)]
        for first, second in pairwise(bought):
            model.add(first >= second)
        taken = model.new_bool_var("")
        number = sum(bought)
        model.add(number >= case.steps[row] * taken)
        model.add(number <= most * taken)
        number_of.append(number)
        costs.append(case.prices[row] * number)
        copies += [(length, flag) for flag in bought]
    held: list[list[object]] = [[] for _ in copies]
    for length in pieces:
        uses, parts, ends = [], [], []
        for place, (roll, flag) in enumerate(copies):
            use = model.new_bool_var("")
            model.add(use <= flag)
            if not joined:
                held[place].append(length * use)
            else:
                part = model.new_int_var(0, min(length, roll), "")
                model.add(part <= length * use)
                end = model.new_bool_var("")
                model.add(end <= use)
                held[place] += [part, case.join_loss * end]
                parts.append(part)
                ends.append(end)
            uses.append(use)
        if joined:
            model.add(sum(parts) == length)
            model.add(sum(ends) == sum(uses) - 1)
            costs.append(case.join_price * sum(ends))
        else:
            model.add_exactly_one(uses)
    for place, (roll, flag) in enumerate(copies):
        model.add(sum(held[place]) <= roll * flag)
    model.minimize(sum(costs))
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = 1
    status = solver.solve(model)
    if status == cp_model.INFEASIBLE:
        return -1
    return round(solver.objective_value) if status == cp_model.OPTIMAL else None


def main(number: int, seed: int) -> None:
    """Compare so many purchases."""
    chance = random.Random(seed)
    ours(random_purchase(random.Random(0)))  # loads the solver
    counts: Counter[str] = Counter()
    slowest = 0.0
    for place in range(number):
        case = random_purchase(chance)
        start = time.perf_counter()
        try:
            plan = ours(case)
        except ValueError as error:
            counts[f"refused: {str(error)[:60]}"] += 1
            if (exact := exact_cost(case)) != -1:
                print(f"{place}: refused, exact {exact}: {error}\n  {case}")
            continue
        spent = time.perf_counter() - start
        slowest = max(slowest, spent)
        if faults := faults_of(case, plan):
            print(f"{place}: {faults}\n  {case}")
        if spent > TIME_LIMIT + GRACE:
            print(f"{place}: {spent:.2f} s\n  {case}")
        exact = exact_cost(case)
        kind = "joined" if case.join_price is not None else "whole"
        kind += " steps" if max(case.steps) > 1 else ""
        if exact is None:
            counts[f"{kind}: the model did not finish"] += 1
            continue
        same = abs(exact - 100 * plan.cost) < 0.5
        counts[
            f"{kind}: {'equal' if same else 'DIFFERENT'}, {'proven' if plan.proven else 'not'}"
        ] += 1
        if not same:
            print(
                f"{place}: ours {plan.cost} ({plan.proven}, {plan.bound}), exact {exact}\n  {case}"
            )
    print(f"slowest search {slowest:.2f} s")
    for words, found in sorted(counts.items()):
        print(f"{found:6} {words}")


if __name__ == "__main__":
    main(
        int(sys.argv[1]) if len(sys.argv) > 1 else 1000,
        int(sys.argv[2]) if len(sys.argv) > 2 else 1,
    )
