"""Hang cameras that only a package knows, as it describes them, with what it tells of their life.

By the standard a deployment is over and all its pictures are in the package, so its card counts as
pulled at its end. A package of our own says in tables of its own what is truly known.
"""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

import numpy as np
from django.core.exceptions import ValidationError
from django.db import transaction

from coop.access.actors import Actor
from coop.api.problems import Refused
from properties.land.geodesy import distance_m
from properties.land.models import Property
from scrapes.cameras.camtrap_deployments import DeploymentRow
from scrapes.cameras.camtrap_lives import CameraLives, OutageRow, StatusRow
from scrapes.cameras.camtrap_terms import RUNNING, SCRAPE_TAG, SENDING
from scrapes.cameras.deployment_services import DeploymentsOverlap, hang_camera
from scrapes.cameras.models import CameraUnit, Deployment
from scrapes.cameras.observation_rows import shown
from scrapes.cameras.placements import IntakeSettings, Unplaced
from scrapes.cameras.services import create_camera, record_outage, record_status
from scrapes.sites.models import Scrape, ScrapeKind
from scrapes.sites.queries import scrapes_of
from scrapes.sites.services import create_scrape


@dataclass(frozen=True, kw_only=True)
class WhenMissing:
    """What to do about a deployment that nobody knows: hang its camera, map its scrape."""

    hang_cameras: bool = False
    make_scrapes: bool = False


@dataclass(frozen=True, kw_only=True)
class Created:
    """What an import made that nobody had told before."""

    cameras: int = 0
    deployments: int = 0
    scrapes: int = 0


class Hanger:
    """Hangs the deployments of one package, inside the caller's transaction; ``created`` counts."""

    def __init__(
        self,
        *,
        actor: Actor,
        land: Property,
        missing: WhenMissing,
        lives: CameraLives | None,
        settings: IntakeSettings,
        now: datetime,
    ) -> None:
        self._actor, self._land, self._now = actor, land, now
        self._missing, self._settings = missing, settings
        self._outages: dict[str, list[OutageRow]] = defaultdict(list)
        self._statuses: dict[str, list[StatusRow]] = defaultdict(list)
        self._has_lives = lives is not None
        for outage in lives.outages if lives else ():
            self._outages[outage.deployment_id].append(outage)
        for status in lives.statuses if lives else ():
            self._statuses[status.deployment_id].append(status)
        self._cameras = self._deployments = self._scrapes = 0

    @property
    def created(self) -> Created:
        return Created(cameras=self._cameras, deployments=self._deployments, scrapes=self._scrapes)

    def hang(self, row: DeploymentRow) -> Deployment | Unplaced:
        """All of one deployment, or the reason why nothing of it."""
        name = shown(row.deployment_id)
        before = self._cameras, self._scrapes
        try:
            with transaction.atomic():
                found = self._scrape(row)
                if isinstance(found, Unplaced):
                    return found
                deployment = hang_camera(
                    actor=self._actor,
                    camera=self._camera(row),
                    scrape=found,
                    fields=_fields(row),
                    now=self._now,
                )
                self._tell_life(deployment, row)
        except DeploymentsOverlap as problem:
            self._cameras, self._scrapes = before
            return Unplaced(code="deployments_overlap", reason=problem.detail)
        except Refused as problem:
            self._cameras, self._scrapes = before
            return Unplaced(code="camera_not_permitted", reason=problem.detail)
        except ValidationError as problem:
            self._cameras, self._scrapes = before
            return Unplaced(
                code="deployment_invalid", reason=f"{name}: {' '.join(problem.messages)}"
            )
        self._deployments += 1
        return deployment

    def _scrape(self, row: DeploymentRow) -> Scrape | Unplaced:
        """The scrape named like the location, made where asked for; else the nearest."""
        if self._missing.make_scrapes:
            name = row.location_name or row.location_id or row.deployment_id
            known = scrapes_of(self._land).filter(name=name).first()
            return known or self._made(row, name)
        scrapes = list(scrapes_of(self._land))
        away = distance_m(
            row.longitude_deg,
            row.latitude_deg,
            np.array([scrape.longitude for scrape in scrapes]),
            np.array([scrape.latitude for scrape in scrapes]),
        )
        if scrapes and float(away.min()) <= self._settings.nearest_scrape_m:
            return scrapes[int(np.argmin(away))]
        how_far = f"{float(away.min()):,.0f} m away" if scrapes else "the property has none"
        return Unplaced(
            code="no_scrape_near",
            reason=f"No scrape lies near {shown(row.deployment_id)}: {how_far}.",
        )

    def _made(self, row: DeploymentRow, name: str) -> Scrape:
        stated = {tag.removeprefix(SCRAPE_TAG) for tag in row.tags if tag.startswith(SCRAPE_TAG)}
        kind = next((one for one in ScrapeKind.values if one in stated), ScrapeKind.NATIVE.value)
        scrape = create_scrape(
            actor=self._actor,
            land=self._land,
            fields={"name": name, "kind": kind, "geometry": _point(row)},
            now=self._now,
        )
        self._scrapes += 1
        return scrape

    def _camera(self, row: DeploymentRow) -> CameraUnit:
        name = row.camera_id or row.deployment_id
        standing = CameraUnit.objects.filter(property=self._land, retired_at=None)
        known = standing.filter(name=name).first()
        if known is None and row.camera_id:
            known = standing.filter(serial_number=row.camera_id).order_by("id").first()
        if known is not None:
            return known
        self._cameras += 1
        return create_camera(
            actor=self._actor,
            land=self._land,
            fields={"name": name, "transmits": SENDING in row.tags},
            now=self._now,
        )

    def _tell_life(self, deployment: Deployment, row: DeploymentRow) -> None:
        for outage in self._outages[row.deployment_id]:
            record_outage(
                actor=self._actor, deployment=deployment, fields=_outage(outage), now=self._now
            )
        if self._has_lives:
            statuses = [_status(one) for one in self._statuses[row.deployment_id]]
        else:
            statuses = [{"reported_at": _instant(row.end_s), "card_pulled": True}]
        camera = deployment.camera
        known = set(camera.statuses.values_list("reported_at", flat=True))
        for fields in statuses:
            # A card pulled as the camera moved on is told with both of its deployments.
            if fields["reported_at"] not in known and fields["reported_at"] <= self._now:
                record_status(actor=self._actor, camera=camera, fields=fields, now=self._now)


def _fields(row: DeploymentRow) -> dict[str, Any]:
    return {
        "code": row.deployment_id,
        "starts_at": _instant(row.start_s),
        "ends_at": None if RUNNING in row.tags else _instant(row.end_s),
        "geometry": _point(row),
        "heading_deg": row.heading_deg,
        "height_m": row.height_m,
    }


def _point(row: DeploymentRow) -> Mapping[str, Any]:
    return {"type": "Point", "coordinates": [row.longitude_deg, row.latitude_deg]}


def _outage(row: OutageRow) -> dict[str, Any]:
    return {
        "kind": row.kind,
        "starts_at": _instant(row.start_s),
        "ends_at": None if row.end_s is None else _instant(row.end_s),
        "estimated": row.estimated,
        "notes": row.notes,
    }


def _status(row: StatusRow) -> dict[str, Any]:
    return {
        "reported_at": _instant(row.reported_s),
        "card_pulled": row.card_pulled,
        "battery_pct": row.battery_percent,
        "card_used_pct": row.card_used_percent,
    }


def _instant(seconds: int) -> datetime:
    return datetime.fromtimestamp(seconds, UTC)
