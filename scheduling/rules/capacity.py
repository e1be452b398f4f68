"""A stand holds so many hunters in one session."""

from collections.abc import Sequence

import numpy as np

from properties.sessions.kinds import SessionKey

from .refusal import Refusal
from .rows import IntArray, SeatRows
from .uses import Use
from .words import count_words, session_words

CODE = "stand_full"


def refusal(
    *, stand_id: str, session: SessionKey, uses: Sequence[Use], capacity: int, hunters: int = 1
) -> Refusal | None:
    """Is there room for ``hunters`` more (a member and guests) beside those already there?"""
    there = sum(use.hunters for use in uses if use.stand_id == stand_id and use.session == session)
    if there + hunters <= capacity:
        return None
    taken = f" and {there} taken in {session_words(session)}" if there else ""
    return Refusal(
        code=CODE,
        sentence=f"This stand has {count_words(capacity, 'place')}{taken}; "
        f"{count_words(hunters, 'more hunter')} would not fit.",
        facts={"capacity": capacity, "hunters_there": there, "hunters_asked": hunters},
    )


def rows(
    *,
    seat_stand: IntArray,
    seat_session: IntArray,
    seat_hunters: IntArray,
    capacity: IntArray,
    sessions: int,
) -> SeatRows:
    """A row for each stand and session: hunters seated ≤ capacity while it is used.

    The seat arrays have shape (seats,); ``capacity`` has shape (stands,).
    """
    place = seat_stand * sessions + seat_session
    places, row = np.unique(place, return_inverse=True)
    stand, session = np.divmod(places, max(sessions, 1))
    return SeatRows(
        code=CODE,
        row=row.astype(np.int64),
        seat=np.arange(len(place), dtype=np.int64),
        weight=seat_hunters,
        limit=capacity[stand],
        use_stand=stand,
        use_session=session,
    )
