"""Uses of stands: their columns, and the rows that the house rules put on seats and uses."""

from dataclasses import dataclass

import numpy as np

from scheduling.rotation.candidates import Candidates
from scheduling.rotation.conflicts import LockedConflict, locked_conflict
from scheduling.rotation.problem import EXCESS_STEP_PER_MILLE, RotationProblem, Seat
from scheduling.rules import exclusion, same_wind
from scheduling.rules.rows import BoolArray, IntArray, SeatRows, UseRows, no_use_rows

from .blocks import Block
from .excess import Excess
from .rules import priced_rows


@dataclass(frozen=True)
class Uses:
    """The uses that seats need: of shape (uses,) but for ``of_seat`` and ``number``."""

    stand: IntArray
    session: IntArray
    of_seat: IntArray
    locked: BoolArray
    number: IntArray

    @classmethod
    def of(cls, problem: RotationProblem, seats: Candidates) -> "Uses":
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


def lifted_uses(
    problem: RotationProblem,
    seats: Candidates,
    uses: Uses,
    rows: UseRows,
    conflicts: list[LockedConflict],
) -> Block:
    """A rule's rows over uses, lifted where bookings break them, which joins ``conflicts``."""
    row_of, weight, column = _use_entries(problem, uses, rows)
    load = np.bincount(
        row_of, weights=weight * uses.locked[column], minlength=len(rows.limit)
    ).astype(np.int64)
    for row in np.flatnonzero(load > rows.limit):
        inside = set(column[row_of == row].tolist())
        locked = [seats.seats[n] for n in np.flatnonzero(seats.locked) if uses.of_seat[n] in inside]
        conflicts.append(locked_conflict(problem, rows.code, locked))
    limit = np.maximum(rows.limit, load).astype(np.float64)
    return Block(row_of, column + len(seats), weight, np.full(len(limit), -np.inf), limit)


def _use_entries(
    problem: RotationProblem, uses: Uses, rows: UseRows
) -> tuple[IntArray, IntArray, IntArray]:
    """Row, weight and use of each entry; a stand is also in the way while a sit goes on there."""
    column = uses.number[rows.stand, rows.session]
    if rows.code != exclusion.CODE:
        return rows.row, rows.weight, column
    going_on = uses.number[rows.stand, rows.session + len(problem.sessions)]
    both = np.concatenate([column, going_on])
    there = both >= 0
    return np.tile(rows.row, 2)[there], np.tile(rows.weight, 2)[there], both[there]


def lifted_seats(
    problem: RotationProblem,
    seats: Candidates,
    uses: Uses,
    rows: SeatRows,
    conflicts: list[LockedConflict],
) -> Block:
    """A rule's rows over seats, lifted where bookings break them, which joins ``conflicts``."""
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
        return Block(rows.row, rows.seat, rows.weight, open_end, limit.astype(np.float64))
    use = uses.number[rows.use_stand, rows.use_session] + len(seats)
    return Block(
        np.concatenate([rows.row, np.arange(len(limit))]),
        np.concatenate([rows.seat, use]),
        np.concatenate([rows.weight, -limit]),
        open_end,
        np.zeros(len(limit)),
    )


def links(problem: RotationProblem, seats: Candidates, uses: Uses) -> Block:
    """A seat needs its use: said seat by seat where a stand takes several hunters."""
    capacity = np.array([stand.capacity for stand in problem.stands], dtype=np.int64)
    shared = np.flatnonzero(capacity[seats.stand] > 1)
    row = np.arange(len(shared))
    ones = np.ones(len(shared), dtype=np.int64)
    return Block(
        np.concatenate([row, row]),
        np.concatenate([shared, uses.of_seat[shared] + len(seats)]),
        np.concatenate([ones, -ones]),
        np.full(len(shared), -np.inf),
        np.zeros(len(shared)),
    )


def excess_of(problem: RotationProblem, seats: Candidates, uses: Uses) -> Excess:
    """What soft same-wind caps tolerate, and at which steps it is bought."""
    rows = next(iter(priced_rows(problem, seats)), no_use_rows(same_wind.CODE))
    return Excess.of(problem, rows, uses.number[rows.stand, rows.session], uses.locked)


def priced(excess: Excess, seats: Candidates, uses: Uses) -> Block:
    """A soft cap holds but for the steps that are bought."""
    entries = excess.matrix.tocoo()
    row, step = np.nonzero(excess.stand_of_row[:, None] == excess.stand_of_step[None, :])
    return Block(
        np.concatenate([entries.row, row]),
        np.concatenate([entries.col, step + len(uses.stand)]) + len(seats),
        np.concatenate([entries.data, np.full(len(row), -EXCESS_STEP_PER_MILLE)]),
        np.full(len(excess.limit), -np.inf),
        excess.limit.astype(np.float64),
    )


def one_evening(problem: RotationProblem, seats: Candidates, uses: Uses) -> Block:
    """Nobody joins a wished all-day sit half-way: its evening is no use anew as well."""
    anew = uses.number[:, : len(problem.sessions)]
    going_on = uses.number[:, len(problem.sessions) :]
    both = (anew >= 0) & (going_on >= 0) if problem.sessions else np.zeros((0, 0), dtype=np.bool_)
    row = np.arange(int(both.sum()))
    return Block(
        np.concatenate([row, row]),
        np.concatenate([anew[both], going_on[both]]) + len(seats),
        np.ones(2 * len(row), dtype=np.int64),
        np.full(len(row), -np.inf),
        np.ones(len(row)),
    )
