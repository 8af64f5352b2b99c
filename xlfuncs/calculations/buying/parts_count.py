"""Fittings counted from the beds by rules that are data."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from math import ceil

from xlfuncs.calculations.quantity_words import length_words
from xlfuncs.errors import CellError, InputError

SLACK = 1e-9
# Beds that branch off nearer to each other than this face each other (common practice, no
# published source: the width of a path divides neighbours on one side by more).
FACING = 0.15  # m

MAIN_JOIN = "main join"
LENGTHS = ("main length", "manifold length", "line length", "wire length")


@dataclass(frozen=True)
class FedBed:
    """What counting needs to know of a bed; lengths in m, `line_length` of one line as cut."""

    laterals: int
    line_length: float
    distance: float
    branch: int = 0
    branch_start: float = 0.0
    manifold: float = 0.0
    valve: str = ""
    line: str = ""
    kind: str = ""


@dataclass(frozen=True)
class Rule:
    """How a part is counted: `each` for every one of `counted_by`, or for every `every` m of it.

    A length without `every` (0) is bought as a length; for joins of the main it is that of a roll.
    `only_line` counts only beds with that line or with lines of that kind.
    """

    part: str
    counted_by: str
    each: float = 1.0
    every: float = 0.0
    spare_share: float = 0.0
    least_spares: int = 0
    only_line: str = ""


@dataclass(frozen=True)
class Count:
    """Number of a part and its spares, or a length (m) with the number nought; and why."""

    number: int
    spares: int
    length: float
    words: str


def parts_count(
    beds: Sequence[FedBed], rules: Sequence[Rule], trimming: float = 0.05, turns: int = 0,
    joins: int = 0, stations: int = 0,
) -> list[Count]:  # fmt: skip
    """One count a rule. `trimming` (ratio) is added to lengths that are bought as such.

    Distances run along the pipe from the supply; a branch leaves the main at its start. Two beds
    of one branch that are fed at the same place face each other: a pair. `turns` are corners of
    the mains, `joins` couplers that the purchase of rolls needs. The timer opens a valve with each
    of its `stations`, by a wire along the mains; valves beyond them are opened by hand.
    """
    counts = []
    known: dict[str, tuple[bool, dict[str, float]]] = {}
    for row, rule in enumerate(rules):
        if rule.only_line not in known:
            chosen = tuple(b for b in beds if rule.only_line in ("", b.line, b.kind))
            known[rule.only_line] = bool(chosen), _counted(chosen, turns, joins, stations)
        is_there, bases = known[rule.only_line]
        if rule.counted_by not in bases:
            words = f"'{rule.counted_by}' is nothing to count by; use one of {', '.join(bases)}"
            raise InputError("counted_by", words, row=row, cell_error=CellError.VALUE)
        basis = bases[rule.counted_by]
        if rule.counted_by == MAIN_JOIN:
            if not rule.every:
                raise InputError("every", f"is the length of a roll; {MAIN_JOIN} needs it", row=row)
            rolls = (ceil(run * (1 + trimming) / rule.every - SLACK) for run in main_runs(beds))
            rule, basis = replace(rule, every=0.0), sum(max(0, number - 1) for number in rolls)
        counts.append(_count(rule, basis, trimming, is_there))
    return counts


def counted_bases(
    beds: Sequence[FedBed], turns: int = 0, joins: int = 0, stations: int = 0
) -> dict[str, float]:
    """How much there is of everything that a rule can count by. Lengths in m."""
    runs = {branch: [bed for bed in beds if bed.branch == branch] for branch in _branches(beds)}
    places = [_feeding_places(run) for run in runs.values()]
    ends = [run[-1] for run in places if run]
    fed = [place for run in places for place in run]
    laterals = sum(bed.laterals for bed in beds)
    valves = len({bed.valve for bed in beds if bed.valve})
    by_timer = min(valves, stations)
    return {
        "system": 1,
        "branch": sum(branch != 0 for branch in runs),
        "bed": len(beds),
        "manifold": sum(bed.manifold > 0 or bed.laterals > 1 for bed in beds),
        "line": laterals,
        "pair": sum(place >= 2 for place in fed) - sum(end >= 2 for end in ends),
        "last pair": sum(end >= 2 for end in ends),
        "single": sum(place == 1 for place in fed) - sum(end == 1 for end in ends),
        "last single": sum(end == 1 for end in ends),
        "main end": len(ends),
        "turn": turns,
        "valve": valves,
        "valve by timer": by_timer,
        "valve by hand": valves - by_timer,
        "join": joins,
        MAIN_JOIN: 0,  # which depends on the roll
        "main length": main_length(beds),
        "manifold length": sum(bed.manifold for bed in beds),
        "line length": sum(bed.laterals * bed.line_length for bed in beds),
        "wire length": main_length(beds) if by_timer else 0.0,
    }


_counted = lru_cache(maxsize=64)(counted_bases)  # designs of other pipes have the same beds


def _branches(beds: Sequence[FedBed]) -> list[int]:
    return sorted({bed.branch for bed in beds})


def _feeding_places(beds: Sequence[FedBed]) -> list[int]:
    """How many beds each place along one run feeds, from the supply on."""
    places: list[int] = []
    at = -FACING
    for distance in sorted(bed.distance for bed in beds):
        if places and distance - at <= FACING:
            places[-1] += 1
        else:
            places.append(1)
            at = distance
    return places


def main_length(beds: Sequence[FedBed]) -> float:
    """Length (m) of main and branches."""
    return sum(main_runs(beds))


def main_runs(beds: Sequence[FedBed]) -> list[float]:
    """Lengths (m): the main to its farthest bed or branch, each branch from where it leaves the
    main to its farthest bed."""
    runs = {branch: [bed for bed in beds if bed.branch == branch] for branch in _branches(beds)}
    main = max(
        [bed.distance for bed in runs.pop(0, [])]
        + [bed.branch_start for bed in beds if bed.branch != 0],
        default=0.0,
    )
    return [main, *(max(bed.distance - bed.branch_start for bed in run) for run in runs.values())]


def _count(rule: Rule, basis: float, trimming: float, any_bed: bool) -> Count:
    if rule.counted_by in LENGTHS and not rule.every:
        length = rule.each * basis * (1 + trimming)
        return Count(0, 0, length, f"{rule.counted_by} and {trimming:.0%} for trimming")
    if not any_bed:
        words = f"no bed with {rule.only_line}" if rule.only_line else "no bed is counted"
        return Count(0, 0, 0.0, words)
    number = rule.each * (basis / rule.every if rule.every else basis)
    whole = ceil(number - SLACK)
    spares = max(ceil(number * rule.spare_share - SLACK), rule.least_spares)
    words = f"{rule.each:g} for each {rule.counted_by}: {basis:g}"
    if rule.every:
        words = f"{rule.each:g} every {length_words(rule.every)} of the {rule.counted_by}"
    return Count(whole, spares, 0.0, words)
