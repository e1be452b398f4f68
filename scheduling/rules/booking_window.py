"""How far ahead, and until when, a session can be booked. Judges bookings only."""

from collections.abc import Iterator
from zoneinfo import ZoneInfo

from scheduling.rules.facts import SitProposal
from scheduling.rules.limits import Limits
from scheduling.rules.refusal import Refusal
from scheduling.rules.rule import AppliesTo, LooksAt, Objection, Rule, at_stand
from scheduling.rules.snapshot import BookingFacts

TOO_FAR_AHEAD = Objection(
    code="too_far_ahead",
    title="Too far ahead",
    template=(
        "{local_date:%a %d %b %Y} is {days_ahead} days ahead; {stand} can be booked "
        "{book_ahead_days} days ahead."
    ),
    overrulable=True,
)
TOO_LATE = Objection(
    code="too_late",
    title="Booked too late",
    template=(
        "Booking {stand} for the {session} of {local_date:%a %d %b %Y} ended "
        "{late_booking_minutes} minutes before the session's start at {starts_at:%H:%M %Z}."
    ),
    overrulable=True,
)
SESSION_OVER = Objection(
    code="session_over",
    title="Session over",
    template=("The {session} of {local_date:%a %d %b %Y} at {stand} ended at {ends_at:%H:%M %Z}."),
)


def judge(proposal: SitProposal, facts: BookingFacts, limits: Limits) -> Iterator[Refusal]:
    stand = facts.stand(proposal.stand_id)
    place = facts.property_of(stand)
    days_ahead = (proposal.local_date - facts.today_at(place)).days
    if days_ahead > limits.house.book_ahead_days:
        yield TOO_FAR_AHEAD.refuse(
            stand=stand.name,
            local_date=proposal.local_date,
            days_ahead=days_ahead,
            book_ahead_days=limits.house.book_ahead_days,
        )
    zone = ZoneInfo(place.time_zone)
    for there in facts.sessions_of(proposal):
        minutes_left = (there.starts_at - facts.now).total_seconds() / 60
        if facts.now >= there.ends_at:
            ends_at = there.ends_at.astimezone(zone)
            yield SESSION_OVER.refuse(**at_stand(stand, there.session), ends_at=ends_at)
        elif minutes_left < limits.house.late_booking_minutes:
            yield TOO_LATE.refuse(
                **at_stand(stand, there.session),
                late_booking_minutes=limits.house.late_booking_minutes,
                starts_at=there.starts_at.astimezone(zone),
            )


RULE = Rule(
    title="The booking window is open",
    applies_to=AppliesTo.BOOKING,
    looks_at=LooksAt.STAND,
    objections=(TOO_FAR_AHEAD, TOO_LATE, SESSION_OVER),
    settings=("house_rules/book_ahead_days", "house_rules/late_booking_minutes"),
    judge=judge,
)
