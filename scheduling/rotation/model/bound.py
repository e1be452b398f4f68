"""A bound that holds whatever the solver's tolerances: duals repriced in whole numbers."""

from fractions import Fraction

import numpy as np

from .highs import Engine, FloatArray

# Duals are rounded to multiples of 2^-20; any duals give a valid bound, so rounding
# costs a little sharpness and no truth.
_SCALE = 1 << 20


def dual_bound(engine: Engine, cost: FloatArray, row_dual: FloatArray) -> Fraction:
    """An upper bound on ``cost`` · z over the engine's rows and box, exact.

    ``cost`` has shape (columns,) and holds whole numbers; ``row_dual`` has shape (rows,).
    For prices p ≥ 0 on upper ends and q ≥ 0 on lower ends, cost · z ≤ p · upper − q · lower
    + Σ over columns of the best of (cost − (p − q) A) z within its box (weak duality).
    The solver's sign convention does not matter: both signs are valid, the better is kept.
    """
    return min(_bound(engine, cost, row_dual), _bound(engine, cost, -row_dual))


def _bound(engine: Engine, cost: FloatArray, price: FloatArray) -> Fraction:
    price = np.where((price > 0) & np.isinf(engine.upper), 0.0, price)
    price = np.where((price < 0) & np.isinf(engine.lower), 0.0, price)
    whole = np.rint(price * _SCALE).astype(np.int64)
    end = np.where(whole > 0, engine.upper, np.where(whole < 0, engine.lower, 0.0))
    total = sum(int(p) * int(e) for p, e in zip(whole, end, strict=True) if p)
    reduced = cost.astype(np.int64) * _SCALE - engine.matrix.T.astype(np.int64) @ whole
    best = np.where(reduced > 0, engine.ceiling, engine.floor).astype(np.int64)
    total += sum(int(r) * int(b) for r, b in zip(reduced, best, strict=True) if b)
    return Fraction(total, _SCALE)
