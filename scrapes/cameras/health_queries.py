"""What is known of a camera, read for the judgement of its health as of an instant."""

from dataclasses import dataclass
from datetime import UTC, datetime

import numpy as np
from django.db.models import Min, Q

from properties.land import settings as layered_settings
from properties.land.queries import setting_layers
from scrapes.cameras.clock_queries import ClockRows, clock_rows
from scrapes.cameras.evidence import evidence_from, seconds_of
from scrapes.cameras.health import CameraEvidence, CameraHealth, CameraState, camera_health
from scrapes.cameras.models import CameraStatus, CameraUnit, Deployment, Outage
from scrapes.cameras.settings import CameraHealthSettings


@dataclass(frozen=True, kw_only=True)
class CameraReport:
    """A camera's health with where it hangs (None: nowhere yet) and the outage it is in."""

    deployment: Deployment | None
    outage: Outage | None
    pictures: int
    clock: ClockRows
    known_up_to: datetime | None
    health: CameraHealth

    @property
    def battery_empty_at(self) -> datetime | None:
        seconds = self.health.empty_s
        return None if seconds is None else datetime.fromtimestamp(seconds, UTC)


def health_of(*, camera: CameraUnit, now: datetime) -> CameraReport:
    """Judge a camera in its latest deployment, with what was known at ``now``."""
    deployment = (
        camera.deployments.filter(starts_at__lte=now)
        .select_related("scrape")
        .order_by("-starts_at")
        .first()
    )
    if deployment is None:
        unknown = CameraHealth(
            camera=str(camera.id), state=CameraState.UNKNOWN, findings=(), empty_s=None
        )
        return CameraReport(
            deployment=None,
            outage=None,
            pictures=0,
            clock=ClockRows(),
            known_up_to=None,
            health=unknown,
        )
    evidence = evidence_of(deployment=deployment, camera=camera, now=now)
    settings = layered_settings.resolve(CameraHealthSettings, *setting_layers(camera.property))
    known_s = evidence.known_up_to_s
    return CameraReport(
        deployment=deployment,
        outage=_outage_at(deployment, now),
        pictures=len(evidence.trigger_s),
        clock=ClockRows(
            outside=evidence.rows_outside,
            daylight=evidence.daylight_pictures,
            daylight_at_night=evidence.daylight_at_night,
        ),
        known_up_to=None if known_s is None else datetime.fromtimestamp(known_s, UTC),
        health=camera_health(evidence, now_s=seconds_of(now), settings=settings),
    )


def evidence_of(*, deployment: Deployment, camera: CameraUnit, now: datetime) -> CameraEvidence:
    """Pictures, reports and readings of one deployment up to ``now``.

    A card tells about its deployment even when it is pulled after the end. A sending camera is
    known up to its last report; either kind at least up to its last picture.
    """
    pictures = np.fromiter(
        (
            seconds_of(at)
            for at in deployment.observations.filter(observed_at__lte=now)
            .values_list("observed_at", flat=True)
            .iterator(chunk_size=20_000)
        ),
        dtype=np.int64,
    )
    statuses = _statuses(deployment, camera, now)
    clock = clock_rows([camera.property], [deployment], now=now).get(deployment.id, ClockRows())
    return evidence_from(
        deployment,
        called=str(camera.id),
        trigger_s=pictures,
        statuses=statuses,
        clock=clock,
        picture_lasts_s=0,
        now=now,
    )


def _statuses(deployment: Deployment, camera: CameraUnit, now: datetime) -> list[CameraStatus]:
    """Readings since the camera was hung, until it was hung elsewhere; oldest first."""
    moved_at = camera.deployments.filter(starts_at__gt=deployment.starts_at).aggregate(
        first=Min("starts_at")
    )["first"]
    rows = camera.statuses.filter(reported_at__gte=deployment.starts_at, reported_at__lte=now)
    if moved_at is not None:
        rows = rows.filter(reported_at__lte=moved_at)
    return list(rows.order_by("reported_at"))


def _outage_at(deployment: Deployment, now: datetime) -> Outage | None:
    open_then = Q(ends_at=None) | Q(ends_at__gt=now)
    return deployment.outages.filter(open_then, starts_at__lte=now).order_by("-starts_at").first()
