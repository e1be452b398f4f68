"""The search for one aim after another: the plan at hand, and the rows that hold by now.

A plan made seat by seat is where it begins. Where the linear bound already meets the plan at
hand, an aim is proven without a search.
"""

import time
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property
from math import ceil, floor

import numpy as np

from scheduling.rotation.candidates import Candidates
from scheduling.rotation.greedy import Filling, filled_least_served_first
from scheduling.rotation.problem import RotationProblem
from scheduling.rotation.result import LevelName, LevelResult, Told, nobody_told
from scheduling.rules.rows import BoolArray, IntArray

from .bound import dual_bound, priced
from .build import PlanModel
from .highs import Engine, FloatArray, Outcome
from .sharpen import Sharpener, maximise_sharply
from .worst_served import demanding

_BLEND_GAP = 2e-3
# Above so many columns a plan and its bound are put together from clusters of properties.
CLUSTERS_ABOVE_COLUMNS = 90_000


@dataclass(kw_only=True)
class Search:
    """The plan at hand (``point``, shape (columns,)) and the rows that hold by now."""

    seats: Candidates
    model: PlanModel
    engine: Engine
    sharpener: Sharpener
    point: FloatArray
    deadline: float
    told: Told = nobody_told
    # What no plan exceeds in quality that gives everybody the lowest share reached.
    quality_at_most: float = np.inf

    @classmethod
    def of(
        cls,
        problem: RotationProblem,
        seats: Candidates,
        model: PlanModel,
        seed: int,
        deadline: float,
        told: Told = nobody_told,
    ) -> "Search":
        """A search that begins at a plan made seat by seat; of a model for clusters, at what
        is booked, for there even that plan takes long.
        """
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
        taken = seats.locked.copy()
        if model.column_count <= CLUSTERS_ABOVE_COLUMNS:
            taken[filled_least_served_first(problem, seats, model)] = True
        return cls(
            seats=seats,
            model=model,
            engine=engine,
            sharpener=Sharpener.of(model),
            point=model.point(taken),
            deadline=deadline,
            told=told,
        )

    @cached_property
    def must_be_whole(self) -> BoolArray:
        """Columns to be searched, shape (columns,), while only the rules' own rows hold: given
        these, ordinary seats and levels are a flow, so that a vertex has them whole.
        """
        seats, whole = self.seats, self.engine.whole.copy()
        is_in_flow = (seats.hunters == 1) & (seats.partner < 0) & (seats.asks == 0)
        whole[: self.model.seat_count] = ~is_in_flow
        return whole

    def seats_taken(self) -> IntArray:
        return np.flatnonzero(self.point[: self.model.seat_count] > 0.5)

    def fill(self, problem: RotationProblem, order: IntArray) -> None:
        """Begin anew at what is booked, and take the seats of ``order`` that fit."""
        filling = Filling(problem, self.seats, self.model)
        for number in order.tolist():
            if filling.fits(number):
                filling.take(number)
        taken = np.zeros(len(self.seats), dtype=np.bool_)
        taken[filling.taken] = True
        self.point = self.model.point(taken)

    def improve(
        self, objective: IntArray, *, share_of_time: float, relative_gap: float = _BLEND_GAP
    ) -> Outcome:
        """Search for a better plan by ``objective`` until ``relative_gap`` of the bound.

        First the linear model decides every use it is sure of, and the rest is searched;
        only where that leaves too much, everything is. Gives the linear model's outcome.
        """
        cost = objective.astype(np.float64)
        stop = time.perf_counter() + self.time_of(share_of_time)
        relaxed = self._relaxed(cost, share_of_time)
        if relaxed.is_proven and relaxed.solution is not None:
            decided = self.with_sure_uses(self.engine, relaxed.solution)
            half = (stop + time.perf_counter()) / 2
            self._search(decided, objective, half, relative_gap, start=None)
        short = relaxed.bound - cost @ self.point
        if short > relative_gap * abs(relaxed.bound) + 0.99:
            self._search(self.engine, objective, stop, relative_gap, start=self.point)
        return relaxed

    def with_sure_uses(self, engine: Engine, solution: FloatArray) -> Engine:
        """``engine`` with every use as a linear ``solution`` has it where that is whole."""
        uses = slice(self.model.seat_count, self.model.seat_count + self.model.use_count)
        lowest, highest = engine.floor.copy(), engine.ceiling.copy()
        lowest[uses] = np.maximum(lowest[uses], solution[uses] > 1 - 1e-6)
        highest[uses] = np.where(solution[uses] < 1e-6, lowest[uses], highest[uses])
        return replace(engine, floor=lowest, ceiling=highest)

    def _search(
        self,
        engine: Engine,
        objective: IntArray,
        stop: float,
        relative_gap: float,
        start: FloatArray | None,
    ) -> None:
        outcome = engine.maximise(
            objective.astype(np.float64),
            time_limit_s=stop - time.perf_counter(),
            start=start,
            absolute_gap=0.99,
            relative_gap=relative_gap,
        )
        self.adopt(outcome.solution, objective)

    def reach(
        self,
        name: LevelName,
        objective: IntArray,
        *,
        share_of_time: float,
        at_most: float = np.inf,
    ) -> LevelResult:
        """Maximise a whole-number ``objective``, then hold its value as a row.

        ``at_most`` is what an earlier search has shown that no plan exceeds.
        """
        began = time.perf_counter()
        stop = began + self.time_of(share_of_time)
        cost = objective.astype(np.float64)
        relaxed = self._relaxed(cost, share_of_time)
        bound, is_exact = float(floor(self.bound_of(relaxed, cost))), True
        if _floored(at_most) < bound:
            bound, is_exact = _floored(at_most), False
        if bound > objective @ self.point:
            searched = self._search_out(relaxed, objective, stop)
            if searched < bound:
                bound, is_exact = searched, False
        best = int(objective @ self.point)
        bound = max(bound, best)
        self.engine.require(cost[None, :], np.array([float(best)]))
        return LevelResult(
            name=name,
            value=best,
            best=best,
            bound=bound,
            is_bound_exact=is_exact,
            seconds=time.perf_counter() - began,
        )

    def _search_out(self, relaxed: Outcome, objective: IntArray, stop: float) -> float:
        """Search for the best plan, beginning near the ``relaxed`` one; what none exceeds."""
        engine, cost = self.engine, objective.astype(np.float64)
        if relaxed.is_proven and relaxed.solution is not None and relaxed.row_dual is not None:
            near = (stop + 2 * time.perf_counter()) / 3
            self._search(
                self.with_sure_uses(self.engine, relaxed.solution),
                objective,
                near,
                _BLEND_GAP,
                start=None,
            )
            prices = priced(engine, cost, relaxed.row_dual)
            engine = prices.without_hopeless(engine, int(objective @ self.point))
        outcome = engine.maximise(
            cost,
            time_limit_s=stop - time.perf_counter(),
            start=self.point,
            absolute_gap=0.99,
        )
        self.adopt(outcome.solution, objective)
        return max(_floored(outcome.bound), float(objective @ self.point))

    def give_up(self, before_shares: Engine, share: float) -> None:
        """Let go of ``share`` of the lowest share and of quality, for the sake of the next aim.

        ``before_shares`` holds the rows of the aims before these two.
        """
        self.engine = before_shares
        self.hold_shares(self.lowest_share() * (1 - Fraction(share)))
        quality = self.model.quality.astype(np.float64)
        least = ceil((1 - share) * float(quality @ self.point) - 1e-9)
        self.engine.require(quality[None, :], np.array([float(least)]))

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

    def hold_shares(self, share: Fraction) -> None:
        """Hold as rows that every member has ``share`` of their entitlement."""
        demanded = demanding(self.model, self.engine, share)
        if demanded is None:
            raise AssertionError("the plan at hand has this share, so it can be had")
        self.engine = demanded

    def time_of(self, share: float) -> float:
        """So much of the seconds left."""
        return share * (self.deadline - time.perf_counter())

    def linear_bound(self, cost: FloatArray, share_of_time: float) -> tuple[Fraction, bool]:
        """What no plan exceeds in ``cost`` · z, and whether it holds to the last digit."""
        relaxed = self._relaxed(cost, share_of_time)
        return self.bound_of(relaxed, cost), True

    def _relaxed(self, cost: FloatArray, share_of_time: float) -> Outcome:
        return maximise_sharply(
            self.engine, self.sharpener, cost, time_limit_s=self.time_of(share_of_time)
        )

    def bound_of(self, relaxed: Outcome, cost: FloatArray) -> Fraction:
        """What no plan exceeds, from a linear ``relaxed`` outcome; crude where it has no duals."""
        if relaxed.row_dual is None:
            return _fraction(float(np.maximum(cost, 0) @ self.engine.ceiling))
        return dual_bound(self.engine, cost, relaxed.row_dual)

    def adopt(self, solution: FloatArray | None, objective: IntArray) -> bool:
        """Keep a found plan if, in whole numbers, it holds every row and is no worse; whether
        it was kept.
        """
        if solution is None:
            return False
        point = self.model.point(solution[: self.model.seat_count] > 0.5)
        if not self.engine.holds(np.append(point[:-1], 0.0)):
            return False
        if objective @ point < objective @ self.point:
            return False
        self.point = point
        return True


def _floored(bound: float) -> float:
    return float(floor(bound + 1e-6)) if np.isfinite(bound) else np.inf


def _fraction(bound: float) -> Fraction:
    return Fraction(bound + 1e-9) if np.isfinite(bound) else Fraction(10**12)
