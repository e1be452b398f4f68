"""Plans by one blended score: for problems too large for five searches, and to compare.

The l-th sit of a member counts 1400 − 100·l points, never below 100; each sit its quality.
"""

import time
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from scheduling.rotation.audit import excesses
from scheduling.rotation.candidates import candidates
from scheduling.rotation.problem import RotationProblem, Seat
from scheduling.rotation.result import LevelName, LevelResult, Progress
from scheduling.rules.rows import IntArray

from .bound import dual_bound
from .build import build
from .clusters import Clusters
from .in_order import decided_in_order
from .polish import Prices, places_in_order, polish
from .search import CLUSTERS_ABOVE_COLUMNS, Search

_FOR_KEEPING_A_PERCENT = 5
_MOST_FOR_KEEPING = 99
_NEAR_ENOUGH = 1e-4
_BEFORE_POLISH = 0.6
# A seat of which a linear plan takes less is not tried when the plan is filled in.
_WORTH_A_TRY = 0.01


@dataclass(frozen=True, kw_only=True)
class BlendedPlan:
    """A plan, its ``score``, and a ``bound`` on any plan's score, exact whatever the solver.

    ``linear_seconds`` is the time of the first linear solve behind the bound, of clusters
    that of all their windows.
    """

    seats: tuple[Seat, ...]
    score: int
    bound: Fraction
    seconds: float
    linear_seconds: float

    @property
    def gap(self) -> float:
        return float((self.bound - self.score) / max(Fraction(1), self.bound))


def solve_blended(
    problem: RotationProblem,
    *,
    time_limit_s: float = 60.0,
    seed: int = 1,
    relative_gap: float = 0.0,
) -> BlendedPlan:
    """The best plan by the blended score found in time, or one within ``relative_gap``."""
    began = time.perf_counter()
    seats = candidates(problem)
    model = build(problem, seats)
    search = Search.of(problem, seats, model, seed, began + time_limit_s)
    bound, linear_seconds = _search(problem, search, model.blend, relative_gap)
    return BlendedPlan(
        seats=tuple(seats.seats[number] for number in search.seats_taken()),
        score=int(model.blend @ search.point),
        bound=bound,
        seconds=time.perf_counter() - began,
        linear_seconds=linear_seconds,
    )


def search_blended(problem: RotationProblem, search: Search) -> tuple[float, float]:
    """Search by the blended score; what was reached, and what no plan exceeds.

    With a plan published before, each of its seats kept counts a few points more: 5 where
    1 % may be given up for stability, in proportion to that share, never as much as a sit
    (common practice, no source).
    """
    model = search.model
    bonus = 0
    if problem.published is not None:
        bonus = min(
            _MOST_FOR_KEEPING, round(_FOR_KEEPING_A_PERCENT * 100 * problem.stability_share)
        )
    objective = model.blend + bonus * model.kept
    bound, _ = _search(problem, search, objective, _NEAR_ENOUGH)
    return float(objective @ search.point), float(bound)


def _search(
    problem: RotationProblem, search: Search, objective: IntArray, relative_gap: float
) -> tuple[Fraction, float]:
    """Improve, then polish in the time left; what no plan exceeds, and the seconds of one
    linear solve.
    """
    cost, prices = objective.astype(np.float64), None
    if search.model.column_count > CLUSTERS_ABOVE_COLUMNS:
        bound, seconds, prices = _by_clusters(problem, search, objective)
    else:
        relaxed = search.improve(objective, share_of_time=_BEFORE_POLISH, relative_gap=relative_gap)
        bound, seconds = search.bound_of(relaxed, cost), relaxed.seconds

    def tell() -> None:
        best = float(objective @ search.point)
        search.told(Progress(aim="blended score", best=best, bound=max(best, float(bound))))

    polish(
        problem,
        search,
        objective,
        good_enough=float(bound) * (1 - relative_gap) - 0.99,
        stop=search.deadline,
        between=tell,
        prices=prices,
    )
    tell()
    return bound, seconds


def _by_clusters(
    problem: RotationProblem, search: Search, objective: IntArray
) -> tuple[Fraction, float, Prices]:
    """A bound from clusters, and a plan decided in their order; filled in seat by seat where
    time runs out or rules stand in the way.
    """
    began, cost = time.perf_counter(), objective.astype(np.float64)
    clusters = Clusters.of(
        search.model, search.engine, search.sharpener, cost, places_in_order(problem, search.model)
    )
    stop = began + _BEFORE_POLISH * (search.deadline - began)
    is_whole = clusters.price(stop)
    seconds = time.perf_counter() - began
    search.engine = clusters.engine
    decided = decided_in_order(search, clusters, stop) if is_whole else clusters.solution
    if not (is_whole and search.adopt(decided, objective)):
        wish = decided[: len(search.seats)]
        order = np.lexsort((-search.model.quality[: len(search.seats)], -wish))
        search.fill(problem, order[wish[order] > _WORTH_A_TRY] if is_whole else order)
    prices = Prices(rows=clusters.prices, reduced=clusters.reduced)
    return dual_bound(clusters.engine, cost, clusters.prices), seconds, prices


def blended_levels(problem: RotationProblem, search: Search) -> tuple[LevelResult, ...]:
    """What the plan at hand reaches by each aim.

    The bounds are plain counts: every wish granted, to each member their own best seats.
    """
    model, point = search.model, search.point
    best = np.zeros(len(problem.members), dtype=np.int64)
    worth = np.zeros_like(best)
    for member in np.unique(model.member_of_seat):
        own = np.flatnonzero(model.member_of_seat == member)
        most = np.count_nonzero(model.member_of_level == member)
        most += np.count_nonzero(model.sits[own] == 0)
        best[member] = np.sort(model.quality[own])[::-1][:most].sum()
        worth[member] = np.sort(model.worth[own])[::-1][:most].sum()
    having = np.unique(model.member_of_seat)
    shares = (worth + model.received)[having] / model.share_base[having]
    published = set(problem.published or ())
    taken = point[: model.seat_count] > 0.5
    kept = int(model.kept[: model.seat_count] @ taken)
    changes = 0 if problem.published is None else int(taken.sum()) + len(published) - 2 * kept
    figures = (
        (LevelName.SITS, model.sits @ point, len(model.member_of_level)),
        (LevelName.FIRST_WISHES, model.points @ point, model.points.sum()),
        (
            LevelName.WORST_SERVED,
            search.lowest_share(),
            max(np.min(shares, initial=model.share_ceiling), float(search.lowest_share())),
        ),
        (LevelName.QUALITY, model.quality @ point, best.sum()),
        (LevelName.CHANGES, changes, 0),
    )
    return tuple(
        LevelResult(
            name=name,
            value=float(value),
            best=float(value),
            bound=float(bound),
            is_bound_exact=True,
            seconds=0.0,
        )
        for name, value, bound in figures
    )


def blended_score(problem: RotationProblem, plan: tuple[Seat, ...]) -> int:
    """The score of any plan, by its definition."""
    sits: dict[str, int] = {}
    score = 0
    for seat in plan:
        score += problem.quality_percent(seat)
        if not problem.continues_morning(seat):
            sits[seat.member_id] = sits.get(seat.member_id, 0) + 1
            score += max(1400 - 100 * sits[seat.member_id], 100)
            score += 100 * problem.member_by_id[seat.member_id].priority_points
    return score - sum(excess.price for excess in excesses(problem, plan))
