"""One ratio of rates behind several before-and-after tables, exactly, given their totals.

Given how many visits a refresh had before and after together, those after it are binomial; given
also the totals of scrapes left alone, they are noncentral hypergeometric (Fisher). Either way the
chance of k is in proportion to ``w_k (e psi)^k`` with ``e`` the ratio of the efforts, so the sum
over tables is a convolution, and the common ratio ``psi`` has the conditional likelihood and exact
limits of Gart (1970; from memory). One table gives the limits of Clopper and Pearson, or Fisher's.
Each table is its own stratum: a busy scrape watched longer before and a quiet one watched longer
after are no change, which their added counts would not know.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import reduce

import numpy as np
from numpy.typing import NDArray
from scipy import optimize, special

Floats = NDArray[np.float64]

_FARTHEST = 40.0
"""Log of the largest ratio looked at, from the middle of the tables."""


@dataclass(frozen=True, kw_only=True)
class Table:
    """Counts before and after, of the refreshed scrape and of those left alone.

    ``effort_ratio`` is effort after over before, divided by the same of the others where they are
    compared (``others`` is their counts before and after; None where there are none).
    """

    before: int
    after: int
    effort_ratio: float
    others: tuple[int, int] | None = None

    def __post_init__(self) -> None:
        if min(self.before, self.after, *(self.others or ())) < 0:
            raise ValueError("counts must not be negative")
        if not 0 < self.effort_ratio < math.inf:
            raise ValueError("the efforts' ratio must be above nought")


def common_ratio(tables: Sequence[Table], *, confidence: float) -> tuple[float, float, float]:
    """Conditional estimate with its lower and upper limit.

    0 or infinite where the counts lie at the end of what is possible; NaN where they can only
    have been as they are (nothing was seen).
    """
    seen = sum(table.after for table in tables)
    middle = _rough(tables)
    least, weights = reduce(_added, (_weights(table, middle) for table in tables), (0, np.ones(1)))
    counts = least + np.arange(len(weights))
    if len(counts) == 1:
        return math.nan, math.nan, math.nan
    tail = (1 - confidence) / 2

    def chances(log_ratio: float) -> Floats:
        with np.errstate(divide="ignore"):
            logs = np.log(weights) + counts * log_ratio
        return np.asarray(np.exp(logs - special.logsumexp(logs)))

    def found(surplus: Callable[[Floats], float]) -> float:
        root = optimize.brentq(lambda log: surplus(chances(log)), -_FARTHEST, _FARTHEST)
        return math.exp(float(root) + middle)

    at_least, at_most = seen == counts[0], seen == counts[-1]
    ratio = (
        0.0
        if at_least
        else math.inf
        if at_most
        else found(lambda chance: float(chance @ counts) - seen)
    )
    low = 0.0 if at_least else found(lambda chance: float(chance[counts >= seen].sum()) - tail)
    high = math.inf if at_most else found(lambda chance: tail - float(chance[counts <= seen].sum()))
    return ratio, low, high


def _weights(table: Table, middle: float) -> tuple[int, Floats]:
    """The least possible count and the weights from it on, tilted so that the middle is likely."""
    total = table.before + table.after
    if table.others is None:
        counts = np.arange(total + 1)
        logs = _log_choose(total, counts)
    else:
        others, after = sum(table.others), table.after + table.others[1]
        counts = np.arange(max(0, after - others), min(total, after) + 1)
        logs = _log_choose(total, counts) + _log_choose(others, after - counts)
    logs = logs + counts * (math.log(table.effort_ratio) + middle)
    return int(counts[0]), np.exp(logs - logs.max())


def _added(first: tuple[int, Floats], second: tuple[int, Floats]) -> tuple[int, Floats]:
    weights = np.convolve(first[1], second[1])
    return first[0] + second[0], weights / weights.max()


def _rough(tables: Sequence[Table]) -> float:
    """Log of a first guess: added counts, half a visit to each."""
    after = sum(table.after for table in tables) + 0.5
    expected = sum(table.before * _ratio_if_none(table) for table in tables) + 0.5
    return math.log(after / expected)


def _ratio_if_none(table: Table) -> float:
    """After over before that no change would give."""
    if table.others is None:
        return table.effort_ratio
    return table.effort_ratio * (table.others[1] + 0.5) / (table.others[0] + 0.5)


def _log_choose(total: int, counts: NDArray[np.int64]) -> Floats:
    return np.asarray(
        special.gammaln(total + 1)
        - special.gammaln(counts + 1)
        - special.gammaln(total - counts + 1)
    )
