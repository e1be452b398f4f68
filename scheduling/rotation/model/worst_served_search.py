"""The search for the greatest lowest share: which of the shares that could be can be had."""

import time
from fractions import Fraction

import numpy as np

from scheduling.rotation.result import LevelName, LevelResult

from .search import Search
from .sharpen import maximise_sharply
from .worst_served import attainable_shares, demanding, linear_feasible


def reach_worst_served(search: Search, *, share_of_time: float) -> LevelResult:
    """Lift the lowest share of quality by halving, then hold each member's share of it."""
    began = time.perf_counter()
    stop = began + search.time_of(share_of_time)
    best = search.lowest_share()
    shares = attainable_shares(search.model, best, Fraction(search.model.share_ceiling))
    shares = shares[: _linear_reach(search, shares, stop)]
    bound, step = max([best, *shares]), 1
    while shares and time.perf_counter() < stop:
        # The greatest first: more often than not it can be had.
        tried = max(0, len(shares) - step)
        answer = _try_share(search, shares[tried], stop)
        best = search.lowest_share()
        if answer is False and bound == shares[-1]:
            bound = max([best, *shares[:tried]])
        shares = [share for share in shares[: None if answer else tried] if share > best]
        step = 1 if answer else 2 * step
    bound = max(best, bound)
    search.hold_shares(best)
    return LevelResult(
        name=LevelName.WORST_SERVED,
        value=float(best),
        best=float(best),
        bound=float(bound),
        is_bound_exact=False,
        seconds=time.perf_counter() - began,
    )


def _linear_reach(search: Search, shares: list[Fraction], stop: float) -> int:
    """How many of the rising ``shares`` the linear model does not rule out."""
    low, high = 0, len(shares)
    while low < high and time.perf_counter() < stop:
        middle = (low + high) // 2
        left = stop - time.perf_counter()
        if linear_feasible(search.model, search.engine, shares[middle], left):
            low = middle + 1
        else:
            high = middle
    return high


def _try_share(search: Search, share: Fraction, stop: float) -> bool | None:
    """Whether a plan with ``share`` exists (the plan is then at hand); None: not known."""
    demanded = demanding(search.model, search.engine, share)
    if demanded is None:
        return False
    quality, before = search.model.quality, search.lowest_share()
    cost = quality.astype(np.float64)
    half = (stop - time.perf_counter()) / 2
    relaxed = maximise_sharply(demanded, search.sharpener, cost, time_limit_s=half)
    if relaxed.is_infeasible:
        return False
    tries = [demanded]
    if relaxed.solution is not None:
        tries.insert(0, search.with_sure_uses(demanded, relaxed.solution))
    for engine in tries:
        # Any plan with that share will do; what is learnt of quality is kept for its turn.
        outcome = engine.maximise(
            cost,
            time_limit_s=(stop - time.perf_counter()) / 2,
            absolute_gap=np.inf,
            relative_gap=np.inf,
        )
        search.adopt(outcome.solution, search.model.share)
        if search.lowest_share() > before:
            if engine is demanded:
                search.quality_at_most = outcome.bound
            return True
    return False if outcome.is_infeasible else None
