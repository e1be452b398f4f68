"""The rows and columns of one planning problem.

Columns, in this order: a seat (member, stand, session) taken or not; a use (stand, session)
made or not; a level (the l-th sit of a member) reached; last the worst-served member's share.
Given the uses, seats and levels alone form a flow, so that a vertex is whole by itself.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from scheduling.rotation.candidates import Candidates
from scheduling.rotation.conflicts import NOT_OFFERED_CODE, LockedConflict, locked_conflict
from scheduling.rotation.problem import RotationProblem
from scheduling.rules.rows import BoolArray, IntArray

from .blocks import stacked
from .excess import Excess
from .rules import seat_rows, use_rows
from .shares import level_block, levels, received, share_base, share_block, share_ceiling
from .uses import Uses, excess_of, lifted_seats, lifted_uses, links, one_evening, priced


@dataclass(frozen=True, kw_only=True)
class PlanModel:
    """maximise some whole-number objective subject to lower ≤ A z ≤ upper, 0 ≤ z ≤ 1.

    The last column, the worst-served member's share, lies between 0 and ``share_ceiling``.

    ``matrix`` has shape (rows, columns), whole numbers throughout. ``fixed`` of shape
    (columns,) marks what bookings fix at 1. ``use_of_seat`` gives each seat's use column. The
    last of the ``use_count`` columns are steps of ``excess``, bought rather than used.
    The objectives have shape (columns,).
    """

    matrix: sparse.csr_matrix
    lower: NDArray[np.float64]
    upper: NDArray[np.float64]
    fixed: BoolArray
    seat_count: int
    use_count: int
    excess: Excess
    use_of_seat: IntArray
    sits: IntArray
    points: IntArray
    quality: IntArray
    worth: IntArray
    kept: IntArray
    blend: IntArray
    share: IntArray
    share_ceiling: int
    share_base: IntArray
    received: IntArray
    own_quality: sparse.csr_matrix
    member_of_seat: IntArray
    stand_of_seat: IntArray
    member_of_level: IntArray
    level_number: IntArray
    conflicts: tuple[LockedConflict, ...]

    @property
    def column_count(self) -> int:
        return int(self.matrix.shape[1])

    def point(self, taken: BoolArray) -> NDArray[np.float64]:
        """All columns for the seats ``taken``, shape (seats,): their uses, levels and share."""
        point = np.zeros(self.column_count)
        point[: self.seat_count] = taken
        point[self.use_of_seat[taken]] = 1
        first = self.seat_count + self.use_count
        steps = first - len(self.excess.stand_of_step)
        point[steps:first] = self.excess.steps_of(point[self.seat_count : steps])
        sits = np.bincount(
            self.member_of_seat,
            weights=taken * self.sits[: self.seat_count],
            minlength=len(self.share_base),
        )
        point[first:-1] = self.level_number <= sits[self.member_of_level]
        having = np.unique(self.member_of_seat)
        quality = (self.own_quality @ point + self.received)[having]
        point[-1] = np.min(quality / self.share_base[having], initial=self.share_ceiling)
        return point


def build(problem: RotationProblem, seats: Candidates) -> PlanModel:
    """The model of ``problem`` over its candidate ``seats``."""
    uses = Uses.of(problem, seats)
    members, numbers = levels(problem, seats)
    excess = excess_of(problem, seats, uses)
    steps = len(excess.stand_of_step)
    first_level = len(seats) + len(uses.stand) + steps
    conflicts: list[LockedConflict] = list(_not_offered(problem))
    blocks = [
        lifted_uses(problem, seats, uses, rows, conflicts) for rows in use_rows(problem, seats)
    ]
    blocks += [
        lifted_seats(problem, seats, uses, rows, conflicts) for rows in seat_rows(problem, seats)
    ]
    blocks.append(links(problem, seats, uses))
    blocks.append(one_evening(problem, seats, uses))
    blocks.append(priced(excess, seats, uses))
    blocks.append(level_block(problem, seats, members, first_level))
    own_quality, shares = share_block(problem, seats, first_level + len(members))
    blocks.append(shares)
    columns = first_level + len(members) + 1
    matrix, lower, upper = stacked(blocks, columns)
    price = np.zeros(columns, dtype=np.int64)
    price[first_level - steps : first_level] = problem.excess_price
    priority = np.array([m.priority_points for m in problem.members], dtype=np.int64)[members]
    sit_points = problem.first_sit_points + 1 - numbers + priority
    return PlanModel(
        matrix=matrix,
        lower=lower,
        upper=upper,
        fixed=_padded(seats.locked, uses.locked, columns).astype(np.bool_),
        seat_count=len(seats),
        use_count=len(uses.stand) + steps,
        excess=excess,
        use_of_seat=uses.of_seat + len(seats),
        sits=_padded(seats.counts, None, columns),
        points=_on_levels(sit_points, first_level, columns),
        quality=_padded(seats.quality, None, columns) - price,
        worth=_padded(seats.worth, None, columns),
        kept=_padded(seats.published, None, columns),
        blend=_padded(seats.quality, None, columns)
        + _on_levels(np.maximum(1400 - 100 * numbers, 100) + 100 * priority, first_level, columns)
        - price,
        share=_padded(np.zeros(columns - 1), np.ones(1), columns),
        share_ceiling=share_ceiling(problem, seats),
        share_base=share_base(problem),
        received=received(problem),
        own_quality=own_quality,
        member_of_seat=seats.member,
        stand_of_seat=seats.stand,
        member_of_level=members,
        level_number=numbers,
        conflicts=tuple(conflicts),
    )


def _not_offered(problem: RotationProblem) -> Iterator[LockedConflict]:
    for seat in problem.locked:
        if seat.stand_id not in problem.open_stands_in.get(seat.session, frozenset()):
            yield locked_conflict(problem, NOT_OFFERED_CODE, [seat])


def _padded(
    on_seats: NDArray[np.generic], on_uses: NDArray[np.generic] | None, columns: int
) -> IntArray:
    values = np.zeros(columns, dtype=np.int64)
    values[: len(on_seats)] = on_seats
    if on_uses is not None:
        values[len(on_seats) : len(on_seats) + len(on_uses)] = on_uses
    return values


def _on_levels(values: IntArray, first_level: int, columns: int) -> IntArray:
    padded = np.zeros(columns, dtype=np.int64)
    padded[first_level : first_level + len(values)] = values
    return padded
