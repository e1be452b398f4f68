"""A bound that holds whatever the solver's tolerances: duals repriced in whole numbers."""

from dataclasses import dataclass, replace
from fractions import Fraction
from math import floor

import numpy as np

from scheduling.rules.rows import IntArray

from .highs import Engine, FloatArray

# Duals are rounded to multiples of 2^-20; any duals give a valid bound, so rounding
# costs a little sharpness and no truth.
_SCALE = 1 << 20


@dataclass(frozen=True, kw_only=True)
class Priced:
    """An exact ``bound`` on an objective, and what departing from it costs.

    ``reduced`` of shape (columns,), in multiples of 2^-20: at the bound a column stands at
    its ceiling where this is above 0 and at its floor where it is below.
    """

    bound: Fraction
    reduced: IntArray

    def without_hopeless(self, engine: Engine, at_least: int) -> Engine:
        """``engine`` with whole columns held where every plan of ``at_least`` has them."""
        room = floor((self.bound - at_least) * _SCALE)
        is_held = engine.whole & (np.abs(self.reduced) > room)
        at_ceiling = is_held & (self.reduced > 0)
        return replace(
            engine,
            floor=np.where(at_ceiling, engine.ceiling, engine.floor),
            ceiling=np.where(is_held & ~at_ceiling, engine.floor, engine.ceiling),
        )


def dual_bound(engine: Engine, cost: FloatArray, row_dual: FloatArray) -> Fraction:
    """An upper bound on ``cost`` · z over the engine's rows and box, exact.

    ``cost`` has shape (columns,) and holds whole numbers; ``row_dual`` has shape (rows,).
    """
    return priced(engine, cost, row_dual).bound


def priced(engine: Engine, cost: FloatArray, row_dual: FloatArray) -> Priced:
    """The same bound with each column's reduced cost.

    For prices p ≥ 0 on upper ends and q ≥ 0 on lower ends, cost · z ≤ p · upper − q · lower
    + Σ over columns of the best of (cost − (p − q) A) z within its box (weak duality).
    The solver's sign convention does not matter: both signs are valid, the better is kept.
    """
    both = (_priced(engine, cost, row_dual), _priced(engine, cost, -row_dual))
    return min(both, key=lambda one: one.bound)


def _priced(engine: Engine, cost: FloatArray, price: FloatArray) -> Priced:
    price = np.where((price > 0) & np.isinf(engine.upper), 0.0, price)
    price = np.where((price < 0) & np.isinf(engine.lower), 0.0, price)
    whole = np.rint(price * _SCALE).astype(np.int64)
    end = np.where(whole > 0, engine.upper, np.where(whole < 0, engine.lower, 0.0))
    total = sum(int(p) * int(e) for p, e in zip(whole, end, strict=True) if p)
    reduced = cost.astype(np.int64) * _SCALE - engine.matrix.T.astype(np.int64) @ whole
    best = np.where(reduced > 0, engine.ceiling, engine.floor).astype(np.int64)
    total += sum(int(r) * int(b) for r, b in zip(reduced, best, strict=True) if b)
    return Priced(bound=Fraction(total, _SCALE), reduced=reduced)
