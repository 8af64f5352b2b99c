"""What is said of whole designs: which lines lie where, and how far the first is the cheapest."""

from __future__ import annotations

from dataclasses import replace

from xlfuncs.catalogue.design_rows import DesignRow, Designs, lines_words, proof_words
from xlfuncs.catalogue.topics.buying.designs import _none

ROW = DesignRow(
    "cheapest", {20.0: ("tape", 1, 0.1), 24.0: ("tape", 2, 0.1), 30.0: ("tape", 2, 0.1),
                 36.0: ("tape", 2, 0.2), 48.0: ("dripline", 2, 0.1)},
    "main", "manifold", "regulator", 100.0, 1.0, 0.0, 100.0,
    tops=(0.508, 0.6096, 0.762, 0.9144, 1.2192),
)  # fmt: skip


def test_widths_with_the_same_lines_are_said_together() -> None:
    assert lines_words(ROW) == (
        "1 x tape in beds 51 cm (20 in) wide; 2 x tape in beds 61 cm (24 in) to 91 cm (36 in) wide;"
        " 2 x dripline in beds 122 cm (48 in) wide"
    )


def test_how_far_the_first_is_the_cheapest() -> None:
    proven = Designs([ROW], 100.0, 756, 40)
    assert proof_words(proven) == (
        "756 designs cover the beds; none that passes is cheaper than the first: proven"
    )
    some = proof_words(replace(proven, bound=80.0, designs=10**12, some=True))
    assert some.startswith("more than a million designs cover the beds; compared were the cheapest")
    assert some.endswith("none can cost less than 80.00 (20.0% less)")


def test_where_none_passes_it_is_not_said_that_none_covers_the_beds() -> None:
    ((_, *_, words, _),) = _none(Designs([], 0.0, 10**12, 50, some=True))
    assert words == "none of the 50 designs that were solved in the time there is passes"
    ((_, *_, words, _),) = _none(Designs([], 0.0, 0, 0))
    assert words.startswith("no design of these lists covers the beds")
    round_bed = "Round bed, 244 cm (96 in) wide, is not served by 5 lines"
    ((_, *_, words, _),) = _none(Designs([], 0.0, 0, 0, uncovered=[round_bed]))
    assert words == round_bed
