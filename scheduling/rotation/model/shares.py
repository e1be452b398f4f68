"""Levels, the l-th sit of each member, and the share of whoever is worst served."""

import numpy as np
from scipy import sparse

from scheduling.rotation.candidates import Candidates
from scheduling.rotation.problem import RotationProblem
from scheduling.rules.rows import IntArray

from .blocks import Block


def levels(problem: RotationProblem, seats: Candidates) -> tuple[IntArray, IntArray]:
    """Member and number of every level a member could reach."""
    count = len(problem.members)
    asked = np.array([member.sits_requested for member in problem.members], dtype=np.int64)
    possible = np.bincount(seats.member, weights=seats.counts, minlength=count).astype(np.int64)
    booked = np.bincount(seats.member, weights=seats.counts * seats.locked, minlength=count).astype(
        np.int64
    )
    reached = np.maximum(np.minimum(asked, possible), booked)
    members = np.repeat(np.arange(count), reached)
    starts = np.repeat(np.cumsum(reached) - reached, reached)
    return members, np.arange(len(members)) - starts + 1


def level_block(
    problem: RotationProblem, seats: Candidates, members: IntArray, first_level: int
) -> Block:
    """A member's levels reached are the member's sits."""
    count = len(problem.members)
    return Block(
        np.concatenate([members, seats.member]),
        np.concatenate([first_level + np.arange(len(members)), np.arange(len(seats))]),
        np.concatenate([np.ones(len(members), dtype=np.int64), -seats.counts]),
        np.zeros(count),
        np.zeros(count),
    )


def share_base(problem: RotationProblem) -> IntArray:
    """What each member's quality is divided by, shape (members,)."""
    return np.array([member.share_base for member in problem.members], dtype=np.int64)


def received(problem: RotationProblem) -> IntArray:
    """Quality of the season to date, shape (members,), in percent."""
    return np.array([member.received_quality for member in problem.members], dtype=np.int64)


def share_ceiling(problem: RotationProblem, seats: Candidates) -> int:
    """No plan lifts the worst-served member's share above this."""
    best = np.bincount(seats.member, weights=seats.worth, minlength=len(problem.members))
    return int(np.max(best + received(problem), initial=0))


def share_block(
    problem: RotationProblem, seats: Candidates, share_column: int
) -> tuple[sparse.csr_matrix, Block]:
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
    block = Block(
        np.concatenate([row_of[having], row_of[seats.member]]),
        np.concatenate([np.full(len(having), share_column), np.arange(len(seats))]),
        np.concatenate([share_base(problem)[having], -seats.worth]),
        np.full(len(having), -np.inf),
        received(problem)[having].astype(np.float64),
    )
    return own, block
