"""Whether a camera may hang: what regulations and the lease of its property say."""

from collections.abc import Iterable
from datetime import datetime

from properties.land.local_dates import local_date_on
from properties.regulations.permitted import camera_objection
from scrapes.cameras.models import CameraUnit


def check_permitted(camera: CameraUnit, *, transmits: bool, at: Iterable[datetime]) -> None:
    """Raise :class:`coop.api.problems.Refused` where no such camera may hang at some instant."""
    land = camera.property
    for on in sorted({local_date_on(land, instant) for instant in at}):
        objection = camera_objection(land, transmits=transmits, on=on)
        if objection is not None:
            raise objection.refused()
