"""Plans as a person would make them, one seat after another: the baseline.

Each starts from the bookings and takes seats by its own order whenever the rules allow.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

import numpy as np

from .candidates import Candidates, candidates
from .model.build import PlanModel, build
from .problem import RotationProblem, Seat


@dataclass
class Filling:
    """A plan being filled: what is taken, and whether one seat more still fits."""

    problem: RotationProblem
    seats: Candidates
    model: PlanModel
    taken: list[int] = field(init=False, default_factory=list)

    @classmethod
    def of(cls, problem: RotationProblem) -> "Filling":
        seats = candidates(problem)
        return cls(problem, seats, build(problem, seats))

    def __post_init__(self) -> None:
        self._model = self.model
        self._columns = self._model.matrix.tocsc()
        self._load = np.zeros(len(self._model.upper))
        self._used = np.zeros(self._model.column_count, dtype=np.bool_)
        self._rows = np.isinf(self._model.lower)
        self.sits = np.zeros(len(self.problem.members), dtype=np.int64)
        for number in np.flatnonzero(self.seats.locked):
            self.take(int(number))

    def fits(self, number: int) -> bool:
        """Whether seat ``number``, with the other half of its day, breaks no rule."""
        if self._used[number]:
            return False
        change: dict[int, float] = {}
        for column in self._new_columns(number):
            start, end = self._columns.indptr[column : column + 2]
            for row, weight in zip(
                self._columns.indices[start:end], self._columns.data[start:end], strict=True
            ):
                change[row] = change.get(row, 0.0) + weight
        return all(
            self._load[row] + more <= self._model.upper[row]
            for row, more in change.items()
            if self._rows[row] and more > 0
        )

    def take(self, number: int) -> None:
        for column in self._new_columns(number):
            start, end = self._columns.indptr[column : column + 2]
            self._load[self._columns.indices[start:end]] += self._columns.data[start:end]
            self._used[column] = True
        for seat in self._together(number):
            self.taken.append(seat)
            self.sits[self.seats.member[seat]] += self.seats.counts[seat]

    def plan(self) -> tuple[Seat, ...]:
        seats = [self.seats.seats[number] for number in self.taken]
        return tuple(sorted(seats, key=lambda seat: seat.sort_key))

    def _new_columns(self, number: int) -> tuple[int, ...]:
        seats = self._together(number)
        uses = {int(self._model.use_of_seat[seat]) for seat in seats}
        return (*seats, *sorted(use for use in uses if not self._used[use]))

    def _together(self, number: int) -> tuple[int, ...]:
        partner = int(self.seats.partner[number])
        return (number,) if partner < 0 else (number, partner)


def best_fit(problem: RotationProblem) -> tuple[Seat, ...]:
    """Seats by falling quality, whatever their date; ties by member, stand, session."""
    filling = Filling.of(problem)
    seats = filling.seats
    order = np.lexsort((seats.session, seats.stand, seats.member, -seats.quality))
    return _filled(filling, order.tolist())


def chronological(problem: RotationProblem) -> tuple[Seat, ...]:
    """Session after session, each by falling quality."""
    filling = Filling.of(problem)
    seats = filling.seats
    order = np.lexsort((seats.stand, seats.member, -seats.quality, seats.session))
    return _filled(filling, order.tolist())


def least_served_first(problem: RotationProblem) -> tuple[Seat, ...]:
    """Session after session; in each, whoever has fewest sits picks the best seat left."""
    return _least_served_first(Filling.of(problem)).plan()


def filled_least_served_first(
    problem: RotationProblem, seats: Candidates, model: PlanModel
) -> list[int]:
    """The same plan as numbers of the candidate ``seats`` of a model already built."""
    return _least_served_first(Filling(problem, seats, model)).taken


def _least_served_first(filling: Filling) -> Filling:
    problem, seats = filling.problem, filling.seats
    for session in range(len(problem.sessions)):
        numbers = np.flatnonzero(seats.session == session)
        for member in sorted(set(seats.member[numbers].tolist()), key=lambda m: filling.sits[m]):
            take_best(filling, numbers[seats.member[numbers] == member])
    return filling


def scarcest_first(problem: RotationProblem) -> tuple[Seat, ...]:
    """Round after round, whoever has fewest seats left to choose from picks the best one."""
    filling = Filling.of(problem)
    own = [np.flatnonzero(filling.seats.member == m) for m in range(len(problem.members))]
    for _ in range(max((member.sits_requested for member in problem.members), default=0)):
        choices = [sum(filling.fits(int(n)) for n in numbers) for numbers in own]
        for member in np.argsort(choices, kind="stable"):
            take_best(filling, own[member])
    return filling.plan()


BASELINES: dict[str, Callable[[RotationProblem], tuple[Seat, ...]]] = {
    "best_fit": best_fit,
    "chronological": chronological,
    "least_served_first": least_served_first,
    "scarcest_first": scarcest_first,
}


def _filled(filling: Filling, order: Iterable[int]) -> tuple[Seat, ...]:
    for number in order:
        if filling.fits(number):
            filling.take(number)
    return filling.plan()


def take_best(filling: Filling, numbers: np.ndarray) -> None:
    """Take the best of the seats ``numbers`` that still fits, if any does."""
    quality = filling.seats.quality[numbers]
    for number in numbers[np.argsort(-quality, kind="stable")].tolist():
        if filling.fits(number):
            filling.take(number)
            return
