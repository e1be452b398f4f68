"""What is mapped, hangs and stands on a property, read once into local metres."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import shapely
from shapely.geometry import shape
from shapely.geometry.base import BaseGeometry

from properties.land.geodesy import LocalFrame
from properties.land.models import Feature, FeatureKind, Property
from properties.land.queries import boundary_of, features_of
from properties.stands.models import Stand
from properties.stands.queries import stands_of
from scrapes.cameras.models import Deployment
from scrapes.sites.queries import scrapes_of
from scrapes.siting.places import (
    Around,
    CameraPlace,
    Ground,
    MappedPlace,
    Place,
    Route,
    StandPlace,
)
from scrapes.siting.season_air import SeasonAir
from scrapes.siting.settings import SitingSettings


@dataclass(frozen=True, kw_only=True, eq=False)
class Mapped:
    """A property's rows beside what they are in the frame; ``stands`` in the same order."""

    features: Sequence[Feature]
    stands: Sequence[Stand]
    around: Around


def mapped_on(
    land: Property, *, frame: LocalFrame, air: SeasonAir, settings: SitingSettings
) -> Mapped:
    """Everything around places on ``land``, in a number of queries that its size leaves alone."""
    features = list(features_of(property_id=land.id))
    stands = list(stands_of(property_id=land.id))
    hanging = (
        Deployment.objects.filter(scrape__property=land, ends_at=None)
        .select_related("camera")
        .order_by("id")
    )
    around = Around(
        stands=tuple(_stand(stand, frame) for stand in stands),
        cameras=tuple(
            CameraPlace(name=hung.camera.name, place=_metres(frame, hung.longitude, hung.latitude))
            for hung in hanging
        ),
        routes=tuple(_routes(features, frame)),
        scrapes=tuple(
            MappedPlace(
                name=scrape.name,
                geometry=shapely.Point(_metres(frame, scrape.longitude, scrape.latitude)),
            )
            for scrape in scrapes_of(land)
        ),
        ground=_ground(land, features, frame),
        sun_azimuths_deg=air.sun_azimuths_deg,
        winds_from_deg=air.wind.frequent_deg(settings.wind_share),
        hours_from_deg=air.wind.wind_from_deg,
    )
    return Mapped(features=features, stands=stands, around=around)


def _stand(stand: Stand, frame: LocalFrame) -> StandPlace:
    return StandPlace(
        name=stand.name,
        place=_metres(frame, stand.longitude, stand.latitude),
        shot_m=stand.shot_distance_m,
        arc_from_deg=stand.arc_from_deg,
        arc_to_deg=stand.arc_to_deg,
    )


def _routes(features: Iterable[Feature], frame: LocalFrame) -> Iterable[Route]:
    """Corridors, and the edges of food plots, along which deer go as well."""
    for feature in features:
        if feature.kind not in (FeatureKind.CORRIDOR, FeatureKind.FOOD_PLOT):
            continue
        edge = feature.kind == FeatureKind.FOOD_PLOT
        name = f"the edge of {feature.name}" if edge else feature.name
        for part in shapely.get_parts(_in_metres(feature, frame)):
            lines = [part.exterior, *part.interiors] if part.geom_type == "Polygon" else [part]
            for line in lines:
                points = [(float(x), float(y)) for x, y in shapely.get_coordinates(line)]
                if len(points) > 1:
                    yield Route(name=name, points=points)


def _ground(land: Property, features: Sequence[Feature], frame: LocalFrame) -> Ground:
    def mapped(kind: str) -> list[MappedPlace]:
        return [
            MappedPlace(name=feature.name, geometry=_in_metres(feature, frame))
            for feature in features
            if feature.kind == kind
        ]

    return Ground(
        boundary=frame.geometry_to_metres(boundary_of(land)),
        sanctuaries=mapped(FeatureKind.SANCTUARY),
        hazards=mapped(FeatureKind.HAZARD),
        food_plots=mapped(FeatureKind.FOOD_PLOT),
    )


def _in_metres(feature: Feature, frame: LocalFrame) -> BaseGeometry:
    return frame.geometry_to_metres(shape(feature.geometry))


def _metres(frame: LocalFrame, longitude: float, latitude: float) -> Place:
    east, north = frame.to_metres(longitude, latitude)
    return float(east), float(north)
