"""Rows that every plan keeps and the linear model alone breaks.

Half uses slip through the rows of rest and of expected same-wind uses: a stand may be used
seven tenths three times where whole uses allow one. All ways in which one stand can be used
are few enough to be listed, so the strongest row that a linear solution breaks is found by a
small linear program over them (a Fenchel cut, as in Boyd, "Fenchel cutting planes for integer
programs", 1994; cited from memory). Its weights are rounded to whole numbers and its limit is
counted anew over all ways, so that no tolerance of a solver can cut off a plan.
"""

import time
from collections.abc import Iterator
from dataclasses import dataclass, field, replace

import highspy
import numpy as np
from scipy import sparse

from scheduling.rules.rows import BoolArray, IntArray

from .build import PlanModel
from .highs import Engine, FloatArray, Outcome, quiet_solver

_MOST_WAYS = 40_000
_LARGEST_DENOMINATOR = 60
_ROUGH_DENOMINATOR = 1000
_BROKEN_BY = 1e-4
_MOST_ROUNDS = 20
# Rounds end when one sharpens the bound by less than this share of it.
_STALLED = 2e-6


@dataclass(frozen=True, kw_only=True)
class StandRows:
    """The rows over one stand's uses alone: ``weights`` · use ≤ ``limits``.

    ``columns`` of shape (uses,) are the stand's uses among the model's columns; ``weights``
    has shape (rows, uses).
    """

    columns: IntArray
    weights: FloatArray
    limits: FloatArray


@dataclass(frozen=True, kw_only=True)
class Sharpener:
    """Finds rows against linear solutions of one model, stand by stand."""

    stands: tuple[StandRows, ...]
    column_count: int
    _ways: dict[int, BoolArray | None] = field(default_factory=dict)

    @classmethod
    def of(cls, model: PlanModel) -> "Sharpener":
        return cls(stands=tuple(_stand_rows(model)), column_count=model.column_count)

    def rows_against(self, solution: FloatArray) -> tuple[sparse.csr_matrix, FloatArray] | None:
        """Rows · z ≤ limits that ``solution`` of shape (columns,) breaks; None: none found."""
        found: list[tuple[IntArray, IntArray, int]] = []
        for number, stand in enumerate(self.stands):
            use = solution[stand.columns]
            if np.all((use < 1e-6) | (use > 1 - 1e-6)):
                continue
            ways = self._ways_of(number)
            if ways is None:
                continue
            row = strongest_row(ways, use)
            if row is not None:
                found.append((stand.columns, *row))
        if not found:
            return None
        number_of = np.repeat(np.arange(len(found)), [len(columns) for columns, _, _ in found])
        column = np.concatenate([columns for columns, _, _ in found])
        weight = np.concatenate([weights for _, weights, _ in found])
        shape = (len(found), self.column_count)
        rows = sparse.csr_matrix((weight, (number_of, column)), shape=shape)
        rows.eliminate_zeros()
        return rows, np.array([limit for _, _, limit in found], dtype=np.float64)

    def _ways_of(self, number: int) -> BoolArray | None:
        if number not in self._ways:
            self._ways[number] = greatest_ways(self.stands[number])
        return self._ways[number]


def maximise_sharply(
    engine: Engine, sharpener: Sharpener, cost: FloatArray, *, time_limit_s: float
) -> Outcome:
    """The linear optimum after adding rows to ``engine`` until no more are broken.

    Gives the outcome of the last linear model solved; its seconds are the first one's.
    """
    began = time.perf_counter()
    outcome = engine.maximise(cost, time_limit_s=time_limit_s, relax=True)
    for _ in range(_MOST_ROUNDS):
        left = time_limit_s - (time.perf_counter() - began)
        if outcome.solution is None or not outcome.is_proven or left <= 0:
            break
        more = sharpener.rows_against(outcome.solution)
        if more is None:
            break
        engine.forbid(*more)
        sharper = engine.maximise(cost, time_limit_s=left, relax=True)
        if not sharper.is_proven:
            break
        gained = outcome.bound - sharper.bound
        outcome = replace(sharper, seconds=outcome.seconds)
        if gained < _STALLED * abs(outcome.bound):
            break
    return outcome


def _stand_rows(model: PlanModel) -> Iterator[StandRows]:
    """Rows with entries among the uses of one stand only, gathered by stand."""
    first, last = model.seat_count, model.seat_count + model.use_count
    stand_of_use = np.zeros(model.use_count, dtype=np.int64)
    stand_of_use[model.use_of_seat - first] = model.stand_of_seat
    entries = model.matrix.tocoo()
    rows = model.matrix.shape[0]
    on_use = (entries.col >= first) & (entries.col < last)
    lowest = np.full(rows, np.iinfo(np.int64).max)
    highest = np.full(rows, -1)
    stand = stand_of_use[entries.col[on_use] - first]
    np.minimum.at(lowest, entries.row[on_use], stand)
    np.maximum.at(highest, entries.row[on_use], stand)
    own = lowest == highest
    own[entries.row[~on_use]] = False
    # Steps beyond a soft cap make room, so a row with them lists no ways of use alone.
    own[entries.row[entries.data < 0]] = False
    owned = np.flatnonzero(own & np.isinf(model.lower))
    owned = owned[np.argsort(lowest[owned], kind="stable")]
    ends = np.flatnonzero(np.diff(lowest[owned])) + 1
    for group in np.split(owned, ends) if len(owned) else []:
        part = model.matrix[group]
        columns = np.unique(part.indices).astype(np.int64)
        yield StandRows(
            columns=columns,
            weights=part[:, columns].toarray().astype(np.float64),
            limits=model.upper[group],
        )


def greatest_ways(stand: StandRows) -> BoolArray | None:
    """Every way to use the stand to which no use can be added; shape (ways, uses).

    None where they are too many to list. Weights are not negative, so whatever is left of a
    way is one too.
    """
    uses = len(stand.columns)
    ways = np.zeros((1, uses), dtype=np.bool_)
    load = np.zeros((1, len(stand.limits)))
    for use in range(uses):
        more = load + stand.weights[:, use]
        fits = (more <= stand.limits).all(axis=1)
        extended = ways[fits]
        extended[:, use] = True
        ways, load = np.vstack([ways, extended]), np.vstack([load, more[fits]])
        if len(ways) > _MOST_WAYS:
            return None
    can_grow = np.zeros(len(ways), dtype=np.bool_)
    for use in range(uses):
        fits = ((load + stand.weights[:, use]) <= stand.limits).all(axis=1)
        can_grow |= ~ways[:, use] & fits
    return ways[~can_grow]


def strongest_row(ways: BoolArray, use: FloatArray) -> tuple[IntArray, int] | None:
    """Whole weights w and a limit with w · way ≤ limit for every way, and w · ``use`` above it.

    ``ways`` has shape (ways, uses), ``use`` (uses,). None where ``use`` is a mean of ways.
    """
    present = np.flatnonzero(use > 1e-7)
    price = _prices(np.unique(ways[:, present], axis=0), use[present])
    if price is None:
        return None
    weight = np.zeros(len(use), dtype=np.int64)
    weight[present] = _whole(price)
    limit = int((ways @ weight).max())
    if weight @ use <= limit + _BROKEN_BY * limit:
        return None
    # A use absent from the solution may weigh what is left when the stand is used then.
    for absent in np.flatnonzero(use <= 1e-7):
        having = ways[:, absent]
        if having.any():
            weight[absent] = limit - int((ways[having] @ weight).max())
    return weight, limit


def _prices(ways: BoolArray, use: FloatArray) -> FloatArray | None:
    """The prices ≥ 0 under which no way costs more than 1 and ``use`` costs most, if above 1."""
    matrix = sparse.csr_matrix(ways.astype(np.float64))
    program = highspy.HighsLp()
    program.num_row_, program.num_col_ = ways.shape
    program.sense_ = highspy.ObjSense.kMaximize
    program.col_cost_ = use
    program.col_lower_, program.col_upper_ = np.zeros(len(use)), np.ones(len(use))
    program.row_lower_, program.row_upper_ = np.full(len(ways), -np.inf), np.ones(len(ways))
    program.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    program.a_matrix_.start_ = matrix.indptr
    program.a_matrix_.index_ = matrix.indices
    program.a_matrix_.value_ = matrix.data
    solver = quiet_solver()
    solver.passModel(program)
    solver.run()
    if solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
        return None
    if solver.getInfo().objective_function_value < 1 + _BROKEN_BY:
        return None
    return np.array(solver.getSolution().col_value)


def _whole(price: FloatArray) -> IntArray:
    """Whole multiples of the prices: a corner's prices have small common denominators."""
    for denominator in range(1, _LARGEST_DENOMINATOR + 1):
        scaled = price * denominator
        if np.abs(scaled - np.rint(scaled)).max() < 1e-6:
            return np.rint(scaled).astype(np.int64)
    return np.floor(price * _ROUGH_DENOMINATOR).astype(np.int64)
