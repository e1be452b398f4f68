"""Lifting the worst-served member: which lowest share of quality every member can have.

A model that maximises the lowest share has a weak linear bound, for half of a good seat
looks as good as one fair seat. So a share is demanded outright instead, which makes the
model sharp: seats too poor to be part of it fall away, and as many good ones as it needs
must be taken. The greatest share that can be had is then found by halving.
"""

from dataclasses import replace
from fractions import Fraction
from math import ceil, floor

import numpy as np
from scipy import sparse

from scheduling.rules.rows import IntArray

from .build import PlanModel
from .highs import Engine, FloatArray


def demanding(model: PlanModel, engine: Engine, share: Fraction) -> Engine | None:
    """``engine`` with the rows that give every member ``share`` of their entitlement.

    None where some member could not have it even from all of their best seats.
    """
    ceiling = engine.ceiling.copy()
    rows: list[tuple[IntArray, IntArray]] = []
    least: list[float] = []
    for member in np.unique(model.member_of_seat):
        need = ceil(share * int(model.share_base[member])) - int(model.received[member])
        if need <= 0:
            continue
        seats = np.flatnonzero(model.member_of_seat == member)
        worth = model.worth[seats]
        levels = int(np.count_nonzero(model.member_of_level == member))
        # An evening half is a seat beyond the member's sits, one for each at most.
        sits = min(levels + _halves(model, seats), 2 * levels)
        best = np.sort(worth)[::-1][:sits]
        if best.sum() < need:
            return None
        others = best[: sits - 1].sum()
        poor = worth + others < need
        ceiling[seats[poor & (engine.floor[seats] == 0)]] = 0.0
        rows.append((seats, np.minimum(worth, need)))
        least.append(need)
        for good, count in _good_seats(worth, best, need, sits):
            rows.append((seats[good], np.ones(len(good), dtype=np.int64)))
            least.append(count)
    demanded = replace(engine, ceiling=ceiling)
    if rows:
        demanded.require(_matrix(rows, model.column_count), np.array(least, dtype=np.float64))
    return demanded


def _halves(model: PlanModel, seats: IntArray) -> int:
    """Evening halves of all-day sits: seats beyond the member's sits."""
    return int(np.count_nonzero(model.sits[seats] == 0))


def _good_seats(
    worth: IntArray, best: IntArray, need: int, sits: int
) -> list[tuple[IntArray, int]]:
    """Seats of which at least so many must be taken.

    r − 1 sits bring at most the r − 1 best; what is then missing falls on the others, so one
    of them is at least the average of it: so r seats are at least that good.
    """
    found = []
    for count in range(1, sits + 1):
        missing = need - int(best[: count - 1].sum())
        if missing <= 0:
            break
        good = np.flatnonzero(worth * (sits - count + 1) >= missing)
        found.append((good, count))
    return found


def _matrix(rows: list[tuple[IntArray, IntArray]], columns: int) -> sparse.csr_matrix:
    row = np.repeat(np.arange(len(rows)), [len(entries) for entries, _ in rows])
    column = np.concatenate([entries for entries, _ in rows])
    weight = np.concatenate([weights for _, weights in rows])
    return sparse.csr_matrix((weight, (row, column)), shape=(len(rows), columns))


def attainable_shares(model: PlanModel, above: Fraction, up_to: Fraction) -> list[Fraction]:
    """Every share between that could be some member's, rising: the lowest is one of them."""
    bases = {int(model.share_base[member]) for member in np.unique(model.member_of_seat)}
    return sorted(
        {
            Fraction(number, base)
            for base in bases
            for number in range(floor(above * base), floor(up_to * base) + 1)
            if above < Fraction(number, base) <= up_to
        }
    )


def linear_feasible(model: PlanModel, engine: Engine, share: Fraction, time_s: float) -> bool:
    """False where even the linear model says that ``share`` cannot be had."""
    demanded = demanding(model, engine, share)
    if demanded is None:
        return False
    nothing: FloatArray = np.zeros(model.column_count)
    outcome = demanded.maximise(nothing, time_limit_s=time_s, relax=True)
    return not outcome.is_infeasible
