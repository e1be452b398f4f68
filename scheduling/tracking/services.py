"""Open a tracking, say what came of it, and count what was not found by the house's rule."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.api.problems import WrongOrder
from coop.audit import writing
from coop.outbox import services as outbox
from properties.land.geodesy import distance_m
from properties.land.models import Property
from scheduling.sits.harvest_plan_services import recount
from scheduling.sits.harvest_services import add_harvest
from scheduling.sits.harvest_years import season_year_of, season_year_span
from scheduling.sits.life_services import locked_own, shown_clock
from scheduling.sits.models import Harvest, Sit, SitState
from scheduling.tracking import notices, queries
from scheduling.tracking.models import Outcome, Tracking
from scheduling.tracking.problems import AlreadyTracked

TRACKING_OPENED = "tracking.opened"
TRACKING_ENDED = "tracking.ended"

_FROM = (SitState.CHECKED_IN, SitState.CHECKED_OUT, SitState.REPORTED)


@transaction.atomic
def open_tracking(*, actor: Actor, sit: Sit, fields: Mapping[str, Any], now: datetime) -> Tracking:
    """Say that a deer was hit from a sit and not found; hunters near the place are told at once.

    The hunter, their host or a manager. The stand rests as after any disturbing sit. Raises
    :class:`WrongOrder` for a sit that nobody checked in, :class:`AlreadyTracked` where the same
    hit is being followed, ``ValidationError`` by field.
    """
    actor.require(Action.TRACKING_JOIN, sit.property_id)
    sit = locked_own(actor, sit)
    if sit.state not in _FROM or sit.checked_in_at is None:
        raise WrongOrder("Only from a sit that was checked in; check in with the true time first.")
    _check_hit_at(sit, fields["hit_at"], now)
    _check_not_open(sit, fields["hit_at"])
    land = sit.property
    _check_place(sit, fields["longitude"], fields["latitude"])
    near = _near(land, sit, fields["longitude"], fields["latitude"], now)
    tracking = Tracking(
        property=land,
        sit=sit,
        hunter=sit.person,
        opened_at=now,
        told_sits=[str(each.id) for each, _away_m in near],
        **fields,
    )
    writing.create(tracking, actor=actor, action=Action.TRACKING_JOIN, now=now, property_id=land.id)
    _change_sit(actor, sit, now)
    notices.tell_nearby(tracking, near, now=now)
    _publish(TRACKING_OPENED, tracking, now)
    return tracking


@transaction.atomic
def change_tracking(
    *, actor: Actor, tracking: Tracking, changes: Mapping[str, Any], now: datetime
) -> Tracking:
    """Say where the deer was last seen now; hunters near the new place are told as well."""
    require_in_charge(actor, tracking)
    _require_open(tracking)
    longitude = changes.get("longitude", tracking.longitude)
    latitude = changes.get("latitude", tracking.latitude)
    _check_place(tracking.sit, longitude, latitude)
    near = [
        (sit, away_m)
        for sit, away_m in _near(tracking.property, tracking.sit, longitude, latitude, now)
        if str(sit.id) not in tracking.told_sits
    ]
    told = [*tracking.told_sits, *(str(sit.id) for sit, _away_m in near)]
    _change(actor, tracking, {**changes, "told_sits": told}, now)
    notices.tell_nearby(tracking, near, now=now)
    return tracking


@transaction.atomic
def end_tracking(
    *,
    actor: Actor,
    tracking: Tracking,
    outcome: Outcome,
    remarks: str,
    deer: Mapping[str, Any],
    now: datetime,
) -> Tracking:
    """Say what came of it: recovered (``deer`` becomes the harvest), not found, seen again.

    A deer not found counts toward plan and member as the house's settings say now; a recovered
    one by its harvest, so that the tracking itself keeps that it counts for neither. Those who
    were told are told that it is over. Whoever is still on foot is asked after all the same.
    """
    tracking = locked(tracking)
    require_in_charge(actor, tracking)
    _require_open(tracking)
    settings = queries.settings_of(tracking.property)
    is_lost = outcome == Outcome.NOT_FOUND
    changes: dict[str, Any] = {
        "ended_at": now,
        "outcome": outcome,
        "outcome_remarks": remarks,
        "counts_toward_plan": is_lost and settings.not_found_counts,
        "counts_toward_member": is_lost and settings.not_found_counts_for_member,
        "harvest": None,
    }
    if outcome == Outcome.RECOVERED:
        changes["harvest"] = _harvest(actor, tracking, deer, now)
    elif deer:
        raise ValidationError({"deer": "Belongs to a deer that was recovered."})
    _change(actor, tracking, changes, now)
    if tracking.counts_toward_plan:
        recount(
            actor=actor,
            land=tracking.property,
            harvest_class=tracking.harvest_class,
            years=[season_year_of(tracking.hit_at, tracking.property)],
            now=now,
        )
    told = Sit.objects.filter(id__in=tracking.told_sits).select_related(
        "stand", "person", "host", "outfitter", "property"
    )
    notices.tell_over(tracking, told, now=now)
    if outcome != Outcome.SEEN_AGAIN:
        _tell_of_limit(tracking, settings.deer_for_member, now)
    _publish(TRACKING_ENDED, tracking, now)
    return tracking


def counted_for_member(tracking: Tracking) -> int:
    """Deer that count for the hunter on the property in the season's year of the hit."""
    land = tracking.property
    begins_at, ends_at = season_year_span(season_year_of(tracking.hit_at, land), land)
    taken = Harvest.objects.filter(
        property=land,
        person=tracking.hunter_id,
        taken_at__gte=begins_at,
        taken_at__lt=ends_at,
    ).count()
    lost = queries.not_found_of(
        land=land, person_ids=[tracking.hunter_id], begins_at=begins_at, ends_at=ends_at
    )
    return taken + lost.get(tracking.hunter_id, 0)


def locked(tracking: Tracking) -> Tracking:
    """The row with what is shown of it, locked; inside the caller's transaction."""
    Tracking.objects.select_for_update().get(id=tracking.id)
    return Tracking.objects.select_related(
        "property__cooperative", "hunter", "sit__stand", "sit__property__cooperative"
    ).get(id=tracking.id)


def require_in_charge(actor: Actor, tracking: Tracking) -> None:
    """The hunter, the host of one who is a guest, or a manager; raises ``PermissionDenied``."""
    actor.require(Action.TRACKING_JOIN, tracking.property_id)
    if not actor.is_one_of(tracking.hunter_id, tracking.hunter.host_id):
        actor.require(Action.SIT_MANAGE, tracking.property_id)


def _harvest(actor: Actor, tracking: Tracking, deer: Mapping[str, Any], now: datetime) -> Harvest:
    told = {
        "harvest_class": tracking.harvest_class,
        "taken_at": tracking.hit_at,
        "weapon": tracking.sit.weapon,
    }
    return add_harvest(
        actor=actor,
        land=tracking.property,
        person=tracking.hunter,
        sit=tracking.sit,
        fields={**told, **deer},
        now=now,
        followed_from=tracking.hit_at,
    )


def _near(
    land: Property, own: Sit, longitude: float, latitude: float, now: datetime
) -> list[tuple[Sit, float]]:
    found = queries.sits_near(
        land=land,
        longitude=longitude,
        latitude=latitude,
        within_m=queries.settings_of(land).nearby_m,
        now=now,
    )
    return [(sit, away_m) for sit, away_m in found if sit.id != own.id]


def _tell_of_limit(tracking: Tracking, limit: int, now: datetime) -> None:
    counted = counted_for_member(tracking) if limit else 0
    if limit and counted >= limit:
        notices.tell_limit_reached(tracking, counted=counted, limit=limit, now=now)


def _check_hit_at(sit: Sit, hit_at: datetime, now: datetime) -> None:
    if hit_at > now:
        raise ValidationError({"hit_at": "Lies in the future."})
    if sit.checked_in_at is not None and hit_at < sit.checked_in_at:
        when = shown_clock(sit.checked_in_at, sit)
        raise ValidationError({"hit_at": f"Lies before the hunter checked in ({when})."})


def _check_not_open(sit: Sit, hit_at: datetime) -> None:
    # The sit is locked, so two who open it at once stand in line here; the constraint is behind.
    standing = Tracking.objects.filter(sit=sit, hit_at=hit_at, ended_at=None).first()
    if standing is not None:
        raise AlreadyTracked(standing)


def _check_place(sit: Sit, longitude: float, latitude: float) -> None:
    stand, farthest_m = sit.stand, queries.settings_of(sit.property).farthest_m
    away_m = float(distance_m(stand.longitude, stand.latitude, longitude, latitude))
    if away_m > farthest_m:
        told = f"Lies {away_m / 1000:.1f} km from {stand.name}; at most {farthest_m / 1000:g} km."
        raise ValidationError({"longitude": told})


def _require_open(tracking: Tracking) -> None:
    if tracking.ended_at is not None:
        raise WrongOrder("This tracking has ended.")


def _change_sit(actor: Actor, sit: Sit, now: datetime) -> None:
    if sit.tracked_at is None:
        writing.change(
            sit,
            {"tracked_at": now},
            actor=actor,
            action=Action.TRACKING_JOIN,
            now=now,
            property_id=sit.property_id,
        )


def _change(actor: Actor, tracking: Tracking, changes: Mapping[str, Any], now: datetime) -> None:
    writing.change(
        tracking,
        changes,
        actor=actor,
        action=Action.TRACKING_JOIN,
        now=now,
        property_id=tracking.property_id,
    )


def _publish(topic: str, tracking: Tracking, now: datetime) -> None:
    ids = {"tracking": tracking.id, "property": tracking.property_id, "sit": tracking.sit_id}
    outbox.publish(topic=topic, ids=ids, now=now)
