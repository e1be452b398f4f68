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
    """For each row r: number of taken seats among its entries ≤ limit[r].

    ``seat`` has shape (entries,) and indexes the problem's list of candidate seats;
    ``row`` has shape (entries,); ``limit`` has shape (rows,).
    """

    code: str
    row: IntArray
    seat: IntArray
    limit: IntArray
