"""What a design fails first, in words, and the one change that would mend it."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import inf

import numpy as np

from xlfuncs.calculations.designs.dealing import HOURS, QUICK
from xlfuncs.calculations.designs.judging import Judge
from xlfuncs.calculations.designs.question import Design, Question
from xlfuncs.calculations.designs.search import Search, Solved
from xlfuncs.calculations.designs.timed_sets import DEPTH, TOO_LITTLE
from xlfuncs.calculations.designs.verdicts import Verdict
from xlfuncs.calculations.pressure.filling import FILLING_SHARE, pipe_volume
from xlfuncs.calculations.pressure.set_checks import (
    ABOVE,
    BELOW,
    HEAD,
    SHARE,
    SUPPLY,
    UNIFORMITY,
    VELOCITY,
)
from xlfuncs.calculations.quantity_words import (
    flow_words,
    pressure_words,
    velocity_words,
    width_words,
)

_MOST_TRIED = 10  # changes that are judged for one design


@dataclass(frozen=True)
class Mended:
    """A change, in words, and the design with it."""

    change: str
    solved: Solved


def fault_words(question: Question, verdict: Verdict) -> str:
    """What is wrong, by how much; '' where nothing is."""
    breach = verdict.breach
    if breach is None:
        return ""
    if len(verdict.kept) > 1:
        valve = question.beds[verdict.kept[0]].block
        apart = replace(verdict, kept=())
        together = f"the {len(verdict.kept)} beds of valve {valve} cannot be kept together"
        return f"{together}: {fault_words(question, apart)}"
    bed = question.beds[breach.row].name if breach.row is not None else "a set"
    value, limit = breach.value, breach.limit
    words = {
        SHARE: f"{bed} gets {value:.0%} of its flow, {limit:.0%} is wanted",
        UNIFORMITY: f"{bed} has an emission uniformity of {value:.0%}, {limit:.0%} is wanted",
        SUPPLY: f"{bed} alone takes {flow_words(value)}, the supply may give {flow_words(limit)}",
        HEAD: f"{bed} takes {flow_words(value)}, the head assembly works up to {flow_words(limit)}",
        TOO_LITTLE: f"a set takes {flow_words(value)}, the head assembly needs {flow_words(limit)}",
        DEPTH: f"{bed} gets {value:.0%} of its water in the time of its set,"
        f" {limit:.0%} at {'most' if limit > 1 else 'least'}",
        HOURS: f"a watering takes {value / 3600:.1f} h, {limit / 3600:.1f} h are there",
        VELOCITY: f"{velocity_words(value)} in {breach.pipe or 'the main'} of {bed},"
        f" {velocity_words(limit)} at most",
        ABOVE: f"{bed} open alone meets {pressure_words(value)}, its line bears"
        f" {pressure_words(limit)}",
        BELOW: f"{bed} has {pressure_words(value)} at its driest emitter, its line needs"
        f" {pressure_words(limit)}",
    }  # fmt: skip
    return words.get(breach.check, breach.check)


def doubts(question: Question, solved: Solved) -> list[str]:
    """What is no fault of a design and yet to be known."""
    found = []
    stations = question.wanted.stations
    if stations is not None and solved.sets > stations:
        by_hand, are = solved.sets - stations, "are" if solved.sets - stations > 1 else "is"
        found.append(f"{by_hand} of {solved.sets} sets {are} opened by hand: the timer has"
                     f" {stations} stations")  # fmt: skip
    slow = sum(_fills_slowly(question, solved.design, row) for row in range(len(question.beds)))
    if slow:
        share = f"{FILLING_SHARE:.0%}"
        beds = "1 bed" if slow == 1 else f"{slow} beds"
        found.append(f"filling takes over {share} of a run in {beds}: water less often and longer")
    return found


def _fills_slowly(question: Question, design: Design, row: int) -> bool:
    """Whether what the lines and the manifold of a watered bed hold is much of what it wants."""
    bed = question.beds[row]
    line, number = design.options[question.width_of[row]]
    held = pipe_volume(bed.length, question.lines[line].diameter, number)
    if design.frame.manifold is not None:
        held += pipe_volume(bed.width, question.manifolds[design.frame.manifold].diameter)
    wanted = bed.area * question.wanted.depth / 1000
    return bed.watered and bool(held > FILLING_SHARE * wanted)


def mended(search: Search, failing: Solved) -> Mended | None:
    """The cheapest single change after which the design passes; None where no such change does."""
    priced = []
    for change, design in _changes(search.question, failing.design):
        if search.judge.alone(design) is None:
            needs = search.costs.needs(design, search.spread(search.judge.least_sets(design)))
            priced.append((search.costs.bound(needs), change, design))
    priced.sort(key=lambda item: item[0])
    for bound, change, design in priced[:_MOST_TRIED]:
        verdict = search.judge.judge(design, QUICK)
        if bound < inf and verdict.breach is None:
            cost = search.costs.true(search.costs.needs(design, verdict.sets))
            if cost.total < inf:
                return Mended(change, Solved(design, cost, verdict))
    return _apart(search, failing.design) if failing.verdict.kept else None


def _apart(search: Search, design: Design) -> Mended | None:
    """The same design with the beds of a valve dealt into other sets."""
    beds = [replace(bed, block="") for bed in search.question.beds]
    verdict = Judge(replace(search.question, beds=beds)).judge(design)
    cost = search.costs.true(search.costs.needs(design, verdict.sets)) if verdict.sets else None
    if verdict.breach is not None or cost is None or cost.total == inf:
        return None
    sets = f"{max(verdict.sets)} sets of other beds, valves not kept together"
    return Mended(sets, Solved(design, cost, verdict))


def _changes(question: Question, design: Design) -> Iterator[tuple[str, Design]]:
    frame = design.frame
    for i, regulator in enumerate(question.regulators):
        if i != frame.regulator:
            yield f"{regulator.name} instead", replace(design, frame=replace(frame, regulator=i))
    for i, pipe in enumerate(question.mains):
        if pipe.diameter > question.mains[frame.main].diameter:
            yield f"{pipe.name} as main", replace(design, frame=replace(frame, main=i))
    if frame.manifold is not None:
        own, main = question.manifolds[frame.manifold], question.mains[frame.main]
        for i, pipe in enumerate(question.manifolds):
            if own.diameter < pipe.diameter <= main.diameter:
                yield f"{pipe.name} as manifold", replace(design, frame=replace(frame, manifold=i))
    for width, option in enumerate(design.options):
        for other in question.options(width):
            if other != option and (other[0] == option[0] or other[1] == option[1]):
                options = (*design.options[:width], other, *design.options[width + 1 :])
                top = width_words(question.widths[width])
                name = question.lines[other[0]].name
                yield f"{other[1]} x {name} in beds {top} wide", replace(design, options=options)


def mend_words(failing: Solved, cure: Mended | None) -> str:
    """Such as: tubing one inch as main: every bed gets 93% or more, for 38.00 more."""
    if cure is None:
        return "No single change of the lists mends it"
    more = cure.solved.cost.total - failing.cost.total
    verdict = cure.solved.verdict
    gives = f"every bed gets {np.floor(verdict.share * 100):.0f}% or more"
    money = f"{more:.2f} more" if more >= 0 else f"{-more:.2f} less"
    return f"{cure.change}: {gives}, for {money}"
