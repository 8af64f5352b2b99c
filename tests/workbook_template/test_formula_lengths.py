"""Formulas that a person can read: they get shorter, never longer again."""

from __future__ import annotations

import statistics

import pytest

from tests.bench.formula_lengths import LIMIT, formulas, shown

MEDIAN, LONG = 100, 450  # what is allowed; lower it where sheets get simpler (aim: 80 and none)


def test_a_formula_is_counted_as_it_is_shown() -> None:
    assert shown("_xlfn.MINIFS(A1,B1,Ledger[[#This Row],[Tax in it]])") == (
        "MINIFS(A1,B1,[@[Tax in it]])"
    )
    assert shown("Beds[[#This Row],[Bed]]&Beds[Bed]") == "[@Bed]&Beds[Bed]"


@pytest.mark.parametrize("system", ["us", "metric"])
def test_formulas_stay_short(system: str) -> None:
    lengths = [len(text) for cells in formulas(system).values() for _, text in cells]
    assert len(lengths) > 10_000
    assert statistics.median(lengths) <= MEDIAN
    assert sum(length > LIMIT for length in lengths) <= LONG
