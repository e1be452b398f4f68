"""Soft same-wind caps: uses beyond the cap of a stand, bought in steps at a price of quality.

A stand's steps cover the greatest excess over its winds and windows, so that windows that
overlap do not charge for the same use twice.
"""

from dataclasses import dataclass

import numpy as np
from scipy import sparse

from scheduling.rotation.problem import EXCESS_STEP_PER_MILLE, RotationProblem
from scheduling.rules.rows import BoolArray, IntArray, UseRows

from .highs import FloatArray


@dataclass(frozen=True, kw_only=True)
class Excess:
    """Rows over uses, ``matrix`` · use ≤ ``limit`` + step × the stand's steps.

    ``matrix`` has shape (rows, uses); ``stand_of_row`` (rows,) and ``stand_of_step`` (steps,)
    number stands; a stand's steps lie together.
    """

    matrix: sparse.csr_matrix
    limit: IntArray
    stand_of_row: IntArray
    stand_of_step: IntArray

    @classmethod
    def of(
        cls, problem: RotationProblem, rows: UseRows, column: IntArray, locked: BoolArray
    ) -> "Excess":
        """``column`` of shape (entries,) are the rows' uses, ``locked`` (uses,) the bookings'."""
        shape = (len(rows.limit), len(locked))
        matrix = sparse.csr_matrix((rows.weight, (rows.row, column)), shape=shape)
        stand_of_row = np.zeros(len(rows.limit), dtype=np.int64)
        stand_of_row[rows.row] = rows.stand
        tolerated = np.array([stand.same_wind_excess for stand in problem.stands], dtype=np.int64)
        steps = tolerated * -(-1000 // EXCESS_STEP_PER_MILLE)
        needed = _steps(matrix @ locked.astype(np.int64) - rows.limit)
        np.maximum.at(steps, stand_of_row, needed)
        return cls(
            matrix=matrix,
            limit=rows.limit,
            stand_of_row=stand_of_row,
            stand_of_step=np.repeat(np.arange(len(steps)), steps),
        )

    def steps_of(self, use: FloatArray) -> FloatArray:
        """Which steps the uses, shape (uses,), need; shape (steps,), the first of each stand."""
        stands = int(max(self.stand_of_step.max(initial=0), self.stand_of_row.max(initial=0))) + 1
        need = np.zeros(stands, dtype=np.int64)
        load = np.rint(self.matrix @ use).astype(np.int64)
        np.maximum.at(need, self.stand_of_row, _steps(load - self.limit))
        first = np.searchsorted(self.stand_of_step, self.stand_of_step)
        place = np.arange(len(self.stand_of_step)) - first
        return (place < need[self.stand_of_step]).astype(np.float64)


def _steps(excess: IntArray) -> IntArray:
    return np.maximum(0, -(-excess // EXCESS_STEP_PER_MILLE))
