"""A plan made better neighbourhood by neighbourhood: a few properties are planned anew while
all others stay as they are, and the neighbourhoods are cut elsewhere in each sweep.
"""

import time
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from scipy import sparse
from scipy.sparse import csgraph

from scheduling.rotation.problem import RotationProblem
from scheduling.rules.rows import BoolArray, IntArray

from .build import PlanModel
from .highs import FloatArray
from .search import Search

PROPERTIES_AT_ONCE = 4


@dataclass(frozen=True, kw_only=True)
class Prices:
    """Prices of an engine's rows, shape (rows,), and what they leave of each column's worth.

    At any plan the distance to the bound they give is a sum of terms ≥ 0, one for each column
    away from its better end and each priced row not full. Planning some columns anew can gain
    no more than the terms of these columns and their rows.
    """

    rows: FloatArray
    reduced: FloatArray


def polish(
    problem: RotationProblem,
    search: Search,
    objective: IntArray,
    *,
    good_enough: float,
    stop: float,
    between: Callable[[], None] = lambda: None,
    prices: Prices | None = None,
) -> None:
    """Better ``search.point`` by ``objective`` until it reaches ``good_enough``, until a whole
    sweep finds nothing, or until ``stop`` (of ``time.perf_counter``). ``between`` is called
    before each neighbourhood.

    With ``prices`` of the search's rows, neighbourhoods where nothing can be gained are left.
    """
    model = search.model
    place_of_use = places_in_order(problem, model)
    count = int(place_of_use.max(initial=0)) + 1
    neighbourhoods = _Neighbourhoods(search, objective, prices)
    step = max(1, PROPERTIES_AT_ONCE // 2)
    shift, idle = 0, 0
    while idle < 2:
        before = objective @ search.point
        for first in range(shift - step, count, PROPERTIES_AT_ONCE):
            if time.perf_counter() >= stop or objective @ search.point >= good_enough:
                return
            between()
            last = first + PROPERTIES_AT_ONCE
            free = (place_of_use >= first) & (place_of_use < last)
            if free.any():
                neighbourhoods.plan_anew(free, stop)
        idle = idle + 1 if objective @ search.point == before else 0
        shift = (shift + step) % PROPERTIES_AT_ONCE


def places_in_order(problem: RotationProblem, model: PlanModel) -> IntArray:
    """Each use's place, shape (uses,), in an order that keeps properties that share members
    near each other.
    """
    place_of_use = _place_of_use(problem, model)
    order = _neighbours_together(problem, model, place_of_use)
    rank = np.empty(len(order), dtype=np.int64)
    rank[order] = np.arange(len(order))
    return rank[place_of_use]


def _place_of_use(problem: RotationProblem, model: PlanModel) -> IntArray:
    """The number of each use's property, shape (uses,); of each step beyond a soft cap too."""
    places = {place.id: number for number, place in enumerate(problem.properties)}
    of_stand = np.array([places[stand.property_id] for stand in problem.stands], dtype=np.int64)
    found = np.zeros(model.use_count, dtype=np.int64)
    found[model.use_of_seat - model.seat_count] = of_stand[model.stand_of_seat]
    steps = model.excess.stand_of_step
    found[model.use_count - len(steps) :] = of_stand[steps]
    return found


def _neighbours_together(
    problem: RotationProblem, model: PlanModel, place_of_use: IntArray
) -> IntArray:
    """Properties in an order that keeps those that share members near each other."""
    count = len(problem.properties)
    place = place_of_use[model.use_of_seat - model.seat_count]
    ones = np.ones(len(place), dtype=np.int64)
    shape = (len(problem.members), count)
    goes_to = sparse.csr_matrix((ones, (model.member_of_seat, place)), shape=shape)
    goes_to.data[:] = 1
    shared = (goes_to.T @ goes_to).tocsr()
    order = csgraph.reverse_cuthill_mckee(shared, symmetric_mode=True)
    return order.astype(np.int64)


class _Neighbourhoods:
    """Plans some uses anew, everything else staying as it is at ``search.point``."""

    def __init__(self, search: Search, objective: IntArray, prices: Prices | None) -> None:
        self._search, self._objective, self._prices = search, objective, prices
        self._columns = search.engine.matrix.tocsc()

    def plan_anew(self, free_use: BoolArray, stop: float) -> None:
        search, objective = self._search, self._objective
        # The share has no part in this: at 0 its rows ask nothing.
        point = np.append(search.point[:-1], 0.0)
        free = np.flatnonzero(_free_columns(search.model, free_use))
        inner = self._columns[:, free].tocsr()
        rows = np.flatnonzero(np.diff(inner.indptr))
        inner = inner[rows]
        load = search.engine.matrix[rows] @ point
        if self._most_gain(point, free, rows, load) < 1:
            return
        held = load - inner @ point[free]
        part = replace(
            search.engine,
            matrix=inner,
            lower=search.engine.lower[rows] - held,
            upper=search.engine.upper[rows] - held,
            floor=search.engine.floor[free],
            ceiling=search.engine.ceiling[free],
            whole=search.must_be_whole[free],
            basis=None,
        )
        found = part.maximise(
            objective[free].astype(np.float64),
            time_limit_s=min(20.0, stop - time.perf_counter()),
            start=point[free],
            absolute_gap=0.99,
        )
        if found.solution is None:
            return
        whole = search.point.copy()
        whole[free] = found.solution
        search.adopt(whole, objective)

    def _most_gain(
        self, point: FloatArray, free: IntArray, rows: IntArray, load: FloatArray
    ) -> float:
        if self._prices is None:
            return np.inf
        engine, price = self._search.engine, self._prices.rows[rows]
        reduced = self._prices.reduced[free]
        better = np.where(reduced > 0, engine.ceiling[free], engine.floor[free])
        end = np.where(price > 0, engine.upper[rows], engine.lower[rows])
        end = np.where(price == 0, load, end)
        # An infinite end is not priced, but for rounding: count such a price for nothing.
        end = np.where(np.isfinite(end), end, load)
        return float(reduced @ (better - point[free]) + price @ (end - load))


def _free_columns(model: PlanModel, free_use: BoolArray) -> BoolArray:
    """The uses, their seats, and the levels of every member who has a seat among these."""
    free = np.ones(model.column_count, dtype=np.bool_)
    free[model.seat_count : model.seat_count + model.use_count] = free_use
    free[: model.seat_count] = free[model.use_of_seat]
    touched = np.zeros(len(model.share_base), dtype=np.bool_)
    touched[model.member_of_seat[free[: model.seat_count]]] = True
    free[model.seat_count + model.use_count : -1] = touched[model.member_of_level]
    free[-1] = False
    return free
