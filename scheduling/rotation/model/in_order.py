"""A plan decided cluster after cluster, in the order of the properties.

Each window of properties is searched with what lies before it decided and what lies behind it
paid for by the prices of ``clusters``; its first part is then decided. A row that reaches
behind the window holds as far as anything behind it could still make it hold, so that nobody
is given two places at once, or more than was asked for, by windows that see one each. A use of
which the clusters' linear model is sure is not searched again.
"""

import time

import numpy as np
from scipy import sparse

from scheduling.rules.rows import BoolArray, IntArray

from .clusters import Clusters, windows
from .highs import Engine, FloatArray
from .search import Search

_PROPERTIES_A_WINDOW = 10
_OVERLAP = 4
# Of the time left; no window should end without a plan only because the machine is busy.
_LONGEST_SEARCH = 0.25
_NEAR_ENOUGH = 1e-4


def decided_in_order(search: Search, clusters: Clusters, stop: float) -> FloatArray:
    """Columns decided, shape (columns,); as the clusters' linear model has them from where time
    ran out, or where what was decided left no plan.
    """
    engine, matrix = clusters.engine, clusters.engine.matrix
    place = _decided_at(search, clusters)
    last_of_row = np.zeros(matrix.shape[0], dtype=np.int64)
    row = np.repeat(np.arange(matrix.shape[0]), np.diff(matrix.indptr))
    np.maximum.at(last_of_row, row, place[matrix.indices])
    sure = search.with_sure_uses(engine, clusters.solution)
    by_column = matrix.tocsc()
    point = engine.floor.copy()
    count = int(place.max(initial=0)) + 1
    for first, after in windows(count, _PROPERTIES_A_WINDOW, _OVERLAP):
        free = np.flatnonzero((place >= first) & (place < after))
        inner = by_column[:, free].tocsr()
        rows = np.flatnonzero(np.diff(inner.indptr))
        beyond = rows[last_of_row[rows] >= after]
        cost = clusters.cost[free] - inner[beyond].T @ clusters.prices[beyond]
        held = matrix[rows] @ np.where(place < first, point, 0.0)
        least, most = _ranges(matrix[rows], engine, behind=place >= after)
        window = Engine(
            matrix=inner[rows],
            lower=engine.lower[rows] - held - most,
            upper=engine.upper[rows] - held - least,
            floor=sure.floor[free],
            ceiling=sure.ceiling[free],
            whole=search.must_be_whole[free],
            seed=engine.seed,
        )
        found = window.maximise(
            cost,
            time_limit_s=_LONGEST_SEARCH * (stop - time.perf_counter()),
            absolute_gap=0.99,
            relative_gap=_NEAR_ENOUGH,
        )
        if found.solution is None:
            return np.where(place < first, point, clusters.solution)
        is_decided = place[free] < (after if after == count else after - _OVERLAP)
        point[free[is_decided]] = np.rint(found.solution[is_decided])
    return point


def _ranges(
    rows: sparse.csr_matrix, engine: Engine, *, behind: BoolArray
) -> tuple[FloatArray, FloatArray]:
    """The least and the most that the columns ``behind`` can add to each of ``rows``."""
    lowest, highest = engine.floor * behind, engine.ceiling * behind
    gain, loss = rows.maximum(0), rows.minimum(0)
    return gain @ lowest + loss @ highest, gain @ highest + loss @ lowest


def _decided_at(search: Search, clusters: Clusters) -> IntArray:
    """Each column's place; a level's is the last of its member, for only there is it known."""
    model, place = search.model, clusters.place_of_column.copy()
    last = np.zeros(len(model.share_base), dtype=np.int64)
    np.maximum.at(last, model.member_of_seat, place[: model.seat_count])
    place[model.seat_count + model.use_count : -1] = last[model.member_of_level]
    # The share has no part in this: at 0 its rows ask nothing.
    place[-1] = -1
    return place
