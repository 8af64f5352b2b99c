"""What keeps a design from passing, in words, and what would mend it."""

from __future__ import annotations

from dataclasses import replace
from math import inf

from tests.calculations.designs.gardens import garden
from xlfuncs.calculations.designs.costs import Cost
from xlfuncs.calculations.designs.mending import (
    _changes,
    doubts,
    fault_words,
    mend_words,
    mended,
)
from xlfuncs.calculations.designs.search import Search


def _kept_together(seed: int, beds: int):
    """A garden in which all beds are to open at once, on the weakest of its supplies."""
    question = garden(seed, beds=beds, lines=2)
    all_one = [replace(bed, block="1") for bed in question.beds]
    return replace(question, beds=all_one, _covered={})


def test_why_beds_of_a_valve_cannot_be_kept_together_and_what_would_do() -> None:
    question = _kept_together(503, 9)
    search = Search(question, 20.0)
    found = search.solve(front=False)
    assert not found.passing
    kept = [solved for solved in found.failing if len(solved.verdict.kept) > 1]
    assert kept
    watered = sum(bed.watered for bed in question.beds)
    for solved in kept[:3]:
        words = fault_words(question, solved.verdict)
        assert words.startswith(f"the {watered} beds of valve 1 cannot be kept together: ")
        cure = mended(search, solved)
        assert cure is None or cure.solved.verdict.breach is None
    apart = [cure for solved in kept[:3] if (cure := mended(search, solved))]
    assert any("valves not kept together" in cure.change for cure in apart)


def test_sets_beyond_the_stations_are_told_of() -> None:
    question = garden(507, beds=8)
    wanted = replace(question.wanted, stations=0)
    question = replace(question, wanted=wanted, _covered={})
    cheapest = Search(question, 20.0).solve(front=False).cheapest
    assert cheapest is not None
    assert any("opened by hand" in words for words in doubts(question, cheapest))


def test_one_change_that_mends_is_told_with_its_cost() -> None:
    """Regulators of 0.7 and 1.0 bar: where one is too much or too little, the other may do."""
    search = Search(garden(20, beds=4, lines=2), 1.0)
    failing = search.solve(front=False).failing[0]
    cure = mended(search, failing)
    assert cure is not None
    assert cure.change == "regulator 0.7 instead"
    assert cure.solved.verdict.breach is None
    more = cure.solved.cost.total - failing.cost.total
    assert mend_words(failing, cure).endswith(f", for {more:.2f} more")


def test_a_change_with_a_part_that_nobody_sells_mends_nothing(monkeypatch) -> None:
    search = Search(garden(20, beds=4, lines=2), 1.0)
    failing = search.solve(front=False).failing[0]
    monkeypatch.setattr(search.costs, "true", lambda needs: Cost(inf, inf))
    assert mended(search, failing) is None


def test_lines_that_hold_more_than_a_fifth_of_a_run_fill_slowly() -> None:
    """A tape of 15.9 mm holds 0.2 L/m, its bed wants 6 to 8 L/m of 10 mm and 0.06 of 0.1 mm."""
    question = garden(20, beds=4, lines=2)
    solved = Search(question, 1.0).solve(front=False).cheapest
    assert solved is not None
    for depth, slow in ((10.0, False), (0.1, True)):
        asked = replace(question, wanted=replace(question.wanted, depth=depth), _covered={})
        words = " ".join(doubts(asked, solved))
        assert ("filling takes over 20% of a run in 4 beds" in words) == slow


def test_a_change_of_lines_is_of_their_kind_or_of_their_number() -> None:
    question = garden(20, beds=4, lines=2)
    design = Search(question, 1.0).solve(front=False).failing[0].design
    changed = [d.options for _, d in _changes(question, design) if d.options != design.options]
    assert changed
    for options in changed:
        differs = [(a[0] != b[0]) + (a[1] != b[1]) for a, b in
                   zip(options, design.options, strict=True)]  # fmt: skip
        assert sum(differs) == 1
