"""Bookings that break a rule among themselves: named, never moved, never thrown."""

from collections.abc import Sequence
from dataclasses import dataclass

from scheduling.rules import (
    capacity,
    exclusion,
    guest_caps,
    member_limits,
    own_claim,
    pressure,
    property_cap,
    rest,
    same_wind,
    weekly_limit,
)
from scheduling.rules.words import session_words

from .problem import RotationProblem, Seat

NOT_OFFERED_CODE = "stand_not_offered"

_BROKEN = {
    rest.CODE: "do not leave the stand its rest",
    same_wind.CODE: "use the stand more often on one wind than its cap allows",
    exclusion.CODE: "use stands that are not used together",
    capacity.CODE: "put more hunters in the stand than it has places",
    property_cap.CODE: "put more hunters on the property than it takes in a session",
    member_limits.SESSION_CODE: "put one member in two stands at once",
    member_limits.DAY_CODE: "exceed the member's limit for a day",
    member_limits.TOTAL_CODE: "are more than the member asked for",
    weekly_limit.WEEKLY_LIMIT.code: "exceed the member's limit for a week",
    pressure.WEEK_BUDGET.code: "use the property more often in a week than it bears",
    own_claim.GUEST_CLAIM.code: "put one guest in two stands at once",
    guest_caps.HOST_CAP.code: "bring more guests than one host may",
    guest_caps.PROPERTY_CAP.code: "bring more guests than the property allows",
    NOT_OFFERED_CODE: "lie on a stand that is not offered then",
}


@dataclass(frozen=True, kw_only=True)
class LockedConflict:
    """Locked seats that together (or with uses outside the plan) break the rule ``code``.

    The plan keeps them and adds nothing more to what they already exceed.
    """

    code: str
    seats: tuple[Seat, ...]
    sentence: str


def locked_conflict(problem: RotationProblem, code: str, seats: Sequence[Seat]) -> LockedConflict:
    ordered = tuple(sorted(seats, key=lambda seat: seat.sort_key))
    named = "; ".join(
        f"{seat.member_id} on {problem.stand_by_id[seat.stand_id].shown_name} in "
        f"{session_words(seat.session)}"
        for seat in ordered
    )
    broken = _BROKEN[code]
    return LockedConflict(code=code, seats=ordered, sentence=f"These bookings {broken}: {named}.")
