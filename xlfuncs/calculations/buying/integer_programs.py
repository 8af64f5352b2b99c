"""Covering programs (least cost, rows at least so much) by HiGHS: loaded on first use, silent."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from xlfuncs.calculations.arrays import Floats, Indices
from xlfuncs.calculations.buying.clock import Clock

# What solving takes on a common machine, in s: at all, a step of the simplex method within a
# search, a node of one by the entries of its program, a cell of a linear program.
_START, _STEP, _NODE, _CELL = 5e-4, 1e-4, 2e-5, 2e-7
_LEAST = 0.02  # s, whatever is left: without a bound of small programs there is none at all
Entries = tuple[Indices, Indices, Floats]  # of a matrix: rows, columns, values
_HANGS = 60.0  # s beyond what was counted; nodes end every search that is known
_MOST_KNOWN = 1000  # programs
# Proven solutions by their programs, each with the nodes and the seconds that it took.
_known: dict[tuple[object, ...], tuple["IntegerSolution", int, float]] = {}


@dataclass(frozen=True)
class IntegerSolution:
    """Whole numbers found (None where none were), their cost, and the bound that holds for all."""

    values: tuple[int, ...] | None
    cost: float
    bound: float
    proven: bool


def new_solver(time_limit: float) -> tuple[Any, Any]:
    """A silent single-threaded HiGHS and its module."""
    import highspy

    # highspy.Highs() greets on standard output before it can be told not to, which would spoil
    # a host that talks over that pipe; the class it is built on is quiet and has all we need.
    solver = highspy.Highs.__bases__[0]()
    for option, value in (
        ("output_flag", False),
        ("threads", 1),
        ("time_limit", float(time_limit)),
        ("mip_rel_gap", 0.0),
        ("mip_abs_gap", 1e-7),
        ("mip_feasibility_tolerance", 1e-9),
        ("primal_feasibility_tolerance", 1e-9),
        # Some 10 ms a call whatever the size, where our programs take one; older releases, which
        # do not have it, refuse the option and go on.
        ("mip_heuristic_run_feasibility_jump", False),
    ):
        solver.setOptionValue(option, value)
    return solver, highspy


def minimise_integer(
    costs: Floats, rows: Floats, at_least: Floats, clock: Clock, lower: Floats | None = None,
    upper: Floats | None = None, most_nodes: int | None = None,
) -> IntegerSolution:  # fmt: skip
    """Minimise costs @ n over whole n >= 0 with rows @ n >= at_least, lower <= n <= upper.

    `rows` has one row a constraint and one column a variable. At most so many nodes of the search,
    or as many as what is left on the clock is enough for. A design and its purchase ask the same:
    what is proven is known again, where it would be found again in so many nodes.
    """
    count = len(costs)
    row_of, column_of = np.nonzero(rows)
    if most_nodes is None:
        most_nodes = int(min(1e9, 1 + max(_LEAST, clock.left()) / (_START + _NODE * len(row_of))))
    of_program = (costs, rows, at_least, lower, upper)
    program = (rows.shape, *(None if part is None else part.tobytes() for part in of_program))
    if program in _known and _known[program][1] < most_nodes:
        solution, _, seconds = _known[program]
        clock.spend(seconds)
        return solution
    solver, highspy = new_solver(_HANGS + 10 * clock.left())
    solver.setOptionValue("mip_max_nodes", most_nodes)
    entries = row_of, column_of, rows[row_of, column_of]
    _fill(solver, costs, at_least, entries, lower, upper)
    kinds = np.full(count, int(highspy.HighsVarType.kInteger), dtype=np.uint8)
    solver.changeColsIntegrality(count, np.arange(count, dtype=np.int32), kinds)
    solver.run()
    status = solver.getModelStatus()
    if status == highspy.HighsModelStatus.kInfeasible:
        return IntegerSolution(None, np.inf, np.inf, True)
    proven = status == highspy.HighsModelStatus.kOptimal
    found = solver.getSolution()
    information = solver.getInfo()
    seconds = _START + _STEP * max(0, information.simplex_iteration_count)
    clock.spend(seconds)
    if not found.value_valid:
        return IntegerSolution(None, np.inf, float(information.mip_dual_bound), proven)
    values = np.rint(np.asarray(found.col_value)).astype(int)
    solution = IntegerSolution(
        tuple(values.tolist()), float(costs @ values), float(information.mip_dual_bound), proven
    )
    if proven:
        if len(_known) >= _MOST_KNOWN:
            _known.clear()
        _known[program] = solution, int(information.mip_node_count), seconds
    return solution


def least_cost(
    costs: Floats, at_least: Floats, entries: Entries, upper: Floats, most_steps: int
) -> float:
    """The least of costs @ n over 0 <= n <= upper with rows @ n >= at_least, the rows by their
    entries; inf where nothing keeps them, 0 (which costs that are not negative are never below)
    where that takes more steps of the simplex method."""
    solver, highspy = new_solver(np.inf)
    solver.setOptionValue("simplex_iteration_limit", most_steps)
    _fill(solver, costs, at_least, entries, None, upper)
    solver.run()
    status = solver.getModelStatus()
    if status == highspy.HighsModelStatus.kOptimal:
        return float(solver.getInfo().objective_function_value)
    return np.inf if status == highspy.HighsModelStatus.kInfeasible else 0.0


def _fill(
    solver: Any, costs: Floats, at_least: Floats, entries: Entries, lower: Floats | None,
    upper: Floats | None,
) -> None:  # fmt: skip
    """Give the solver its variables with their costs, and the rows by their entries."""
    row_of, column_of, values = entries
    count, order = len(costs), np.argsort(row_of, kind="stable")
    solver.addVars(
        count,
        np.zeros(count) if lower is None else lower,
        np.full(count, np.inf) if upper is None else upper,
    )
    solver.changeColsCost(count, np.arange(count, dtype=np.int32), costs)
    starts = np.searchsorted(row_of[order], np.arange(len(at_least)))
    solver.addRows(
        len(at_least), at_least, np.full(len(at_least), np.inf), len(row_of),
        starts.astype(np.int32), column_of[order].astype(np.int32), values[order],
    )  # fmt: skip


class GrowingCover:
    """The linear program min cost, rows >= demand, whose columns arrive one by one."""

    def __init__(self, demand: Floats, clock: Clock) -> None:
        self._solver, self._highspy = new_solver(np.inf)
        self._clock, count = clock, len(demand)
        self._cells = 0
        none = np.zeros(0, dtype=np.int32)
        self._solver.addRows(
            count, demand, np.full(count, np.inf), 0, np.zeros(count, dtype=np.int32), none,
            np.zeros(0),
        )  # fmt: skip

    def add(
        self,
        cost: float,
        entries: Sequence[tuple[int, float]],
        lower: float = 0.0,
        upper: float = np.inf,
    ) -> None:
        """One more column, given by its entries by row."""
        where = np.array([row for row, _ in entries], dtype=np.int32)
        values = np.array([value for _, value in entries], dtype=np.float64)
        self._solver.addCol(cost, lower, upper, len(where), where, values)
        self._cells += self._solver.getNumRow()

    def duals(self) -> Floats | None:
        """The worth of one more of each row at the optimum; None where there is none."""
        self._solver.run()
        self._clock.spend(_START + _CELL * self._cells)
        if self._solver.getModelStatus() != self._highspy.HighsModelStatus.kOptimal:
            return None
        duals: Floats = np.maximum(np.asarray(self._solver.getSolution().row_dual), 0.0)
        return duals

    def amounts(self) -> Floats:
        """How much of each column the optimum takes, after `duals`."""
        return np.asarray(self._solver.getSolution().col_value, dtype=np.float64)
