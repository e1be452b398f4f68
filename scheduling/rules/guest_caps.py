"""Guests' sits in a season's year stay within the caps for a host and for the property.

Whoever counts as a young hunter that day is no guest by this count.
"""

from collections.abc import Iterator

import numpy as np

from properties.land.years import year_of
from scheduling.rules.facts import SitProposal
from scheduling.rules.limits import Limits
from scheduling.rules.refusal import Refusal
from scheduling.rules.rows import IntArray, SeatRows, grouped_seat_rows
from scheduling.rules.rule import AppliesTo, LooksAt, Objection, Rule
from scheduling.rules.snapshot import BookingFacts

HOST_CAP = Objection(
    code="guests_of_host",
    title="Guests of one host",
    template=(
        "{person} has brought guests to {sits} sits on {property} this season; with this one "
        "they would be {with_these}, and a host may bring {cap}."
    ),
    overrulable=True,
)
PROPERTY_CAP = Objection(
    code="guests_on_property",
    title="Guests on the property",
    template=(
        "Guests have {sits} sits on {property} this season; with this one they would have "
        "{with_these}, and {cap} are allowed."
    ),
    overrulable=True,
)


def judge(proposal: SitProposal, facts: BookingFacts, limits: Limits) -> Iterator[Refusal]:
    day = proposal.local_date
    guests = [guest for guest in proposal.guest_ids if not facts.member(guest).is_youth_on(day)]
    if not guests:
        return
    place = facts.property_of(facts.stand(proposal.stand_id))
    year = year_of(day, first_month=place.year_first_month)
    this_year = [
        host
        for on, host in place.guest_sits
        if year_of(on, first_month=place.year_first_month) == year
    ]
    yield from planned_refusals(
        guests=len(guests),
        sits_of_host=this_year.count(proposal.member_id),
        sits_on_property=len(this_year),
        cap_of_host=limits.house.guest_sits_a_host,
        cap_of_property=limits.house.guest_sits_a_property,
        host_name=facts.member(proposal.member_id).name,
        property_name=place.name,
    )


def planned_refusals(
    *,
    guests: int,
    sits_of_host: int,
    sits_on_property: int,
    cap_of_host: int | None,
    cap_of_property: int | None,
    host_name: str,
    property_name: str,
) -> Iterator[Refusal]:
    """Would ``guests`` more pass a cap, with the sits that guests have in that season's year?

    A cap of None or 0 is none.
    """
    counted = (
        (HOST_CAP, sits_of_host, cap_of_host),
        (PROPERTY_CAP, sits_on_property, cap_of_property),
    )
    for objection, sits, cap in counted:
        with_these = sits + guests
        if guests and cap and with_these > cap:
            named = {"sits": sits, "with_these": with_these, "cap": cap, "property": property_name}
            person = {"person": host_name} if objection is HOST_CAP else {}
            yield objection.refuse(**named, **person)


def rows(
    *,
    seat_host: IntArray,
    seat_property: IntArray,
    seat_year: IntArray,
    seat_guests: IntArray,
    cap_of_host: IntArray,
    cap_of_property: IntArray,
    held: IntArray,
) -> tuple[SeatRows, SeatRows]:
    """A row for each host, and one for each property, that guests could bring beyond a cap.

    The seat arrays have shape (seats,), hosts and properties as numbers; ``seat_guests`` counts
    those who count, none for the evening half of an all-day sit. The caps have shape
    (properties,), 0: none. ``held`` of shape (entries, 4) are property, year, host and sits
    that guests have outside the plan, the host −1 where it is no member of the plan; a limit is
    never below 0.
    """
    hosts = int(seat_host.max(initial=0)) + 1
    years = int(max(seat_year.max(initial=0), held[:, 1].max(initial=0))) + 1
    on_property = seat_property * years + seat_year
    held_on_property = held[:, 0] * years + held[:, 1]
    known = (held[:, 2] >= 0) & (held[:, 2] < hosts)
    return (
        _rows(
            HOST_CAP.code,
            on_property * hosts + seat_host,
            seat_guests,
            cap_of_host[seat_property],
            (held_on_property * hosts + held[:, 2])[known],
            held[known, 3],
        ),
        _rows(
            PROPERTY_CAP.code,
            on_property,
            seat_guests,
            cap_of_property[seat_property],
            held_on_property,
            held[:, 3],
        ),
    )


def _rows(
    code: str,
    group: IntArray,
    guests: IntArray,
    cap: IntArray,
    held_group: IntArray,
    held_sits: IntArray,
) -> SeatRows:
    seat = np.flatnonzero((guests > 0) & (cap > 0))
    groups, place = np.unique(group[seat], return_inverse=True)
    left = np.zeros(len(groups), dtype=np.int64)
    left[place] = cap[seat]
    inside = np.isin(held_group, groups)
    np.subtract.at(left, np.searchsorted(groups, held_group[inside]), held_sits[inside])
    return grouped_seat_rows(
        code,
        seat=seat.astype(np.int64),
        group=place.astype(np.int64),
        weight=guests[seat],
        limit_of_group=np.maximum(left, 0),
    )


RULE = Rule(
    title="Guests within their caps",
    applies_to=AppliesTo.BOTH,
    looks_at=LooksAt.SITS,
    objections=(HOST_CAP, PROPERTY_CAP),
    settings=("house_rules/guest_sits_a_host", "house_rules/guest_sits_a_property"),
    judge=judge,
    one_for_property=True,
)
