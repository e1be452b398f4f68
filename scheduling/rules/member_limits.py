"""A member's own limits: one stand a session, so many sits a day, so many as asked for."""

from collections.abc import Sequence

import numpy as np

from properties.sessions.kinds import SessionKey

from .refusal import Refusal
from .rows import IntArray, SeatRows, grouped_seat_rows
from .uses import Use
from .words import count_words, day_words, session_words

SESSION_CODE = "one_stand_a_session"
DAY_CODE = "daily_limit"
TOTAL_CODE = "requested_total"


def session_refusal(*, session: SessionKey, own_uses: Sequence[Use]) -> Refusal | None:
    """Does the member sit elsewhere in this session? ``own_uses`` are the member's seats."""
    for use in own_uses:
        if use.session == session:
            return Refusal(
                code=SESSION_CODE,
                sentence=f"You already have a seat in {session_words(session)}; "
                "a member sits in one stand a session.",
                facts={"stand_id": use.stand_id},
            )
    return None


def day_refusal(
    *, session: SessionKey, own_uses: Sequence[Use], sits_per_day: int
) -> Refusal | None:
    """Would one more sit exceed the member's limit for that day? All day counts as one."""
    day = session.local_date
    sits = sum(use.session.local_date == day for use in own_uses if not use.continues_morning)
    if sits < sits_per_day:
        return None
    return Refusal(
        code=DAY_CODE,
        sentence=f"The limit is {count_words(sits_per_day, 'sit')} a day, and you have "
        f"{sits} on {day_words(day)}.",
        facts={"sits_per_day": sits_per_day, "sits_that_day": sits},
        overrulable=True,
    )


def total_refusal(*, own_uses: Sequence[Use], sits_requested: int) -> Refusal | None:
    """Has the member as many sits as asked for in this plan?

    Asked of all sits, and of those with the same guests where a member also asks without.
    """
    sits = sum(not use.continues_morning for use in own_uses)
    if sits < sits_requested:
        return None
    return Refusal(
        code=TOTAL_CODE,
        sentence=f"You asked for {count_words(sits_requested, 'sit')} and have {sits}.",
        facts={"sits_requested": sits_requested, "sits": sits},
        overrulable=True,
    )


def rows(
    *,
    seat_member: IntArray,
    seat_session: IntArray,
    seat_sits: IntArray,
    session_day: IntArray,
    sits_per_day: IntArray,
    sits_requested: IntArray,
) -> tuple[SeatRows, SeatRows, SeatRows]:
    """The three limits of all members, rows only where they could bind.

    The seat arrays have shape (seats,); ``seat_sits`` is 0 for the evening half of an
    all-day sit, else 1. ``session_day`` of shape (sessions,) is each session's day as a
    whole number; ``sits_per_day`` and ``sits_requested`` have shape (members,).
    """
    seat = np.arange(len(seat_member), dtype=np.int64)
    sessions = len(session_day)
    days, day = np.unique(session_day, return_inverse=True)
    return (
        grouped_seat_rows(
            SESSION_CODE,
            seat=seat,
            group=seat_member * sessions + seat_session,
            weight=np.ones(len(seat), dtype=np.int64),
            limit_of_group=np.ones(len(sits_per_day) * sessions, dtype=np.int64),
        ),
        grouped_seat_rows(
            DAY_CODE,
            seat=seat,
            group=seat_member * len(days) + day[seat_session],
            weight=seat_sits,
            limit_of_group=np.repeat(sits_per_day, len(days)),
        ),
        grouped_seat_rows(
            TOTAL_CODE,
            seat=seat,
            group=seat_member,
            weight=seat_sits,
            limit_of_group=sits_requested,
        ),
    )


def wish_rows(*, seat_wish: IntArray, seat_sits: IntArray, sits_requested: IntArray) -> SeatRows:
    """As many sits as asked for alone, or with the same guests, of members who ask for both.

    ``seat_wish`` of shape (seats,) numbers such wishes, −1 for everybody else's seats;
    ``sits_requested`` has shape (wishes,).
    """
    seat = np.flatnonzero(seat_wish >= 0).astype(np.int64)
    return grouped_seat_rows(
        TOTAL_CODE,
        seat=seat,
        group=seat_wish[seat],
        weight=seat_sits[seat],
        limit_of_group=sits_requested,
    )
