"""Find the deployments that a file speaks of, and where asked hang those nobody knew of."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from uuid import UUID

import numpy as np
from django.core.exceptions import ValidationError
from django.db import transaction

from coop.access.actors import Actor
from properties.land.geodesy import distance_m
from properties.land.models import Property
from scrapes.cameras.camtrap_deployments import DeploymentRow
from scrapes.cameras.deployment_services import DeploymentsOverlap, hang_camera
from scrapes.cameras.models import CameraUnit, Deployment
from scrapes.cameras.observation_rows import ImportRefused, shown
from scrapes.cameras.placements import (
    ENDLESS,
    IntakeSettings,
    Placement,
    Placements,
    Unplaced,
    in_order,
    not_ours,
)
from scrapes.cameras.services import create_camera
from scrapes.sites.models import Scrape
from scrapes.sites.queries import scrapes_of


@dataclass(frozen=True, kw_only=True)
class Created:
    """What an import hung that nobody had told before."""

    cameras: int = 0
    deployments: int = 0


@dataclass(kw_only=True)
class _Hanging:
    """Counts and reasons while missing deployments are hung one by one."""

    cameras: int = 0
    placed: dict[str, tuple[Placement, ...]] = field(default_factory=dict)
    unplaced: dict[str, Unplaced] = field(default_factory=dict)


def known_placements(land: Property, *, named: Mapping[str, UUID]) -> Placements:
    """Every name under which a file may speak of a deployment on ``land``; rows are locked.

    A deployment's own code and what the caller ``named``; then a camera's name or serial number,
    for all its deployments. Raises :class:`ImportRefused` where a name means two deployments, or
    a deployment named is none of the property's.
    """
    rows = list(
        Deployment.objects.select_for_update(of=("self",))
        .filter(camera__property=land)
        .select_related("camera")
        .order_by("id")
    )
    by_id = {row.id: row for row in rows}
    by_name: dict[str, tuple[Placement, ...]] = {}
    by_camera: dict[UUID, list[Placement]] = defaultdict(list)
    for row in rows:
        by_camera[row.camera_id].append(_placement(row))
    # Standing cameras come last, so that a retired namesake never hides one.
    cameras = sorted({row.camera for row in rows}, key=lambda one: one.retired_at is None)
    for key in ("serial_number", "name"):
        for camera in cameras:
            if name := getattr(camera, key):
                by_name[name] = in_order(by_camera[camera.id])
    codes = {row.code: row.id for row in rows if row.code}
    _check_codes(rows, codes)
    for name, deployment_id in named.items():
        if deployment_id not in by_id:
            raise ImportRefused(
                "deployment_unknown", f"The deployment named for {shown(name)} is not known here."
            )
        if codes.get(name, deployment_id) != deployment_id:
            raise ImportRefused(
                "deployment_named_twice",
                f"{shown(name)} is the code of one deployment and was named for another.",
            )
        codes[name] = deployment_id
    by_name |= {name: (_placement(by_id[one]),) for name, one in codes.items()}
    return Placements(by_name=by_name)


def package_placements(
    *,
    actor: Actor,
    land: Property,
    described: Mapping[str, DeploymentRow],
    known: Placements,
    named: Mapping[str, UUID],
    create_missing: bool,
    settings: IntakeSettings,
    now: datetime,
) -> tuple[Placements, Created]:
    """Deployments of a package: by code, as named, or (``create_missing``) hung as described.

    A package names deployments, never cameras, so a camera's name is not looked for. Runs inside
    the caller's transaction.
    """
    codes = set(
        Deployment.objects.filter(camera__property=land, code__in=described).values_list(
            "code", flat=True
        )
    )
    hanging = _Hanging()
    for name, row in described.items():
        if row.clock_wrong:
            hanging.unplaced[name] = Unplaced(
                code="clock_wrong",
                reason=f"The package says itself that the times of {shown(name)} are wrong.",
            )
        elif name in codes or name in named:
            hanging.placed[name] = known.by_name[name]
        elif not create_missing:
            hanging.unplaced[name] = not_ours(name)
        else:
            _hang(hanging, actor=actor, land=land, row=row, settings=settings, now=now)
    created = len(hanging.placed.keys() - codes - named.keys())
    return (
        Placements(by_name=hanging.placed, unplaced=hanging.unplaced),
        Created(cameras=hanging.cameras, deployments=created),
    )


def _hang(
    hanging: _Hanging,
    *,
    actor: Actor,
    land: Property,
    row: DeploymentRow,
    settings: IntakeSettings,
    now: datetime,
) -> None:
    name = row.deployment_id
    scrape, away_m = _nearest_scrape(land, row)
    if scrape is None or away_m > settings.nearest_scrape_m:
        how_far = "the property has none" if scrape is None else f"{away_m:,.0f} m away"
        hanging.unplaced[name] = Unplaced(
            code="no_scrape_near", reason=f"No scrape lies near {shown(name)}: {how_far}."
        )
        return
    try:
        with transaction.atomic():
            camera, is_new = _camera(actor, land, row, now)
            deployment = hang_camera(
                actor=actor, camera=camera, scrape=scrape, fields=_fields(row), now=now
            )
    except DeploymentsOverlap as problem:
        hanging.unplaced[name] = Unplaced(code="deployments_overlap", reason=problem.detail)
        return
    except ValidationError as problem:
        hanging.unplaced[name] = Unplaced(
            code="deployment_invalid", reason=f"{shown(name)}: {' '.join(problem.messages)}"
        )
        return
    hanging.cameras += is_new
    hanging.placed[name] = (_placement(deployment),)


def _nearest_scrape(land: Property, row: DeploymentRow) -> tuple[Scrape | None, float]:
    scrapes = list(scrapes_of(land))
    if not scrapes:
        return None, float("inf")
    away = distance_m(
        row.longitude_deg,
        row.latitude_deg,
        np.array([scrape.longitude for scrape in scrapes]),
        np.array([scrape.latitude for scrape in scrapes]),
    )
    nearest = int(np.argmin(away))
    return scrapes[nearest], float(away[nearest])


def _camera(
    actor: Actor, land: Property, row: DeploymentRow, now: datetime
) -> tuple[CameraUnit, bool]:
    name = row.camera_id or row.deployment_id
    standing = CameraUnit.objects.filter(property=land, retired_at=None)
    known = standing.filter(name=name).first()
    if known is None and row.camera_id:
        known = standing.filter(serial_number=row.camera_id).order_by("id").first()
    if known is not None:
        return known, False
    return create_camera(actor=actor, land=land, fields={"name": name}, now=now), True


def _fields(row: DeploymentRow) -> dict[str, object]:
    return {
        "code": row.deployment_id,
        "starts_at": datetime.fromtimestamp(row.start_s, UTC),
        "ends_at": datetime.fromtimestamp(row.end_s, UTC),
        "geometry": {"type": "Point", "coordinates": [row.longitude_deg, row.latitude_deg]},
        "heading_deg": row.heading_deg,
        "height_m": row.height_m,
    }


def _check_codes(rows: list[Deployment], codes: Mapping[str, UUID]) -> None:
    for row in rows:
        if row.code and codes[row.code] != row.id:
            raise ImportRefused(
                "code_ambiguous", f"Two deployments on this property have the code {row.code}."
            )


def _placement(row: Deployment) -> Placement:
    return Placement(
        deployment_id=row.id,
        start_s=int(row.starts_at.timestamp()),
        end_s=ENDLESS if row.ends_at is None else int(row.ends_at.timestamp()),
    )
