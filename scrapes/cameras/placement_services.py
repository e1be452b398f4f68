"""Find the deployments that a file speaks of, and where asked hang those nobody knew of."""

from collections import defaultdict
from collections.abc import Mapping
from datetime import datetime
from uuid import UUID

from coop.access.actors import Actor
from properties.land.models import Property
from scrapes.cameras.camtrap_deployments import DeploymentRow
from scrapes.cameras.camtrap_lives import CameraLives
from scrapes.cameras.hanging_services import Created, Hanger, WhenMissing
from scrapes.cameras.models import Deployment
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


def known_placements(land: Property, *, named: Mapping[str, UUID]) -> Placements:
    """Every name under which a file may speak of a deployment on ``land``; rows are locked.

    A deployment's own code or public id and what the caller ``named``; then a camera's name or
    serial number, for all its deployments. Raises :class:`ImportRefused` where a name means two
    deployments, or a deployment named is none of the property's.
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
    codes = {str(row.id): row.id for row in rows} | {row.code: row.id for row in rows if row.code}
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
    lives: CameraLives | None,
    known: Placements,
    named: Mapping[str, UUID],
    missing: WhenMissing,
    settings: IntakeSettings,
    now: datetime,
) -> tuple[Placements, Created]:
    """Deployments of a package: by code or id, as named, or (if asked for) hung as described.

    A package names deployments, never cameras, so a camera's name is not looked for. Runs inside
    the caller's transaction.
    """
    rows = Deployment.objects.filter(camera__property=land)
    codes = set(rows.filter(code__in=described).values_list("code", flat=True))
    codes |= {str(one) for one in rows.values_list("id", flat=True)} & described.keys()
    hanger = Hanger(
        actor=actor, land=land, missing=missing, lives=lives, settings=settings, now=now
    )
    placed: dict[str, tuple[Placement, ...]] = {}
    unplaced: dict[str, Unplaced] = {}
    for name, row in described.items():
        if row.clock_wrong:
            unplaced[name] = Unplaced(
                code="clock_wrong",
                reason=f"The package says itself that the times of {shown(name)} are wrong.",
            )
        elif name in codes or name in named:
            placed[name] = known.by_name[name]
        elif not missing.hang_cameras:
            unplaced[name] = not_ours(name)
        else:
            hung = hanger.hang(row)
            if isinstance(hung, Unplaced):
                unplaced[name] = hung
            else:
                placed[name] = (_placement(hung),)
    return Placements(by_name=placed, unplaced=unplaced), hanger.created


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
        longitude=row.longitude,
        latitude=row.latitude,
    )
