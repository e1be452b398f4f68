"""The planning problem of a group of properties, from what is stored."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import Count, Sum
from django.db.models.functions import Coalesce

from properties.land import settings as layered_settings
from properties.land.models import Property
from properties.people.models import Member
from properties.sessions.kinds import SessionKey, SessionKind
from scheduling.rotation.problem import (
    Exclusion,
    Outlook,
    PlanMember,
    PlanProperty,
    PlanStand,
    RotationProblem,
    Seat,
)
from scheduling.rotation.settings import RotationSettings
from scheduling.rotation.stand_quality import Seen, quality_percent
from scheduling.rules.facts import SitProposal
from scheduling.rules.judge import CandidateFilter, stand_refusals
from scheduling.rules.settings import HouseRuleSettings
from scheduling.rules.snapshot import monday_of
from scheduling.sits.facts_queries import SitFacts, sit_facts
from scheduling.sits.models import Sit, SitOrigin, SitReport, SitRequest, SitSpan, SitState
from scheduling.sits.uses_queries import sessions_of_sit

SIGHTING_DAYS = 60
SEASON_DAYS = 200
STANDING = (SitState.BOOKED, SitState.CHECKED_IN)


@dataclass(frozen=True, kw_only=True)
class Gathered:
    """The problem, the settings it was built with, and the sits behind its seats."""

    problem: RotationProblem
    settings: RotationSettings
    movable: Mapping[Seat, Sit]
    facts: SitFacts


@dataclass(frozen=True, kw_only=True)
class _Window:
    first_on: date
    last_on: date
    sessions: tuple[SessionKey, ...]


def gather(*, lands: Sequence[Property], first_on: date, last_on: date, now: datetime) -> Gathered:
    """The problem of ``lands`` (with their cooperative) for local dates, both included.

    Bookings by people, whoever is checked in, and what lies within the freeze horizon are
    locked. What an earlier plan placed and is still to come may be moved, at a price.
    """
    settings = layered_settings.resolve(RotationSettings, lands[0].cooperative.settings)
    window = _Window(
        first_on=first_on, last_on=last_on, sessions=tuple(_sessions(first_on, last_on))
    )
    requests = _requests(lands, window)
    standing = _standing_sits(lands, window)
    persons = {row.person_id for row in requests} | {sit.person_id for sit in standing}
    facts = sit_facts(lands=lands, first_on=first_on, last_on=last_on, person_ids=persons, now=now)
    frozen_until = now + timedelta(days=settings.freeze_days)
    movable = {
        _seat(sit, session): sit
        for sit in standing
        for session in sessions_of_sit(sit)
        if _is_movable(sit, frozen_until)
    }
    locked = [
        _seat(sit, session)
        for sit in standing
        for session in sessions_of_sit(sit)
        if not _is_movable(sit, frozen_until)
    ]
    halves = [
        _seat(sit, SessionKey(sit.local_date, SessionKind.EVENING))
        for sit in standing
        if sit.span == SitSpan.ALL_DAY
    ]
    problem = RotationProblem(
        members=tuple(_members(lands, requests, locked, movable, facts, window, now)),
        stands=tuple(_stands(lands, facts)),
        properties=tuple(_properties(lands, facts)),
        sessions=window.sessions,
        outlooks=tuple(_outlooks(facts, window)),
        exclusions=tuple(_exclusions(facts, window)),
        uses_outside=tuple(
            use for use in facts.booking.uses if not first_on <= use.session.local_date <= last_on
        ),
        locked=tuple(locked),
        evening_halves=tuple(half for half in halves if half in set(locked)),
        published=tuple(movable) if movable else None,
        same_wind_cap=_house(facts).same_wind_cap,
        same_wind_window_days=_house(facts).same_wind_window_days,
        stability_share=settings.stability_share,
    )
    return Gathered(problem=problem, settings=settings, movable=movable, facts=facts)


def horizon(land: Property, *, settings: RotationSettings, now: datetime) -> tuple[date, date]:
    """Local dates from tomorrow on, as far as the settings plan."""
    today = now.astimezone(ZoneInfo(land.time_zone)).date()
    return today + timedelta(days=1), today + timedelta(days=settings.horizon_days)


def _sessions(first_on: date, last_on: date) -> Iterable[SessionKey]:
    for number in range((last_on - first_on).days + 1):
        for kind in (SessionKind.MORNING, SessionKind.EVENING):
            yield SessionKey(first_on + timedelta(days=number), kind)


def _requests(lands: Sequence[Property], window: _Window) -> list[SitRequest]:
    return list(
        SitRequest.objects.filter(
            property__in=lands,
            withdrawn_at=None,
            first_on__lte=window.last_on,
            last_on__gte=window.first_on,
            person__retired_at=None,
        ).order_by("id")
    )


def _standing_sits(lands: Sequence[Property], window: _Window) -> list[Sit]:
    return list(
        Sit.objects.filter(
            property__in=lands,
            state__in=STANDING,
            local_date__range=(window.first_on, window.last_on),
        )
        .select_related("stand", "person", "property__cooperative")
        .order_by("id")
    )


def _is_movable(sit: Sit, frozen_until: datetime) -> bool:
    return (
        sit.origin == SitOrigin.ROTATION
        and sit.state == SitState.BOOKED
        and not sit.lock_reason
        and sit.starts_at >= frozen_until
    )


def _seat(sit: Sit, session: SessionKey) -> Seat:
    return Seat(str(sit.person_id), str(sit.stand_id), session)


def _members(
    lands: Sequence[Property],
    requests: Sequence[SitRequest],
    locked: Sequence[Seat],
    movable: Mapping[Seat, Sit],
    facts: SitFacts,
    window: _Window,
    now: datetime,
) -> Iterable[PlanMember]:
    wishes: dict[UUID, list[SitRequest]] = defaultdict(list)
    for request in requests:
        wishes[request.person_id].append(request)
    booked: dict[str, int] = defaultdict(int)
    for seat in locked:
        booked[seat.member_id] += 1
    persons = {str(person) for person in wishes} | booked.keys() | {s.member_id for s in movable}
    entitlement = dict(
        Member.objects.filter(person_id__in=[UUID(one) for one in persons]).values_list(
            "person_id", "entitlement_weight"
        )
    )
    received = _received(lands, [UUID(person) for person in persons], now)
    filtered = CandidateFilter(facts=facts.booking, limits_of=lambda stand: facts.limits[stand])
    house = _house(facts)
    for person_id in sorted(persons):
        own = wishes.get(UUID(person_id), [])
        asked = min(sum(request.wanted_sits for request in own), len(window.sessions))
        places = tuple(sorted({str(request.property_id) for request in own}))
        yield PlanMember(
            id=person_id,
            sits_requested=max(asked, booked[person_id]),
            available=tuple(_available(person_id, own, facts, filtered, window)),
            properties=places,
            sits_per_day=house.sits_a_day,
            sits_a_week=house.weekly_sits,
            sits_held_by_week=_held_by_week(facts, person_id, window),
            preference_percent=_preference(own, facts),
            entitlement=entitlement.get(UUID(person_id), 1),
            received_quality=received.get(person_id, 0),
        )


def _available(
    person_id: str,
    requests: Sequence[SitRequest],
    facts: SitFacts,
    filtered: CandidateFilter,
    window: _Window,
) -> Iterable[SessionKey]:
    """Sessions asked for in which no rule that looks at the person objects."""
    asked = {
        session
        for session in window.sessions
        for request in requests
        if request.first_on <= session.local_date <= request.last_on
        and (not request.kinds or session.kind in request.kinds)
    }
    stand_of = {str(stand.property_id): str(stand.id) for stand in facts.stands.values()}
    places = [
        stand_of[str(request.property_id)]
        for request in requests
        if str(request.property_id) in stand_of
    ]
    for session in sorted(asked, key=lambda key: key.order):
        if any(
            not filtered.people_refusals(
                SitProposal(member_id=person_id, stand_id=stand_id, sessions=(session,))
            )
            for stand_id in places
        ):
            yield session


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


def _received(lands: Sequence[Property], persons: Sequence[UUID], now: datetime) -> dict[str, int]:
    """What the season to date gave each member: fit in percent summed over past sits."""
    rows = (
        Sit.objects.filter(
            property__in=lands,
            person__in=persons,
            state__in=(SitState.CHECKED_OUT, SitState.REPORTED),
            ends_at__range=(now - timedelta(days=SEASON_DAYS), now),
        )
        .values("person_id")
        .annotate(quality=Sum(Coalesce("fit", 0.5)))
    )
    return {str(row["person_id"]): round(100 * row["quality"]) for row in rows}


def _held_by_week(facts: SitFacts, person_id: str, window: _Window) -> tuple[tuple[date, int], ...]:
    """Sits outside the plan's days in the weeks that the plan touches."""
    weeks = {monday_of(session.local_date) for session in window.sessions}
    counts: dict[date, int] = defaultdict(int)
    for use in facts.booking.own_uses(person_id):
        week = monday_of(use.session.local_date)
        outside = not window.first_on <= use.session.local_date <= window.last_on
        if outside and week in weeks and not use.continues_morning:
            counts[week] += 1
    return tuple(sorted(counts.items()))


def _stands(lands: Sequence[Property], facts: SitFacts) -> Iterable[PlanStand]:
    quality = _quality(lands, facts)
    for stand in facts.stands.values():
        if stand.retired_at is None:
            yield PlanStand(
                id=str(stand.id),
                name=stand.name,
                property_id=str(stand.property_id),
                capacity=stand.capacity,
                rest_days=facts.limits[str(stand.id)].house.rest_days,
                quality_percent=quality.get(str(stand.id), 100),
            )


def _quality(lands: Sequence[Property], facts: SitFacts) -> dict[str, int]:
    since = facts.booking.now - timedelta(days=SIGHTING_DAYS)
    rows = (
        SitReport.objects.filter(
            sit__property__in=lands, sit__ends_at__range=(since, facts.booking.now)
        )
        .values("sit__stand_id")
        .annotate(sits=Count("id", distinct=True), deer=Coalesce(Sum("sightings__count"), 0))
    )
    seen = {str(row["sit__stand_id"]): Seen(sits=row["sits"], deer=row["deer"]) for row in rows}
    settings = layered_settings.resolve(RotationSettings, lands[0].cooperative.settings)
    return quality_percent(seen, prior_sits=settings.quality_prior_sits)


def _properties(lands: Sequence[Property], facts: SitFacts) -> Iterable[PlanProperty]:
    for land in lands:
        limits = next(
            (
                facts.limits[str(stand.id)].house
                for stand in facts.stands.values()
                if stand.property_id == land.id
            ),
            _house(facts),
        )
        yield PlanProperty(
            id=str(land.id),
            hunters_a_session=limits.hunters_a_session or None,
            uses_a_week=limits.uses_a_week or None,
        )


def _outlooks(facts: SitFacts, window: _Window) -> Iterable[Outlook]:
    for stand in facts.stands.values():
        if stand.retired_at is not None:
            continue
        for session in window.sessions:
            row = facts.fits.get((stand.id, session))
            if row is None or (stand.property_id, session) not in facts.windows:
                continue
            objections = stand_refusals(
                stand_id=str(stand.id),
                session=session,
                facts=facts.booking,
                limits=facts.limits[str(stand.id)],
            )
            yield Outlook(
                stand_id=str(stand.id),
                session=session,
                fit_percent=round(100 * (row.fit or 0)),
                sector_per_mille=tuple(row.sector_per_mille),
                closed_because=" ".join(refusal.sentence for refusal in objections),
            )


def _exclusions(facts: SitFacts, window: _Window) -> Iterable[Exclusion]:
    live = {str(stand.id) for stand in facts.stands.values() if stand.retired_at is None}
    for pair in facts.booking.exclusions:
        if {pair.stand_id, pair.other_stand_id} <= live:
            yield Exclusion(
                stand_ids=(pair.stand_id, pair.other_stand_id),
                sessions=None if pair.session is None else (pair.session,),
            )


def _house(facts: SitFacts) -> HouseRuleSettings:
    """The house rules of the group's first stand; what is counted over all is set widely."""
    return next((limits.house for limits in facts.limits.values()), HouseRuleSettings())
