"""Formulas that a person can read: they get shorter, never longer again."""

from __future__ import annotations

import statistics

import pytest

from tests.bench.formula_lengths import LIMIT, formulas, shown

MEDIAN = 80  # letters at most


def test_a_formula_is_counted_as_it_is_shown() -> None:
    assert shown("_xlfn.MINIFS(A1,B1,Ledger[[#This Row],[Tax included]])") == (
        "MINIFS(A1,B1,[@[Tax included]])"
    )
    assert shown("Beds[[#This Row],[Bed]]&Beds[Bed]") == "[@Bed]&Beds[Bed]"


@pytest.mark.parametrize("system", ["us", "metric"])
@pytest.mark.parametrize("edition", ["all", "grower", "consultant", "bookkeeper"])
@pytest.mark.parametrize("spills", [False, True], ids=["xlsx", "xlsm"])
def test_formulas_stay_short(system: str, edition: str, spills: bool) -> None:
    lengths = [len(t) for cells in formulas(system, edition, spills).values() for _, t in cells]
    assert len(lengths) > 1_500  # a ledger has four a row, where it had fifteen
    assert statistics.median(lengths) <= MEDIAN
    assert max(lengths) <= LIMIT
