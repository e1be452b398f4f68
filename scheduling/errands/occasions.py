"""What the calendar asks for on a property: inspections, trimming, cards to be pulled."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import Max, Q

from properties.land import settings as layered_settings
from properties.land.local_dates import local_date_on
from properties.land.models import Property
from properties.land.queries import setting_layers
from properties.sessions.local_time import local_date_of
from properties.stands.models import Stand
from scheduling.errands.models import Errand, ErrandKind, ErrandState
from scheduling.errands.settings import ErrandSettings
from scheduling.rules.settings import HouseRuleSettings
from scrapes.cameras.models import CameraUnit, Deployment


@dataclass(frozen=True, kw_only=True)
class Occasion:
    """Something to be done by ``due_on`` because its time has come round."""

    kind: ErrandKind
    thing: Stand | CameraUnit
    due_on: date
    reason: str
    facts: Mapping[str, Any] = field(default_factory=dict)


def occasions(land: Property, *, now: datetime) -> list[Occasion]:
    """Everything due, or due soon enough to be done on the way, in order of kind and name.

    What was withdrawn rests as long as the settings say; a stand that is retired and a camera
    that hangs nowhere have no occasions.
    """
    settings = layered_settings.resolve(ErrandSettings, *setting_layers(land))
    today = local_date_on(land, now)
    stands = list(Stand.objects.filter(property=land, retired_at=None).order_by("name", "id"))
    found = [
        *_inspections(land, stands, settings, today),
        *_trimming(land, stands, settings, today),
        *_cards(land, settings, today),
    ]
    rests = _withdrawn_since(land, now - timedelta(days=settings.withdrawn_rest_days))
    return [one for one in found if (one.kind.value, one.thing.id) not in rests]


def inspection_lapses_on(land: Property, stand: Stand) -> date | None:
    """The day after which a stand is not offered; None for one never inspected."""
    last = stand.last_inspected_on
    return last and last + timedelta(days=_inspection_interval_days(land, stand))


def _inspection_interval_days(land: Property, stand: Stand) -> int:
    layers = (*setting_layers(land), stand.settings)
    return layered_settings.resolve(HouseRuleSettings, *layers).inspection_interval_days


def _inspections(
    land: Property, stands: Iterable[Stand], settings: ErrandSettings, today: date
) -> Iterator[Occasion]:
    for stand in stands:
        every = _inspection_interval_days(land, stand)
        last = stand.last_inspected_on
        lapses_on = inspection_lapses_on(land, stand) or today
        if today < lapses_on - timedelta(days=settings.inspect_ahead_days):
            continue
        said = (
            "no inspection is recorded"
            if last is None
            else f"last inspected on {last}; after {lapses_on} it is not offered"
        )
        yield Occasion(
            kind=ErrandKind.INSPECT_STAND,
            thing=stand,
            due_on=max(today, lapses_on),
            reason=f"{stand.name}: {said} (every {every} days here). The maker's instructions and "
            "licensed people decide how it is inspected.",
            facts={"last_on": last and last.isoformat(), "every_days": every},
        )


def _trimming(
    land: Property, stands: Iterable[Stand], settings: ErrandSettings, today: date
) -> Iterator[Occasion]:
    if not settings.trim_every_days:
        return
    zone = ZoneInfo(land.time_zone)
    trimmed = _last_done(land, ErrandKind.TRIM)
    for stand in stands:
        done_at = trimmed.get(stand.id)
        last = local_date_of(done_at or stand.created_at, zone)
        due_on = last + timedelta(days=settings.trim_every_days)
        if today < due_on - timedelta(days=settings.ahead_days):
            continue
        said = f"last trimmed on {last}" if done_at else f"put up on {last} and not trimmed since"
        yield Occasion(
            kind=ErrandKind.TRIM,
            thing=stand,
            due_on=max(today, due_on),
            reason=f"{stand.name}: {said} (every {settings.trim_every_days} days here). Look at "
            "lanes and at the way in.",
            facts={"last_on": last.isoformat(), "every_days": settings.trim_every_days},
        )


def _cards(land: Property, settings: ErrandSettings, today: date) -> Iterator[Occasion]:
    zone = ZoneInfo(land.time_zone)
    checked = _last_done(land, ErrandKind.CHECK_CAMERA)
    hanging = (
        Deployment.objects.filter(scrape__property=land, ends_at=None, camera__retired_at=None)
        .select_related("camera", "scrape")
        .annotate(
            pulled_at=Max(
                "camera__statuses__reported_at", filter=Q(camera__statuses__card_pulled=True)
            )
        )
        .order_by("camera__name", "id")
    )
    for row in hanging:
        camera = row.camera
        every = (
            settings.check_sending_camera_every_days
            if camera.transmits
            else settings.check_camera_every_days
        )
        if not every:
            continue
        seen = [row.starts_at, row.pulled_at, checked.get(camera.id)]
        last = local_date_of(max(at for at in seen if at is not None), zone)
        due_on = last + timedelta(days=every)
        if today < due_on - timedelta(days=settings.ahead_days):
            continue
        yield Occasion(
            kind=ErrandKind.CHECK_CAMERA,
            thing=camera,
            due_on=max(today, due_on),
            reason=f"{camera.name} at {row.scrape.name}: nobody has stood there since {last} "
            f"(every {every} days here). Pull the card, see to battery, lens and straps.",
            facts={"last_on": last.isoformat(), "every_days": every},
        )


def _last_done(land: Property, kind: ErrandKind) -> dict[UUID, datetime]:
    done = Errand.objects.filter(property=land, kind=kind, state=ErrandState.DONE)
    rows = done.order_by().values("thing_id").annotate(last=Max("done_at"))
    return {row["thing_id"]: row["last"] for row in rows if row["last"] is not None}


def _withdrawn_since(land: Property, since: datetime) -> set[tuple[str, UUID]]:
    rows = Errand.objects.filter(
        property=land, recurs=True, state=ErrandState.CANCELLED, updated_at__gte=since
    )
    return set(rows.values_list("kind", "thing_id"))
