"""What the facts of a property ask for: errands, inspections that lapse, silent cameras, dates
of the lease. Each has a key of its own, so that the list holds it once."""

import textwrap
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from django.db.models import Max

from properties.land.models import Property
from properties.leases.queries import standing_leases
from properties.stands.models import Stand
from scheduling.errands.models import Errand, ErrandKind, ErrandState
from scheduling.errands.occasions import inspection_lapses_on
from scheduling.worklist.models import AboutKind
from scheduling.worklist.practice import Task
from scrapes.cameras.health_queries import health_of
from scrapes.cameras.models import CameraUnit

ERRAND, INSPECTION, CAMERA, LEASE = "errand", "inspection", "camera", "lease"
_TASK_OF_ERRAND = {
    ErrandKind.REFRESH_SCENT: Task.REFRESH,
    ErrandKind.CHECK_CAMERA: Task.COLLECT_DATA,
    ErrandKind.REPAIR_SCRAPE: Task.BUILD,
    ErrandKind.TRIM: Task.TRIM,
    ErrandKind.INSPECT_STAND: Task.INSPECT,
}
LONGEST_TITLE = 200


@dataclass(frozen=True, kw_only=True)
class Finding:
    """Something to be done by ``due_on`` because a fact asks for it."""

    key: str
    task: Task
    title: str
    due_on: date
    about_kind: AboutKind
    about_id: UUID


def findings_of(land: Property, *, until: date, today: date, now: datetime) -> list[Finding]:
    """Everything that facts ask for up to a local date.

    A thing for which an errand stands open is asked for by the errand alone.
    """
    errands = list(
        Errand.objects.filter(property=land, state=ErrandState.OPEN).order_by("due_on", "id")
    )
    sent_to = {(errand.kind, errand.thing_id) for errand in errands}
    found = [
        *_errands(errands),
        *_inspections(land, today, sent_to),
        *_cameras(land, today, now, sent_to),
        *_leases(land),
    ]
    return [one for one in found if one.due_on <= until]


def origin_of(key: str) -> str:
    """The sort of fact behind a key."""
    return key.partition(":")[0]


def _errands(errands: list[Errand]) -> Iterator[Finding]:
    for errand in errands:
        yield Finding(
            key=f"{ERRAND}:{errand.id}",
            task=_TASK_OF_ERRAND.get(ErrandKind(errand.kind), Task.OTHER),
            title=_shortened(errand.reason),
            due_on=errand.due_on,
            about_kind=AboutKind.ERRAND,
            about_id=errand.id,
        )


def _inspections(land: Property, today: date, sent_to: set[tuple[str, UUID]]) -> Iterator[Finding]:
    for stand in Stand.objects.filter(property=land, retired_at=None).order_by("name", "id"):
        if (ErrandKind.INSPECT_STAND.value, stand.id) in sent_to:
            continue
        lapses_on = inspection_lapses_on(land, stand) or today
        last = stand.last_inspected_on
        yield Finding(
            key=f"{INSPECTION}:{stand.id}:{last or 'never'}",
            task=Task.INSPECT,
            title=_shortened(f"{stand.name}: {_said(last, lapses_on, today)}"),
            due_on=max(lapses_on, today),
            about_kind=AboutKind.STAND,
            about_id=stand.id,
        )


def _said(last: date | None, lapses_on: date, today: date) -> str:
    if last is None:
        return "no inspection is recorded"
    return "the inspection has lapsed" if lapses_on < today else "the inspection lapses"


def _cameras(
    land: Property, today: date, now: datetime, sent_to: set[tuple[str, UUID]]
) -> Iterator[Finding]:
    """Sending cameras that hang and were not heard of as long as the settings allow."""
    hanging = CameraUnit.objects.filter(
        property=land,
        retired_at=None,
        transmits=True,
        deployments__ends_at=None,
        deployments__starts_at__lte=now,
    ).select_related("property__cooperative")
    for camera in hanging.order_by("name", "id").distinct():
        if (ErrandKind.CHECK_CAMERA.value, camera.id) in sent_to:
            continue
        report = health_of(camera=camera, now=now)
        quiet = next((one for one in report.health.findings if one.code == "no_heartbeat"), None)
        if quiet is None or report.deployment is None:
            continue
        last = camera.statuses.filter(reported_at__lte=now).aggregate(at=Max("reported_at"))["at"]
        heard = max(filter(None, (last, report.deployment.starts_at)))
        yield Finding(
            key=f"{CAMERA}:{camera.id}:{heard:%Y-%m-%dT%H:%M}",
            task=Task.COLLECT_DATA,
            title=_shortened(f"{camera.name}: {quiet.sentence}"),
            due_on=today,
            about_kind=AboutKind.CAMERA,
            about_id=camera.id,
        )


def _leases(land: Property) -> Iterator[Finding]:
    for lease in standing_leases(property_id=land.id):
        for what, on, title in (
            ("notice", lease.renewal_notice_on, "Last day to give notice of renewing the lease"),
            ("insurance", lease.insured_until, "The insurance on file for the lease ends"),
            ("end", lease.last_on, "The lease ends"),
        ):
            if on is not None:
                yield Finding(
                    key=f"{LEASE}:{lease.id}:{what}:{on}",
                    task=Task.RENEW_LEASE,
                    title=title,
                    due_on=on,
                    about_kind=AboutKind.LEASE,
                    about_id=lease.id,
                )


def _shortened(text: str) -> str:
    """The text where it is short enough, or as many whole words of it as a title holds."""
    return textwrap.shorten(text, LONGEST_TITLE, placeholder=" …")
