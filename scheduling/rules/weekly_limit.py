"""A member holds so many sits in one week, Monday to Sunday; all day counts as one."""

from collections.abc import Iterator, Sequence
from datetime import date

import numpy as np

from properties.sessions.kinds import SessionKey
from scheduling.rules.facts import SitProposal
from scheduling.rules.limits import Limits
from scheduling.rules.refusal import Refusal
from scheduling.rules.rows import IntArray, SeatRows, grouped_seat_rows
from scheduling.rules.rule import AppliesTo, LooksAt, Objection, Rule
from scheduling.rules.snapshot import BookingFacts, monday_of
from scheduling.rules.uses import Use

WEEKLY_LIMIT = Objection(
    code="weekly_limit",
    title="Sits in one week",
    template=(
        "{person} holds {sits} of {weekly_sits} sits allowed in the week of {week:%a %d %b %Y}."
    ),
    overrulable=True,
)


def judge(proposal: SitProposal, facts: BookingFacts, limits: Limits) -> Iterator[Refusal]:
    week = monday_of(proposal.local_date)
    sits = sum(
        not use.continues_morning and monday_of(use.session.local_date) == week
        for use in facts.own_uses(proposal.member_id)
    )
    if sits < limits.house.weekly_sits:
        return
    yield WEEKLY_LIMIT.refuse(
        person=facts.member(proposal.member_id).name,
        sits=sits,
        weekly_sits=limits.house.weekly_sits,
        week=week,
    )


def planned_refusal(
    *,
    session: SessionKey,
    own_uses: Sequence[Use],
    held_by_week: Sequence[tuple[date, int]],
    weekly_sits: int | None,
) -> Refusal | None:
    """Has the member a full week already, counting the plan and what is held outside it?"""
    if weekly_sits is None:
        return None
    week = monday_of(session.local_date)
    sits = dict(held_by_week).get(week, 0) + sum(
        monday_of(use.session.local_date) == week and not use.continues_morning for use in own_uses
    )
    if sits < weekly_sits:
        return None
    return WEEKLY_LIMIT.refuse(person="The member", sits=sits, weekly_sits=weekly_sits, week=week)


def weeks_of(sessions: Sequence[SessionKey]) -> tuple[IntArray, IntArray]:
    """The weeks of the planned sessions and each session's place among them.

    Returns the ordinals of the Mondays, shape (weeks,), and an index into them, (sessions,).
    """
    mondays = np.array([monday_of(key.local_date).toordinal() for key in sessions], dtype=np.int64)
    weeks, week = np.unique(mondays, return_inverse=True)
    return weeks, week.astype(np.int64)


def rows(
    *,
    seat_member: IntArray,
    seat_session: IntArray,
    seat_sits: IntArray,
    session_week: IntArray,
    weekly_sits: IntArray,
    sits_held: IntArray,
) -> SeatRows:
    """A row for each member and week that the candidate seats could overfill.

    The seat arrays have shape (seats,); ``seat_sits`` is 0 for the evening half of an
    all-day sit, else 1. ``session_week`` of shape (sessions,) is as :func:`weeks_of` gives
    it; ``weekly_sits`` has shape (members,). ``sits_held`` of shape (members, weeks) are
    sits outside the plan; a limit is never below 0.
    """
    weeks = sits_held.shape[1]
    left = np.maximum(weekly_sits[:, None] - sits_held, 0)
    return grouped_seat_rows(
        WEEKLY_LIMIT.code,
        seat=np.arange(len(seat_member), dtype=np.int64),
        group=seat_member * weeks + session_week[seat_session],
        weight=seat_sits,
        limit_of_group=left.ravel(),
    )


RULE = Rule(
    title="Sits of a member in a week",
    applies_to=AppliesTo.BOTH,
    looks_at=LooksAt.SITS,
    one_for_property=True,
    objections=(WEEKLY_LIMIT,),
    settings=("house_rules/weekly_sits",),
    judge=judge,
)
