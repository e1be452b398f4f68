"""A bound put together from clusters of neighbouring properties, for models too large for one.

Any prices of the rows bound every plan (``bound.priced``); only good prices bound it sharply.
Window after window the prices of its rows are made the best they can be while all others stay
(a linear model of the window, whose seats pay the prices of rows outside). Windows overlap, so
that what one sees badly at its edge lies inside the next. None needs the memory of the whole
linear model. Wide windows pass once for what narrow ones miss in many sweeps: prices that no
window alone can better are seldom the best of all.
"""

import time
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from scipy import sparse

from scheduling.rules.rows import BoolArray, IntArray

from .build import PlanModel
from .highs import Engine, FloatArray, Outcome
from .sharpen import Sharpener, maximise_sharply

PROPERTIES_A_WINDOW = 30
_OVERLAP = 10
# Windows are sharpened until one gains less of its bound than this: a third of the time goes
# into it, and where stands are many for their hunters it hardly gains.
_WORTH_SHARPENING = 1e-4


@dataclass(kw_only=True)
class Clusters:
    """Prices of ``engine``'s rows, shape (rows,), bettered window by window.

    ``place_of_column`` and ``home_of_row`` are places in the order of the properties;
    ``solution`` of shape (columns,) puts together what the windows' linear models choose.
    """

    engine: Engine
    sharpener: Sharpener
    cost: FloatArray
    place_of_column: IntArray
    home_of_row: IntArray
    prices: FloatArray
    reduced: FloatArray
    solution: FloatArray
    seat_count: int
    width: int
    is_sharpened: bool = True

    @classmethod
    def of(
        cls,
        model: PlanModel,
        engine: Engine,
        sharpener: Sharpener,
        cost: FloatArray,
        place_of_use: IntArray,
        width: int = PROPERTIES_A_WINDOW,
    ) -> "Clusters":
        """No prices yet; ``place_of_use`` of shape (uses,) is in the order of properties."""
        places = _places(model, place_of_use)
        matrix = engine.matrix
        inner = matrix.indices < matrix.shape[1] - 1
        row = np.repeat(np.arange(matrix.shape[0]), np.diff(matrix.indptr))[inner]
        sums = np.bincount(row, weights=places[matrix.indices[inner]], minlength=matrix.shape[0])
        home = sums / np.maximum(1, np.bincount(row, minlength=matrix.shape[0]))
        return cls(
            engine=replace(engine),
            sharpener=sharpener,
            cost=cost,
            place_of_column=places,
            home_of_row=np.rint(home).astype(np.int64),
            prices=np.zeros(matrix.shape[0]),
            reduced=cost.copy(),
            solution=np.zeros(matrix.shape[1]),
            seat_count=model.seat_count,
            width=width,
        )

    @property
    def seats(self) -> FloatArray:
        """How much of each seat the windows' linear plans take, shape (seats,)."""
        return self.solution[: self.seat_count]

    @property
    def _overlap(self) -> int:
        return min(self.width // 2, _OVERLAP)

    def windows(self) -> Iterator[tuple[int, int]]:
        """First place and the place after the last of each window."""
        count = int(self.place_of_column.max(initial=0)) + 1
        return windows(count, self.width, self._overlap)

    def price(self, stop: float) -> bool:
        """Better the prices of every window in turn; whether time sufficed for all of them."""
        for first, after in self.windows():
            if time.perf_counter() >= stop or not self._better(first, after, stop):
                return False
        return True

    def _better(self, first: int, after: int, stop: float) -> bool:
        """Whether the window was solved, and its prices taken over."""
        rows = np.flatnonzero((self.home_of_row >= first) & (self.home_of_row < after))
        part = self.engine.matrix[rows]
        columns = np.unique(part.indices).astype(np.int64)
        # What lies beyond has no price yet, and would look free.
        columns = columns[self.place_of_column[columns] < after]
        part = part.tocsc()[:, columns].tocsr()
        cost = self.reduced[columns] + part.T @ self.prices[rows]
        window = Engine(
            matrix=part,
            lower=self.engine.lower[rows],
            upper=self.engine.upper[rows],
            floor=self.engine.floor[columns],
            ceiling=self.engine.ceiling[columns],
            whole=self.engine.whole[columns],
            seed=self.engine.seed,
        )
        outcome = self._solved(window, columns, cost, stop)
        if outcome.row_dual is None or outcome.solution is None:
            return False
        core = self.place_of_column[columns] >= (first + self._overlap // 2 if first else 0)
        self.solution[columns[core]] = outcome.solution[core]
        self._keep(rows, columns, window, outcome.row_dual)
        return True

    def _solved(self, window: Engine, columns: IntArray, cost: FloatArray, stop: float) -> Outcome:
        plain = window.maximise(cost, time_limit_s=stop - time.perf_counter(), relax=True)
        if not (self.is_sharpened and plain.is_proven):
            return plain
        sharp = maximise_sharply(
            window,
            _within(self.sharpener, columns),
            cost,
            time_limit_s=stop - time.perf_counter(),
        )
        gained = plain.bound - sharp.bound
        self.is_sharpened = gained > _WORTH_SHARPENING * abs(plain.bound)
        return sharp

    def _keep(self, rows: IntArray, columns: IntArray, window: Engine, price: FloatArray) -> None:
        """Take over the window's prices, and the rows it found to sharpen the model.

        Rows found last have no price where time ended before they were solved with: nought then.
        """
        price = np.pad(price, (0, window.matrix.shape[0] - len(price)))
        found = window.matrix[len(rows) :].tocoo()
        old = self.prices[rows]
        if found.shape[0]:
            shape = (found.shape[0], self.engine.matrix.shape[1])
            more = sparse.csr_matrix((found.data, (found.row, columns[found.col])), shape=shape)
            self.engine.forbid(more, window.upper[len(rows) :])
            homes = np.rint(
                np.bincount(found.row, weights=self.place_of_column[columns[found.col]])
                / np.bincount(found.row)
            )
            self.home_of_row = np.append(self.home_of_row, homes.astype(np.int64))
            self.prices = np.append(self.prices, price[len(rows) :])
            self.reduced -= more.T @ price[len(rows) :]
        self.prices[rows] = price[: len(rows)]
        self.reduced -= self.engine.matrix[rows].T @ (price[: len(rows)] - old)


def windows(count: int, width: int, overlap: int) -> Iterator[tuple[int, int]]:
    """First place and the place after the last, of windows over ``count`` places."""
    for first in range(0, max(1, count - overlap), max(1, width - overlap)):
        yield first, min(count, first + width)


def _places(model: PlanModel, place_of_use: IntArray) -> IntArray:
    """Each column's place: its property's, for levels that of the member's middle seat."""
    places = np.zeros(model.column_count, dtype=np.int64)
    first_level = model.seat_count + model.use_count
    seat = place_of_use[model.use_of_seat - model.seat_count]
    places[: model.seat_count] = seat
    places[model.seat_count : first_level] = place_of_use
    members = len(model.share_base)
    seats = np.maximum(1, np.bincount(model.member_of_seat, minlength=members))
    mean = np.bincount(model.member_of_seat, weights=seat, minlength=members) / seats
    places[first_level:-1] = np.rint(mean[model.member_of_level])
    return places


def _within(sharpener: Sharpener, columns: IntArray) -> Sharpener:
    """The sharpener of the stands wholly among ``columns``, numbered as there."""
    number_of = np.full(sharpener.column_count, -1, dtype=np.int64)
    number_of[columns] = np.arange(len(columns))
    inside: BoolArray = np.array(
        [number_of[stand.columns].min(initial=0) >= 0 for stand in sharpener.stands], dtype=np.bool_
    )
    stands = tuple(
        replace(stand, columns=number_of[stand.columns])
        for stand, is_inside in zip(sharpener.stands, inside, strict=True)
        if is_inside
    )
    return Sharpener(stands=stands, column_count=len(columns))
