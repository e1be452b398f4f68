"""The planning problem of a group of properties, from what is stored."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from uuid import UUID

from django.db.models import Count, Sum
from django.db.models.functions import Coalesce

from properties.land import settings as layered_settings
from properties.land.local_dates import local_date_on
from properties.land.models import Property
from properties.land.units import UnitSystem
from properties.sessions.kinds import SessionKey, SessionKind
from properties.wind.sectors import SECTOR_NAMES
from scheduling.rotation.gather_arcs import endangering_pairs
from scheduling.rotation.gather_members import house_rules, plan_members
from scheduling.rotation.gather_parties import (
    Party,
    guest_sits_held,
    parties_of,
    plan_guests,
)
from scheduling.rotation.gather_wishes import PlanWindow, asked_on, notice_days_of
from scheduling.rotation.prime import PercentOn, prime_percents
from scheduling.rotation.problem import (
    Exclusion,
    Outlook,
    PlanProperty,
    PlanStand,
    RotationProblem,
    Seat,
)
from scheduling.rotation.settings import RotationSettings
from scheduling.rotation.stand_quality import Seen, quality_percent
from scheduling.rules.catalogue import in_units
from scheduling.rules.dark_days import DARK_DAY
from scheduling.rules.judge import stand_refusals
from scheduling.rules.uses import Use
from scheduling.sits.facts_queries import SitFacts, sit_facts
from scheduling.sits.models import Sit, SitOrigin, SitReport, SitRequest, SitState
from scheduling.sits.uses_queries import COUNTED_STATES, sessions_of_sit

SIGHTING_DAYS = 60


@dataclass(frozen=True, kw_only=True)
class Gathered:
    """The problem, the settings it was built with, and the parties behind its movable seats.

    ``kept_out`` has, for each member, the sentences of the rules that look at the person
    and refused sessions they asked for: an expired paper, a role that ended. ``asked_on`` has,
    for each member, how many sits they asked for on each property.
    """

    problem: RotationProblem
    settings: RotationSettings
    movable: Mapping[Seat, Party]
    facts: SitFacts
    kept_out: Mapping[str, tuple[str, ...]]
    asked_on: Mapping[str, Mapping[str, int]]


def gather(*, lands: Sequence[Property], first_on: date, last_on: date, now: datetime) -> Gathered:
    """The problem of ``lands`` (with their cooperative) for local dates, both included.

    Bookings by people, whoever is checked in or has been there already, and what lies within
    the freeze horizon are locked. What an earlier plan placed and is still to come may be moved,
    at a price.
    """
    settings = layered_settings.resolve(RotationSettings, lands[0].cooperative.settings)
    window = PlanWindow(
        first_on=first_on, last_on=last_on, sessions=tuple(_sessions(first_on, last_on))
    )
    requests = _requests(lands, window)
    standing = _standing_sits(lands, window)
    persons = {row.person_id for row in requests} | {sit.person_id for sit in standing}
    persons |= {UUID(guest_id) for row in requests for guest_id in row.guests}
    percent_on = prime_percents(lands, settings)
    facts = sit_facts(lands=lands, first_on=first_on, last_on=last_on, person_ids=persons, now=now)
    notice = notice_days_of(requests)

    def may_move(party: Party) -> bool:
        days = max(settings.freeze_days, notice[party.sit.person_id])
        return all(_is_movable(sit, now + timedelta(days=days)) for sit in party.everybody)

    parties = parties_of(standing)
    movable = {seat: party for party in parties if may_move(party) for seat in party.seats}
    stay = [party for party in parties if not may_move(party)]
    locked = [seat for party in stay for seat in party.seats]
    going_on = frozenset(seat for party in stay for seat in party.evening_halves)
    kept_out: dict[str, tuple[str, ...]] = {}
    problem = RotationProblem(
        members=tuple(
            plan_members(
                lands, requests, locked, going_on, movable, facts, window, now, percent_on, kept_out
            )
        ),
        stands=tuple(_stands(lands, facts)),
        guests=tuple(plan_guests(requests, parties, facts.booking)),
        properties=tuple(_properties(lands, facts, parties, window)),
        sessions=window.sessions,
        outlooks=tuple(_outlooks(facts, window, percent_on)),
        exclusions=tuple(
            _exclusions(facts, window, [sit for party in stay for sit in party.everybody])
        ),
        uses_outside=tuple(
            _with_a_wind(use)
            for use in facts.booking.uses
            if not first_on <= use.session.local_date <= last_on
        ),
        locked=tuple(locked),
        evening_halves=tuple(going_on),
        # What was planned once and is frozen by now stands in the plan: staying is no change.
        published=(*movable, *locked) if _is_replanned(standing) else None,
        same_wind_cap=house_rules(facts).same_wind_cap,
        same_wind_window_days=house_rules(facts).same_wind_window_days,
        excess_price=settings.same_wind_excess_price,
        stability_share=settings.stability_share,
    )
    return Gathered(
        problem=problem,
        settings=settings,
        movable=movable,
        facts=facts,
        kept_out=kept_out,
        asked_on=asked_on(requests, window),
    )


def horizon(land: Property, *, settings: RotationSettings, now: datetime) -> tuple[date, date]:
    """Local dates from tomorrow on, as far as the settings plan."""
    today = local_date_on(land, now)
    return today + timedelta(days=1), today + timedelta(days=settings.horizon_days)


def _sessions(first_on: date, last_on: date) -> Iterable[SessionKey]:
    for number in range((last_on - first_on).days + 1):
        for kind in (SessionKind.MORNING, SessionKind.EVENING):
            yield SessionKey(first_on + timedelta(days=number), kind)


def _requests(lands: Sequence[Property], window: PlanWindow) -> list[SitRequest]:
    return list(
        SitRequest.objects.filter(
            property__in=lands,
            withdrawn_at=None,
            first_on__lte=window.last_on,
            last_on__gte=window.first_on,
            person__retired_at=None,
        ).order_by("id")
    )


def _standing_sits(lands: Sequence[Property], window: PlanWindow) -> list[Sit]:
    return list(
        Sit.objects.filter(
            property__in=lands,
            state__in=COUNTED_STATES,
            local_date__range=(window.first_on, window.last_on),
        )
        .select_related("stand", "person", "property__cooperative")
        .order_by("id")
    )


def _is_replanned(standing: Sequence[Sit]) -> bool:
    return any(sit.origin == SitOrigin.ROTATION for sit in standing)


def _is_movable(sit: Sit, frozen_until: datetime) -> bool:
    return (
        sit.origin == SitOrigin.ROTATION
        and sit.state == SitState.BOOKED
        and not sit.lock_reason
        and sit.starts_at >= frozen_until
    )


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
                same_wind_excess=facts.limits[str(stand.id)].house.same_wind_excess,
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


def _properties(
    lands: Sequence[Property], facts: SitFacts, parties: Sequence[Party], window: PlanWindow
) -> Iterable[PlanProperty]:
    """Caps by property: the strictest that its stands' settings name, none where none does."""
    places = {place.property_id: place for place in facts.booking.properties}
    days = (window.first_on, window.last_on)
    for land in lands:
        place = places[str(land.id)]
        houses = [
            facts.limits[str(stand.id)].house
            for stand in facts.stands.values()
            if stand.property_id == land.id
        ]
        yield PlanProperty(
            id=str(land.id),
            hunters_a_session=_strictest(house.hunters_a_session for house in houses),
            uses_a_week=_strictest(house.uses_a_week for house in houses),
            guest_sits_a_host=_strictest(house.guest_sits_a_host for house in houses),
            guest_sits_a_property=_strictest(house.guest_sits_a_property for house in houses),
            # Sits that no cap counts leave a draft as it is.
            guest_sits_held=guest_sits_held(place, parties, facts.booking, days)
            if any(house.guest_sits_a_host or house.guest_sits_a_property for house in houses)
            else (),
            year_first_month=place.year_first_month,
        )


def _strictest(caps: Iterable[int]) -> int | None:
    return min((cap for cap in caps if cap), default=None)


def _with_a_wind(use: Use) -> Use:
    """A use of which no wind is known wears on no sector; it still asks for its rest."""
    return use if use.sector_per_mille else replace(use, sector_per_mille=(0,) * len(SECTOR_NAMES))


def _held(facts: SitFacts) -> frozenset[tuple[UUID, SessionKey]]:
    """Stands kept for the waiting list; one with a booking stays offered, as that must stand."""
    held = {(seat.stand_id, session) for seat in facts.held for session in seat.sessions}
    booked = {(sit.stand_id, session) for sit in facts.sits for session in sessions_of_sit(sit)}
    return frozenset(held - booked)


def _outlooks(facts: SitFacts, window: PlanWindow, percent_on: PercentOn) -> Iterable[Outlook]:
    held = _held(facts)
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
            is_held = (stand.id, session) in held
            also = [f"A place in {stand.name} is held for the waiting list."] if is_held else []
            closed, closed_us = (
                " ".join([*(in_units(one, units).sentence for one in objections), *also])
                for units in (UnitSystem.METRIC, UnitSystem.US)
            )
            yield Outlook(
                stand_id=str(stand.id),
                session=session,
                fit_percent=round(100 * (row.fit or 0)),
                sector_per_mille=tuple(row.sector_per_mille),
                share_percent=percent_on(stand.property_id, session.local_date),
                closed_because=closed,
                closed_because_us=closed_us if closed_us != closed else "",
                is_dark_day={refusal.code for refusal in objections} == {DARK_DAY.code}
                and not is_held,
            )


def _exclusions(facts: SitFacts, window: PlanWindow, locked: Sequence[Sit]) -> Iterable[Exclusion]:
    live = {str(stand.id) for stand in facts.stands.values() if stand.retired_at is None}
    for pair in facts.booking.exclusions:
        if {pair.stand_id, pair.other_stand_id} <= live:
            yield Exclusion(
                stand_ids=(pair.stand_id, pair.other_stand_id),
                sessions=None if pair.session is None else (pair.session,),
            )
    yield from endangering_pairs(facts, window.sessions, locked)
