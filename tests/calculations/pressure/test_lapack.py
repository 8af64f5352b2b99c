"""The tridiagonal solver against scipy's documented one, taken from either place."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.linalg import solveh_banded

from xlfuncs.calculations.pressure import lapack


@pytest.mark.parametrize("elsewhere", [False, True])
def test_solves_as_scipy_does(elsewhere: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    if elsewhere:  # as with a scipy that is laid out otherwise
        monkeypatch.setattr(lapack.PathFinder, "find_spec", lambda *_: None)
    lapack.tridiagonal_solver.cache_clear()
    random = np.random.default_rng(4)
    beside = -random.random(11)
    diagonal = 2 + random.random(12)
    sides = random.random((12, 2))
    *_, solved, info = lapack.tridiagonal_solver()(diagonal, beside, sides)
    assert info == 0
    banded = np.array([np.append(0, beside), diagonal])
    np.testing.assert_allclose(solved, solveh_banded(banded, sides), rtol=1e-12)
    lapack.tridiagonal_solver.cache_clear()
