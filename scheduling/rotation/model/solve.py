"""Plans by the five aims in strict order, each with a bound; by one score where that is too much.

Each aim is maximised in turn by HiGHS, then held as a row while the next is sought. Above
``LEVELS_UP_TO_COLUMNS`` the aims are blended into one score, for one search has then to do.
"""

import time
from dataclasses import replace

from scheduling.rotation.candidates import candidates
from scheduling.rotation.problem import RotationProblem
from scheduling.rotation.result import (
    LevelName,
    LevelResult,
    Objective,
    Progress,
    RotationResult,
    RotationStatus,
    Told,
    nobody_told,
)

from .blend import blended_levels, search_blended
from .build import build
from .search import Search
from .worst_served_search import reach_worst_served

# About 200 stands with 250 members in 14 days; measured plans of 8,000 columns take all five
# aims, of 70,000 the linear model of one aim alone takes seconds.
LEVELS_UP_TO_COLUMNS = 30_000


def solve(
    problem: RotationProblem,
    *,
    time_limit_s: float = 60.0,
    seed: int = 1,
    levels_up_to_columns: int = LEVELS_UP_TO_COLUMNS,
    told: Told = nobody_told,
) -> RotationResult:
    """The best plan found in time, with how far from the best it can be.

    Aim by aim, or by the blended score where the model has more columns than
    ``levels_up_to_columns``; the result's ``objective`` says which. The same problem and seed
    give the same plan unless time runs out. Bookings that break rules among themselves are
    named in the result; the plan keeps them. ``told`` hears between searches how far it has
    come.
    """
    began = time.perf_counter()
    seats = candidates(problem)
    model = build(problem, seats)
    search = Search.of(problem, seats, model, seed, began + time_limit_s, told)
    objective, score, bound = Objective.LEVELS, None, None
    if model.column_count > levels_up_to_columns:
        objective = Objective.BLENDED
        score, bound = search_blended(problem, search)
        levels = blended_levels(problem, search)
    else:
        levels = _levels(problem, search)
    proven = all(level.is_proven for level in levels)
    return RotationResult(
        status=RotationStatus.PROVEN if proven else RotationStatus.BEST_FOUND,
        seats=tuple(seats.seats[number] for number in search.seats_taken()),
        levels=levels,
        conflicts=model.conflicts,
        seconds=time.perf_counter() - began,
        seed=seed,
        fingerprint=problem.fingerprint(),
        objective=objective,
        blended_score=score,
        blended_bound=bound,
    )


def _levels(problem: RotationProblem, search: Search) -> tuple[LevelResult, ...]:
    model = search.model
    search.improve(model.blend, share_of_time=0.2)
    sits = _tell(search, search.reach(LevelName.SITS, model.sits, share_of_time=0.25))
    first = _tell(search, search.reach(LevelName.FIRST_WISHES, model.points, share_of_time=0.25))
    before_shares = search.engine
    worst = _tell(search, reach_worst_served(search, share_of_time=0.4))
    if problem.published is None:
        quality = _tell(search, _quality(search, share_of_time=1.0))
        return (sits, first, worst, quality, _no_changes())
    quality = _tell(search, _quality(search, share_of_time=0.5))
    search.give_up(before_shares, problem.stability_share)
    kept = search.reach(LevelName.CHANGES, model.kept, share_of_time=0.6)
    search.improve(model.quality, share_of_time=1.0)
    return (
        sits,
        first,
        replace(worst, value=float(search.lowest_share())),
        replace(quality, value=float(model.quality @ search.point)),
        _as_changes(problem, kept, search),
    )


def _quality(search: Search, *, share_of_time: float) -> LevelResult:
    return search.reach(
        LevelName.QUALITY,
        search.model.quality,
        share_of_time=share_of_time,
        at_most=search.quality_at_most,
    )


def _tell(search: Search, level: LevelResult) -> LevelResult:
    search.told(Progress(aim=level.name.value, best=level.best, bound=level.bound))
    return level


def _no_changes() -> LevelResult:
    return LevelResult(
        name=LevelName.CHANGES, value=0, best=0, bound=0, is_bound_exact=True, seconds=0.0
    )


def _as_changes(problem: RotationProblem, kept: LevelResult, search: Search) -> LevelResult:
    """Seats added plus seats removed, from the number of published seats kept."""
    seats = float(len(search.seats_taken()))
    both = seats + len(problem.published or ())
    return replace(
        kept,
        value=both - 2 * kept.value,
        best=both - 2 * kept.best,
        bound=both - 2 * kept.bound,
    )
