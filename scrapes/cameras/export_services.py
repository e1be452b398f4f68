"""Give out what cameras saw, to whoever may read it and sees where cameras hang."""

from datetime import datetime
from typing import IO

from coop.access.actors import Actor
from coop.access.roles import Action
from properties.land.models import Property
from scrapes.cameras.camtrap_export import PackageWritten, Report, write_package
from scrapes.cameras.export_places import Positions


def require_export(actor: Actor, land: Property) -> None:
    """A package tells every observation, and where each camera hangs."""
    actor.require(Action.OBSERVATION_READ, land.id)
    actor.require(Action.CAMERA_READ, land.id)


def export_package(
    *,
    actor: Actor,
    land: Property,
    out: IO[bytes],
    precision_deg: float | None,
    now: datetime,
    report: Report = lambda _progress_pct, _note: None,
) -> PackageWritten:
    """Write a Camtrap DP package of all that the property's cameras recorded up to ``now``.

    ``precision_deg`` rounds positions, for whoever need not find the camera. Raises
    :class:`scrapes.cameras.camtrap_export.NothingToExport`.
    """
    require_export(actor, land)
    return write_package(
        out, land=land, now=now, positions=Positions(precision_deg=precision_deg), report=report
    )
