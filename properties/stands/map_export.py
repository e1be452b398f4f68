"""Give a property's map out: features and stands, as far as the actor may see them."""

from collections.abc import Iterator

from coop.access.actors import Actor
from coop.access.roles import Action
from properties.land.exchange import ExportedPlace, PlaceKind
from properties.land.geometry import parse_geometry
from properties.land.models import Property
from properties.land.queries import features_visible_to
from properties.stands.map_import import STAND_COLUMNS
from properties.stands.models import Stand
from properties.stands.queries import stands_visible_to

CREATOR = "deer-cooperative"


def exported_places(*, actor: Actor, land: Property) -> Iterator[ExportedPlace]:
    """What is mapped on a property and not retired: features, then stands, each by name.

    Raises :class:`django.core.exceptions.PermissionDenied` for whoever may not see both.
    """
    actor.require(Action.FEATURE_READ, land.id)
    actor.require(Action.STAND_READ, land.id)
    features = features_visible_to(actor=actor).filter(property=land, retired_at=None)
    for feature in features.order_by("name", "id"):
        yield ExportedPlace(
            identifier=str(feature.id),
            kind=feature.kind,
            name=feature.name,
            geometry=parse_geometry(feature.geometry),
            properties=_described(feature.notes),
        )
    stands = stands_visible_to(actor=actor).filter(property=land, retired_at=None)
    for stand in stands.order_by("name", "id"):
        yield _stand_place(stand)


def _stand_place(stand: Stand) -> ExportedPlace:
    stated = {name: getattr(stand, name) for name in STAND_COLUMNS}
    point = {"type": "Point", "coordinates": [stand.longitude, stand.latitude]}
    return ExportedPlace(
        identifier=str(stand.id),
        kind=PlaceKind.STAND.value,
        name=stand.name,
        geometry=parse_geometry(point),
        properties={
            "stand_kind": stand.kind,
            **{name: value for name, value in stated.items() if value is not None},
            **_described(stand.notes),
        },
    )


def _described(notes: str) -> dict[str, str]:
    """Notes as ``desc``, the name that GPX has for them."""
    return {"desc": notes} if notes else {}
