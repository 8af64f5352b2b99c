"""LAPACK's routine for symmetric tridiagonal systems, by itself.

`scipy.linalg.lapack` brings the whole of scipy.linalg with it, which makes the first call load for
more than twice as long (tests/bench/bench_tricks.py); the routine stands in an extension module
that needs none of that. Where a scipy keeps it elsewhere, the public module is taken.
"""

from collections.abc import Callable
from functools import cache
from importlib.machinery import PathFinder
from importlib.util import module_from_spec
from pathlib import Path
from typing import Any


@cache
def tridiagonal_solver() -> Callable[..., Any]:
    """LAPACK's DPTSV as scipy wraps it: (diagonal, beside, right sides) -> (..., solved, info)."""
    solver: Callable[..., Any]
    try:
        solver = _extension_module().dptsv
    except (ImportError, AttributeError):
        from scipy.linalg.lapack import dptsv as solver
    return solver


def _extension_module() -> Any:
    import scipy

    spec = PathFinder.find_spec("_flapack", [str(Path(scipy.__file__).parent / "linalg")])
    if spec is None or spec.loader is None:
        raise ImportError("scipy keeps LAPACK elsewhere")
    module = module_from_spec(spec)
    spec.loader.exec_module(module)
    return module
