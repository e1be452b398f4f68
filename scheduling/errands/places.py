"""Where an errand is done."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import Prefetch, Q, QuerySet

from properties.incidents.models import Incident
from properties.land.models import Property
from properties.stands.models import Stand
from scheduling.errands.models import Errand, ErrandState
from scrapes.cameras.models import CameraUnit, Deployment
from scrapes.sites.models import Scrape

Thing = Scrape | CameraUnit | Stand | Incident
Place = tuple[float, float]


@dataclass(frozen=True, kw_only=True)
class PlacedErrand:
    """``place`` is longitude and latitude; None: it hangs nowhere, or is told in words alone."""

    errand: Errand
    place: Place | None


def place_of(thing: Thing) -> Place | None:
    """Longitude and latitude; None for a camera that hangs nowhere and for words alone."""
    if isinstance(thing, CameraUnit):
        hanging = thing.deployments.filter(ends_at=None).first()
        return (hanging.longitude, hanging.latitude) if hanging else None
    if isinstance(thing, Incident) and thing.longitude is None and thing.stand is not None:
        thing = thing.stand
    if thing.longitude is None or thing.latitude is None:
        return None
    return thing.longitude, thing.latitude


def open_errands(land: Property, *asked: Q) -> Sequence[PlacedErrand]:
    """The open errands of a property with their places, however many in two queries."""
    hanging = Deployment.objects.filter(ends_at=None)
    rows: QuerySet[Errand] = (
        Errand.objects.filter(*asked, property=land, state=ErrandState.OPEN)
        .select_related("scrape", "stand", "camera", "incident__stand", "assignee")
        .prefetch_related(Prefetch("camera__deployments", hanging, to_attr="hanging"))
        .order_by("due_on", "id")
    )
    return [PlacedErrand(errand=row, place=_place(row)) for row in rows]


def _place(errand: Errand) -> Place | None:
    if errand.camera is not None:
        hanging: list[Deployment] = errand.camera.hanging  # type: ignore[attr-defined]
        return (hanging[0].longitude, hanging[0].latitude) if hanging else None
    thing = errand.scrape or errand.stand or errand.incident
    return None if thing is None else place_of(thing)
