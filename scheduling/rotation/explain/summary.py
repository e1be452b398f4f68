"""The same reason at many stands, said once: what stood in a wish's way, in short."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from typing import NamedTuple

from properties.sessions.kinds import SessionKey
from scheduling.rotation.conflicts import NOT_OFFERED_CODE
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

from .judged import JOINS_ALL_DAY_CODE

STILL_OPEN_CODE = "still_open"

WORDS = {
    STILL_OPEN_CODE: "no rule stands in the way; it could still be booked",
    NOT_OFFERED_CODE: "the stand is offered to nobody (wind, weather, season or closure)",
    rest.CODE: "the stand rests between two sits",
    same_wind.CODE: "the stand was used on that wind as often as its cap allows",
    exclusion.CODE: "a neighbouring stand is in use",
    capacity.CODE: "somebody else sits there, and the places do not suffice",
    JOINS_ALL_DAY_CODE: "an all-day sit is planned there",
    property_cap.CODE: "the property takes no more hunters in that session",
    pressure.WEEK_BUDGET.code: "the property's uses of that week are spent",
    member_limits.SESSION_CODE: "there is a seat elsewhere in that session",
    member_limits.DAY_CODE: "the sits that one member has in a day are reached",
    member_limits.TOTAL_CODE: "as many sits as asked for are given",
    weekly_limit.WEEKLY_LIMIT.code: "the sits that one member has in a week are reached",
    own_claim.GUEST_CLAIM.code: "somebody of the party sits elsewhere in that session",
    guest_caps.HOST_CAP.code: "the host brings as many guests as one host may",
    guest_caps.PROPERTY_CAP.code: "the property has as many guests as it allows",
}
"""What each rule that an explanation names says of a stand, in short."""

# So many stands are named; more are counted.
_NAMED_AT_MOST = 2


class Hindrance(NamedTuple):
    """One rule that kept somebody from one stand in one session."""

    code: str
    stand_id: str
    stand_name: str
    session: SessionKey


@dataclass(frozen=True, kw_only=True)
class Reason:
    """One rule over all of a wish: at how many ``stands``, and how many ``times``: a stand in
    a session, counted once.
    """

    code: str
    stands: int
    times: int
    sentence: str


def reasons_of(found: Iterable[Hindrance]) -> tuple[Reason, ...]:
    """A reason for each rule: first what could still be booked, then whatever was met most."""
    by_code: dict[str, list[Hindrance]] = defaultdict(list)
    for one in found:
        by_code[one.code].append(one)
    reasons = (_reason(code, met) for code, met in by_code.items())
    return tuple(
        sorted(reasons, key=lambda one: (one.code != STILL_OPEN_CODE, -one.times, one.code))
    )


def _reason(code: str, met: list[Hindrance]) -> Reason:
    names = {one.stand_id: one.stand_name for one in met}
    times = len({(one.stand_id, one.session) for one in met})
    return Reason(
        code=code,
        stands=len(names),
        times=times,
        sentence=f"{_where(sorted(names.values()), times)}: {WORDS[code]}.",
    )


def _where(names: list[str], times: int) -> str:
    stands = " and ".join(names) if len(names) <= _NAMED_AT_MOST else f"{len(names)} stands"
    return f"At {stands}" if times == len(names) else f"At {stands}, {times} times"
