"""The members of a planning problem: their wishes, when they are free, what they had."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from uuid import UUID

from properties.land.models import Property
from properties.people.models import Member
from properties.sessions.kinds import SessionKey, SessionKind
from properties.sessions.windows import SessionWindow
from scheduling.rotation.prime import PercentOn
from scheduling.rotation.problem import PlanMember, Seat
from scheduling.rules.facts import SitProposal
from scheduling.rules.judge import CandidateFilter
from scheduling.rules.settings import HouseRuleSettings
from scheduling.rules.snapshot import monday_of
from scheduling.rules.words import count_words
from scheduling.sits.facts_queries import SitFacts
from scheduling.sits.models import Sit, SitRequest, SitSpan, SitState

SEASON_DAYS = 200
UNKNOWN_FIT = 0.5
ALL_DAY = SitSpan.ALL_DAY.value


@dataclass(frozen=True, kw_only=True)
class PlanWindow:
    """The days of a plan, local dates both included, and their sessions in order."""

    first_on: date
    last_on: date
    sessions: tuple[SessionKey, ...]


def plan_members(
    lands: Sequence[Property],
    requests: Sequence[SitRequest],
    locked: Sequence[Seat],
    going_on: Collection[Seat],
    movable: Mapping[Seat, Sit],
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
    received = _received(lands, [UUID(person) for person in persons], now, percent_on)
    filtered = CandidateFilter(facts=facts.booking, limits_of=lambda stand: facts.limits[stand])
    house = house_rules(facts)
    for person_id in sorted(persons):
        own = wishes.get(UUID(person_id), [])
        asked = min(sum(request.wanted_sits for request in own), len(window.sessions))
        places = tuple(sorted({str(request.property_id) for request in own}))
        by_day = [request for request in own if ALL_DAY in request.kinds]
        by_session = [request for request in own if ALL_DAY not in request.kinds]
        days, objections = _available(person_id, by_day, facts, filtered, window)
        whole = {session.local_date for session in days} - booked_on[person_id]
        free, others = _available(person_id, by_session, facts, filtered, window)
        notice_days = notice_days_of(own)[UUID(person_id)]
        soonest = now + timedelta(days=notice_days)
        in_time = {
            session for session in window.sessions if _begins(facts, own, session) >= soonest
        }
        short = notice_days and len(in_time & {*days, *free}) < len({*days, *free})
        words = (f"You asked for {count_words(notice_days, 'day')} of notice.",) if short else ()
        kept_out[person_id] = tuple(dict.fromkeys((*words, *objections, *others)))
        whole = {day for day in whole if SessionKey(day, SessionKind.MORNING) in in_time}
        free = tuple(session for session in free if session in in_time)
        member = memberships.get(UUID(person_id))
        yield PlanMember(
            id=person_id,
            sits_requested=max(asked, booked[person_id]),
            # A day asked for as a whole is planned as a whole, or not at all.
            available=tuple(session for session in free if session.local_date not in whole),
            all_day_on=tuple(sorted(whole)),
            properties=places,
            sits_per_day=house.sits_a_day,
            sits_a_week=house.weekly_sits,
            sits_held_by_week=_held_by_week(facts, person_id, window),
            preference_percent=_preference(own, facts),
            entitlement=1 if member is None else member.entitlement_weight,
            priority_points=0 if member is None else member.priority_points,
            received_quality=received.get(person_id, 0),
        )


def notice_days_of(requests: Iterable[SitRequest]) -> dict[UUID, int]:
    """The longest notice that each person asked for, in days; 0 for everybody else."""
    found: dict[UUID, int] = defaultdict(int)
    for request in requests:
        found[request.person_id] = max(found[request.person_id], request.notice_days)
    return found


def _begins(facts: SitFacts, own: Sequence[SitRequest], session: SessionKey) -> datetime:
    """When the first of the properties asked for opens its session; far off where none does."""
    windows = [facts.windows.get((request.property_id, session)) for request in own]
    return min(
        (window.approach_from for window in windows if isinstance(window, SessionWindow)),
        default=datetime.max.replace(tzinfo=UTC),
    )


def _available(
    person_id: str,
    requests: Sequence[SitRequest],
    facts: SitFacts,
    filtered: CandidateFilter,
    window: PlanWindow,
) -> tuple[tuple[SessionKey, ...], tuple[str, ...]]:
    """Sessions asked for in which no rule that looks at the person objects, and what objected."""
    asked = {
        session
        for session in window.sessions
        for request in requests
        if request.first_on <= session.local_date <= request.last_on
        and (not request.kinds or ALL_DAY in request.kinds or session.kind in request.kinds)
    }
    a_stand_on = {stand.property_id: str(stand.id) for stand in facts.stands.values()}
    stands = [
        a_stand_on[request.property_id] for request in requests if request.property_id in a_stand_on
    ]
    free: list[SessionKey] = []
    objections: dict[str, None] = {}
    for session in sorted(asked):
        judged = [
            filtered.people_refusals(
                SitProposal(member_id=person_id, stand_id=stand_id, sessions=(session,))
            )
            for stand_id in stands
        ]
        if any(not found for found in judged):
            free.append(session)
        for found in judged:
            objections |= dict.fromkeys(refusal.sentence for refusal in found)
    return tuple(free), tuple(objections)


def _preference(requests: Sequence[SitRequest], facts: SitFacts) -> dict[str, int]:
    """Percent by stand; where stands are named, the others of that property are not wanted."""
    found: dict[str, int] = {}
    named = {request.property_id for request in requests if request.wanted_stands}
    for stand in facts.stands.values():
        if stand.property_id in named:
            found[str(stand.id)] = 0
    for request in requests:
        for stand_id, percent in request.wanted_stands.items():
            if stand_id in found:
                found[stand_id] = max(found[stand_id], int(percent))
    return found


def _received(
    lands: Sequence[Property], persons: Sequence[UUID], now: datetime, percent_on: PercentOn
) -> dict[str, int]:
    """What the season to date gave each member: fit in percent summed over past sits, each
    counted by the class of its day.
    """
    rows = Sit.objects.filter(
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
