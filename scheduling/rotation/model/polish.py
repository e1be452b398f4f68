"""A plan made better neighbourhood by neighbourhood: a few properties are planned anew while
all others stay as they are, and the neighbourhoods are cut elsewhere in each sweep.
"""

import time
from collections.abc import Callable
from dataclasses import replace

import numpy as np
from scipy import sparse
from scipy.sparse import csgraph

from scheduling.rotation.problem import RotationProblem
from scheduling.rules.rows import BoolArray, IntArray

from .build import PlanModel
from .highs import Engine, FloatArray
from .search import Search

PROPERTIES_AT_ONCE = 4


def polish(
    problem: RotationProblem,
    search: Search,
    objective: IntArray,
    *,
    good_enough: float,
    stop: float,
    between: Callable[[], None] = lambda: None,
) -> None:
    """Better ``search.point`` by ``objective`` until it reaches ``good_enough``, until a whole
    sweep finds nothing, or until ``stop`` (of ``time.perf_counter``). ``between`` is called
    before each neighbourhood.
    """
    model = search.model
    place_of_use = _place_of_use(problem, model)
    order = _neighbours_together(problem, model, place_of_use)
    step = max(1, PROPERTIES_AT_ONCE // 2)
    shift, idle = 0, 0
    while idle < 2:
        before = objective @ search.point
        for first in range(shift - step, len(order), PROPERTIES_AT_ONCE):
            if time.perf_counter() >= stop or objective @ search.point >= good_enough:
                return
            between()
            places = order[max(0, first) : first + PROPERTIES_AT_ONCE]
            free = np.isin(place_of_use, places)
            if free.any():
                _plan_anew(search, free, objective, stop)
        idle = idle + 1 if objective @ search.point == before else 0
        shift = (shift + step) % PROPERTIES_AT_ONCE


def _place_of_use(problem: RotationProblem, model: PlanModel) -> IntArray:
    """The number of each use's property, shape (uses,)."""
    places = {place.id: number for number, place in enumerate(problem.properties)}
    of_stand = np.array([places[stand.property_id] for stand in problem.stands], dtype=np.int64)
    found = np.zeros(model.use_count, dtype=np.int64)
    found[model.use_of_seat - model.seat_count] = of_stand[model.stand_of_seat]
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


def _plan_anew(search: Search, free_use: BoolArray, objective: IntArray, stop: float) -> None:
    model = search.model
    free = np.ones(model.column_count, dtype=np.bool_)
    free[model.seat_count : model.seat_count + model.use_count] = free_use
    free[: model.seat_count] = free[model.use_of_seat]
    touched = np.zeros(len(model.share_base), dtype=np.bool_)
    touched[model.member_of_seat[free[: model.seat_count]]] = True
    free[model.seat_count + model.use_count : -1] = touched[model.member_of_level]
    free[-1] = False
    # The share has no part in this: at 0 its rows ask nothing.
    part = _part(search.engine, np.append(search.point[:-1], 0.0), free)
    found = part.maximise(
        objective[free].astype(np.float64),
        time_limit_s=min(20.0, stop - time.perf_counter()),
        start=search.point[free],
        absolute_gap=0.99,
    )
    if found.solution is None:
        return
    whole = search.point.copy()
    whole[free] = found.solution
    search.adopt(whole, objective)


def _part(engine: Engine, point: FloatArray, free: BoolArray) -> Engine:
    """The engine over its ``free`` columns, the others held where ``point`` has them."""
    inner = engine.matrix.tocsc()[:, free].tocsr()
    rows = np.flatnonzero(np.diff(inner.indptr))
    held = engine.matrix @ np.where(free, 0.0, point)
    return replace(
        engine,
        matrix=inner[rows],
        lower=engine.lower[rows] - held[rows],
        upper=engine.upper[rows] - held[rows],
        floor=engine.floor[free],
        ceiling=engine.ceiling[free],
        whole=engine.whole[free],
    )
