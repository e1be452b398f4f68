"""Places of the harvest plans, kept for those who sit: settled under the property's lock.

Which sit holds a place follows from the plans, what was taken, and who sits when. So it is
worked out whole each time one of them changes, and only what differs is written.
"""

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime, timedelta
from math import inf
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import transaction

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.audit import services as audit
from properties.land.local_dates import local_date_on
from properties.land.models import Property
from properties.land.years import year_of
from scheduling.sits import harvest_notices
from scheduling.sits.harvest_arithmetic import Counted
from scheduling.sits.harvest_models import HarvestPlace
from scheduling.sits.harvest_queries import counted_plans, harvest_settings_of
from scheduling.sits.harvest_sharing import Asking, places_given
from scheduling.sits.limits_queries import sit_settings_of
from scheduling.sits.models import HarvestPlan, Sit, SitState
from scheduling.sits.queries import is_own_sit

_MAY_FILL = (SitState.BOOKED, SitState.CHECKED_IN, SitState.CHECKED_OUT)
_OUT = (SitState.CHECKED_IN, SitState.CHECKED_OUT)
_LONGEST_KEPT = timedelta(days=8)


def lock_land(property_id: UUID) -> Property:
    """The property, locked as a booking locks it: places are given and taken under it alone."""
    return (
        Property.objects.select_for_update(of=("self",), no_key=True)
        .select_related("cooperative")
        .get(id=property_id)
    )


def settle_places(land: Property, *, now: datetime) -> list[HarvestPlace]:
    """Give every sit of a locked property its places; returns those that changed hands.

    A sit that has not begun asks over its window. One that has begun shares with every other
    that has begun, until it is reported, cancelled or missed, or the setting's hours after its
    end: its deer may not be told yet. Whoever is out and holds a place comes first, then
    whoever booked first. Sits that ask for the first time are not among the returned.
    """
    first_month = sit_settings_of(land).season_year_first_month
    kept = HarvestPlan.objects.filter(property=land, places_reserved=True)
    sits = _asking_sits(land, now) if kept.exists() else []
    years = {year_of(sit.local_date, first_month=first_month) for sit in sits}
    plans = list(kept.filter(season_year__in=years).select_related("property__cooperative"))
    known = {
        (place.plan_id, place.sit_id): place
        for place in HarvestPlace.objects.filter(plan__property=land)
    }
    counts = counted_plans(plans)
    changed: list[HarvestPlace] = []
    standing: set[tuple[UUID, UUID]] = set()
    for plan in plans:
        own = [
            sit
            for sit in sits
            if year_of(sit.local_date, first_month=first_month) == plan.season_year
        ]
        standing |= {(plan.id, sit.id) for sit in own}
        changed += _settle_plan(plan, counts[plan.id], own, known, now)
    gone = [place.id for key, place in known.items() if key not in standing]
    if gone:
        HarvestPlace.objects.filter(id__in=gone).delete()
    if sits:
        HarvestPlace.objects.filter(sit__in=sits).exclude(plan__property=land).delete()
    return changed


def _asking_sits(land: Property, now: datetime) -> list[Sit]:
    today = local_date_on(land, now)
    kept = timedelta(hours=harvest_settings_of(land).place_kept_after_sit_h)
    rows = Sit.objects.filter(
        property=land, state__in=_MAY_FILL, local_date__gte=today - _LONGEST_KEPT
    ).select_related("stand", "person", "host", "outfitter", "property")
    return [
        sit
        for sit in rows.order_by("created_at", "id")
        if (until := _may_fill_until(sit, kept)) is None or until > now
    ]


def _settle_plan(
    plan: HarvestPlan,
    counted: Counted,
    sits: Sequence[Sit],
    known: Mapping[tuple[UUID, UUID], HarvestPlace],
    now: datetime,
) -> list[HarvestPlace]:
    places = {
        sit.id: known.get((plan.id, sit.id)) or HarvestPlace(plan=plan, sit=sit) for sit in sits
    }
    asking = [
        _asking(sit, now)
        for sit in sorted(sits, key=lambda sit: not (_has_begun(sit, now) and places[sit.id].held))
        if places[sit.id].wanted
    ]
    given = places_given(asking, left=counted.left)
    changed, new = [], []
    for sit in sits:
        place = places[sit.id]
        is_new = (plan.id, sit.id) not in known
        held, place.held = place.held, sit.id in given
        place.plan, place.sit = plan, sit
        if is_new:
            new.append(place)
        elif held != place.held:
            place.save(update_fields=["held"])
            changed.append(place)
    HarvestPlace.objects.bulk_create(new)
    return changed


def _has_begun(sit: Sit, now: datetime) -> bool:
    """Also a booked sit whose window is open: somebody may be there who forgot to check in."""
    return sit.state in _OUT or now >= sit.starts_at


def _asking(sit: Sit, now: datetime) -> Asking:
    if not _has_begun(sit, now):
        return Asking(key=sit.id, from_s=sit.starts_at.timestamp(), until_s=sit.ends_at.timestamp())
    # From ever: whoever has begun shares with whoever else has, however their windows lie.
    until = now if sit.state == SitState.CHECKED_OUT else max(sit.ends_at, now)
    return Asking(key=sit.id, from_s=-inf, until_s=until.timestamp())


def _may_fill_until(sit: Sit, kept: timedelta) -> datetime | None:
    """When a sit stops asking by itself; None while its hunter is out."""
    if sit.state == SitState.CHECKED_IN:
        return None
    if sit.state == SitState.CHECKED_OUT and sit.checked_out_at is not None:
        return sit.checked_out_at + kept
    return sit.ends_at + kept


@transaction.atomic
def resettle(*, property_id: UUID, now: datetime) -> None:
    """Settle a property's places under its lock, and tell whose changed."""
    harvest_notices.tell_of_places(settle_places(lock_land(property_id), now=now), now)


def places_may_change(ids: Mapping[str, str], now: datetime) -> None:
    """A sit, a deer or a plan changed: the places are settled anew."""
    resettle(property_id=UUID(ids["property"]), now=now)


def class_filled(ids: Mapping[str, str], now: datetime) -> None:
    """A class is filled: whoever is on the land and the managers hear at once, then the rest."""
    resettle(property_id=UUID(ids["property"]), now=now)
    plan = (
        HarvestPlan.objects.filter(id=UUID(ids["plan"]), filled_at__isnull=False)
        .select_related("property__cooperative")
        .first()
    )
    if plan is not None:
        harvest_notices.tell_filled(plan, counted_plans([plan])[plan.id], now)


@transaction.atomic
def want_place(*, actor: Actor, place: HarvestPlace, wanted: bool, now: datetime) -> HarvestPlace:
    """Give up the place of one's own sit, or ask for it again; others may get what is given up.

    Raises ``PermissionDenied``, and ``ValidationError`` where the sit asks no more.
    """
    land = lock_land(place.plan.property_id)
    row = HarvestPlace.objects.filter(id=place.id).select_related("sit", "plan").first()
    if row is None:
        raise ValidationError({"wanted": "The sit is over or given back."})
    if not is_own_sit(actor, row.sit):
        actor.require(Action.SIT_MANAGE, land.id)
    if row.wanted != wanted:
        before = audit.snapshot(row)
        row.wanted, row.held = wanted, row.held and wanted
        row.save(update_fields=["wanted", "held"])
        audit.record(
            actor=actor,
            action=Action.SIT_BOOK,
            target=row,
            now=now,
            property_id=land.id,
            before=before,
        )
        told = [other for other in settle_places(land, now=now) if other.id != row.id]
        harvest_notices.tell_of_places(told, now)
        row.refresh_from_db()
    return row


def settle_all(land_ids: Iterable[UUID], *, now: datetime) -> None:
    """Settle properties that the caller has locked, and tell whose places changed."""
    for land in Property.objects.filter(id__in=land_ids).select_related("cooperative"):
        harvest_notices.tell_of_places(settle_places(land, now=now), now)
