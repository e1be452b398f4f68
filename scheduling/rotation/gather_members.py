"""The members of a planning problem: their wishes, when they are free, what they had."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta
from uuid import UUID

from properties.land.models import Property
from properties.people.models import Member
from scheduling.rotation.gather_parties import wishes_by_guests
from scheduling.rotation.gather_wishes import PlanWindow, WishReader
from scheduling.rotation.prime import PercentOn
from scheduling.rotation.problem import PlanMember, PlanWish, Seat
from scheduling.rules.settings import HouseRuleSettings
from scheduling.rules.snapshot import monday_of
from scheduling.sits.facts_queries import SitFacts
from scheduling.sits.models import Sit, SitRequest, SitState

SEASON_DAYS = 200
UNKNOWN_FIT = 0.5


def plan_members(
    lands: Sequence[Property],
    requests: Sequence[SitRequest],
    locked: Sequence[Seat],
    going_on: Collection[Seat],
    movable: Iterable[Seat],
    facts: SitFacts,
    window: PlanWindow,
    now: datetime,
    percent_on: PercentOn,
    kept_out: dict[str, tuple[str, ...]],
) -> Iterable[PlanMember]:
    """The members with their wishes; fills ``kept_out`` on the way.

    ``going_on`` are the locked seats that are the evening of an all-day sit.
    """
    wishes: dict[UUID, list[SitRequest]] = defaultdict(list)
    for request in requests:
        wishes[request.person_id].append(request)
    booked: dict[str, int] = defaultdict(int)
    booked_on: dict[str, set[date]] = defaultdict(set)
    for seat in locked:
        booked[seat.member_id] += seat not in going_on
        booked_on[seat.member_id].add(seat.session.local_date)
    persons = {str(person) for person in wishes} | booked.keys() | {s.member_id for s in movable}
    memberships = {
        member.person_id: member
        for member in Member.objects.filter(person_id__in=[UUID(one) for one in persons])
    }
    received = _received(lands, [UUID(person) for person in persons], window, now, percent_on)
    reader = WishReader.of(facts, requests, window, now)
    house = house_rules(facts)
    for person_id in sorted(persons):
        own = wishes.get(UUID(person_id), [])
        read = [
            reader.read(person_id, guests, together, own, booked_on[person_id])
            for guests, together in sorted(wishes_by_guests(own).items())
        ]
        kept_out[person_id] = tuple(dict.fromkeys(note for one in read for note in one.notes))
        by_guests = {one.wish.guest_ids: one.wish for one in read}
        alone = by_guests.pop((), PlanWish(sits_requested=0, available=(), properties=()))
        asked = sum(one.wish.sits_requested for one in read)
        member = memberships.get(UUID(person_id))
        yield PlanMember(
            id=person_id,
            sits_requested=max(asked, booked[person_id]),
            available=alone.available,
            all_day_on=alone.all_day_on,
            properties=alone.properties,
            not_there=alone.not_there,
            not_at=alone.not_at,
            asks=alone.asks,
            preference_percent=alone.preference_percent,
            with_guests=tuple(by_guests.values()),
            sits_per_day=house.sits_a_day,
            sits_a_week=house.weekly_sits,
            sits_held_by_week=_held_by_week(facts, person_id, window),
            entitlement=1 if member is None else member.entitlement_weight,
            priority_points=0 if member is None else member.priority_points,
            received_quality=received.get(person_id, 0),
        )


def _received(
    lands: Sequence[Property],
    persons: Sequence[UUID],
    window: PlanWindow,
    now: datetime,
    percent_on: PercentOn,
) -> dict[str, int]:
    """What the season to date gave each member: fit in percent summed over past sits, each
    counted by the class of its day. Sits within the plan's days are seats of the plan.
    """
    before = Sit.objects.exclude(local_date__range=(window.first_on, window.last_on))
    rows = before.filter(
        property__in=lands,
        person__in=persons,
        state__in=(SitState.CHECKED_OUT, SitState.REPORTED),
        ends_at__range=(now - timedelta(days=SEASON_DAYS), now),
    ).values_list("person_id", "property_id", "local_date", "fit")
    found: dict[str, float] = defaultdict(float)
    for person_id, property_id, day, fit in rows:
        quality = UNKNOWN_FIT if fit is None else fit
        found[str(person_id)] += quality * percent_on(property_id, day)
    return {person_id: round(quality) for person_id, quality in found.items()}


def _held_by_week(
    facts: SitFacts, person_id: str, window: PlanWindow
) -> tuple[tuple[date, int], ...]:
    """Sits outside the plan's days in the weeks that the plan touches."""
    weeks = {monday_of(session.local_date) for session in window.sessions}
    counts: dict[date, int] = defaultdict(int)
    for use in facts.booking.own_uses(person_id):
        week = monday_of(use.session.local_date)
        outside = not window.first_on <= use.session.local_date <= window.last_on
        if outside and week in weeks and not use.continues_morning:
            counts[week] += 1
    return tuple(sorted(counts.items()))


def house_rules(facts: SitFacts) -> HouseRuleSettings:
    """The strictest of each number over the group's stands.

    The plan counts some rules once for all stands; where their settings differ it may be
    stricter than booking, never laxer.
    """
    houses = [limits.house for limits in facts.limits.values()] or [HouseRuleSettings()]
    return replace(
        houses[0],
        same_wind_cap=min(house.same_wind_cap for house in houses),
        same_wind_window_days=max(house.same_wind_window_days for house in houses),
        sits_a_day=min(house.sits_a_day for house in houses),
        weekly_sits=min(house.weekly_sits for house in houses),
    )
