"""A property takes so many hunters in one session."""

from collections.abc import Sequence

import numpy as np

from properties.sessions.kinds import SessionKey

from .refusal import Refusal
from .rows import IntArray, SeatRows, grouped_seat_rows
from .uses import Use
from .words import count_words, session_words

CODE = "property_full"


def refusal(
    *, session: SessionKey, uses_on_property: Sequence[Use], cap: int | None, hunters: int = 1
) -> Refusal | None:
    """Is there room on the property for ``hunters`` more in this session? None sets no cap."""
    if cap is None:
        return None
    there = sum(use.hunters for use in uses_on_property if use.session == session)
    if there + hunters <= cap:
        return None
    return Refusal(
        code=CODE,
        sentence=f"This property takes {count_words(cap, 'hunter')} a session, and "
        f"{there} {'is' if there == 1 else 'are'} booked for {session_words(session)}.",
        facts={"hunters_a_session": cap, "hunters_there": there, "hunters_asked": hunters},
    )


def rows(
    *,
    seat_property: IntArray,
    seat_session: IntArray,
    seat_hunters: IntArray,
    cap: IntArray,
    sessions: int,
) -> SeatRows:
    """A row for each capped property and session that could be overfull.

    The seat arrays have shape (seats,); ``cap`` has shape (properties,), −1 where there is
    none.
    """
    seat = np.flatnonzero(cap[seat_property] >= 0)
    return grouped_seat_rows(
        CODE,
        seat=seat,
        group=seat_property[seat] * sessions + seat_session[seat],
        weight=seat_hunters[seat],
        limit_of_group=np.repeat(cap, sessions),
    )
