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
from scheduling.rotation.problem import EXCESS_STEP_PER_MILLE, RotationProblem, Seat
from scheduling.rules import exclusion, same_wind
from scheduling.rules.rows import BoolArray, IntArray, SeatRows, UseRows, no_use_rows

from .excess import Excess
from .rules import priced_rows, seat_rows, use_rows


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


@dataclass(frozen=True)
class _Block:
    row: IntArray
    column: IntArray
    weight: IntArray
    lower: NDArray[np.float64]
    upper: NDArray[np.float64]


def build(problem: RotationProblem, seats: Candidates) -> PlanModel:
    """The model of ``problem`` over its candidate ``seats``."""
    uses = _Uses.of(problem, seats)
    members, numbers = _levels(problem, seats)
    excess = _excess(problem, seats, uses)
    steps = len(excess.stand_of_step)
    first_level = len(seats) + len(uses.stand) + steps
    conflicts: list[LockedConflict] = list(_not_offered(problem))
    blocks = [
        _lifted_uses(problem, seats, uses, rows, conflicts) for rows in use_rows(problem, seats)
    ]
    blocks += [
        _lifted_seats(problem, seats, uses, rows, conflicts) for rows in seat_rows(problem, seats)
    ]
    blocks.append(_links(problem, seats, uses))
    blocks.append(_one_evening(problem, seats, uses))
    blocks.append(_priced(excess, seats, uses))
    blocks.append(_level_block(problem, seats, members, first_level))
    own_quality, shares = _share_block(problem, seats, first_level + len(members))
    blocks.append(shares)
    columns = first_level + len(members) + 1
    matrix, lower, upper = _stacked(blocks, columns)
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
        share_ceiling=_share_ceiling(problem, seats),
        share_base=_share_base(problem),
        received=_received(problem),
        own_quality=own_quality,
        member_of_seat=seats.member,
        stand_of_seat=seats.stand,
        member_of_level=members,
        level_number=numbers,
        conflicts=tuple(conflicts),
    )


@dataclass(frozen=True)
class _Uses:
    stand: IntArray
    session: IntArray
    of_seat: IntArray
    locked: BoolArray
    number: IntArray

    @classmethod
    def of(cls, problem: RotationProblem, seats: Candidates) -> "_Uses":
        """``number`` of shape (stands, 2 × sessions): behind the sessions the evenings of
        wished all-day sits, −1 where there is no use.
        """
        sessions = max(1, 2 * len(problem.sessions))
        place = seats.stand * sessions + seats.use_session
        places, of_seat = np.unique(place, return_inverse=True)
        stand, session = np.divmod(places, sessions)
        number = np.full((len(problem.stands), sessions), -1, dtype=np.int64)
        number[stand, session] = np.arange(len(places))
        locked = np.zeros(len(places), dtype=np.bool_)
        locked[of_seat[seats.locked]] = True
        return cls(stand, session, of_seat.astype(np.int64), locked, number)


def _not_offered(problem: RotationProblem) -> Iterator[LockedConflict]:
    for seat in problem.locked:
        if seat.stand_id not in problem.open_stands_in.get(seat.session, frozenset()):
            yield locked_conflict(problem, NOT_OFFERED_CODE, [seat])


def _levels(problem: RotationProblem, seats: Candidates) -> tuple[IntArray, IntArray]:
    """Member and number of every level a member could reach."""
    count = len(problem.members)
    asked = np.array([member.sits_requested for member in problem.members], dtype=np.int64)
    possible = np.bincount(seats.member, weights=seats.counts, minlength=count).astype(np.int64)
    booked = np.bincount(seats.member, weights=seats.counts * seats.locked, minlength=count).astype(
        np.int64
    )
    levels = np.maximum(np.minimum(asked, possible), booked)
    members = np.repeat(np.arange(count), levels)
    starts = np.repeat(np.cumsum(levels) - levels, levels)
    return members, np.arange(len(members)) - starts + 1


def _lifted_uses(
    problem: RotationProblem,
    seats: Candidates,
    uses: _Uses,
    rows: UseRows,
    conflicts: list[LockedConflict],
) -> _Block:
    row_of, weight, column = _use_entries(problem, uses, rows)
    load = np.bincount(
        row_of, weights=weight * uses.locked[column], minlength=len(rows.limit)
    ).astype(np.int64)
    for row in np.flatnonzero(load > rows.limit):
        inside = set(column[row_of == row].tolist())
        locked = [seats.seats[n] for n in np.flatnonzero(seats.locked) if uses.of_seat[n] in inside]
        conflicts.append(locked_conflict(problem, rows.code, locked))
    limit = np.maximum(rows.limit, load).astype(np.float64)
    return _Block(row_of, column + len(seats), weight, np.full(len(limit), -np.inf), limit)


def _use_entries(
    problem: RotationProblem, uses: _Uses, rows: UseRows
) -> tuple[IntArray, IntArray, IntArray]:
    """Row, weight and use of each entry; a stand is also in the way while a sit goes on there."""
    column = uses.number[rows.stand, rows.session]
    if rows.code != exclusion.CODE:
        return rows.row, rows.weight, column
    going_on = uses.number[rows.stand, rows.session + len(problem.sessions)]
    both = np.concatenate([column, going_on])
    there = both >= 0
    return np.tile(rows.row, 2)[there], np.tile(rows.weight, 2)[there], both[there]


def _lifted_seats(
    problem: RotationProblem,
    seats: Candidates,
    uses: _Uses,
    rows: SeatRows,
    conflicts: list[LockedConflict],
) -> _Block:
    load = np.bincount(
        rows.row, weights=rows.weight * seats.locked[rows.seat], minlength=len(rows.limit)
    ).astype(np.int64)
    for row in np.flatnonzero(load > rows.limit):
        entries = rows.seat[rows.row == row]
        locked: list[Seat] = [seats.seats[n] for n in entries if seats.locked[n]]
        conflicts.append(locked_conflict(problem, rows.code, locked))
    limit = np.maximum(rows.limit, load)
    open_end = np.full(len(limit), -np.inf)
    if rows.use_stand is None or rows.use_session is None:
        return _Block(rows.row, rows.seat, rows.weight, open_end, limit.astype(np.float64))
    use = uses.number[rows.use_stand, rows.use_session] + len(seats)
    return _Block(
        np.concatenate([rows.row, np.arange(len(limit))]),
        np.concatenate([rows.seat, use]),
        np.concatenate([rows.weight, -limit]),
        open_end,
        np.zeros(len(limit)),
    )


def _links(problem: RotationProblem, seats: Candidates, uses: _Uses) -> _Block:
    """A seat needs its use: said seat by seat where a stand takes several hunters."""
    capacity = np.array([stand.capacity for stand in problem.stands], dtype=np.int64)
    shared = np.flatnonzero(capacity[seats.stand] > 1)
    row = np.arange(len(shared))
    ones = np.ones(len(shared), dtype=np.int64)
    return _Block(
        np.concatenate([row, row]),
        np.concatenate([shared, uses.of_seat[shared] + len(seats)]),
        np.concatenate([ones, -ones]),
        np.full(len(shared), -np.inf),
        np.zeros(len(shared)),
    )


def _excess(problem: RotationProblem, seats: Candidates, uses: _Uses) -> Excess:
    rows = next(iter(priced_rows(problem, seats)), no_use_rows(same_wind.CODE))
    return Excess.of(problem, rows, uses.number[rows.stand, rows.session], uses.locked)


def _priced(excess: Excess, seats: Candidates, uses: _Uses) -> _Block:
    """A soft cap holds but for the steps that are bought."""
    entries = excess.matrix.tocoo()
    row, step = np.nonzero(excess.stand_of_row[:, None] == excess.stand_of_step[None, :])
    return _Block(
        np.concatenate([entries.row, row]),
        np.concatenate([entries.col, step + len(uses.stand)]) + len(seats),
        np.concatenate([entries.data, np.full(len(row), -EXCESS_STEP_PER_MILLE)]),
        np.full(len(excess.limit), -np.inf),
        excess.limit.astype(np.float64),
    )


def _one_evening(problem: RotationProblem, seats: Candidates, uses: _Uses) -> _Block:
    """Nobody joins a wished all-day sit half-way: its evening is no use anew as well."""
    anew = uses.number[:, : len(problem.sessions)]
    going_on = uses.number[:, len(problem.sessions) :]
    both = (anew >= 0) & (going_on >= 0) if problem.sessions else np.zeros((0, 0), dtype=np.bool_)
    row = np.arange(int(both.sum()))
    return _Block(
        np.concatenate([row, row]),
        np.concatenate([anew[both], going_on[both]]) + len(seats),
        np.ones(2 * len(row), dtype=np.int64),
        np.full(len(row), -np.inf),
        np.ones(len(row)),
    )


def _level_block(
    problem: RotationProblem, seats: Candidates, members: IntArray, first_level: int
) -> _Block:
    """A member's levels reached are the member's sits."""
    count = len(problem.members)
    return _Block(
        np.concatenate([members, seats.member]),
        np.concatenate([first_level + np.arange(len(members)), np.arange(len(seats))]),
        np.concatenate([np.ones(len(members), dtype=np.int64), -seats.counts]),
        np.zeros(count),
        np.zeros(count),
    )


def _share_base(problem: RotationProblem) -> IntArray:
    return np.array([member.share_base for member in problem.members], dtype=np.int64)


def _received(problem: RotationProblem) -> IntArray:
    return np.array([member.received_quality for member in problem.members], dtype=np.int64)


def _share_ceiling(problem: RotationProblem, seats: Candidates) -> int:
    best = np.bincount(seats.member, weights=seats.worth, minlength=len(problem.members))
    return int(np.max(best + _received(problem), initial=0))


def _share_block(
    problem: RotationProblem, seats: Candidates, share_column: int
) -> tuple[sparse.csr_matrix, _Block]:
    """share × base ≤ quality received and planned, for every member with a candidate seat.

    Also what the seats are worth to their members, as rows of shape (members, columns).
    """
    count = len(problem.members)
    own = sparse.csr_matrix(
        (seats.worth, (seats.member, np.arange(len(seats)))), shape=(count, share_column + 1)
    )
    having = np.flatnonzero(np.bincount(seats.member, minlength=count) > 0)
    row_of = np.full(count, -1, dtype=np.int64)
    row_of[having] = np.arange(len(having))
    block = _Block(
        np.concatenate([row_of[having], row_of[seats.member]]),
        np.concatenate([np.full(len(having), share_column), np.arange(len(seats))]),
        np.concatenate([_share_base(problem)[having], -seats.worth]),
        np.full(len(having), -np.inf),
        _received(problem)[having].astype(np.float64),
    )
    return own, block


def _stacked(
    blocks: list[_Block], columns: int
) -> tuple[sparse.csr_matrix, NDArray[np.float64], NDArray[np.float64]]:
    starts = np.cumsum([0] + [len(block.upper) for block in blocks])
    row = np.concatenate([b.row + start for b, start in zip(blocks, starts, strict=False)])
    matrix = sparse.csr_matrix(
        (
            np.concatenate([block.weight for block in blocks]),
            (row, np.concatenate([block.column for block in blocks])),
        ),
        shape=(int(starts[-1]), columns),
    )
    lower = np.concatenate([block.lower for block in blocks])
    return matrix, lower, np.concatenate([block.upper for block in blocks])


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
