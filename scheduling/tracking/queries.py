"""Trackings, trackers and neighbours that an actor may see; who is overdue; sits near a place."""

from collections import Counter
from collections.abc import Collection, Mapping
from datetime import date, datetime, timedelta
from uuid import UUID

from django.db.models import Exists, OuterRef, Q, QuerySet

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.access.scoping import scoped
from properties.land import settings as layered_settings
from properties.land.geodesy import distance_m
from properties.land.local_dates import local_date_on
from properties.land.models import Property
from properties.land.queries import setting_layers
from scheduling.sits.models import Sit, SitState
from scheduling.sits.overdue_ladder import LAST_RUNG, Marks
from scheduling.tracking.models import Neighbour, Tracker, TrackerNotice, Tracking
from scheduling.tracking.settings import TrackingSettings


def settings_of(land: Property) -> TrackingSettings:
    return layered_settings.resolve(TrackingSettings, *setting_layers(land))


def trackings_visible_to(
    *, actor: Actor, action: Action = Action.TRACKING_READ
) -> QuerySet[Tracking]:
    return scoped(Tracking.objects.all(), actor=actor, action=action)


def trackers_visible_to(
    *, actor: Actor, action: Action = Action.TRACKING_READ
) -> QuerySet[Tracker]:
    return scoped(Tracker.objects.all(), actor=actor, action=action, field="tracking__property")


def neighbours_visible_to(
    *, actor: Actor, action: Action = Action.NEIGHBOUR_READ
) -> QuerySet[Neighbour]:
    """A manager's; and, while a deer is tracked, those of its property to who tracks it now."""
    if actor.is_system:
        return Neighbour.objects.all()
    seen = Q(property__in=actor.properties_for(action))
    if actor.person_id is not None:
        mine = tracking_now(person_id=actor.person_id).values("property_id")
        reach = actor.properties_for(Action.TRACKING_READ)
        seen |= Q(property__in=mine) & Q(property__in=reach)
    return Neighbour.objects.filter(seen)


def tracking_now(*, person_id: UUID) -> QuerySet[Tracking]:
    """Open trackings of which the person is the hunter, or for which they are out now."""
    out = Tracker.objects.filter(person=person_id, left_at=None).values("tracking_id")
    return Tracking.objects.filter(Q(hunter=person_id) | Q(id__in=out), ended_at=None)


def unanswered(*, now: datetime) -> QuerySet[Tracker]:
    """Trackers past their time whose ladder nobody answered, also of trackings that ended.

    Whoever is checked in at a stand of the property is asked after by their sit's own ladder,
    at the same time; one question is enough.
    """
    last_rung = TrackerNotice.objects.filter(
        tracker=OuterRef("id"), ladder_number=OuterRef("ladder_number"), rung=LAST_RUNG
    )
    still_seated = Sit.objects.filter(
        person=OuterRef("person"),
        property=OuterRef("tracking__property"),
        state=SitState.CHECKED_IN,
        back_by__gte=OuterRef("back_by"),
    )
    return Tracker.objects.filter(
        ~Exists(last_rung),
        ~Exists(still_seated),
        left_at=None,
        back_by__lt=now,
        acknowledged_at=None,
    )


def marks_of(tracker: Tracker) -> Marks:
    """When each rung of the tracker's present ladder was raised."""
    rows = TrackerNotice.objects.filter(tracker=tracker, ladder_number=tracker.ladder_number)
    return dict(rows.values_list("rung", "raised_at"))


def sits_near(
    *, land: Property, longitude: float, latitude: float, within_m: float, now: datetime
) -> list[tuple[Sit, float]]:
    """Sits still to come today or under way near a place, with their distance, the nearest first.

    Of the whole cooperative: the next stand may lie on the property beside.
    """
    today = local_date_on(land, now)
    rows = Sit.objects.filter(
        Q(state=SitState.CHECKED_IN) | Q(state=SitState.BOOKED, local_date=today, ends_at__gt=now),
        property__cooperative=land.cooperative_id,
    ).select_related("stand", "person", "host", "outfitter", "property")
    found = [
        (sit, float(distance_m(longitude, latitude, sit.stand.longitude, sit.stand.latitude)))
        for sit in rows
    ]
    return sorted(
        ((sit, away_m) for sit, away_m in found if away_m <= within_m),
        key=lambda pair: (pair[1], pair[0].id),
    )


def present_on(property_id: UUID, local_date: date) -> frozenset[UUID]:
    """Ids of those who sit on a property on its local date, or track a deer there right now.

    Whoever has been checked in since the day before is still there past midnight.
    """
    since_yesterday = Q(state=SitState.CHECKED_IN, local_date=local_date - timedelta(days=1))
    seated = Sit.objects.filter(
        Q(local_date=local_date) | since_yesterday, property=property_id
    ).exclude(state__in=[SitState.CANCELLED, SitState.MISSED])
    out = Tracker.objects.filter(tracking__property=property_id, left_at=None, person__isnull=False)
    return frozenset(seated.values_list("person_id", flat=True)) | frozenset(
        person_id for person_id in out.values_list("person_id", flat=True) if person_id
    )


def not_found_between(land: Property, begins_at: datetime, ends_at: datetime) -> Mapping[str, int]:
    """Deer hit and not found that count toward the property's plan, by class."""
    rows = Tracking.objects.filter(
        property=land, counts_toward_plan=True, hit_at__gte=begins_at, hit_at__lt=ends_at
    )
    return Counter(rows.values_list("harvest_class", flat=True))


def not_found_of(
    *, land: Property, person_ids: Collection[UUID], begins_at: datetime, ends_at: datetime
) -> Mapping[UUID, int]:
    """Deer hit and not found that count toward each hunter's own limit."""
    rows = Tracking.objects.filter(
        property=land,
        counts_toward_member=True,
        hunter__in=list(person_ids),
        hit_at__gte=begins_at,
        hit_at__lt=ends_at,
    )
    return Counter(rows.values_list("hunter_id", flat=True))
