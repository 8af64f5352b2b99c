"""Which drip line, how many in a bed, from which rolls: the choices side by side."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import isnan, nan

from xlfuncs.calculations.buying.clock import Clock
from xlfuncs.calculations.buying.cutting import RollPlan, cheapest_rolls
from xlfuncs.calculations.buying.purchase_checks import SAME_LENGTH
from xlfuncs.calculations.buying.roll_fit import cut_length
from xlfuncs.errors import InputError

SLACK = 1e-9
MOST_KEPT = 512


@dataclass(frozen=True)
class Bed:
    """Length and width of a bed top, and the planted area that is watered; m and m2."""

    length: float
    width: float
    area: float


@dataclass(frozen=True)
class LineType:
    """A drip line on sale: emitter spacing (m), flow of an emitter (m3/s), rolls (m) and prices."""

    name: str
    emitter_spacing: float
    emitter_flow: float
    roll_lengths: tuple[float, ...]
    roll_prices: tuple[float, ...]


@dataclass(frozen=True)
class Demands:
    """What a layout must meet, and what every line costs beside itself.

    `depth` gross a watering (mm); `supply_flow` (m3/s) of which `share` may be used at once;
    `farthest` the greatest distance (m) from a planted point to a line; `longest_day` (s) for
    watering all beds; `line_parts` price of the fittings of one line; `end_allowance` (m).
    """

    depth: float
    supply_flow: float
    share: float
    farthest: float
    longest_day: float
    line_parts: float = 0.0
    end_allowance: float = 0.0


@dataclass(frozen=True)
class Choice:
    """One layout for all beds and what it comes to. Money without the mains, which are common to
    all; `minutes` of the slowest bed and `day` for all beds in seconds; `flow` of the largest bed.
    `fails` names the checks that it does not pass."""

    line: str
    laterals: int
    rolls: tuple[tuple[float, int], ...]
    cost: float
    cost_per_area: float
    farthest: float
    flow: float
    minutes: float
    day: float
    left_over: float
    left_over_value: float
    proven: bool
    fails: tuple[str, ...]
    dominated: bool = False
    cheapest: bool = False


def layout_choices(
    beds: Sequence[Bed],
    lines: Sequence[LineType],
    laterals: Sequence[int],
    demands: Demands,
    time_limit: float = 10.0,
) -> list[Choice]:
    """Every line type with every number of lines a bed, the cheapest first.

    Lines lie evenly across the bed, half a gap from its edges. Beds are watered in sets of at most
    the usable flow; the day is the sum of the sets' longest runs. A choice is dominated where
    another that passes as many checks is no worse in cost, farthest point, flow and day, and
    better in one. The cheapest that passes all checks is marked. A line that is longer than every
    roll fails the check "roll length" and has no cost (NaN); one whose emitters stand farther apart
    than a bed is long fails "emitters" and has no run. `time_limit` (s) for all purchases together.
    """
    if not beds:
        raise InputError("lengths", "no bed is counted")
    clock = Clock(time_limit)
    pairs = [(line, number) for line in lines for number in laterals]
    choices = [
        _choice(beds, line, number, demands, clock.part(2 / (len(pairs) - place)))
        for place, (line, number) in enumerate(pairs)
    ]
    choices.sort(key=lambda choice: (bool(choice.fails), isnan(choice.cost), choice.cost))
    passing = [choice for choice in choices if not choice.fails]
    best = min(passing, key=lambda choice: choice.cost, default=None)
    return [
        replace(
            choice,
            dominated=any(_dominates(other, choice) for other in choices),
            cheapest=choice is best,
        )
        for choice in choices
    ]


def _choice(
    beds: Sequence[Bed], line: LineType, laterals: int, demands: Demands, time_limit: float
) -> Choice:
    lengths = tuple(
        float(cut_length(bed.length, line.emitter_spacing, demands.end_allowance)) for bed in beds
    )
    emitters = [laterals * int(bed.length / line.emitter_spacing + SLACK) for bed in beds]
    flows = [count * line.emitter_flow for count in emitters]
    runs = [
        bed.area * demands.depth / 1000 / flow if flow else nan
        for bed, flow in zip(beds, flows, strict=True)
    ]
    usable = demands.share * demands.supply_flow
    farthest = max(bed.width / (2 * laterals) for bed in beds)
    day = sum(_set_times(flows, runs, usable)) if all(flows) else nan
    fails = list(_failures(farthest, max(flows), usable, day, demands))
    fails += [] if all(flows) else ["emitters"]
    rolls: tuple[tuple[float, int], ...] = ()
    plan_cost = bought = nan
    proven = True
    if max(lengths) > max(line.roll_lengths) + SAME_LENGTH:
        fails.append("roll length")
    else:
        plan = _purchase(lengths, laterals, line.roll_lengths, line.roll_prices, time_limit)
        rolls, plan_cost, proven = _bought(plan, line), plan.cost, plan.proven
        bought = sum(n * length for n, length in zip(plan.rolls, line.roll_lengths, strict=True))
    cut = laterals * sum(lengths)
    cost = plan_cost + demands.line_parts * laterals * len(beds)
    return Choice(
        line.name, laterals, rolls, cost, cost / sum(bed.area for bed in beds),
        farthest, max(flows), max(runs) if all(flows) else nan, day, bought - cut,
        (1 - cut / bought) * plan_cost, proven, tuple(fails),
    )  # fmt: skip


# Many purchases stay the same when a sheet is calculated again; what is proven is kept.
_purchases: dict[tuple[object, ...], RollPlan] = {}


def _purchase(
    lengths: tuple[float, ...],
    laterals: int,
    roll_lengths: tuple[float, ...],
    roll_prices: tuple[float, ...],
    time_limit: float,
) -> RollPlan:
    key = (lengths, laterals, roll_lengths, roll_prices)
    if key in _purchases:
        return _purchases[key]
    plan = cheapest_rolls(
        lengths, [laterals] * len(lengths), roll_lengths, roll_prices, time_limit=time_limit
    )
    if plan.proven:
        if len(_purchases) >= MOST_KEPT:
            _purchases.clear()
        _purchases[key] = plan
    return plan


def _bought(plan: RollPlan, line: LineType) -> tuple[tuple[float, int], ...]:
    pairs = zip(line.roll_lengths, plan.rolls, strict=True)
    return tuple((length, number) for length, number in pairs if number)


def _set_times(flows: Sequence[float], runs: Sequence[float], usable: float) -> Iterator[float]:
    """Longest run of each set, beds taken by their run time so that like runs with like."""
    order = sorted(range(len(flows)), key=lambda bed: -runs[bed])
    open_flow, longest = 0.0, 0.0
    for bed in order:
        if open_flow and open_flow + flows[bed] > usable * (1 + SLACK):
            yield longest
            open_flow, longest = 0.0, 0.0
        open_flow += flows[bed]
        longest = max(longest, runs[bed])
    yield longest


def _failures(
    farthest: float, flow: float, usable: float, day: float, demands: Demands
) -> Iterator[str]:
    if farthest > demands.farthest * (1 + SLACK):
        yield "coverage"
    if flow > usable * (1 + SLACK):
        yield "flow"
    if day > demands.longest_day * (1 + SLACK):
        yield "time"


def _dominates(other: Choice, choice: Choice) -> bool:
    def marks(c: Choice) -> tuple[float, ...]:
        return (len(c.fails), c.cost, c.farthest, c.flow, c.day)

    pairs = list(zip(marks(other), marks(choice), strict=True))
    return all(a <= b + SLACK for a, b in pairs) and any(a < b - SLACK for a, b in pairs)
