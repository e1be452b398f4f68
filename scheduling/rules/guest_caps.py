"""Guests' sits in a season's year stay within the caps for a host and for the property.

A plan seats no guests, so it has no rows: whoever brings some books.
"""

from collections.abc import Iterator
from datetime import date

from scheduling.rules.facts import PropertyFacts, SitProposal
from scheduling.rules.limits import Limits
from scheduling.rules.refusal import Refusal
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
    this_year = [host for on, host in place.guest_sits if _year(on, place) == _year(day, place)]
    own = this_year.count(proposal.member_id)
    counted = (
        (HOST_CAP, own, limits.house.guest_sits_a_host),
        (PROPERTY_CAP, len(this_year), limits.house.guest_sits_a_property),
    )
    for objection, sits, cap in counted:
        with_these = sits + len(guests)
        if cap and with_these > cap:
            named = {"sits": sits, "with_these": with_these, "cap": cap, "property": place.name}
            person = facts.member(proposal.member_id).name
            yield objection.refuse(**named, **({"person": person} if objection is HOST_CAP else {}))


def _year(day: date, place: PropertyFacts) -> int:
    return day.year if day.month >= place.year_first_month else day.year - 1


RULE = Rule(
    title="Guests within their caps",
    applies_to=AppliesTo.BOOKING,
    looks_at=LooksAt.SITS,
    objections=(HOST_CAP, PROPERTY_CAP),
    settings=("house_rules/guest_sits_a_host", "house_rules/guest_sits_a_property"),
    judge=judge,
)
