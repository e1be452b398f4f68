"""One stand a person a session: for the member, and for each guest brought along."""

from collections.abc import Iterator

import numpy as np

from scheduling.rules import member_limits
from scheduling.rules.facts import SitProposal
from scheduling.rules.limits import Limits
from scheduling.rules.refusal import Refusal
from scheduling.rules.rows import IntArray, SeatRows, grouped_seat_rows
from scheduling.rules.rule import AppliesTo, LooksAt, Objection, Rule, when
from scheduling.rules.snapshot import BookingFacts

MEMBER_CLAIM = Objection(
    code=member_limits.SESSION_CODE,
    title="One stand a session",
    template="You already have a seat in {session}; a member sits in one stand a session.",
)
GUEST_CLAIM = Objection(
    code="guest_seated_elsewhere",
    title="Guest already has a seat",
    template=(
        "{person} already has a seat in {stand} for the {session} of {local_date:%a %d %b %Y}; "
        "a guest sits in one stand a session."
    ),
)


def judge(proposal: SitProposal, facts: BookingFacts, limits: Limits) -> Iterator[Refusal]:
    own_uses = facts.own_uses(proposal.member_id)
    for session in proposal.sessions:
        refusal = member_limits.session_refusal(session=session, own_uses=own_uses)
        if refusal is not None:
            yield refusal
        for guest_id in proposal.guest_ids:
            guest = facts.member(guest_id)
            for claim in sorted(guest.claims, key=lambda held: held.stand_name):
                if claim.session == session:
                    yield GUEST_CLAIM.refuse(
                        person=guest.name, stand=claim.stand_name, **when(session)
                    )


def guest_rows(*, seat: IntArray, person: IntArray, session: IntArray) -> SeatRows:
    """A row for each guest and session with several seats that would take them there.

    The arrays have shape (entries,): seats, and who sits in them as guest or by themselves, for
    everybody who is a guest in any seat.
    """
    key = person * (int(session.max(initial=0)) + 1) + session
    groups, group = np.unique(key, return_inverse=True)
    return grouped_seat_rows(
        GUEST_CLAIM.code,
        seat=seat,
        group=group.astype(np.int64),
        weight=np.ones(len(seat), dtype=np.int64),
        limit_of_group=np.ones(len(groups), dtype=np.int64),
    )


RULE = Rule(
    title="One stand a person a session",
    applies_to=AppliesTo.BOTH,
    looks_at=LooksAt.SITS,
    objections=(MEMBER_CLAIM, GUEST_CLAIM),
    settings=(),
    judge=judge,
    one_for_property=True,
)
