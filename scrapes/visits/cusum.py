"""A running sum that finds a lasting fall in visits sooner than windows do (Lucas 1985)."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import stats

from scrapes.visits.settings import CusumSettings

Floats = NDArray[np.float64]

# Sums of decimal steps miss a threshold by rounding; a signal is meant to include equality.
_ROUNDING = 1e-9


@dataclass(frozen=True, kw_only=True)
class CusumSignal:
    """The sum after the last night, whether it signals, and on which night it first did."""

    value: float
    threshold: float
    signals: bool
    first_signal: int | None


def reference_value(in_control: ArrayLike, out_of_control: ArrayLike) -> Floats:
    """k = (l0 - l1) / (ln l0 - ln l1), any shape; both rates above 0 and different."""
    before, after = np.asarray(in_control, float), np.asarray(out_of_control, float)
    if bool(((before <= 0) | (after <= 0) | (before == after)).any()):
        raise ValueError("two different rates above nought are needed")
    return (before - after) / (np.log(before) - np.log(after))


def downward_path(counts: ArrayLike, *, reference: ArrayLike) -> Floats:
    """S = max(0, S + k - x), from 0, shape (nights,); ``reference`` may change from night to night.

    Written without a loop: the sum is the walk of k - x above its lowest point so far.
    """
    walk = np.cumsum(np.asarray(reference, float) - np.asarray(counts, float))
    return walk - np.minimum(np.minimum.accumulate(walk), 0.0)


def watch_for_fall(
    counts: ArrayLike, expected: ArrayLike, *, settings: CusumSettings
) -> CusumSignal:
    """Run the sum over nights with their expected visits (rate x season x effort; above 0).

    Each night's reference is tuned to the same fall, so season and effort change k, not the sum.
    """
    rates = np.asarray(expected, dtype=float)
    path = downward_path(counts, reference=reference_value(rates, rates * settings.tuned_ratio))
    over = np.flatnonzero(path >= settings.threshold - _ROUNDING)
    return CusumSignal(
        value=float(path[-1]) if len(path) else 0.0,
        threshold=settings.threshold,
        signals=bool(len(path) and path[-1] >= settings.threshold - _ROUNDING),
        first_signal=int(over[0]) if len(over) else None,
    )


def average_run_length(
    *, mean: float, reference: float, threshold: float, step: float, downward: bool = True
) -> float:
    """Average nights until a signal, counts Poisson with ``mean``, sum started at 0.

    Exact, as a Markov chain on the lattice of ``step`` (Brook & Evans 1972), of which
    ``reference``, ``threshold`` and 1 must be multiples; raises ValueError otherwise.
    """
    per_count, k, h = (_steps(value, step) for value in (1.0, reference, threshold))
    states = np.arange(h)
    # Beyond this count the downward sum is back at 0, the upward one over the threshold.
    counts = np.arange((h + k) // per_count + 2)
    chance = stats.poisson.pmf(counts, mean)
    sign = -1 if downward else 1
    target = np.maximum(states[:, None] + sign * (counts[None, :] * per_count - k), 0)
    moves = np.zeros((h, h))
    rows = np.broadcast_to(states[:, None], target.shape)
    inside = target < h
    np.add.at(moves, (rows[inside], target[inside]), np.broadcast_to(chance, target.shape)[inside])
    if downward:
        moves[:, 0] += stats.poisson.sf(counts[-1], mean)
    return float(np.linalg.solve(np.eye(h) - moves, np.ones(h))[0])


def _steps(value: float, step: float) -> int:
    steps = round(value / step)
    if steps < 1 or abs(steps * step - value) > 1e-9:
        raise ValueError(f"{value} is not a multiple of {step}")
    return steps
