"""What the judges of a booking say of one seat more in a plan."""

from collections.abc import Iterator

from properties.sessions.kinds import SessionKey
from scheduling.rotation.guests import cap_refusals
from scheduling.rotation.problem import Outlook, PlanStand, Seat
from scheduling.rules import (
    capacity,
    exclusion,
    member_limits,
    own_claim,
    pressure,
    property_cap,
    rest,
    same_wind,
    weekly_limit,
)
from scheduling.rules.refusal import Refusal
from scheduling.rules.words import session_words

from .laid_out import LaidOutPlan

JOINS_ALL_DAY_CODE = "joins_all_day"


def why_closed(
    plan: LaidOutPlan, stand: PlanStand, session: SessionKey, outlook: Outlook | None
) -> str:
    """Why the stand is not offered to anybody then; empty where it is."""
    if outlook is None:
        return f"No forecast reaches stand {stand.shown_name} in {session_words(session)}."
    if plan.problem.is_open(outlook):
        return ""
    return outlook.closed_because or (
        f"The wind does not suit stand {stand.shown_name} in {session_words(session)}: "
        f"fit {outlook.fit_percent} %, needed {plan.problem.fit_floor_percent} %."
    )


def joins_half_way(
    plan: LaidOutPlan, seat: Seat, stand: PlanStand, going_on: bool
) -> Iterator[Refusal]:
    """An all-day sit of the plan is joined in the evening by nobody but for all day."""
    there = plan.at[stand.id, seat.session]
    bookings = set(plan.problem.evening_halves)
    if any(other in bookings for other in there):
        return
    joined = [other for other in there if (other in plan.halves) != going_on]
    if joined:
        yield Refusal(
            code=JOINS_ALL_DAY_CODE,
            sentence=f"Stand {stand.shown_name} is planned for an all-day sit, and nobody "
            f"comes to it in {session_words(seat.session)} only.",
        )


def refusals_of_place(plan: LaidOutPlan, seat: Seat, stand: PlanStand) -> Iterator[Refusal]:
    member, session = plan.problem.member_by_id[seat.member_id], seat.session
    judged = (
        exclusion.refusal(
            session=session,
            uses=plan.uses_in_session.get(session, []),
            excluded=plan.excluded.get((stand.id, session), {}),
        ),
        capacity.refusal(
            stand_id=stand.id,
            session=session,
            uses=plan.uses_of_stand.get(stand.id, []),
            capacity=stand.capacity,
            hunters=seat.hunters,
        ),
        property_cap.refusal(
            session=session,
            uses_on_property=plan.uses_on_property.get(stand.property_id, []),
            cap=plan.problem.property_by_id[stand.property_id].hunters_a_session,
            hunters=seat.hunters,
        ),
        member_limits.session_refusal(session=session, own_uses=plan.own_uses(member)),
    )
    yield from (refusal for refusal in judged if refusal is not None)
    yield from seated_elsewhere(plan, seat)


def seated_elsewhere(plan: LaidOutPlan, seat: Seat) -> Iterator[Refusal]:
    """A guest of the seat sits elsewhere then, or the member is somebody's guest."""
    others = plan.seats_in(seat.session)
    guests = {guest for other in others for guest in other.guest_ids}
    taken = {person for other in others for person in other.people}
    is_guest = seat.member_id in guests
    if is_guest or taken.intersection(seat.guest_ids):
        who = "You are somebody's guest" if is_guest else "One of these guests has a seat"
        yield Refusal(
            code=own_claim.GUEST_CLAIM.code,
            sentence=f"{who} in {session_words(seat.session)} already; "
            "a guest sits in one stand a session.",
        )


def refusals_of_use(
    plan: LaidOutPlan, seat: Seat, stand: PlanStand, without: SessionKey | None
) -> Iterator[Refusal]:
    """Rules that count uses and sits; a use of the stand in ``without`` is not counted."""
    member, session = plan.problem.member_by_id[seat.member_id], seat.session
    there = [use for use in plan.uses_of_stand.get(stand.id, []) if use.session != without]
    on_property = [
        use
        for use in plan.uses_on_property.get(stand.property_id, [])
        if use.stand_id != stand.id or use.session != without
    ]
    own = plan.own_uses(member)
    cap = plan.problem.same_wind_cap
    judged = (
        rest.refusal(stand_id=stand.id, session=session, uses=there, rest_days=stand.rest_days),
        None
        if cap is None
        else same_wind.refusal(
            stand_id=stand.id,
            session=session,
            sector_per_mille=plan.chances(stand.id, session),
            uses=there,
            cap=cap + stand.same_wind_excess,
            window_days=plan.problem.same_wind_window_days,
        ),
        pressure.planned_refusal(
            session=session,
            uses_on_property=on_property,
            is_used=any(use.session == session for use in there),
            uses_a_week=plan.problem.property_by_id[stand.property_id].uses_a_week,
            property_name="The property",
        ),
        weekly_limit.planned_refusal(
            session=session,
            own_uses=own,
            held_by_week=member.sits_held_by_week,
            weekly_sits=member.sits_a_week,
        ),
        member_limits.day_refusal(session=session, own_uses=own, sits_per_day=member.sits_per_day),
        member_limits.total_refusal(own_uses=own, sits_requested=member.sits_requested),
    )
    yield from (refusal for refusal in judged if refusal is not None)
    yield from cap_refusals(plan.problem, seat, beside=plan.seats)
