"""One door to HiGHS: threads fixed once a process, the status always looked at."""

import time
from dataclasses import dataclass
from threading import Lock

import highspy
import numpy as np
from numpy.typing import NDArray
from scipy import sparse

FloatArray = NDArray[np.float64]

# HiGHS shares one pool of threads in a process; a second number of threads makes it
# return an empty solution without an error. One thread also keeps answers repeatable.
_THREADS = 1
# Above so many columns the interior point method (with crossover, so that a vertex and its
# duals come back) takes a third of the simplex method's time; below, the simplex is faster.
INTERIOR_POINT_COLUMNS = 90_000
_one_at_a_time = Lock()


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """``solution`` is None where none was found; ``bound`` is what no solution exceeds."""

    solution: FloatArray | None
    objective: float
    bound: float
    is_proven: bool
    is_infeasible: bool
    seconds: float
    row_dual: FloatArray | None = None


@dataclass(kw_only=True)
class Engine:
    """A linear model, its rows open to additions. Columns lie between ``floor`` and
    ``ceiling``.

    ``whole`` of shape (columns,) marks columns that take whole numbers only. ``basis`` is that
    of the last linear solve, from where the next one sets out.
    """

    matrix: sparse.csr_matrix
    lower: FloatArray
    upper: FloatArray
    floor: FloatArray
    ceiling: FloatArray
    whole: NDArray[np.bool_]
    seed: int
    basis: highspy.HighsBasis | None = None

    def maximise(
        self,
        cost: FloatArray,
        *,
        time_limit_s: float,
        start: FloatArray | None = None,
        absolute_gap: float = 1e-6,
        relative_gap: float = 0.0,
        relax: bool = False,
    ) -> Outcome:
        """The best solution found in time, and a bound on any other.

        ``absolute_gap`` is the difference at which the search may stop: just under 1 for
        whole-number objectives. ``relax`` drops whole numbers and gives row duals.
        """
        began = time.perf_counter()
        with _one_at_a_time:
            solver = self._solver(cost, relax)
            solver.setOptionValue("time_limit", max(0.01, time_limit_s))
            solver.setOptionValue("mip_abs_gap", absolute_gap)
            solver.setOptionValue("mip_rel_gap", relative_gap)
            if start is not None and not relax:
                given = highspy.HighsSolution()
                given.col_value = start
                solver.setSolution(given)
            solver.run()
            if start is not None and not relax and _is_stale(solver, cost):
                # Seen in 1.16: a search that ends in presolve reports its objective beside
                # the start it was given. Without a start it answers rightly.
                solver.clearSolver()
                solver.run()
            outcome = self._outcome(solver, relax, time.perf_counter() - began)
            if outcome.row_dual is not None:
                self.basis = solver.getBasis()
            return outcome

    def _solver(self, cost: FloatArray, relax: bool) -> highspy.Highs:
        program = highspy.HighsLp()
        rows, columns = self.matrix.shape
        program.num_col_, program.num_row_ = columns, rows
        program.sense_ = highspy.ObjSense.kMaximize
        program.col_cost_ = cost
        program.col_lower_, program.col_upper_ = self.floor, self.ceiling
        program.row_lower_, program.row_upper_ = self.lower, self.upper
        program.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
        program.a_matrix_.start_ = self.matrix.indptr
        program.a_matrix_.index_ = self.matrix.indices
        program.a_matrix_.value_ = self.matrix.data.astype(np.float64)
        if not relax:
            kinds = (highspy.HighsVarType.kContinuous, highspy.HighsVarType.kInteger)
            program.integrality_ = [kinds[int(whole)] for whole in self.whole]
        solver = quiet_solver()
        solver.setOptionValue("random_seed", self.seed)
        if relax and columns > INTERIOR_POINT_COLUMNS and self.basis is None:
            solver.setOptionValue("solver", "ipm")
        if solver.passModel(program) == highspy.HighsStatus.kError:
            raise ValueError("the solver does not accept the model")
        if relax and self.basis is not None:
            solver.setBasis(self._grown_basis(self.basis))
        return solver

    def _grown_basis(self, basis: highspy.HighsBasis) -> highspy.HighsBasis:
        """The basis of a former linear solve, with every row added since in it."""
        grown = highspy.HighsBasis()
        more = self.matrix.shape[0] - len(basis.row_status)
        grown.col_status = basis.col_status
        grown.row_status = [*basis.row_status, *[highspy.HighsBasisStatus.kBasic] * more]
        grown.valid = True
        return grown

    def _outcome(self, solver: highspy.Highs, relax: bool, seconds: float) -> Outcome:
        status, info = solver.getModelStatus(), solver.getInfo()
        proven = status == highspy.HighsModelStatus.kOptimal
        infeasible = status == highspy.HighsModelStatus.kInfeasible
        found = info.primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible
        solution = solver.getSolution()
        if relax:
            bound = info.objective_function_value if proven else np.inf
        else:
            bound = info.mip_dual_bound
        return Outcome(
            solution=np.array(solution.col_value) if found else None,
            objective=info.objective_function_value if found else -np.inf,
            bound=bound,
            is_proven=proven,
            is_infeasible=infeasible,
            seconds=seconds,
            row_dual=np.array(solution.row_dual) if relax and proven else None,
        )

    def require(self, rows: sparse.spmatrix | FloatArray, at_least: FloatArray) -> None:
        """Add ``rows`` · z ≥ ``at_least``; shapes (more, columns) and (more,)."""
        self.matrix = sparse.vstack([self.matrix, sparse.csr_matrix(rows)], format="csr")
        self.lower = np.append(self.lower, at_least)
        self.upper = np.append(self.upper, np.full(len(at_least), np.inf))

    def forbid(self, rows: sparse.spmatrix | FloatArray, at_most: FloatArray) -> None:
        """Add ``rows`` · z ≤ ``at_most``; shapes (more, columns) and (more,)."""
        self.matrix = sparse.vstack([self.matrix, sparse.csr_matrix(rows)], format="csr")
        self.lower = np.append(self.lower, np.full(len(at_most), -np.inf))
        self.upper = np.append(self.upper, at_most)

    def holds(self, point: FloatArray) -> bool:
        """Whether ``point`` of shape (columns,) keeps every row and the box exactly.

        Rows and points of whole numbers are summed without rounding.
        """
        load = self.matrix @ point
        inside = (point >= self.floor) & (point <= self.ceiling)
        return bool(inside.all() and (load >= self.lower).all() and (load <= self.upper).all())


def quiet_solver() -> highspy.Highs:
    """A solver that prints nothing and keeps to the process's one number of threads."""
    solver = highspy.Highs()
    solver.silent()
    solver.setOptionValue("threads", _THREADS)
    return solver


def _is_stale(solver: highspy.Highs, cost: FloatArray) -> bool:
    """Whether the solution at hand is not the one whose objective is reported."""
    reported = solver.getInfo().objective_function_value
    found = float(cost @ np.array(solver.getSolution().col_value))
    return abs(found - reported) > 1e-4 * (1 + abs(found))
