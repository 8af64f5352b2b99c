"""What keeps a design from passing, in words, and what would mend it."""

from __future__ import annotations

from dataclasses import replace

from tests.calculations.designs.gardens import garden
from xlfuncs.calculations.designs.mending import doubts, fault_words, mended
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
