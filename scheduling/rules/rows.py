"""The form in which a rule constrains a plan: linear rows over uses and over seats.

A *use* is one stand in one session, however many sit there; a *seat* is one member in
one stand in one session. Rules yield whole blocks of rows as arrays, so that a plan with
hundreds of thousands of seats is built without a Python loop over them. A solver needs to
know nothing about a rule but its rows; the code tells a reader which rule it was.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]


@dataclass(frozen=True, kw_only=True)
class UseRows:
    """For each row r: sum of weight × use[stand, session] over its entries ≤ limit[r].

    ``row``, ``stand``, ``session`` and ``weight`` have shape (entries,) and index rows and
    the stands and sessions of the problem; ``limit`` has shape (rows,). Weights and limits
    are whole numbers, so that sums are exact: where a rule counts probabilities it counts
    in per mille.
    """

    code: str
    row: IntArray
    stand: IntArray
    session: IntArray
    weight: IntArray
    limit: IntArray


@dataclass(frozen=True, kw_only=True)
class SeatRows:
    """For each row r: sum of weight × seat taken over its entries ≤ limit[r].

    ``seat`` has shape (entries,) and indexes the problem's list of candidate seats; ``row``
    and ``weight`` have shape (entries,); ``limit`` has shape (rows,). Where ``use_stand``
    and ``use_session`` of shape (rows,) are given, the limit holds only while that stand is
    used in that session, and is zero otherwise: ≤ limit[r] × use[stand, session].
    """

    code: str
    row: IntArray
    seat: IntArray
    weight: IntArray
    limit: IntArray
    use_stand: IntArray | None = None
    use_session: IntArray | None = None


def no_use_rows(code: str) -> UseRows:
    """A rule that has nothing to say."""
    none = np.zeros(0, dtype=np.int64)
    return UseRows(code=code, row=none, stand=none, session=none, weight=none, limit=none)


def grouped_seat_rows(
    code: str, *, seat: IntArray, group: IntArray, weight: IntArray, limit_of_group: IntArray
) -> SeatRows:
    """One row for each group of seats that could together exceed the group's limit.

    ``seat``, ``group`` and ``weight`` have shape (entries,); ``limit_of_group`` is indexed
    by the values of ``group``.
    """
    total = np.bincount(group, weights=weight, minlength=len(limit_of_group))
    binding = (total > limit_of_group) & (total > 0)
    number = np.cumsum(binding) - 1
    kept = binding[group]
    return SeatRows(
        code=code,
        row=number[group[kept]].astype(np.int64),
        seat=seat[kept],
        weight=weight[kept],
        limit=limit_of_group[binding].astype(np.int64),
    )
