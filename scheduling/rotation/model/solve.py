"""Plans by the five aims in strict order, each with a bound.

Each aim is maximised in turn by HiGHS, then held as a row while the next is sought. A plan
made by hand and a blended search give the first plan; where the linear bound already meets
the plan at hand, the aim is proven without a search.
"""

import time
from dataclasses import dataclass, replace
from fractions import Fraction
from math import ceil, floor

import numpy as np

from scheduling.rotation.candidates import Candidates, candidates
from scheduling.rotation.greedy import filled_least_served_first
from scheduling.rotation.problem import RotationProblem
from scheduling.rotation.result import LevelName, LevelResult, RotationResult, RotationStatus
from scheduling.rules.rows import IntArray

from .bound import dual_bound
from .build import PlanModel, build
from .highs import Engine, FloatArray

_BLEND_GAP = 1e-3


def solve(problem: RotationProblem, *, time_limit_s: float = 60.0, seed: int = 1) -> RotationResult:
    """The best plan found in time, aim by aim, with how far from the best it can be.

    The same problem and seed give the same plan unless time runs out. Bookings that break
    rules among themselves are named in the result; the plan keeps them.
    """
    began = time.perf_counter()
    seats = candidates(problem)
    search = Search.of(problem, seats, build(problem, seats), seed, began + time_limit_s)
    levels = _levels(problem, search)
    taken = search.seats_taken()
    proven = all(level.is_proven for level in levels)
    return RotationResult(
        status=RotationStatus.PROVEN if proven else RotationStatus.BEST_FOUND,
        seats=tuple(seats.seats[number] for number in taken),
        levels=levels,
        conflicts=search.model.conflicts,
        seconds=time.perf_counter() - began,
        seed=seed,
        fingerprint=problem.fingerprint(),
    )


def _levels(problem: RotationProblem, search: "Search") -> tuple[LevelResult, ...]:
    model = search.model
    search.improve(model.blend, share_of_time=0.15)
    found = [
        search.reach(LevelName.SITS, model.sits, share_of_time=0.3),
        search.reach(LevelName.FIRST_WISHES, model.points, share_of_time=0.3),
        search.reach_worst_served(share_of_time=0.4),
    ]
    if problem.published is None:
        found.append(search.reach(LevelName.QUALITY, model.quality, share_of_time=1.0))
        found.append(_no_changes())
        return tuple(found)
    quality = search.reach(
        LevelName.QUALITY, model.quality, share_of_time=0.5, keep=1 - problem.stability_share
    )
    kept = search.reach(LevelName.CHANGES, model.kept, share_of_time=0.6)
    search.improve(model.quality, share_of_time=1.0)
    final = float(model.quality @ search.point)
    found.append(replace(quality, value=final))
    found.append(_as_changes(problem, kept, float(model.sits @ search.point), search))
    return tuple(found)


def _no_changes() -> LevelResult:
    return LevelResult(
        name=LevelName.CHANGES, value=0, best=0, bound=0, is_bound_exact=True, seconds=0.0
    )


def _as_changes(
    problem: RotationProblem, kept: LevelResult, sits: float, search: "Search"
) -> LevelResult:
    """Seats added plus seats removed, from the number of published seats kept."""
    seats = float(len(search.seats_taken()))
    both = seats + len(problem.published or ())
    return replace(
        kept,
        value=both - 2 * kept.value,
        best=both - 2 * kept.best,
        bound=both - 2 * kept.bound,
    )


@dataclass(kw_only=True)
class Search:
    """The plan at hand (``point``, shape (columns,)) and the rows that hold by now."""

    model: PlanModel
    engine: Engine
    point: FloatArray
    deadline: float

    @classmethod
    def of(
        cls,
        problem: RotationProblem,
        seats: Candidates,
        model: PlanModel,
        seed: int,
        deadline: float,
    ) -> "Search":
        """A search that begins at a plan made seat by seat."""
        ceiling = np.ones(model.column_count)
        ceiling[-1] = model.share_ceiling
        whole = np.zeros(model.column_count, dtype=np.bool_)
        whole[: model.seat_count + model.use_count] = True
        engine = Engine(
            matrix=model.matrix,
            lower=model.lower,
            upper=model.upper,
            floor=model.fixed.astype(np.float64),
            ceiling=ceiling,
            whole=whole,
            seed=seed,
        )
        taken = np.zeros(len(seats), dtype=np.bool_)
        taken[filled_least_served_first(problem, seats, model)] = True
        return cls(model=model, engine=engine, point=model.point(taken), deadline=deadline)

    def seats_taken(self) -> IntArray:
        return np.flatnonzero(self.point[: self.model.seat_count] > 0.5)

    def improve(self, objective: IntArray, *, share_of_time: float) -> None:
        """Search for a better plan by ``objective``, not to the end."""
        outcome = self.engine.maximise(
            objective.astype(np.float64),
            time_limit_s=self._time(share_of_time),
            start=self.point,
            relative_gap=_BLEND_GAP,
        )
        self._adopt(outcome.solution, objective)

    def reach(
        self, name: LevelName, objective: IntArray, *, share_of_time: float, keep: float = 1.0
    ) -> LevelResult:
        """Maximise a whole-number ``objective``, then hold ``keep`` of it as a row."""
        began = time.perf_counter()
        cost = objective.astype(np.float64)
        linear, is_exact = self._linear_fraction(cost, share_of_time)
        bound, best = float(floor(linear)), int(objective @ self.point)
        if bound > best:
            outcome = self.engine.maximise(
                cost,
                time_limit_s=self._time(share_of_time),
                start=self.point,
                absolute_gap=0.99,
            )
            self._adopt(outcome.solution, objective)
            best = int(objective @ self.point)
            searched = _floored(outcome.bound)
            if searched < bound:
                bound, is_exact = max(searched, best), False
        self.engine.require(cost[None, :], np.array([float(ceil(keep * best - 1e-9))]))
        return LevelResult(
            name=name,
            value=best,
            best=best,
            bound=bound,
            is_bound_exact=is_exact,
            seconds=time.perf_counter() - began,
        )

    def reach_worst_served(self, *, share_of_time: float) -> LevelResult:
        """Lift the lowest share of quality, then hold each member's share of it."""
        began = time.perf_counter()
        cost = self.model.share.astype(np.float64)
        bases = {int(base) for base in self.model.share_base[self._having()]}
        linear, is_exact = self._linear_fraction(cost, share_of_time)
        bound, best = _attainable(linear, bases), self.lowest_share()
        if bound > best:
            outcome = self.engine.maximise(
                cost,
                time_limit_s=self._time(share_of_time),
                start=self.point,
                absolute_gap=0.99 / max(bases) ** 2,
            )
            self._adopt(outcome.solution, self.model.share)
            best = self.lowest_share()
            searched = _attainable(_fraction(outcome.bound), bases)
            if searched < bound:
                bound, is_exact = max(searched, best), False
        self._hold_shares(best)
        return LevelResult(
            name=LevelName.WORST_SERVED,
            value=float(best),
            best=float(best),
            bound=float(bound),
            is_bound_exact=is_exact,
            seconds=time.perf_counter() - began,
        )

    def lowest_share(self) -> Fraction:
        """The worst-served member's quality over entitlement; 0 where nobody could sit."""
        quality = self.model.own_quality @ self.point.astype(np.int64) + self.model.received
        shares = [
            Fraction(int(quality[member]), int(self.model.share_base[member]))
            for member in self._having()
        ]
        return min(shares, default=Fraction(0))

    def _having(self) -> IntArray:
        return np.unique(self.model.member_of_seat)

    def _hold_shares(self, share: Fraction) -> None:
        members = self._having()
        needed = [
            ceil(share * int(self.model.share_base[member])) - int(self.model.received[member])
            for member in members
        ]
        self.engine.require(self.model.own_quality[members], np.array(needed, dtype=np.float64))

    def _time(self, share: float) -> float:
        return share * (self.deadline - time.perf_counter())

    def _linear_fraction(self, cost: FloatArray, share_of_time: float) -> tuple[Fraction, bool]:
        relaxed = self.engine.maximise(cost, time_limit_s=self._time(share_of_time), relax=True)
        if relaxed.row_dual is None:
            return _fraction(float(cost @ self.engine.ceiling)), True
        return dual_bound(self.engine, cost, relaxed.row_dual), True

    def _adopt(self, solution: FloatArray | None, objective: IntArray) -> None:
        """Keep a found plan if, in whole numbers, it holds every row and is no worse."""
        if solution is None:
            return
        point = self.model.point(solution[: self.model.seat_count] > 0.5)
        if not self.engine.holds(np.append(point[:-1], 0.0)):
            return
        if objective @ point >= objective @ self.point:
            self.point = point


def _floored(bound: float) -> float:
    return float(floor(bound + 1e-6)) if np.isfinite(bound) else np.inf


def _fraction(bound: float) -> Fraction:
    return Fraction(bound + 1e-9) if np.isfinite(bound) else Fraction(10**12)


def _attainable(bound: Fraction, bases: set[int]) -> Fraction:
    """The greatest share not above ``bound`` that some member could have."""
    return max((Fraction(floor(bound * base), base) for base in bases), default=Fraction(0))
