"""What a deployed camera let be known of itself: its readings, and up to when they tell."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from uuid import UUID

import numpy as np
from numpy.typing import NDArray

from scrapes.cameras.clock_queries import ClockRows
from scrapes.cameras.health import CameraEvidence
from scrapes.cameras.models import CameraStatus, Deployment


def statuses_by_deployment(
    rows: Sequence[Deployment], *, now: datetime
) -> Mapping[UUID, list[CameraStatus]]:
    """Readings since each camera was hung there, until it was hung elsewhere; oldest first.

    ``rows`` come in order of their beginning. A card tells about its deployment even when it is
    pulled after the end.
    """
    by_camera: dict[UUID, list[CameraStatus]] = defaultdict(list)
    for status in CameraStatus.objects.filter(
        camera__in={row.camera_id for row in rows}, reported_at__lte=now
    ).order_by("reported_at"):
        by_camera[status.camera_id].append(status)
    found: dict[UUID, list[CameraStatus]] = {}
    hung_elsewhere_at: dict[UUID, datetime] = {}
    for row in reversed(rows):
        until = hung_elsewhere_at.get(row.camera_id)
        found[row.id] = [
            one
            for one in by_camera[row.camera_id]
            if one.reported_at >= row.starts_at and (until is None or one.reported_at <= until)
        ]
        hung_elsewhere_at[row.camera_id] = row.starts_at
    return found


def told_at(deployment: Deployment, statuses: Iterable[CameraStatus]) -> list[datetime]:
    """When it became known what was seen until then: a card was pulled, or the camera sends."""
    sends = deployment.camera.transmits
    return [one.reported_at for one in statuses if one.card_pulled or sends]


def evidence_from(
    deployment: Deployment,
    *,
    called: str,
    trigger_s: NDArray[np.int64],
    statuses: Sequence[CameraStatus],
    clock: ClockRows,
    picture_lasts_s: int,
    now: datetime,
) -> CameraEvidence:
    """What the judgement of a camera's health rests on, under the name ``called``.

    ``trigger_s`` (pictures,) are UTC seconds. Known up to the last word of it, and at least to
    ``picture_lasts_s`` after its last picture.
    """
    known = [seconds_of(at) for at in told_at(deployment, statuses)]
    if len(trigger_s):
        known.append(int(trigger_s.max()) + picture_lasts_s)
    charged = [one for one in statuses if one.battery_pct is not None]
    used = [one.card_used_pct for one in statuses if one.card_used_pct is not None]
    ended_at = deployment.ends_at
    return CameraEvidence(
        camera=called,
        deployed_s=seconds_of(deployment.starts_at),
        taken_down_s=seconds_of(ended_at) if ended_at is not None and ended_at <= now else None,
        known_up_to_s=max(known) if known else None,
        trigger_s=trigger_s,
        heartbeat_s=_reported_s(statuses) if deployment.camera.transmits else None,
        battery_s=_reported_s(charged),
        battery_percent=np.array([one.battery_pct for one in charged], dtype=np.float64),
        card_used_percent=used[-1] if used else None,
        rows_outside=clock.outside,
        daylight_pictures=clock.daylight,
        daylight_at_night=clock.daylight_at_night,
    )


def seconds_of(instant: datetime) -> int:
    """Whole seconds since 1970 in UTC."""
    return int(instant.timestamp())


def _reported_s(statuses: Iterable[CameraStatus]) -> NDArray[np.int64]:
    return np.array([seconds_of(one.reported_at) for one in statuses], dtype=np.int64)
